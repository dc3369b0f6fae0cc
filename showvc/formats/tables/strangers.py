"""References in tables that lead nowhere: they are taken as they are written, and told, cell by cell.

And keys that an import leaves with nothing to hold, because it takes the channel off the list of who wears the device.
"""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show, near
from showvc.document.references import NOUNS, Known, dangling
from showvc.document.values import Thing
from showvc.formats.tables.cells import shown
from showvc.formats.tables.drafts import Draft, spot_name

MOST = 20
"""How many keys are told one by one."""


def strangers(draft: Draft, show: Show, current: Show | None) -> list[str]:
    """A sentence for each cell of a draft that points at nothing in the show which it makes.

    What led nowhere in `current` already is not told again.
    """
    before = {(lost.steps, lost.id) for lost in dangling(current)} if current is not None else set()
    known = Known(show)
    found = []
    for lost in dangling(show):
        path = next((path for path in (lost.steps, lost.steps[:-1]) if path in draft.spots), None)
        if (lost.steps, lost.id) in before or path is None:
            continue
        spot, value, noun = draft.spots[path], shown(draft.values.get(path)), NOUNS.get(lost.thing, lost.thing)
        thing: Thing = "target" if lost.thing == "channel" else lost.thing
        if lost.thing == "channel" and lost.target in known.ids(thing):
            continue  # there, and not on the list of who wears the device: told below
        hint = near(lost.target, sorted(known.ids(thing))) or f"there is no {noun} of this id"
        told = f"sheet {spot[0]}, cell {spot_name(spot)}: {value!r} points at {lost.target}, which is not there"
        found.append(f"{told}; {hint}")
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
            there = {*show.lines, *user.channels}
            yield from ((name, key, held) for key, held in device.keys.items() if held not in there)
