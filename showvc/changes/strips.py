"""Devices whose visible labels changed, and need new strips."""

from __future__ import annotations

from collections.abc import Mapping

from showvc.document import Show, differing


def labels_of(show: Show, device: str) -> Mapping[str, str]:
    """What stands under each key of a device. Empty where there is no such device."""
    body = show.devices.get(device)
    if body is None:
        return {}
    user = show.users.get(body.user) if body.user else None
    return {key: show.key_label(user, channel) for key, channel in body.keys.items()}


def strips(before: Show, after: Show) -> tuple[str, ...]:
    """The devices of `after` with another label under any key than in `before`, by id.

    Reads the devices, and the users and groups that changed.
    """
    edited = {
        section: set(differing(before.section(section), after.section(section)))
        for section in ("users", "groups", "devices")
    }
    targets = edited["users"] | edited["groups"]
    lines = before.head.lines != after.head.lines
    return tuple(name for name in after.devices if _relabelled(before, after, name, edited, targets, lines))


def _relabelled(
    before: Show, after: Show, name: str, edited: Mapping[str, set[str]], targets: set[str], lines: bool
) -> bool:
    device = after.devices[name]
    held = {channel.partition("#")[0] for channel in device.keys.values()}
    touched = lines or name in edited["devices"] or device.user in edited["users"] or not targets.isdisjoint(held)
    return touched and labels_of(before, name) != labels_of(after, name)
