"""Rules about one place for two things."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from itertools import combinations
from typing import TypeVar

from showvc.document import Show
from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene

Place = TypeVar("Place", bound=Hashable)


def numbers_twice(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for user, body in show.users.items():
        if len({entry.number for entry in body.channels.values()}) == len(body.channels):
            continue
        for number, (first, second) in _doubled((entry.number, name) for name, entry in body.channels.items()):
            paths = tuple(join("users", user, "channels", channel, "number") for channel in (first, second))
            yield Found(paths, (user, number, first, second), (str(number),))


def ports_twice(scene: Scene) -> Iterator[Found]:
    show = scene.show
    claims = (((bridge.device, bridge.port), name) for name, bridge in show.bridges.items())
    for place, (first, second) in _doubled(claims):
        if not _shared(show, first, second):
            paths = tuple(join("bridges", name, field) for name in (first, second) for field in ("port", "device"))
            device, port = place
            yield Found(paths, (device, port, first, second), (f"port {port} of device {device}",))


def _shared(show: Show, first: str, second: str) -> bool:
    """A standby may share the port of what it replaces, and so may two standbys of one bridge that is on that port."""
    one, other = show.bridges[first], show.bridges[second]
    if one.standby == second or other.standby == first:
        return True
    replaced = show.bridges.get(one.standby) if one.standby is not None and one.standby == other.standby else None
    return replaced is not None and (replaced.device, replaced.port) == (one.device, one.port)


def hardware_twice(scene: Scene) -> Iterator[Found]:
    show = scene.show
    claims = ((device.hardware, name) for name, device in show.devices.items() if device.hardware)
    for hardware, (first, second) in _doubled(claims):
        paths = (join("devices", first, "hardware"), join("devices", second, "hardware"))
        yield Found(paths, (first, second, hardware), (hardware,))


def _doubled(claims: Iterable[tuple[Place, str]]) -> Iterator[tuple[Place, tuple[str, str]]]:
    """Each pair of things that claim the same place, in the order of their names."""
    claimed: dict[Place, list[str]] = defaultdict(list)
    for place, name in claims:
        claimed[place].append(name)
    for place, names in claimed.items():
        for pair in combinations(sorted(names), 2):
            yield place, pair
