"""Where intercom work can hurt somebody: what is said there, and the critical groups and lines that edits touch."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show, differing, target_of
from showvc.paths import WHAT_A_PATH_IS

CAUTION = (
    "Intercom is not an emergency stop. Line-check every position on headset before the show. "
    "Local rules and the responsible person decide."
)


def critical_targets(show: Show) -> frozenset[str]:
    """The groups and lines that carry flying, automation, rigging, pyro or emergency stop calls."""
    return show.critical_groups | {name for name, line in show.lines.items() if line.critical}


def clean_words(show: Show) -> str | None:
    """What is said where a check blocks nothing: trust is highest there. None where nothing is critical."""
    return f"{WHAT_A_PATH_IS} {CAUTION}" if critical_targets(show) else None


def critical_touched(before: Show, after: Show) -> tuple[str, ...]:
    """The groups and lines, critical on either side, that the edits between two shows touch, sorted.

    One is touched itself, by a channel or a use of it, by a key or a bridge that holds it, and when a device that has
    it under a key or on its user's list comes, goes, changes hands, or is away.
    """
    critical = critical_targets(before) | critical_targets(after)
    if not critical:
        return ()
    touched = {
        *differing(before.groups, after.groups),
        *(name for name in {*before.lines, *after.lines} if before.lines.get(name) != after.lines.get(name)),
        *_of_lists(before, after),
        *_of_devices(before, after),
        *_of_bridges(before, after),
    }
    return tuple(sorted(critical & touched))


def _of_lists(before: Show, after: Show) -> Iterator[str]:
    for name in differing(before.users, after.users):
        old, new = (show.users.get(name) for show in (before, after))
        for table in ("channels", "lines"):
            one, other = (getattr(body, table) if body is not None else {} for body in (old, new))
            yield from (target_of(entry) for entry in {*one, *other} if one.get(entry) != other.get(entry))


def _of_devices(before: Show, after: Show) -> Iterator[str]:
    for name in differing(before.devices, after.devices):
        old, new = before.devices.get(name), after.devices.get(name)
        if old is None or new is None or _held(old) != _held(new):
            yield from (*_at_hand(before, name), *_at_hand(after, name))
            continue
        for key in {*old.keys, *new.keys}:
            held = old.keys.get(key), new.keys.get(key)
            yield from (target_of(channel) for channel in held if channel and held[0] != held[1])


def _held(device: object) -> tuple[object, ...]:
    """Whose a device is, and whether it is there."""
    return tuple(getattr(device, name) for name in ("user", "kind", "on", "away", "lent"))


def _at_hand(show: Show, device: str) -> Iterator[str]:
    """The targets under the keys of a device, and on the list of its user."""
    if (unit := show.devices.get(device)) is not None:
        user = show.users.get(unit.user or "")
        yield from map(
            target_of, (*unit.keys.values(), *(user.channels if user else ()), *(user.lines if user else ()))
        )


def _of_bridges(before: Show, after: Show) -> Iterator[str]:
    for name in differing(before.bridges, after.bridges):
        yield from (show.bridges[name].target for show in (before, after) if name in show.bridges)
