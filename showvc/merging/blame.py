"""Which edits of the two sides together make a finding that neither had."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from showvc.changes import edits
from showvc.document import SECTIONS, Show
from showvc.document.editing import ABSENT, get, put
from showvc.document.pointers import parse
from showvc.merging.conflict import Sides
from showvc.rules import Found, Rule, Scene

Steps = tuple[str, ...]


def edits_behind(
    sides: Sides, result: Show, rule: Rule, found: Found, scene: Callable[[Show], Scene]
) -> tuple[str, ...]:
    """The fewest edits of mine and of incoming without either of which the finding is gone."""

    def gone(show: Show) -> bool:
        return all((other.paths, other.facts) != (found.paths, found.facts) for other in rule.look(scene(show)))

    paths = [*_needed(sides.before, sides.mine, result, gone), *_needed(sides.before, sides.incoming, result, gone)]
    return tuple(dict.fromkeys(paths)) or found.paths


def _needed(before: Show, side: Show, result: Show, gone: Callable[[Show], bool]) -> list[str]:
    """The smallest set of this side's edits that must be taken back for the finding to go."""
    places = list(dict.fromkeys(change.path for change in edits(before, side).changes))
    back = {path: get(before, parse(path)) for path in places}
    for path in places:
        if gone(put_back(result, before, {path: back[path]})):
            return [path]
    if not gone(put_back(result, before, back)):
        return []
    needed = dict(back)
    for path in places:
        fewer = {other: value for other, value in needed.items() if other != path}
        if gone(put_back(result, before, fewer)):
            needed = fewer
    return list(needed)


def put_back(show: Show, source: Show, values: Mapping[str, object]) -> Show:
    """The show with these values at their pointers; what holds them is brought from `source` where it is gone."""
    placed: dict[Steps, object] = {}
    for pointer, value in values.items():
        steps = parse(pointer)
        if value is not ABSENT:
            place = _reachable(show, source, steps)
            placed[place] = value if place == steps else get(source, place)
        elif _stands(show, steps[:-1]):
            placed[steps] = ABSENT
    return put(show, placed)


def _reachable(show: Show, source: Show, steps: Steps) -> Steps:
    """The place itself, or the widest thing around it that only `source` has."""
    least = 2 if steps[0] in SECTIONS else 1
    while len(steps) > least and not _stands(show, steps[:-1]) and _stands(source, steps[:-1]):
        steps = steps[:-1]
    return steps


def _stands(show: Show, steps: Steps) -> bool:
    return not steps or (len(steps) == 1 and steps[0] in SECTIONS) or get(show, steps) is not ABSENT
