"""Required paths: is each met, unsure, in the menu only, in doubt, or lost?

Where the rules leave room:

- A pair's state is that of its best path; a required path's is that of its worst pair.
- A line as an end without `over` is lost: which paths are meant is not said.
- `at-least` counts the members that the document lists, without those of whom it does not say that they hear. Where
  both ends are several, each must have as many.
- In doubt means that the whole of it would be met, unsure or in the menu, were all that is unwritten true: also
  the members are those that there would be then.
- A circuit on a group of which the document does not say whether it hears makes a path to the group unsure, even where
  that circuit itself would not be reached.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Literal

from showvc.document import Required
from showvc.paths.ends import End, end_of
from showvc.paths.facts import SURELY, UNWRITTEN
from showvc.paths.grades import Grade, graded
from showvc.paths.model import Paths
from showvc.paths.pairs import Pair
from showvc.paths.reading import Reading
from showvc.paths.ways import Doubt, fewest_doubts

State = Literal["met", "unsure", "menu only", "in doubt", "lost"]
STATES: tuple[State, ...] = ("met", "unsure", "menu only", "in doubt", "lost")
"""The best first."""


@dataclass(frozen=True, slots=True)
class RequiredState:
    """How a required path stands. Pairs are (who talks, who hears).

    `missing` pairs have no path; `off_headset` are members who are, so that it is lost; `reasons` tell of an end
    that is empty, or of too few. Of the pairs that hold, `in_menu` do so in the menu only, `unsure` not surely.
    `doubts` are what would have to be true for a path in doubt; where it is not, what makes it unsure.
    `members` are all members of both ends.
    """

    name: str
    required: Required
    state: State
    missing: tuple[Pair, ...] = ()
    off_headset: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    in_menu: tuple[Pair, ...] = ()
    unsure: tuple[Pair, ...] = ()
    doubts: tuple[Doubt, ...] = ()
    members: frozenset[str] = frozenset()


def required_states(paths: Paths) -> tuple[RequiredState, ...]:
    """Every required path of the show with its state, by name."""
    judge = _Judge(paths)
    return tuple(judge.state(name, paths.show.required[name]) for name in sorted(paths.show.required))


def required_state(paths: Paths, name: str) -> RequiredState:
    """One required path with its state. KeyError where the show does not ask for it."""
    return _Judge(paths).state(name, paths.show.required[name])


def required_between(paths: Paths, start: str, end: str) -> RequiredState:
    """How a path between two ends would stand, were it required; over a line where one of the two is one."""
    lines = paths.surely.line_names
    over = end if end in lines else start if start in lines else None
    return _Judge(paths).state("", Required(from_=start, to=end, over=over))


def required_pairs(paths: Paths, required: Required) -> frozenset[Pair]:
    """The pairs that a required path asks for, as far as the document lists its members."""
    return frozenset(pair for ends in _turns(paths, required, paths.surely) for pair in _pairs(*ends))


def _turns(paths: Paths, required: Required, reading: Reading) -> Iterator[tuple[End, End]]:
    for start, end in ((required.from_, required.to), (required.to, required.from_))[: 2 if required.both else 1]:
        yield end_of(paths, start, "from", reading.case), end_of(paths, end, "to", reading.case)


def _pairs(start: End, end: End) -> Iterator[Pair]:
    return ((talker, listener) for talker in start.members for listener in end.members if talker != listener)


class _Judge:
    """Judges the required paths of one show; what is worked out for one talker serves all."""

    def __init__(self, paths: Paths) -> None:
        self.paths = paths
        self._graded = cache(self._best)

    def _best(self, unwritten: bool, talker: str, over: str | None) -> dict[Grade, int]:
        return graded(self.paths.unwritten if unwritten else self.paths.surely, talker, over)

    def state(self, name: str, required: Required) -> RequiredState:
        found = self._read(name, required, self.paths.surely)
        if found.state != "lost" or found.off_headset:
            return found
        supposed = self._read(name, required, self.paths.unwritten)
        if supposed.state == "lost":
            return found
        doubts = dict.fromkeys(doubt for pair in found.missing for doubt in self._doubts(pair, required.over))
        doubts |= dict.fromkeys(self._member_doubts(required) if found.reasons else ())
        return RequiredState(
            name, required, "in doubt", found.missing, (), found.reasons, found.in_menu, found.unsure,
            tuple(doubts), found.members,
        )  # fmt: skip

    def _doubts(self, pair: Pair, over: str | None) -> tuple[Doubt, ...]:
        return fewest_doubts(self.paths, self.paths.unwritten, *pair, over)

    def _member_doubts(self, required: Required) -> Iterator[Doubt]:
        """The circuits that would be members; where nobody is without them, that is what has to be true."""
        for surely, supposed in zip(
            _turns(self.paths, required, self.paths.surely), _turns(self.paths, required, self.paths.unwritten),
            strict=True,
        ):  # fmt: skip
            for role, one, other in zip(("speaks", "hears"), surely, supposed, strict=True):
                yield from (Doubt(role, name) for name in other.members if name not in one.members)  # type: ignore[arg-type]

    def _read(self, name: str, required: Required, reading: Reading) -> RequiredState:
        turns = tuple(_turns(self.paths, required, reading))
        reasons = tuple(dict.fromkeys(reason for turn in turns for reason in self._reasons(required, *turn)))
        pairs = tuple(dict.fromkeys(pair for turn in turns for pair in _pairs(*turn)))
        members = frozenset(member for turn in turns for end in turn for member in end.members)
        off = tuple(sorted(who for who in members if self._is_off(reading, who)))
        grades = {pair: self._grade(reading, pair, required.over) for pair in pairs}
        missing = tuple(pair for pair, grade in grades.items() if grade is None)
        in_menu = tuple(pair for pair, grade in grades.items() if grade and grade.menu)
        unsure = tuple(pair for pair, grade in grades.items() if grade and grade.unsure)
        doubts = tuple(dict.fromkeys(Doubt("hears", who) for _, end in turns for who in end.unknown))
        if reading.case != SURELY:
            doubts = ()
        lost = missing or off or reasons or not pairs
        state: State = "lost" if lost else "menu only" if in_menu else "unsure" if unsure or doubts else "met"
        return RequiredState(name, required, state, missing, off, reasons, in_menu, unsure, doubts, members)

    def _is_off(self, reading: Reading, member: str) -> bool:
        return member in self.paths.lists.parts and not reading.is_on_headset(member)

    def _grade(self, reading: Reading, pair: Pair, over: str | None) -> Grade | None:
        slot = self.paths.lists.place[pair[1]]
        found = self._graded(reading.case == UNWRITTEN, pair[0], over)
        return next((grade for grade, bits in found.items() if bits >> slot & 1), None)

    def _reasons(self, required: Required, start: End, end: End) -> Iterator[str]:
        facts = self.paths.facts
        if required.over is not None and required.over not in facts.groups | facts.lines:
            yield f"there is no group or line {required.over}"
        for one in (start, end):
            if required.over is None and one.name in self.paths.surely.line_names and one.several:
                yield f"{one.name} is a line, and the path does not say over which line it goes"
            if one.reason is not None:
                yield one.reason
        if not any(_pairs(start, end)) and start.members and end.members:
            yield f"{start.members[0]} alone is at both ends"
        if required.at_least is not None:
            yield from _too_few(required.at_least, start, end)


def _too_few(wanted: int, start: End, end: End) -> Iterator[str]:
    counted = [(one, other) for one, other in ((start, end), (end, start)) if one.several] or [(end, start)]
    for one, other in counted:
        alone = set(other.members) if len(other.members) == 1 else set()
        there = len(set(one.members) - alone)
        if there < wanted:
            yield f"{there} of at least {wanted} on {one.name}"
