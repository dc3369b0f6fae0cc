"""What trades places: two keys, numbers, wearers or units; and a spare in the place of a broken unit."""

from __future__ import annotations

from typing import Any

from showvc.document import Show, ShowError
from showvc.document.editing import ABSENT, Steps, get, put, require_shape, shape_at
from showvc.document.pointers import join, parse
from showvc.editing.done import Done
from showvc.editing.removing import remove_everywhere
from showvc.identity.calling import find, resolved

_OF_THE_PLACE = ("user", "place", "keys", "on")
"""What belongs to where a unit stands and who wears it, and not to the unit: its wearer, keys, place and carriers."""


def replace(show: Show, broken: str, spare: str, remove: bool = False) -> Done:
    """The show with a spare in the place of a broken unit: wearer, keys, place, carriers and bridges go over.

    Each unit keeps its address, name and kind. With `remove` the broken one goes, and what refers to it.
    ShowError where the other is no spare: worn, with keys or bridges, away or lent.
    """
    old, new = (find(show, text, ("devices",))[1] for text in (broken, spare))
    if old == new:
        raise ShowError(f"devices/{old} can't replace itself", "name another unit")
    _require_spare(show, new)
    values: dict[Steps, Any] = {}
    for field in _OF_THE_PLACE:
        held = get(show, ("devices", old, field))
        if held not in (ABSENT, [], {}):
            values |= {("devices", new, field): held, ("devices", old, field): ABSENT}
    bridges = [name for name, bridge in show.bridges.items() if bridge.device == old]
    after = put(show, values | {("bridges", name, "device"): new for name in bridges})
    if remove:
        return remove_everywhere(after, [("devices", old)])
    return Done(after)


def _require_spare(show: Show, name: str) -> None:
    device = show.devices[name]
    used = next((each for each, bridge in show.bridges.items() if bridge.device == name), None)
    if device.away is not None or device.lent is not None:
        words = f"away: {device.away}" if device.away is not None else f"lent to {device.lent and device.lent.to}"
        field = "away" if device.away is not None else "lent"
        raise ShowError(f"devices/{name} is {words}", f"if it is back: showvc remove devices/{name}/{field}")
    if device.user is not None or device.keys or used is not None:
        held = f"assigned to {show.label(device.user)}" if device.user else "in use"
        raise ShowError(
            f"devices/{name} is {held}, so it is no spare", "exchange the two: showvc swap devices/ONE devices/OTHER"
        )


def swap(show: Show, one: str, other: str) -> Done:
    """The show with what stands at two fields exchanged; of two channels their numbers, of two units their places.

    An empty key takes what is on the other. ShowError where the two are not of one sort.
    """
    first, second = (resolved(show, parse(text)) for text in (one, other))
    first, second = (_number_of(steps) for steps in (first, second))
    for steps in (first, second):
        require_shape(steps)
    if first == second or _sort(first) != _sort(second):
        raise ShowError(
            f"{one} and {other} can't trade places", "name two keys, numbers, wearers or units, such as devices/ID/user"
        )
    if len(first) == 2:
        return _swap_units(show, first, second)
    for steps in (first, second):
        if get(show, steps[:2]) is ABSENT:
            raise ShowError(f"there is no {join(*steps[:2])[1:]}", "check the id")
    values = {first: get(show, second), second: get(show, first)}
    if first[-1] == "number" and ABSENT in values.values():
        missing = first if get(show, first) is ABSENT else second
        raise ShowError(f"there is nothing at {join(*missing)[1:]}", "name two channels that are there")
    if all(value is ABSENT for value in values.values()):
        raise ShowError(f"there is nothing at {one} and {other}", "check the two")
    return Done(put(show, values))


def _number_of(steps: Steps) -> Steps:
    """Of a channel, its number: that is what two channels exchange."""
    return (*steps, "number") if len(steps) == 4 and steps[0] == "users" and steps[2] == "channels" else steps


def _sort(steps: Steps) -> tuple[str, ...]:
    """What kind of place it is, whatever the ids."""
    return tuple(
        "*" if (around := shape_at(steps[:size])) is not None and around.kind == "map" and size else step
        for size, step in enumerate(steps)
    )


def _swap_units(show: Show, first: Steps, second: Steps) -> Done:
    if first[0] != "devices":
        raise ShowError(f"{first[0]} can't trade places", "name two units: showvc swap devices/ONE devices/OTHER")
    for steps in (first, second):
        if get(show, steps) is ABSENT:
            raise ShowError(f"there is no {join(*steps)[1:]}", "check the id")
    values: dict[Steps, Any] = {}
    for field in _OF_THE_PLACE:
        values |= {(*first, field): get(show, (*second, field)), (*second, field): get(show, (*first, field))}
    other = {first[1]: second[1], second[1]: first[1]}
    moved = {("bridges", name, "device"): other[b.device] for name, b in show.bridges.items() if b.device in other}
    return Done(put(show, values | moved))
