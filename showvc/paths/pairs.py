"""Sets of pairs of users, kept as bits: one row of listeners for each talker."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass

Pair = tuple[str, str]


def slots_of(bits: int) -> Iterator[int]:
    """The places of the bits that are set, ascending."""
    text = bin(bits)[:1:-1]
    place = text.find("1")
    while place >= 0:
        yield place
        place = text.find("1", place + 1)


def bits_of(slots: Iterable[int], width: int) -> int:
    """A bit set from places below `width`."""
    raw = bytearray(width // 8 + 1)
    for slot in slots:
        raw[slot >> 3] |= 1 << (slot & 7)
    return int.from_bytes(raw, "little")


@dataclass(frozen=True, slots=True, eq=False)
class Pairs(Set[Pair]):
    """Pairs (who talks, who hears). Counting is cheap; going through them yields talkers by alphabet, then listeners.

    `order` names the user of each place; `rows` holds, for each talker's place, the listeners' bits.
    """

    order: tuple[str, ...]
    rows: Mapping[int, int]

    @classmethod
    def _from_iterable(cls, pairs: Iterable[Pair]) -> frozenset[Pair]:  # type: ignore[override]
        return frozenset(pairs)

    def __iter__(self) -> Iterator[Pair]:
        for talker in self.talkers():
            for listener in self.heard_by(talker):
                yield talker, listener

    def __len__(self) -> int:
        return sum(row.bit_count() for row in self.rows.values())

    def __contains__(self, pair: object) -> bool:
        if not (isinstance(pair, tuple) and len(pair) == 2 and pair[0] in self.order and pair[1] in self.order):
            return False
        return bool(self.rows.get(self.order.index(pair[0]), 0) >> self.order.index(pair[1]) & 1)

    def without(self, other: Pairs) -> Pairs:
        """These pairs but for those of another set over the same users."""
        return Pairs(self.order, {slot: row & ~other.rows.get(slot, 0) for slot, row in self.rows.items()})

    def common(self, other: Pairs) -> Pairs:
        """The pairs that are in another set too, whose order of users begins as this one's, or the other way round."""
        order = max(self.order, other.order, key=len)
        both = {slot: row & other.rows.get(slot, 0) for slot, row in self.rows.items()}
        return Pairs(order, {slot: row for slot, row in both.items() if row})

    def talkers(self) -> tuple[str, ...]:
        """Everyone who is the talker of a pair."""
        return tuple(sorted(self.order[slot] for slot, row in self.rows.items() if row))

    def heard_by(self, talker: str) -> tuple[str, ...]:
        """The listeners of this talker's pairs."""
        row = self.rows.get(self.order.index(talker), 0) if talker in self.order else 0
        return tuple(sorted(self.order[slot] for slot in slots_of(row)))
