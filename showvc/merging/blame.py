"""Which edits of the two sides together make a finding that neither had."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from showvc.document import Show
from showvc.document.editing import get
from showvc.document.pointers import join, parse
from showvc.merging.places import places_edited, put_back, removable, widest
from showvc.merging.sides import Sides
from showvc.rules import Found, Rule, Scene


def places_of(
    sides: Sides[Show], result: Show, rule: Rule, found: Found, scene: Callable[[Show], Scene], near: Iterable[str]
) -> tuple[str, ...]:
    """Where a finding of the combination is settled: at each of these places either side can be taken, and it is gone.

    The places near it are enough where they are; else the fewest edits of both sides that make it come with them.
    """

    def gone(show: Show) -> bool:
        return not rule.finds(scene(show), found)

    def settled_by(side: Show) -> bool:
        return gone(put_back(result, side, {path: get(side, parse(path)) for path in places}))

    places = tuple(near)
    if places and settled_by(sides.mine) and settled_by(sides.incoming):
        return places
    behind = {*_needed(sides, result, gone), *_needed(sides.turned(), result, gone)}
    return widest([*places, *sorted(behind)]) or found.paths


def _needed(sides: Sides[Show], result: Show, gone: Callable[[Show], bool]) -> list[str]:
    """The smallest set of mine's edits that must give way to incoming's value for the finding to go."""
    edited = places_edited(sides.before, sides.mine)
    places = list(dict.fromkeys(join(*removable(sides, parse(path))) for path in edited))
    other = {path: get(sides.incoming, parse(path)) for path in places}
    for path in places:
        if gone(put_back(result, sides.incoming, {path: other[path]})):
            return [path]
    if not gone(put_back(result, sides.incoming, other)):
        return []  # neither side's edits make it, but an answer that was given
    needed = dict(other)
    for path in places:
        fewer = {name: value for name, value in needed.items() if name != path}
        if gone(put_back(result, sides.incoming, fewer)):
            needed = fewer
    return list(needed)
