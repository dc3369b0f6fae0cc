"""Places that belong together become one conflict, whatever each of them would have been alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from showvc.document import Show, same
from showvc.document.pointers import join, parse
from showvc.merging.conflict import Conflict
from showvc.merging.places import put_back, widened, widest
from showvc.merging.sides import Sides, standing, values_at, values_of
from showvc.merging.units import Group
from showvc.merging.words import group_message


def bound_together(
    sides: Sides[Show], show: Show, conflicts: Sequence[Conflict], groups: Iterable[Group]
) -> tuple[Show, list[Conflict]]:
    """The show and the conflicts of single places, with each group as one conflict in place of those that it holds.

    At the places of a group the show stands on the values from before.
    """
    alone = list(conflicts)
    bound: list[Conflict] = []
    for group in _joined(groups):
        inside = [each for each in alone if _meets(each.paths, group.places)]
        paths = widest(sorted({*group.places, *(path for each in inside for path in each.paths)}))
        values = values_of(sides, paths)
        if same([*values.mine], [*values.incoming]):
            continue
        alone = [each for each in alone if each not in inside]
        kind = "double-booked" if group.booked and not inside else group.kind
        message = group_message(sides, kind, paths, group.facts)
        bound.append(Conflict(kind, paths, values, message, group.facts, together=len(paths) > 1, more=group.more))
        show = put_back(show, sides.before, {path: standing(values_at(sides, path)) for path in paths})
    return show, [*alone, *bound]


def where_things_stand(sides: Sides[Show], group: Group) -> Group:
    """The group with whole things in place of what is in them, where a side has not got these any more."""
    places = {join(*widened(sides, parse(place))) for place in group.places}
    return replace(group, places=frozenset(places))


def _joined(groups: Iterable[Group]) -> list[Group]:
    """Groups that meet at a place are one."""
    found: list[Group] = []
    for group in groups:
        whole = group
        while near := [each for each in found if _meets(sorted(each.places), whole.places)]:
            found = [each for each in found if each not in near]
            for each in near:
                whole = replace(
                    whole,
                    places=whole.places | each.places,
                    booked=whole.booked and each.booked,
                    facts=tuple(dict.fromkeys((*each.facts, *whole.facts))),
                    more=(*each.more, *whole.more) if not (each.more and whole.more) else (),
                )
        found.append(whole)
    return found


def _meets(paths: Iterable[str], places: Iterable[str]) -> bool:
    """Whether one of the paths is at, above or below one of the places."""
    known = [f"{place}/" for place in places]
    return any(f"{path}/".startswith(place) or place.startswith(f"{path}/") for path in paths for place in known)
