"""What stands on everything where intercom work can hurt somebody."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from showvc.changes import Change
from showvc.document import Show, target_of
from showvc.document.pointers import parse

CAUTION = (
    "Intercom is not a safety stop. Line-check every position on headset before the show. "
    "Local rules and the responsible person decide."
)


def critical_groups(show: Show) -> tuple[str, ...]:
    """The ids of the groups that carry flying, automation, rigging, pyro or emergency stop calls, sorted."""
    return tuple(name for name, group in show.groups.items() if group.critical)


def critical_touched(before: Show, after: Show, changes: Iterable[Change]) -> tuple[str, ...]:
    """The groups, critical on either side, that these changes speak of, sorted.

    A change speaks of a group by a step of its path (`/users/sm/channels/fly/talk`), by a value (a key, a bridge,
    a whole user that went), or because a device that has it under a key, or on its user's list, changes hands.
    """
    critical = {*critical_groups(before), *critical_groups(after)}
    named: set[str] = set()
    for change in changes if critical else ():
        named |= {target_of(word) for word in (*parse(change.path), *_words(change.before), *_words(change.after))}
        named |= {target_of(word) for show in (before, after) for word in _of_a_device(show, parse(change.path))}
    return tuple(sorted(critical & named))


def _words(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from _words(inner)


def _of_a_device(show: Show, steps: tuple[str, ...]) -> Iterator[str]:
    """What stands under the keys of a device, and on its user's list, when the device as a whole is changed."""
    if steps[:1] != ("devices",) or steps[2:3] not in ((), ("user",), ("kind",)):
        return
    device = show.devices.get(steps[1])
    if device is not None:
        yield from device.keys.values()
        user = show.users.get(device.user or "")
        yield from user.channels if user else ()
