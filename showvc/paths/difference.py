"""What differs between the paths of two shows."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal

from showvc.document import differing
from showvc.paths.grades import EVERYBODY, GRADES, Grade, graded
from showvc.paths.hands import Hand
from showvc.paths.lists import differing_keys
from showvc.paths.model import Paths, advance, comparable
from showvc.paths.pairs import Pairs, slots_of
from showvc.paths.reading import ANY, AT_LEVEL_0, SURE, Reading

Facet = Literal["menu", "page", "ear", "level"]
Weaker = tuple[str, str | None, str, Facet]
"""Talker, target (None: over any target but a line), listener, and what is worse."""
Over = tuple[str, str, str]
"""Talker, target, listener."""


@dataclass(frozen=True, eq=False)
class Difference:
    """Paths read surely, before and after, in one order of slots. Each part is worked out when first asked for.

    Paths from and to positions that were removed are lost, those of new ones gained.
    """

    before: Paths
    after: Paths
    _shared: dict[str, tuple[int, int, int, int, int]] = field(default_factory=dict)

    @cached_property
    def _rewired(self) -> tuple[Set[str], Set[str]]:
        names, targets = _changed(self.before.surely, self.after.surely)
        edited = differing(self.before.show.users, self.after.show.users)
        positions = {*self.before.surely.positions, *self.after.surely.positions}
        return (names | set(edited)) & positions, targets

    @cached_property
    def touched(self) -> tuple[str, ...]:
        """The positions that may talk otherwise than before, by id; no other's paths differ."""
        names, targets = self._rewired
        parts = self.after.lists.parts
        others = (
            name for name in self.after.surely.positions if name in parts and not targets.isdisjoint(parts[name].talks)
        )
        return tuple(sorted({*names, *others}))

    @cached_property
    def touched_set(self) -> Set[str]:
        return frozenset(self.touched)

    @cached_property
    def lost(self) -> Pairs:
        """Pairs that held, and no longer hold over any target but a line."""
        return self._gone(self.before.surely, self.after.surely)

    @cached_property
    def gained(self) -> Pairs:
        """Pairs that hold now and did not before."""
        return self._gone(self.after.surely, self.before.surely)

    def _gone(self, one: Reading, other: Reading) -> Pairs:
        place = {**one.lists.place, **other.lists.place}
        rows = {place[name]: one.row(name) & ~other.row(name) for name in self.touched}
        return Pairs(self._order, {slot: row for slot, row in rows.items() if row})

    @property
    def _order(self) -> tuple[str, ...]:
        return max(self.before.lists.order, self.after.lists.order, key=len)

    def lost_over(self, targets: Set[str] | None = None) -> tuple[Over, ...]:
        """Paths over these targets (default: all, lines among them) that are no more, though the pair may hold on."""
        return tuple(self._over(self.before.surely, self.after.surely, targets))

    def gained_over(self, targets: Set[str] | None = None) -> tuple[Over, ...]:
        """Paths over these targets that were not there before."""
        return tuple(self._over(self.after.surely, self.before.surely, targets))

    def _over(self, one: Reading, other: Reading, targets: Set[str] | None) -> Iterator[Over]:
        for name in self.touched:
            moved = self._moved(name, one) if name in one.lists.place else []
            for target in moved if targets is None else [each for each in moved if each in targets]:
                gone = one.over(name, target) & ~(other.over(name, target) if name in other.lists.place else 0)
                yield from ((name, target, listener) for listener in (one.names(gone) if gone else ()))

    @cached_property
    def off_headset(self) -> tuple[str, ...]:
        """Users who were on headset and are not; and all who are no more."""
        old, new = self.before.lists, self.after.lists
        gone = (name for name in old.parts if name not in old.ports and name not in new.parts)
        return tuple(sorted({*gone, *self._users(self.before.surely.on_headset & ~self.after.surely.on_headset)}))

    @cached_property
    def back_on_headset(self) -> tuple[str, ...]:
        """Users who are on headset and were not."""
        return self._users(self.after.surely.on_headset & ~self.before.surely.on_headset)

    def _users(self, bits: int) -> tuple[str, ...]:
        return tuple(sorted(self._order[slot] for slot in slots_of(bits)))

    @cached_property
    def weaker(self) -> tuple[Weaker, ...]:
        """Paths that remain and are worse: over each target; and over None, the pairs whose best path is worse."""
        staying = (name for name in self.touched if name in self.before.lists.place and name in self.after.lists.place)
        return tuple(found for name in staying for found in self._weaker(name))

    def _weaker(self, talker: str) -> Iterator[Weaker]:
        hurt = 0
        for target in self._moved(talker, self.before.surely):
            found = self._delta(talker, target)
            if any(found) and target in self.before.surely.hands(talker):
                lost, worse = found[0], dict(zip(_FACETS, found[1:], strict=True))
                for facet, bits in worse.items():
                    yield from self._told(talker, target, bits, facet)
                    hurt |= bits
                hurt |= lost
        # Who is lost altogether is no worse.
        hurt &= self.after.surely.row(talker) if hurt else 0
        if hurt:
            for facet, bits in self._worse_best(talker, None, hurt).items():
                yield from self._told(talker, None, bits, facet)

    def _moved(self, talker: str, read: Reading) -> list[str]:
        """The targets that a talker talks to, over which his paths may differ."""
        edited, targets = self._rewired
        if talker in edited:
            return sorted(read.hands(talker)) if talker in read.lists.place else []
        return sorted(read.lists.parts[talker].talks & targets)

    def _delta(self, talker: str, target: str) -> tuple[int, int, int, int, int]:
        """Bits of those who are lost over a target, and of those to whom it is worse, in the order of `_FACETS`."""
        parts = self.before.lists.parts
        shared = talker not in self._rewired[0] and (target in self.before.facts.groups or target not in parts)
        if not shared or self.before.surely.at_a_limit | self.after.surely.at_a_limit:
            return self._exact_delta(talker, target)
        # Whoever talks to a group or line without holding a circuit reaches the same.
        if target not in self._shared:
            self._shared[target] = self._tiers_delta(
                *map(self._reached, (self.before.surely, self.after.surely), (target,) * 2)
            )
        own = ~(1 << self.before.lists.place[talker])
        lost, menu, page, ear, level = self._shared[target]
        return lost & own, menu, page, ear & own, level & own

    @staticmethod
    def _reached(read: Reading, target: str) -> list[int]:
        return [read.reach(tier).get(target, 0) & read.hearing[tier] for tier in (ANY, AT_LEVEL_0, SURE)]

    @staticmethod
    def _tiers_delta(was: list[int], now: list[int]) -> tuple[int, int, int, int, int]:
        fainter = was[SURE] & now[ANY] & ~now[SURE]
        return was[ANY] & ~now[ANY], 0, 0, fainter & ~now[AT_LEVEL_0], fainter & now[AT_LEVEL_0]

    def _exact_delta(self, talker: str, target: str) -> tuple[int, int, int, int, int]:
        old, new = self.before.surely, self.after.surely
        was = [old.over(talker, target, tier) for tier in (ANY, AT_LEVEL_0, SURE)]
        now = [new.over(talker, target, tier) for tier in (ANY, AT_LEVEL_0, SURE)]
        lost, *bits = self._tiers_delta(was, now)
        worse = dict(zip(_FACETS, bits, strict=True))
        before, after = old.hands(talker), new.hands(talker)
        if target in before and target in after and (facet := _worse_hand(before[target], after[target])) is not None:
            worse[facet] = was[ANY] & now[ANY]
        if old.sure_hands(talker) != before or new.sure_hands(talker) != after:
            worse = {facet: bits | worse[facet] for facet, bits in self._worse_best(talker, target).items()}
        return lost, worse["menu"], worse["page"], worse["ear"], worse["level"]

    def _worse_best(self, talker: str, over: str | None, only: int = EVERYBODY) -> dict[Facet, int]:
        """For those whose best path is worse than before, over this target or over any but a line: in what it is."""
        before, after = self.before.surely, self.after.surely
        old, new = graded(before, talker, over, only=only), graded(after, talker, over, only=only)
        found = dict.fromkeys(_FACETS, 0)
        for was in GRADES:
            for now in GRADES:
                bits = old[was] & new[now] if now > was else 0
                for facet in _facets(was, now) if bits else ():
                    found[facet] |= bits
        if found["ear"]:
            at_level_0 = graded(after, talker, over, AT_LEVEL_0, only)
            for now in GRADES:
                faint = found["ear"] & new[now] & _sure(at_level_0, now.menu)
                found["level"] |= faint
                found["ear"] &= ~faint
        return found

    def _told(self, talker: str, target: str | None, bits: int, facet: Facet) -> Iterator[Weaker]:
        return ((talker, target, listener, facet) for listener in (self.after.surely.names(bits) if bits else ()))

    def __bool__(self) -> bool:
        return bool(self.off_headset or self.back_on_headset or self.lost_over() or self.gained_over() or self.weaker)


