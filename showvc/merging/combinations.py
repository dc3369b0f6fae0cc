"""What neither side had alone: the rules, read over the merged show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from showvc.document import Show
from showvc.document.editing import ABSENT, get, shape_at
from showvc.document.pointers import join, parse
from showvc.merging.blame import edits_behind
from showvc.merging.conflict import Conflict, Side, SideProblem, Sides
from showvc.merging.words import edit_words
from showvc.paths import advance
from showvc.rules import RULES, Found, Rule, Scene

Steps = tuple[str, ...]
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


def combinations(sides: Sides, scenes: Scenes, result: Show) -> tuple[list[Conflict], list[SideProblem]]:
    """The conflicts of the combination, and what was wrong on a side already."""
    conflicts: list[Conflict] = []
    problems: list[SideProblem] = []
    scene = scenes.beside(result)
    for rule in _CLASHES:
        mine, incoming = scenes.found(rule)
        problems += _problems(rule, mine, incoming)
        for key, found in _look(rule, scene).items():
            if key not in mine and key not in incoming:
                conflicts.append(_conflict(sides, scenes, result, rule, found))
    return conflicts, problems


def _look(rule: Rule, scene: Scene) -> dict[Identity, Found]:
    return {_identity(found): found for found in rule.look(scene)}


def _identity(found: Found) -> Identity:
    return found.paths, found.facts


def _problems(rule: Rule, mine: dict[Identity, Found], incoming: dict[Identity, Found]) -> Iterator[SideProblem]:
    for key, found in {**incoming, **mine}.items():
        side: Side = "both" if key in mine and key in incoming else "mine" if key in mine else "incoming"
        yield SideProblem(side, rule.code, found.paths[0], found.message, found.paths)


def _conflict(sides: Sides, scenes: Scenes, result: Show, rule: Rule, found: Found) -> Conflict:
    assert rule.clash is not None, "only rules that clash come here"
    paths = settle_places(sides, result, found.paths) or edits_behind(sides, result, rule, found, scenes.beside)
    values = [sides.values(path) for path in paths]
    before, mine, incoming = (tuple(triple[place] for triple in values) for place in range(3))
    return Conflict(rule.clash, paths, before, mine, incoming, _message(sides, found, paths), (rule.code, *found.facts))


def _message(sides: Sides, found: Found, paths: Iterable[str]) -> str:
    done = [edit_words(sides, path) for path in paths]
    mine = ", ".join(words for words, _ in done if words)
    incoming = ", ".join(words for _, words in done if words)
    return f"{found.message}. Mine {mine or 'changed nothing there'}; incoming {incoming or 'changed nothing there'}"


def settle_places(sides: Sides, result: Show, pointers: Iterable[str]) -> tuple[str, ...]:
    """The places among these where the sides differ, widened until either side's value can be taken.

    A map stands for those of its entries that only one side has.
    """
    found: dict[Steps, None] = {}
    for pointer in pointers:
        steps = parse(pointer)
        shape = shape_at(steps)
        if shape is not None and shape.kind == "map":
            found.update(dict.fromkeys(_only_one_has(sides, result, steps)))
        elif _differs(sides, steps):
            found[_removable(sides, steps)] = None
    kept = [steps for steps in found if not any(steps != other and steps[: len(other)] == other for other in found)]
    return tuple(join(*steps) for steps in kept)


def _differs(sides: Sides, steps: Steps) -> bool:
    return bool(get(sides.mine, steps) != get(sides.incoming, steps))


def _only_one_has(sides: Sides, result: Show, steps: Steps) -> list[Steps]:
    mine, incoming, now = (_names(show, steps) for show in (sides.mine, sides.incoming, result))
    return [(*steps, name) for name in sorted((mine ^ incoming) & now)]


def _names(show: Show, steps: Steps) -> set[str]:
    if len(steps) == 1 and steps[0] in ("groups", "users", "devices", "bridges"):
        return set(show.section(steps[0]))
    value = get(show, steps)
    return set() if value is ABSENT else set(value)


def _removable(sides: Sides, steps: Steps) -> Steps:
    """The narrowest place from here upwards that can be taken out where a side has nothing."""
    while len(steps) > 2 and ABSENT in (get(sides.mine, steps), get(sides.incoming, steps)):
        shape = shape_at(steps)
        if shape is None or not shape.required or _in_a_map(steps):
            break
        steps = steps[:-1]
    return steps


def _in_a_map(steps: Steps) -> bool:
    parent = shape_at(steps[:-1])
    return parent is not None and parent.kind == "map"
