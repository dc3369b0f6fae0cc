"""What neither side had alone: the rules, read over the merged show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from showvc.document import Show
from showvc.merging.blame import places_of
from showvc.merging.conflict import Conflict, Side, SideProblem, Sides
from showvc.merging.places import settle_places
from showvc.merging.words import combination_message
from showvc.paths import advance
from showvc.rules import RULES, Finding, Found, Identity, Rule, Scene, finding_of, what_of

_CLASHES: tuple[Rule, ...] = tuple(rule for rule in RULES if rule.clash is not None)


class Told:
    """What a rule finds in a show. What it tells is gone through; whether it is there is asked of the rule."""

    def __init__(self, rule: Rule, scene: Scene) -> None:
        self.rule, self._scene = rule, scene
        self.by_identity: dict[Identity, Found] = {found.identity: found for found in rule.look(scene)}

    def what(self, found: Found) -> str:
        """What was found in a sentence."""
        return what_of(self.rule, found, self._scene.show)

    def __iter__(self) -> Iterator[Found]:
        return iter(self.by_identity.values())

    def __contains__(self, found: Found) -> bool:
        return found.identity in self.by_identity or (
            self.rule.again is not None and self.rule.again(self._scene, found)
        )


class Scenes:
    """The two sides as the rules see them; the paths of one are worked out from those of the other."""

    def __init__(self, sides: Sides) -> None:
        self.mine = Scene(sides.mine)
        self.incoming = self.beside(sides.incoming)
        self._told: dict[str, tuple[Told, Told]] = {}

    def beside(self, show: Show) -> Scene:
        """Another show that differs from mine in a little."""
        return Scene(show, lambda: advance(self.mine.paths, show))

    def sides(self, rule: Rule) -> tuple[Told, Told]:
        """What a rule finds in mine and in incoming."""
        if rule.code not in self._told:
            self._told[rule.code] = (Told(rule, self.mine), Told(rule, self.incoming))
        return self._told[rule.code]


class Combined(NamedTuple):
    """The conflicts of the combination, what was wrong on a side already, and each stop that mine did not have."""

    conflicts: list[Conflict]
    problems: list[SideProblem]
    stops: list[Finding]


def combinations(sides: Sides, scenes: Scenes, result: Show, united: Show) -> Combined:
    """What the rules find in the result, beside what they find in either side.

    `united` is the result with its twins made one: what goes by that is no conflict.
    """
    combined = Combined([], [], [])
    scene, later = scenes.beside(result), None if united is result else scenes.beside(united)
    for rule in _CLASHES:
        mine, incoming, here = (*scenes.sides(rule), Told(rule, scene))
        combined.problems.extend(_problems(mine, incoming, here))
        stays = _staying(here, Told(rule, later)) if later else list(here)
        for found in stays:
            if found not in mine and rule.severity == "block":
                combined.stops.append(finding_of(rule, found, result))
        new = [found for found in stays if found not in mine and found not in incoming]
        combined.conflicts.extend(_conflicts(sides, scenes, result, rule, new))
    return combined


def _staying(here: Told, united: Told) -> list[Found]:
    """What a rule finds still when twins are one; all of it where making them one brings something that was not."""
    brings = any(found not in here for found in united)
    return [found for found in here if brings or found in united]


def _problems(mine: Told, incoming: Told, here: Told) -> Iterator[SideProblem]:
    for found in {**incoming.by_identity, **mine.by_identity}.values():
        told = mine if found in mine else incoming
        side: Side = "both" if found in mine and found in incoming else "mine" if found in mine else "incoming"
        yield SideProblem(side, here.rule.code, found.paths[0], told.what(found), found.paths, found in here)


def _conflicts(sides: Sides, scenes: Scenes, result: Show, rule: Rule, new: Iterable[Found]) -> Iterator[Conflict]:
    """One for all findings that are settled at the same places: it is one decision."""
    at: dict[tuple[str, ...], list[Found]] = defaultdict(list)
    for found in sorted(new, key=lambda found: found.identity):
        near = settle_places(sides, result, found.paths)
        at[places_of(sides, result, rule, found, scenes.beside, near)].append(found)
    for paths, founds in at.items():
        yield _conflict(sides, result, rule, paths, founds)


def _conflict(sides: Sides, result: Show, rule: Rule, paths: tuple[str, ...], founds: Iterable[Found]) -> Conflict:
    assert rule.clash is not None, "only rules that clash come here"
    values = [sides.values(path) for path in paths]
    before, mine, incoming = (tuple(triple[place] for triple in values) for place in range(3))
    return Conflict(
        rule.clash,
        paths,
        before,
        mine,
        incoming,
        combination_message(sides, [what_of(rule, found, result) for found in founds], paths),
        # What was let stand for one finding is not let stand for another.
        (rule.code, *(word for found in founds for part in found.identity for word in part)),
    )
