"""Where intercom work can hurt somebody: what is said there, and the critical groups that edits touch."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show, differing, target_of

CAUTION = (
    "Intercom is not a safety stop. Line-check every position on headset before the show. "
    "Local rules and the responsible person decide."
)


def critical_touched(before: Show, after: Show) -> tuple[str, ...]:
    """The groups, critical on either side, that the edits between two shows touch, sorted.

    A group is touched itself, by a channel of it, by a key or a bridge that holds it, and when a device that has it
    under a key or on its user's list comes, goes, or changes hands.
    """
    critical = before.critical_groups | after.critical_groups
    if not critical:
        return ()
    touched = {
        *differing(before.groups, after.groups),
        *_of_lists(before, after),
        *_of_devices(before, after),
        *_of_bridges(before, after),
    }
    return tuple(sorted(critical & touched))


def _of_lists(before: Show, after: Show) -> Iterator[str]:
    for name in differing(before.users, after.users):
        old, new = (show.users[name].channels if name in show.users else {} for show in (before, after))
        yield from (target_of(channel) for channel in {*old, *new} if old.get(channel) != new.get(channel))


def _of_devices(before: Show, after: Show) -> Iterator[str]:
    for name in differing(before.devices, after.devices):
        old, new = before.devices.get(name), after.devices.get(name)
        if old is None or new is None or (old.user, old.kind) != (new.user, new.kind):
            yield from (*_at_hand(before, name), *_at_hand(after, name))
            continue
        for key in {*old.keys, *new.keys}:
            held = old.keys.get(key), new.keys.get(key)
            yield from (target_of(channel) for channel in held if channel and held[0] != held[1])


def _at_hand(show: Show, device: str) -> Iterator[str]:
    """The targets under the keys of a device, and on the list of its user."""
    if (unit := show.devices.get(device)) is not None:
        user = show.users.get(unit.user or "")
        yield from map(target_of, (*unit.keys.values(), *(user.channels if user else ())))


def _of_bridges(before: Show, after: Show) -> Iterator[str]:
    for name in differing(before.bridges, after.bridges):
        yield from (show.bridges[name].target for show in (before, after) if name in show.bridges)
