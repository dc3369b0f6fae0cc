"""Keys belong to who wears the device: edits of keys on one side, and of the wearer on the other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from showvc.document import Device, Show, differing, target_of
from showvc.document.editing import ABSENT
from showvc.document.pointers import join
from showvc.merging.conflict import Side
from showvc.merging.sides import Sides
from showvc.merging.units import Group

Keys = Mapping[str, str | None]
"""Keys that were edited, each with what it holds now; None where it was cleared."""


def wearer_groups(sides: Sides[Show]) -> Iterator[Group]:
    """The devices that one side gave to another user, and whose keys the other side edited for the one before.

    Lines are the same for everybody, and so is a key that the new wearer has anyway: these are no matter.
    """
    there = sides.map(lambda show: show.devices)
    both = {*differing(there.before, there.mine)} & {*differing(there.before, there.incoming)}
    for name in sorted(both):
        if all(name in known for known in (there.before, *there.apart)):
            yield from _of_device(sides, name)


def _of_device(sides: Sides[Show], name: str) -> Iterator[Group]:
    units = sides.map(lambda show: show.devices[name])
    if units.mine.user == units.incoming.user:
        return
    places: set[str] = set()
    more: dict[str, Any] = {}
    for side, unit, giver in (
        (sides.mine, units.mine, sides.incoming),
        (sides.incoming, units.incoming, sides.mine),
    ):
        given = giver.devices[name]
        if given.user == units.before.user:
            continue
        heir = next(iter(_new_units(sides.before, giver, units.before.user)), None)
        own = _edited(side, units.before, unit)
        strange = {key: held for key, held in own.items() if not _has(giver, given, key, held)}
        if strange and (given.user is not None or heir is not None):
            drawn = {*strange, *_edited(giver, units.before, given)}
            places |= {join("devices", name, "keys", key) for key in drawn}
            more |= _following(giver, heir, name, drawn, strange, units.before) if heir else {}
    if places:
        choices: tuple[tuple[Side, Mapping[str, Any]], ...] = (("follow", more),) if more else ()
        yield Group(frozenset({*places, join("devices", name, "user")}), more=choices)


def _edited(show: Show, before: Device, after: Device) -> Keys:
    """The keys that were edited, those of lines aside."""
    changed = (key for key in {**before.keys, **after.keys} if before.keys.get(key) != after.keys.get(key))
    found = {key: (after.keys.get(key), before.keys.get(key)) for key in changed}
    return {key: now for key, (now, was) in found.items() if target_of(now or was or "") not in show.lines}


def _has(show: Show, unit: Device, key: str, held: str | None) -> bool:
    """Whether who wears this device there has the same under this key, with or without the edit."""
    if unit.keys.get(key) == held:
        return True
    worn = (body for body in show.devices.values() if unit.user is not None and body.user == unit.user)
    return held is not None and any(body.keys.get(key) == held for body in worn)


def _new_units(before: Show, after: Show, user: str | None) -> list[str]:
    """The devices that a user was given."""
    if user is None:
        return []
    changed = [name for name in differing(before.devices, after.devices) if name in after.devices]
    given = [name for name in changed if after.devices[name].user == user]
    return [name for name in given if name not in before.devices or before.devices[name].user != user]


def _following(giver: Show, heir: str, name: str, drawn: set[str], edited: Keys, before: Device) -> dict[str, Any]:
    """The values that let the edited keys follow their wearer; nothing where their places there hold something else."""
    keys = giver.devices[heir].keys
    if any(keys.get(key) not in (None, before.keys.get(key)) for key in edited):
        return {}
    given = giver.devices[name]
    here = {join("devices", name, "keys", key): given.keys.get(key, ABSENT) for key in drawn}
    there = {join("devices", heir, "keys", key): ABSENT if held is None else held for key, held in edited.items()}
    return {**here, **there, join("devices", name, "user"): ABSENT if given.user is None else given.user}
