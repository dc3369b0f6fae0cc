"""Which edits of the two sides together make a finding that neither had."""

from __future__ import annotations

from collections.abc import Callable

from showvc.document import Show
from showvc.document.editing import get
from showvc.document.pointers import join, parse
from showvc.merging.places import places_edited, put_back, removable, settle_places, widest
from showvc.merging.sides import Sides
from showvc.rules import Found, Rule, Scene

Places = tuple[str, ...]


class Settling:
    """Where findings of the combination are settled: at each of these places either side can be taken, and it is gone.

    `scene` makes one of a show. The shows with a side taken at some places are kept, for other findings.
    """

    def __init__(self, sides: Sides[Show], result: Show, scene: Callable[[Show], Scene]) -> None:
        self.sides, self.result, self._scene = sides, result, scene
        self._taken: dict[tuple[Places, bool], Scene] = {}

    def settles(self, rule: Rule, found: Found, places: Places) -> bool:
        """Whether a finding goes when either side is taken at these places."""
        return not any(rule.finds(self._with(places, mine), found) for mine in (True, False))

    def _with(self, places: Places, mine: bool) -> Scene:
        if (places, mine) not in self._taken:
            side = self.sides.mine if mine else self.sides.incoming
            values = {path: get(side, parse(path)) for path in places}
            self._taken[places, mine] = self._scene(put_back(self.result, side, values))
        return self._taken[places, mine]

    def places_of(self, rule: Rule, found: Found) -> Places:
        """The places near a finding where they are enough; else the fewest edits of both sides that make it, too."""
        near = settle_places(self.sides, self.result, found.paths)
        if near and self.settles(rule, found, near):
            return near

        def gone(show: Show) -> bool:
            return not rule.finds(self._scene(show), found)

        behind = {*_needed(self.sides, self.result, gone), *_needed(self.sides.turned(), self.result, gone)}
        return widest([*near, *sorted(behind)]) or found.paths


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
