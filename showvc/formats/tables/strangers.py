"""References in tables that lead nowhere: they are taken as they are written, and told, cell by cell.

And keys that an import leaves with nothing to hold, because it takes the channel off the list of who wears the device.
"""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import BUILT_IN_KINDS, Show, near
from showvc.formats.tables.cells import shown
from showvc.formats.tables.drafts import Draft, spot_name
from showvc.formats.tables.lines import LINES

MOST = 20
"""How many keys are told one by one."""

Reference = tuple[tuple[str, ...], str, str]
"""Where it stands, what it points at, and among what it is looked for."""


def strangers(draft: Draft, show: Show, current: Show | None) -> list[str]:
    """A sentence for each cell of a draft that points at nothing in the show which it makes.

    What led nowhere in `current` already is not told again.
    """
    before = {(path, name) for path, name, _ in _lost(current)} if current is not None else set()
    found = []
    for path, name, kind in _lost(show):
        if (path, name) in before or path not in draft.spots:
            continue
        spot, value = draft.spots[path], shown(draft.values.get(path))
        hint = near(name, sorted(_known(show)[kind])) or f"there is no {kind} of this id"
        found.append(f"sheet {spot[0]}, cell {spot_name(spot)}: {value!r} points at {name}, which is not there; {hint}")
    return found + _emptied(show, current)


def _emptied(show: Show, current: Show | None) -> list[str]:
    before = {*_unlisted(current)} if current is not None else set()
    new = [place for place in _unlisted(show) if place not in before]
    found = []
    for device, key, held in new[:MOST]:
        wearer = show.label(show.devices[device].user or "")
        found.append(f"device {device}, key {key}: {held} is not on the list of {wearer} any more")
    return [*found, f"and {len(new) - MOST} more such keys"] if len(new) > MOST else found


def _unlisted(show: Show) -> Iterator[tuple[str, str, str]]:
    """The keys that hold a channel which the wearer of the device does not have: device, key, channel."""
    for name, device in show.devices.items():
        user = show.users.get(device.user or "")
        if user is not None:
            yield from ((name, key, held) for key, held in device.keys.items() if held not in (*LINES, *user.channels))


def _known(show: Show) -> dict[str, set[str]]:
    return {
        "group or user": {*show.groups, *show.users},
        "user": {*show.users},
        "device": {*show.devices},
        "kind": {*BUILT_IN_KINDS, *show.head.kinds},
    }


def _lost(show: Show) -> Iterator[Reference]:
    known = _known(show)
    return (reference for reference in _references(show) if reference[1] not in known[reference[2]])


def _references(show: Show) -> Iterator[Reference]:
    for name, user in show.users.items():
        for key in user.channels:
            yield ("users", name, "channels", key), key.partition("#")[0], "group or user"
    for name, device in show.devices.items():
        yield ("devices", name, "kind"), device.kind, "kind"
        if device.user is not None:
            yield ("devices", name, "user"), device.user, "user"
        for key, held in device.keys.items():
            if held not in LINES:
                yield ("devices", name, "keys", key), held.partition("#")[0], "group or user"
    for name, bridge in show.bridges.items():
        yield ("bridges", name, "device"), bridge.device, "device"
        yield ("bridges", name, "target"), bridge.target, "group or user"
    for name, path in show.head.required.items():
        yield ("required", name, "from"), path.from_, "user"
        yield ("required", name, "to"), path.to, "group or user"
