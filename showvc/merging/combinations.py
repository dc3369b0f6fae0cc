"""What neither side had alone: the rules, read over the merged show."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from showvc.changes import Loss
from showvc.document import Show
from showvc.merging.blame import Places, Settling
from showvc.merging.combined import Combined
from showvc.merging.conflict import Conflict, Side, SideProblem
from showvc.merging.keys_lost import key_lost
from showvc.merging.losses import LossRule, loss_rules
from showvc.merging.sides import Sides, values_of
from showvc.merging.words import combination_message
from showvc.paths import Difference, advance, difference
from showvc.rules import RULES, Clash, Finding, Found, Identity, Rule, Scene, finding_of, what_of

_CANNOT_STAND = ("dangling", "double-booked", "same-id")
"""What is lost by one of these waits for its answer, which takes one of the edits back."""
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

    def __init__(self, sides: Sides[Show]) -> None:
        self.mine = Scene(sides.mine)
        self.incoming = Scene(sides.incoming, lambda: advance(self.mine.paths, sides.incoming))
        self.rules = (*_CLASHES, *loss_rules(self.mine, self.incoming, self.against), key_lost(sides))
        self._told: dict[str, tuple[Told, Told]] = {}
        self._against: dict[Scene, tuple[Difference, Difference]] = {}
        self._results: list[Scene] = []

    def beside(self, show: Show) -> Scene:
        """Another show that differs from both in a little; its paths stand in the slots of theirs."""
        return Scene(show, lambda: advance(self.incoming.paths, show))

    def result(self, show: Show) -> Scene:
        """What came of the sides, be it asked for again."""
        known = next((scene for scene in self._results if scene.show is show), None)
        if known is None:
            known = self.beside(show)
            self._results.append(known)
        return known

    def against(self, scene: Scene) -> tuple[Difference, Difference]:
        """What differs in a result from mine, and from incoming."""
        if scene not in self._against:
            self._against[scene] = (
                difference(self.mine.paths, scene.paths),
                difference(self.incoming.paths, scene.paths),
            )
        return self._against[scene]

    def combined(self, show: Show, known: Iterable[Loss]) -> Combined:
        """What only the two together do to people."""
        return Combined(*self.against(self.result(show)), frozenset(known))

    def sides(self, rule: Rule) -> tuple[Told, Told]:
        """What a rule finds in mine and in incoming."""
        if rule.code not in self._told:
            self._told[rule.code] = (Told(rule, self.mine), Told(rule, self.incoming))
        return self._told[rule.code]


class Clashes(NamedTuple):
    """The conflicts of the combination, what was wrong on a side already, and each stop that mine did not have."""

    conflicts: list[Conflict]
    problems: list[SideProblem]
    stops: list[Finding]


New = list[tuple[Rule, Found]]
"""What rules find that neither side had."""


def combinations(sides: Sides[Show], scenes: Scenes, result: Show, united: Show) -> Clashes:
    """What the rules find in the result, beside what they find in either side.

    `united` is the result with its twins made one: what goes by that is no conflict.
    """
    problems: list[SideProblem] = []
    stops: list[Finding] = []
    new: New = []
    scene, later = scenes.result(result), None if united is result else scenes.result(united)
    for rule in scenes.rules:
        mine, incoming, here = (*scenes.sides(rule), Told(rule, scene))
        problems.extend(_problems(mine, incoming, here))
        stays = _staying(here, Told(rule, later)) if later else list(here)
        for found in stays:
            if found not in mine and rule.severity == "block":
                stops.append(finding_of(rule, found, result))
        new += [(rule, found) for found in stays if found not in mine and found not in incoming]
    return Clashes(list(_conflicts(sides, scenes, scene, new)), problems, stops)


def _staying(here: Told, united: Told) -> list[Found]:
    """What a rule finds still when twins are one; all of it where making them one brings something that was not."""
    brings = any(found not in here for found in united)
    return [found for found in here if brings or found in united]


def _problems(mine: Told, incoming: Told, here: Told) -> Iterator[SideProblem]:
    for found in {**incoming.by_identity, **mine.by_identity}.values():
        told = mine if found in mine else incoming
        side: Side = "both" if found in mine and found in incoming else "mine" if found in mine else "incoming"
        yield SideProblem(side, here.rule.code, found.paths[0], told.what(found), found.paths, found in here)


def _conflicts(sides: Sides[Show], scenes: Scenes, scene: Scene, new: New) -> Iterator[Conflict]:
    """One for all findings of a kind that are settled at the same places: it is one decision."""
    off = {found.key[0] for rule, found in new if rule.code == "off-headset"}
    at: dict[tuple[Clash, Places], New] = defaultdict(list)
    settling = Settling(sides, scene.show, scenes.beside)
    for rule, found in sorted(new, key=lambda each: (scenes.rules.index(each[0]), each[1].identity)):
        assert rule.clash is not None, "only rules that clash come here"
        if rule.code == "key-lost" and found.key[0] in off:
            continue  # who has no headset has no keys
        known = [places for clash, places in at if clash == rule.clash] if isinstance(rule, LossRule) else []
        places = next((each for each in known if settling.settles(rule, found, each)), None)
        at[rule.clash, places or settling.places_of(rule, found)].append((rule, found))
    cannot_stand = [set(paths) for clash, paths in at if clash in _CANNOT_STAND]
    for (clash, paths), founds in at.items():
        waits = isinstance(founds[0][0], LossRule) and any(set(paths) <= known for known in cannot_stand)
        if paths and not waits:
            yield _conflict(sides, scene, clash, paths, founds)


def _conflict(sides: Sides[Show], scene: Scene, clash: Clash, paths: Places, founds: New) -> Conflict:
    facts: list[str] = []
    for rule in dict.fromkeys(rule for rule, _ in founds):
        words = (word for other, found in founds if other is rule for part in found.identity for word in part)
        facts += [rule.code, *words]
    return Conflict(
        clash,
        paths,
        values_of(sides, paths),
        combination_message(sides, _sentences(scene, founds), paths),
        # What was let stand for one finding is not let stand for another.
        tuple(facts),
        losses=tuple(found.key for rule, found in founds if isinstance(rule, LossRule)),
    )


def _sentences(scene: Scene, founds: New) -> Iterator[str]:
    """What was found in sentences; losses in few, and not those that a lost required path tells."""
    told: set[tuple[str, ...]] = set()
    for rule, found in founds:
        if not isinstance(rule, LossRule):
            told |= set(found.facts[2]) if rule.code == "required-lost" else set()
            yield what_of(rule, found, scene.show)
    for rule in dict.fromkeys(rule for rule, _ in founds):
        if isinstance(rule, LossRule):
            keys = [found.key for other, found in founds if other is rule]
            yield from rule.fold(scene, [loss for loss in keys if len(loss) == 1 or (loss[0], loss[-1]) not in told])