def lost_by_both(one: Difference, other: Difference, targets: Set[str] | None = None) -> Iterator[Over]:
    """Paths over these targets (default: all) that two shows had, and that are no more in a third which both became.

    All three in one order of slots.
    """
    first, second, now = one.before.surely, other.before.surely, one.after.surely
    for name in one.touched if other.touched else ():
        if name in first.lists.place and name in second.lists.place and name in other.touched_set:
            for target in one._moved(name, first):
                if targets is None or target in targets:
                    had = first.over(name, target) & second.over(name, target)
                    gone = had & ~now.over(name, target) if had else 0
                    yield from ((name, target, listener) for listener in (first.names(gone) if gone else ()))


def difference(before: Paths, after: Paths) -> Difference:
    """What differs. Cheap where one was advanced from the other; else that is done first."""
    return Difference(before, after if comparable(before, after) else advance(before, after.show))


def _sure(found: dict[Grade, int], menu: bool) -> int:
    """The bits of the sure grades, in the menu or not."""
    bits = 0
    for grade, there in found.items():
        bits |= there if grade.menu == menu and not grade.unsure else 0
    return bits


def _worse_hand(before: Hand, after: Hand) -> Facet | None:
    if after == "menu" and before != "menu":
        return "menu"
    return "page" if after == "page" and before in ("key", "open") else None


