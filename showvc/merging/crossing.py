"""The base of two shows that were put together crosswise: what their common snapshots make together."""

from __future__ import annotations

from dataclasses import dataclass

from showvc.document import Show
from showvc.document.pointers import join, parse
from showvc.identity.references import references
from showvc.merging.conflict import Conflict
from showvc.merging.merge import merge
from showvc.merging.places import put_back, removable
from showvc.merging.renaming import NEW_ID
from showvc.merging.sides import Sides, standing, values_at
from showvc.merging.units import CROSSED, Group


@dataclass(frozen=True, slots=True)
class Base:
    """What stood before, and the places that each side had to settle since: where they differ, it is asked again."""

    show: Show
    asked: tuple[Group, ...] = ()


def crossed(before: Base, one: Show, other: Show) -> Base:
    """Two common snapshots as one base. Where they clash it holds what stood before both, and says that it was asked.

    So no answer that one engineer gave is taken for an edit that the other took back.
    """
    merged = merge(before.show, one, other, asked=before.asked)
    sides, show = Sides(before.show, one, other), merged.show
    for conflict in merged.conflicts:
        places = {*conflict.paths, *(_pointing(sides, conflict) if conflict.kind == "twin" else ())}
        places = {join(*removable(sides, parse(path))) for path in places}
        old = {path: standing(values_at(sides, path)) for path in places} if not _of_ids(conflict) else {}
        show = put_back(show, before.show, old)
    asked = [_asked(conflict) for conflict in merged.conflicts if not _of_ids(conflict)]
    return Base(show, tuple(asked))


def _of_ids(conflict: Conflict) -> bool:
    return NEW_ID in conflict.facts and conflict.kind != "twin"


def _asked(conflict: Conflict) -> Group:
    """The same question once more: another one than before, so that no answer to that is taken for it."""
    turns = [int(fact.removeprefix(CROSSED)) for fact in conflict.facts if fact.startswith(CROSSED)]
    facts = (
        f"{CROSSED}{max(turns, default=0) + 1}",
        *(fact for fact in conflict.facts if not fact.startswith(CROSSED)),
    )
    return Group(frozenset(conflict.paths), conflict.kind, facts=facts, more=conflict.more)


def _pointing(sides: Sides[Show], conflict: Conflict) -> set[str]:
    """Where the two that may be one are named: with the answer to which they are, these places go too."""
    found: set[str] = set()
    for steps in map(parse, conflict.paths):
        if len(steps) == 2:
            for show in sides.apart:
                found |= {join(*place) for place in references(show, steps[0]).get(steps[1], set())}
    return found
