"""Rules about things that need each other in a circle: carriers that hang on each other, and standbys of each other."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from showvc.document import Show
from showvc.document.pointers import join, parse
from showvc.rules.finding import Found, Scene

Needs = Mapping[str, Collection[str]]
"""Of each thing, those that it needs."""


def carrier_circles(scene: Scene) -> Iterator[Found]:
    """Carriers that hang on each other, with nothing else to hang on."""
    yield from _told("carriers", "on", _carriers(scene.show))


def standby_circles(scene: Scene) -> Iterator[Found]:
    """Bridges each of which is a standby for the next."""
    yield from _told("bridges", "standby", _standbys(scene.show))


def carriers_again(scene: Scene, found: Found) -> bool:
    """Whether some of these carriers are in a circle here too, be it a larger or a smaller one."""
    return _again(_carriers(scene.show), found)


def standbys_again(scene: Scene, found: Found) -> bool:
    """The same of standbys."""
    return _again(_standbys(scene.show), found)


def _told(section: str, field: str, needs: Needs) -> Iterator[Found]:
    for names in _circles(needs):
        yield Found(tuple(join(section, name, field) for name in names), (names,))


def _again(needs: Needs, found: Found) -> bool:
    names = {parse(path)[1] for path in found.paths}
    return any(not names.isdisjoint(circle) for circle in _circles(needs))


def _carriers(show: Show) -> Needs:
    """The carriers that never stand, were all there that is named; and of each the others for want of which it doesn't.

    Where one of several alternatives stands outside the circle, that is enough.
    """
    carriers = show.carriers
    down = {name for name, body in carriers.items() if body.on}

    def wanting(name: str) -> set[str]:
        needed = ({each} if isinstance(each, str) else set(each) for each in carriers[name].on)
        return {one for ways in needed if ways <= down for one in ways}

    while up := {name for name in down if not wanting(name)}:
        down -= up
    return {name: wanting(name) for name in down}


def _standbys(show: Show) -> Needs:
    return {name: (body.standby,) for name, body in show.bridges.items() if body.standby is not None}


def _circles(needs: Needs) -> Iterator[tuple[str, ...]]:
    """The sets of things each of which needs, by way of others, every one of its set."""
    reached = {name: _reached(needs, name) for name in sorted(needs)}
    told: set[str] = set()
    for name, others in reached.items():
        if name in others and name not in told:
            circle = tuple(sorted(other for other in others if name in reached.get(other, ())))
            told.update(circle)
            yield circle


def _reached(needs: Needs, start: str) -> frozenset[str]:
    found: set[str] = set()
    pending = [start]
    while pending:
        for name in needs.get(pending.pop(), ()):
            if name not in found:
                found.add(name)
                pending.append(name)
    return frozenset(found)
