"""Ids that a side changed, before anything else is merged: both sides are looked at under one id."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import count

from showvc.changes.words import thing_name
from showvc.document import SECTIONS, Show, ShowError, check_id
from showvc.document.editing import ABSENT
from showvc.document.lining import printable
from showvc.document.pointers import join, parse
from showvc.identity.references import references
from showvc.identity.renames import Rename, renames, under_new_ids
from showvc.merging.conflict import RENAMED, Conflict, Settlement
from showvc.merging.sides import Sides, values_of
from showvc.merging.units import Group

Told = Iterable[tuple[str, str]]
"""Ids that are known to have changed, as pointers: `("/groups/lx", "/groups/lighting")`."""
Known = Mapping[tuple[str, str], Rename]
"""The renames of a side, by section and old id."""
Answers = Mapping[str, Settlement]
NEW_ID = "new-id"
"""The fact of a conflict whose values are ids."""


@dataclass(slots=True)
class Aligned:
    """The three shows with each thing under one id; `groups` and `conflicts` are what the ids make of themselves.

    `later` are ids that the merged show gets at the end, as they were answered; `known` are all that changed, each
    other id of a thing with the one that it is merged under.
    """

    sides: Sides[Show]
    groups: list[Group] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    settled: list[tuple[Conflict, Settlement]] = field(default_factory=list)
    later: list[Rename] = field(default_factory=list)
    known: list[Rename] = field(default_factory=list)


def aligned(sides: Sides[Show], answers: Answers, told: Told = ()) -> Aligned:
    """Recognises what changed its id on either side, and lays the other side and before over it."""
    found_mine, found_incoming = (renames(sides.before, show) for show in sides.apart)
    mine = _with_told(sides, sides.mine, found_mine.sure, told)
    incoming = _with_told(sides, sides.incoming, found_incoming.sure, told)
    for one, other, found in ((mine, incoming, found_mine), (incoming, mine, found_incoming)):
        one.update({(pair.section, pair.old): pair for pair in found.doubtful if pair in other.values()})
    made = Aligned(sides)
    doubts = [
        *_doubts(sides, sides.incoming, found_mine.doubtful),
        *_doubts(sides, sides.mine, found_incoming.doubtful),
    ]
    for pair, conflict in doubts:
        answer = answers.get(conflict.key)
        if answer is None:
            made.conflicts.append(conflict)
            continue
        made.settled.append((conflict, answer))
        if answer.how != "both":
            side = mine if pair.new in sides.mine.section(pair.section) else incoming
            side[pair.section, pair.old] = pair
            back = [Rename(pair.section, pair.new, pair.old)] if _keeps_old(answer, pair) else []
            made.later += back
            made.known += back
    for place in sorted({*mine, *incoming}):
        _align(made, mine.get(place), incoming.get(place), (mine, incoming), answers)
    return made


def _with_told(sides: Sides[Show], show: Show, sure: Sequence[Rename], told: Told) -> dict[tuple[str, str], Rename]:
    """The renames of a side by section and old id, those that it wrote down itself before those that were seen."""
    known = {(pair.section, pair.old): pair for pair in sure}
    for old, new in told:
        steps, moved = parse(old), parse(new)
        if len(steps) != 2 or len(moved) != 2 or steps[0] not in SECTIONS or steps[0] != moved[0]:
            raise ShowError(
                f"{old} and {new} are no two ids of one thing", "write them so: /groups/lx, /groups/lighting"
            )
        section, name = steps
        pair = Rename(section, name, moved[1])
        gone = name in sides.before.section(section) and name not in show.section(section)
        if gone and pair.new in show.section(section) and pair.new not in sides.before.section(section):
            known[section, name] = pair
    return known


def _align(
    made: Aligned, mine: Rename | None, incoming: Rename | None, every: tuple[Known, Known], answers: Answers
) -> None:
    sides = made.sides
    if mine is not None and incoming is not None and mine != incoming:
        _both_renamed(made, mine, incoming, answers)
        return
    pair = mine or incoming
    assert pair is not None, "one side renamed it"
    made.known.append(pair)
    if mine is not None and incoming is not None:
        made.sides = replace(sides, before=under_new_ids(sides.before, [pair]))
        return
    other = sides.incoming if mine is not None else sides.mine
    taken = pair.new in other.section(pair.section)
    if pair.old not in other.section(pair.section):
        made.groups.append(Group(frozenset({pair.paths[not taken]}), "removed-and-changed", facts=(RENAMED,)))
    if taken:
        _same_new_id(made, pair, mine is not None, every[mine is not None], answers)
        return
    before, laid = under_new_ids(sides.before, [pair]), under_new_ids(other, [pair])
    made.sides = Sides(before, sides.mine, laid) if mine is not None else Sides(before, laid, sides.incoming)


def _same_new_id(made: Aligned, pair: Rename, by_mine: bool, others: Known, answers: Answers) -> None:
    """Two things of one section that got one id: each is merged under its own, and who gets it is asked."""
    sides, section = made.sides, pair.section
    back = [Rename(section, pair.new, pair.old)]
    made.known = [each for each in made.known if each != pair]
    made.sides = (
        replace(sides, mine=under_new_ids(sides.mine, back))
        if by_mine
        else replace(sides, incoming=under_new_ids(sides.incoming, back))
    )
    there = next((each for each in others.values() if (each.section, each.new) == (section, pair.new)), None)
    spare = there.old if there else _free_id(sides, section, pair.new)
    was = {pair.paths[0]: pair.old, join(section, there.old if there else pair.new): there.old if there else ABSENT}
    gets = dict(zip(was, (pair.new, spare), strict=True))
    leaves = dict(zip(was, (pair.old, pair.new), strict=True))
    paths = tuple(sorted(was))
    both = [tuple(each[path] for path in paths) for each in ((gets, leaves) if by_mine else (leaves, gets))]
    one = thing_name(sides.before, section, pair.old)
    other = thing_name(sides.incoming if by_mine else sides.mine, section, pair.new)
    names = (one, other) if by_mine else (other, one)
    said = f"{pair.new}: mine gives this id to {names[0]}, incoming to {names[1]}: which of them has it?"
    values = Sides(tuple(was[path] for path in paths), *both)
    conflict = Conflict("same-id", paths, values, printable(said), (NEW_ID,))
    answer = answers.get(conflict.key)
    if answer is None:
        made.conflicts.append(conflict)
        return
    made.settled.append((conflict, answer))
    if answer.values.get(pair.paths[0]) == pair.new:
        made.later += [Rename(section, pair.new, spare), pair]


def _free_id(sides: Sides[Show], section: str, name: str) -> str:
    """The first of name-2, name-3 … that no side has."""
    shows = (sides.before, *sides.apart)
    return next(
        made for number in count(2) if not any((made := f"{name}-{number}") in show.section(section) for show in shows)
    )


def _both_renamed(made: Aligned, mine: Rename, incoming: Rename, answers: Answers) -> None:
    """One thing with another new id on each side: merged under the old one, which goes when it is answered."""
    sides = made.sides
    old = Sides(mine.old, mine.new, incoming.new)
    named = thing_name(sides.before, mine.section, mine.old)
    said = printable(f"{named}: mine gives it the id {old.mine}, incoming {old.incoming}; it was {old.before}")
    conflict = Conflict("both-changed", (mine.paths[0],), old.map(lambda name: (name,)), said, (NEW_ID,))
    made.sides = Sides(
        sides.before,
        under_new_ids(sides.mine, [Rename(mine.section, mine.new, mine.old)]),
        under_new_ids(sides.incoming, [Rename(mine.section, incoming.new, mine.old)]),
    )
    answer = answers.get(conflict.key)
    if answer is None:
        made.conflicts.append(conflict)
        return
    made.settled.append((conflict, answer))
    new = _new_id(sides, conflict, answer)
    made.later.append(Rename(mine.section, mine.old, new))
    made.known += [Rename(mine.section, name, new) for name in (mine.old, mine.new, incoming.new) if name != new]


def _new_id(sides: Sides[Show], conflict: Conflict, answer: Settlement) -> str:
    """The id that was answered. ShowError where it cannot be one."""
    (value,), (path,) = answer.values.values(), conflict.paths
    taken = {*conflict.mine, *conflict.incoming, *conflict.before}
    section = parse(path)[0]
    try:
        name = check_id(str(value))
    except ValueError as error:
        raise ShowError(str(error)) from None
    if name not in taken and any(name in show.section(section) for show in (sides.before, *sides.apart)):
        raise ShowError(f"there is {join(section, name)} already", "give another id")
    return name


# --- doubtful ones


def _doubts(sides: Sides[Show], other: Show, pairs: Iterable[Rename]) -> Iterator[tuple[Rename, Conflict]]:
    """Whether a side renamed a thing, or took it out and added another: asked where the other went on with it."""
    for pair in pairs:
        old, new = pair.paths
        if pair.new in other.section(pair.section) or not _went_on(sides.before, other, pair):
            continue
        named = thing_name(sides.before, pair.section, pair.old)
        said = f"{named} is removed, and {pair.new} is new and looks like it: is it the same thing, with a new id?"
        paths = tuple(sorted((old, new)))
        yield pair, Conflict("twin", paths, values_of(sides, paths), printable(said), (NEW_ID,))


def _went_on(before: Show, other: Show, pair: Rename) -> bool:
    """Whether the other side edited the thing, or points at it from elsewhere."""
    there, name = other.section(pair.section), pair.old
    if name not in there:
        return False
    if there[name] != before.section(pair.section)[name]:
        return True
    known = references(before, pair.section).get(name, set())
    return bool(references(other, pair.section).get(name, set()) - known)


def _keeps_old(answer: Settlement, pair: Rename) -> bool:
    """Whether one thing was answered, under the id that it had."""
    return answer.values.get(pair.paths[0], ABSENT) is not ABSENT
