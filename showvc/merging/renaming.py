"""Ids that a side changed, before anything else is merged: both sides are looked at under one id."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from showvc.changes.words import thing_name
from showvc.document import SECTIONS, Show, ShowError, check_id
from showvc.document.editing import ABSENT
from showvc.document.lining import printable
from showvc.document.pointers import join, parse
from showvc.identity.references import references
from showvc.identity.renames import Rename, renames, under_new_ids
from showvc.merging.conflict import Conflict, Settlement
from showvc.merging.sides import Sides, values_of
from showvc.merging.units import Group

Told = Iterable[tuple[str, str]]
"""Ids that are known to have changed, as pointers: `("/groups/lx", "/groups/lighting")`."""
NEW_ID = "new-id"
"""The fact of a conflict whose values are ids."""


@dataclass(slots=True)
class Aligned:
    """The three shows with each thing under one id; `groups` and `conflicts` are what the ids make of themselves.

    `later` are ids that the merged show gets at the end, as they were answered.
    """

    sides: Sides[Show]
    groups: list[Group] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)
    settled: list[tuple[Conflict, Settlement]] = field(default_factory=list)
    later: list[Rename] = field(default_factory=list)


def aligned(sides: Sides[Show], answers: Mapping[str, Settlement], told: Told = ()) -> Aligned:
    """Recognises what changed its id on either side, and lays the other side and before over it."""
    found_mine, found_incoming = (renames(sides.before, show) for show in sides.apart)
    mine = _with_told(sides, sides.mine, found_mine.sure, told)
    incoming = _with_told(sides, sides.incoming, found_incoming.sure, told)
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
            made.later += [Rename(pair.section, pair.new, pair.old)] if _keeps_old(answer, pair) else []
    for place in sorted({*mine, *incoming}):
        _align(made, mine.get(place), incoming.get(place), answers)
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


def _align(made: Aligned, mine: Rename | None, incoming: Rename | None, answers: Mapping[str, Settlement]) -> None:
    sides = made.sides
    if mine is not None and incoming is not None and mine != incoming:
        _both_renamed(made, mine, incoming, answers)
        return
    pair = mine or incoming
    assert pair is not None, "one side renamed it"
    if mine is not None and incoming is not None:
        made.sides = replace(sides, before=under_new_ids(sides.before, [pair]))
        return
    other = sides.incoming if mine is not None else sides.mine
    if pair.new in other.section(pair.section):
        return  # the other side has something else under the new id
    if pair.old not in other.section(pair.section):
        made.groups.append(Group(frozenset({pair.paths[1]}), "removed-and-changed"))
    before, laid = under_new_ids(sides.before, [pair]), under_new_ids(other, [pair])
    made.sides = Sides(before, sides.mine, laid) if mine is not None else Sides(before, laid, sides.incoming)


def _both_renamed(made: Aligned, mine: Rename, incoming: Rename, answers: Mapping[str, Settlement]) -> None:
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
    made.later.append(Rename(mine.section, mine.old, _new_id(sides, conflict, answer)))


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
