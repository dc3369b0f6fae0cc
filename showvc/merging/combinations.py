"""What neither side had alone: the rules, read over the merged show."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from showvc.document import Show
from showvc.merging.blame import places_of
from showvc.merging.conflict import Conflict, Side, SideProblem, Sides
from showvc.merging.places import settle_places
from showvc.merging.words import combination_message
from showvc.paths import advance
from showvc.rules import RULES, Finding, Found, Rule, Scene, finding_of

Identity = tuple[tuple[str, ...], tuple[str, ...]]
_CLASHES: tuple[Rule, ...] = tuple(rule for rule in RULES if rule.clash is not None)


class Scenes:
    """The two sides as the rules see them; the paths of one are worked out from those of the other."""

    def __init__(self, sides: Sides) -> None:
        self.mine = Scene(sides.mine)
        self.incoming = self.beside(sides.incoming)
        self._found: dict[str, tuple[dict[Identity, Found], dict[Identity, Found]]] = {}

    def beside(self, show: Show) -> Scene:
        """Another show that differs from mine in a little."""
        return Scene(show, lambda: advance(self.mine.matrix, self.mine.show, show))

    def found(self, rule: Rule) -> tuple[dict[Identity, Found], dict[Identity, Found]]:
        """What a rule finds in mine and in incoming."""
        if rule.code not in self._found:
            self._found[rule.code] = (_look(rule, self.mine), _look(rule, self.incoming))
        return self._found[rule.code]


class Combined(NamedTuple):
    """The conflicts of the combination, what was wrong on a side already, and each stop that mine did not have."""

    conflicts: list[Conflict]
    problems: list[SideProblem]
    stops: list[Finding]


def combinations(sides: Sides, scenes: Scenes, result: Show) -> Combined:
    """What the rules find in the result, beside what they find in either side."""
    combined = Combined([], [], [])
    scene = scenes.beside(result)
    for rule in _CLASHES:
        mine, incoming = scenes.found(rule)
        here = _look(rule, scene)
        combined.problems.extend(_problems(rule, mine, incoming, here))
        for key, found in here.items():
            if key not in mine and rule.severity == "stop":
                combined.stops.append(finding_of(rule, found))
            if key not in mine and key not in incoming:
                combined.conflicts.append(_conflict(sides, scenes, result, rule, found))
    return combined


def _look(rule: Rule, scene: Scene) -> dict[Identity, Found]:
    return {_identity(found): found for found in rule.look(scene)}


def _identity(found: Found) -> Identity:
    return found.paths, found.facts


def _problems(
    rule: Rule, mine: dict[Identity, Found], incoming: dict[Identity, Found], here: dict[Identity, Found]
) -> Iterator[SideProblem]:
    for key, found in {**incoming, **mine}.items():
        side: Side = "both" if key in mine and key in incoming else "mine" if key in mine else "incoming"
        yield SideProblem(side, rule.code, found.paths[0], found.message, found.paths, key in here)


def _conflict(sides: Sides, scenes: Scenes, result: Show, rule: Rule, found: Found) -> Conflict:
    assert rule.clash is not None, "only rules that clash come here"
    near = settle_places(sides, result, found.paths)
    paths = places_of(sides, result, rule, found, scenes.beside, near)
    values = [sides.values(path) for path in paths]
    before, mine, incoming = (tuple(triple[place] for triple in values) for place in range(3))
    return Conflict(
        rule.clash,
        paths,
        before,
        mine,
        incoming,
        combination_message(sides, found.message, paths),
        (rule.code, *found.facts),
    )
