"""What only the two sides together do to people: of each part of an effect, what it says against either side."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

from showvc.changes import Cause, Crossed, Effect, Heard, Loss, RequiredChange, causes
from showvc.paths import Difference, Over, Pair, Pairs, Paths, Weaker, lost_by_both

_T = TypeVar("_T")


@dataclass(frozen=True, eq=False)
class Combined(Effect):
    """From both sides to what they make together. `difference` is from mine, `other` from incoming.

    Losses over every target are told, but for the `known`: those that are, or were, a conflict of their own.
    """

    other: Difference
    known: frozenset[Loss] = field(default_factory=frozenset)

    @cached_property
    def _against_incoming(self) -> Effect:
        return Effect(self.other)

    def _is_known(self, loss: Loss) -> bool:
        if not self.known:
            return False
        pairs = (loss[0], loss[-1]) in self._known_pairs and len(loss) == 2
        return loss in self.known or pairs or any((name,) in self.known for name in loss)

    @cached_property
    def _known_pairs(self) -> frozenset[Pair]:
        return frozenset((loss[0], loss[-1]) for loss in self.known if len(loss) > 1)

    def _unknown(self, pairs: Pairs) -> Pairs:
        if not self.known:
            return pairs
        place = {name: slot for slot, name in enumerate(pairs.order)}
        rows = dict(pairs.rows)
        for talker, listener in [pair for pair in pairs if self._is_known(pair)]:
            rows[place[talker]] &= ~(1 << place[listener])
        return Pairs(pairs.order, {slot: row for slot, row in rows.items() if row})

    # --- losses ---

    @cached_property
    def holds(self) -> bool:
        """Whether a person has to see it before it is recorded: something is lost that both sides had."""
        return bool(self.off_headset or self.lost_over or self.lost)

    @cached_property
    def off_headset(self) -> tuple[str, ...]:
        found = _common(self.difference.off_headset, self.other.off_headset)
        return tuple(user for user in found if (user,) not in self.known)

    @cached_property
    def critical(self) -> frozenset[str]:
        return Effect(self.difference).critical | self._against_incoming.critical

    @cached_property
    def lost_over(self) -> tuple[Over, ...]:
        """(talker, target, listener): paths over any target that both sides had and the two together have not."""
        return tuple(loss for loss in lost_by_both(self.difference, self.other) if not self._is_known(loss))

    @cached_property
    def lost(self) -> Pairs:
        return self._unknown(self.difference.lost.common(self.other.lost))

    @cached_property
    def weaker(self) -> tuple[Weaker, ...]:
        return _common(self.difference.weaker, self.other.weaker)

    @cached_property
    def overheard(self) -> tuple[Heard, ...]:
        return _common(Effect(self.difference).overheard, self._against_incoming.overheard)

    @cached_property
    def because(self) -> tuple[Cause, ...]:
        """For each loss the edits of either side that make it together."""
        return behind(*self.paths, self.other.before, self.losses)

    # --- and the rest ---

    @cached_property
    def gained(self) -> Pairs:
        return self.difference.gained.common(self.other.gained)

    @cached_property
    def gained_over(self) -> tuple[Over, ...]:
        return _common(Effect(self.difference).gained_over, self._against_incoming.gained_over)

    @cached_property
    def back_on_headset(self) -> tuple[str, ...]:
        return _common(self.difference.back_on_headset, self.other.back_on_headset)

    @cached_property
    def required(self) -> tuple[RequiredChange, ...]:
        theirs = {change.name for change in self._against_incoming.required}
        return tuple(change for change in Effect(self.difference).required if change.name in theirs)

    @cached_property
    def members(self) -> tuple[tuple[str, str], ...]:
        return _common(Effect(self.difference).members, self._against_incoming.members)

    @cached_property
    def crossed(self) -> tuple[Crossed, ...]:
        theirs = {each.pointer for each in self._against_incoming.crossed}
        return tuple(each for each in Effect(self.difference).crossed if each.pointer in theirs)

    @cached_property
    def strips(self) -> tuple[str, ...]:
        return _common(Effect(self.difference).strips, self._against_incoming.strips)


def _common(one: Iterable[_T], other: Iterable[_T]) -> tuple[_T, ...]:
    there = set(other)
    return tuple(each for each in one if each in there) if there else ()


def behind(mine: Paths, result: Paths, incoming: Paths, losses: Iterable[Loss]) -> tuple[Cause, ...]:
    """For each loss that the two sides make together: the edits of both, and over what the pair still holds."""
    told = tuple(losses)
    pairs = zip(causes(mine, result, told), causes(incoming, result, told), strict=True) if told else ()
    return tuple(_both(one, other) for one, other in pairs)


def _both(one: Cause, other: Cause) -> Cause:
    edits = tuple(sorted({*one.edits, *other.edits}))
    return Cause(one.loss, edits, one.remains, one.fewest and other.fewest)
