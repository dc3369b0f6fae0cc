"""Rules about one place for two things."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from itertools import combinations

from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene


def numbers_twice(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for user, body in show.users.items():
        if len({entry.number for entry in body.channels.values()}) == len(body.channels):
            continue
        for number, (first, second) in _doubled((entry.number, name) for name, entry in body.channels.items()):
            one, other = show.key_label(body, first), show.key_label(body, second)
            message = f"{show.label(user)}: channel {number} is {one} and {other} at once"
            paths = tuple(join("users", user, "channels", channel, "number") for channel in (first, second))
            yield Found(paths, message, (str(number),))


def ports_twice(scene: Scene) -> Iterator[Found]:
    show = scene.show
    claims = ((f"port {bridge.port} of device {bridge.device}", name) for name, bridge in show.bridges.items())
    for place, (first, second) in _doubled(claims):
        if show.bridges[first].standby == second or show.bridges[second].standby == first:
            continue
        paths = tuple(join("bridges", name, field) for name in (first, second) for field in ("port", "device"))
        yield Found(paths, f"{place} is bridge {first} and bridge {second} at once", (str(place),))


def hardware_twice(scene: Scene) -> Iterator[Found]:
    show = scene.show
    claims = ((device.hardware, name) for name, device in show.devices.items() if device.hardware)
    for hardware, (first, second) in _doubled(claims):
        paths = (join("devices", first, "hardware"), join("devices", second, "hardware"))
        yield Found(paths, f"devices {first} and {second} both have the hardware address {hardware}", (str(hardware),))


def _doubled(claims: Iterable[tuple[Hashable, str]]) -> Iterator[tuple[Hashable, tuple[str, str]]]:
    """Each pair of things that claim the same place, in the order of their names."""
    claimed: dict[Hashable, list[str]] = defaultdict(list)
    for place, name in claims:
        claimed[place].append(name)
    for place, names in claimed.items():
        for pair in combinations(sorted(names), 2):
            yield place, pair
