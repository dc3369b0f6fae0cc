"""Three shows to one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from showvc.document import Show, same
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from showvc.identity.renames import under_new_ids
from showvc.merging.combinations import Clashes, Scenes, combinations
from showvc.merging.conflict import Conflict, Merge, Settlement
from showvc.merging.leaves import merge_leaves
from showvc.merging.places import put_back
from showvc.merging.renaming import Told, aligned
from showvc.merging.reused import reused_ids
from showvc.merging.sides import Sides
from showvc.merging.together import bound_together, where_things_stand
from showvc.merging.twins import kept_and_gone, twins, unify
from showvc.merging.units import Group, unit_groups
from showvc.merging.wearers import wearer_groups

Pairs = Sequence[tuple[str, str]]
"""Twins that are made one: the one that is kept, and the other."""
Answered = list[tuple[Conflict, Settlement]]


def merge(
    before: Show,
    mine: Show,
    incoming: Show,
    settlements: Iterable[Settlement] = (),
    renamed: Told = (),
    asked: Iterable[Group] = (),
) -> Merge:
    """Puts the edits of `mine` and `incoming` together, both of which came from `before`.

    `settlements` answer conflicts by their keys; what they do not answer stays open in the result. `renamed` are ids
    that are known to have changed on a side, as pointers to a thing: old and new.
    Source of the rules: the reconciliation laws of Pierce and Vouillon, "What's in Unison?" (2004).
    """
    answers = {settlement.key: settlement for settlement in settlements}
    ids = aligned(Sides(before, mine, incoming), answers, renamed)
    sides = ids.sides
    show, alone = merge_leaves(sides)
    alone = [each for each in alone if not any(set(each.paths) <= set(doubt.paths) for doubt in ids.conflicts)]
    groups = [*unit_groups(sides, [path for each in alone for path in each.paths]), *wearer_groups(sides), *ids.groups]
    groups += [where_things_stand(sides, group) for group in asked]
    show, bound = bound_together(sides, show, alone, groups)
    settled = [(conflict, answers[conflict.key]) for conflict in bound if conflict.key in answers]
    alike = list(twins(sides))
    twin = [each for each in alike if each.key not in answers]
    told = [(each, answers[each.key]) for each in alike if each.key in answers]
    pairs = [pair for each, answer in told if (pair := kept_and_gone(each, answer))]
    still_open = [*ids.conflicts, *(each for each in bound if each.key not in answers), *twin]
    show = _with_answers(show, sides, settled)
    scenes = Scenes(sides)
    show, answered, found = _combine(sides, scenes, show, answers, still_open, settled, pairs)
    conflicts = sorted([*still_open, *found.conflicts], key=lambda conflict: (conflict.paths, conflict.kind))
    show = show if conflicts else _united(show, pairs)
    stands = [each for each in conflicts if each.losses]
    stands += [each for each, answer in answered if answer.how == "both"]
    return Merge(
        show if conflicts else under_new_ids(show, ids.later),
        tuple(conflicts),
        (*found.problems, *reused_ids(sides)),
        (*ids.settled, *settled, *told, *answered),
        tuple(found.stops),
        tuple(_overridden([*settled, *answered])),
        scenes.combined(show, (loss for each in stands for loss in each.losses)),
        tuple(ids.known),
    )


def _combine(
    sides: Sides[Show],
    scenes: Scenes,
    show: Show,
    answers: Mapping[str, Settlement],
    still_open: Iterable[Conflict],
    settled: Answered,
    unified: Pairs,
) -> tuple[Show, Answered, Clashes]:
    """Answers the conflicts of the combination, and looks again, since an answer may make another.

    A combination at a place that is still open itself waits until it is known what stands there, and so does one
    that no place can settle yet.
    """
    disputed = [path for conflict in still_open for path in conflict.paths]
    answered: dict[str, tuple[Conflict, Settlement]] = {}
    while True:
        found = combinations(sides, scenes, show, _united(show, unified))
        valued = {
            path for _, answer in (*settled, *answered.values()) if answer.how == "value" for path in answer.values
        }
        conflicts = [
            conflict
            for conflict in found.conflicts
            if not (disputed and _waits(conflict, disputed))
            and not (conflict.kind == "key-lost" and valued.issuperset(conflict.paths))
        ]
        fresh = [(conflict, answers[conflict.key]) for conflict in conflicts if conflict.key in answers]
        fresh = [pair for pair in fresh if pair[0].key not in answered]
        if not fresh:
            accepted = {key for key, (_, answer) in answered.items() if answer.how == "both"}
            unanswered = [each for each in conflicts if each.key not in accepted]
            return show, list(answered.values()), found._replace(conflicts=unanswered)
        answered.update({conflict.key: (conflict, answer) for conflict, answer in fresh})
        show = _with_answers(show, sides, fresh)


def _united(show: Show, pairs: Pairs) -> Show:
    """The show with twins made one, as far as both still stand."""
    for keep, other in pairs:
        if get(show, parse(keep)) is not ABSENT and get(show, parse(other)) is not ABSENT:
            show = unify(show, keep, other)
    return show


def _waits(conflict: Conflict, disputed: Iterable[str]) -> bool:
    return same(list(conflict.mine), list(conflict.incoming)) or _touches(conflict, disputed)


def _touches(conflict: Conflict, disputed: Iterable[str]) -> bool:
    """Whether one of the conflict's places is at, above or below a disputed one."""
    return any(
        f"{path}/".startswith(f"{other}/") or f"{other}/".startswith(f"{path}/")
        for path in conflict.paths
        for other in disputed
    )


def _overridden(answers: Answered) -> Iterator[tuple[Conflict, Settlement]]:
    """The answers of which a later one put something else in place."""
    for number, (conflict, answer) in enumerate(answers):
        later = {path: value for _, other in answers[number + 1 :] for path, value in other.values.items()}
        if any(path in later and not same(later[path], value) for path, value in answer.values.items()):
            yield conflict, answer


def _with_answers(show: Show, sides: Sides[Show], answers: Iterable[tuple[Conflict, Settlement]]) -> Show:
    for conflict, answer in answers:
        places = {*conflict.paths, *(path for _, more in conflict.more for path in more)}
        values: dict[str, Any] = {path: value for path, value in answer.values.items() if path in places}
        # A remembered answer may have been given with the sides turned: the values say whose it is.
        source = sides.incoming if values == conflict.values_of("incoming") else sides.mine
        show = put_back(show, source, values)
    return show