_FACETS: tuple[Facet, ...] = ("menu", "page", "ear", "level")


def _facets(was: Grade, now: Grade) -> Iterator[Facet]:
    """What is worse in a worse grade; `ear` also where it is the level alone."""
    if now.menu and not was.menu:
        yield "menu"
    elif now.paged and not was.paged:
        yield "page"
    if now.unsure and not was.unsure:
        yield "ear"


# --- who is touched --------------------------------------------------------------------------------------------------


def _changed(old: Reading, new: Reading) -> tuple[Set[str], Set[str]]:
    """The positions of whom any path may differ, and the targets over which any other's may."""
    if old.facts.kinds != new.facts.kinds or old.facts.lines != new.facts.lines:
        return {*old.positions, *new.positions}, frozenset()
    found = {*old.facts.circuits, *new.facts.circuits, *old.names(old.special), *new.names(new.special)}
    found |= old.lists.parts.keys() ^ new.lists.parts.keys()
    found.update(_rewired(old, new))
    for table in ("shut", "on", "always", "low"):
        found.update(_callers(old, new, table))
    targets = set(old.facts.groups ^ new.facts.groups)
    found |= targets
    for tier in (ANY, AT_LEVEL_0, SURE):
        before, after = old.reach(tier), new.reach(tier)
        targets |= set(differing_keys(before, after))
        if ends := old.hearing[tier] ^ new.hearing[tier]:
            targets |= {target for target, bits in after.items() if bits & ends}
    return found, targets


def _callers(old: Reading, new: Reading, table: str) -> Iterator[str]:
    """The users of whom somebody's list says something else than before."""
    for name in differing_keys(getattr(old.lists, table), getattr(new.lists, table)):
        if name in new.lists.parts:
            yield name


def _rewired(old: Reading, new: Reading) -> Iterator[str]:
    """The users who wear other devices than before, or others keys on them."""
    before, after = old.standing.worn, new.standing.worn
    for name in before.keys() | after.keys():
        one, other = before.get(name, ()), after.get(name, ())
        if one != other or any(_is_another(old, new, each) for each in one):
            yield name


def _is_another(old: Reading, new: Reading, device: str) -> bool:
    same = old.facts.devices[device] == new.facts.devices[device]
    return not same or (device in old.sure_devices) != (device in new.sure_devices)
