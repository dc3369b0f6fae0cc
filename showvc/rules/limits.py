"""Rules about what the system takes at the most."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import key_place
from showvc.document.lining import counted
from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene


def too_many_targets(scene: Scene) -> Iterator[Found]:
    show = scene.show
    count, limit = len(show.groups) + len(show.users), show.limits.targets
    if limit is not None and count > limit:
        yield Found(("/limits/targets", "/groups", "/users"), f"{count} groups and users; the system takes {limit}")


def too_many_devices(scene: Scene) -> Iterator[Found]:
    show = scene.show
    count, limit = len(show.devices), show.limits.devices
    if limit is not None and count > limit:
        yield Found(("/limits/devices", "/devices"), f"{count} devices; the system takes {limit}")


def channels_beyond_the_limit(scene: Scene) -> Iterator[Found]:
    show = scene.show
    limit = show.most_channels
    for user, body in show.users.items():
        if len(body.channels) > limit:
            message = f"{show.label(user)}: {len(body.channels)} channels; a list takes {limit}"
            yield Found((join("users", user, "channels"), "/limits/channels"), message)
        for channel, entry in body.channels.items():
            if entry.number > limit:
                shown = show.key_label(body, channel)
                message = f"{show.label(user)}: {shown} is on channel {entry.number}; a list takes {limit}"
                yield Found((join("users", user, "channels", channel, "number"), "/limits/channels"), message)


def keys_beyond_the_kind(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        kind = show.kind(device.kind)
        if kind is None:
            continue
        for key in device.keys:
            page, number = key_place(key)
            if number > kind.keys or ord(page) - ord("A") >= kind.pages:
                has = f"{_many(kind.keys, 'key')} on {_many(kind.pages, 'page')}"
                paths = (join("devices", name, "keys", key), join("devices", name, "kind"), join("kinds", device.kind))
                yield Found(paths, f"device {name} has no key {key}: kind {device.kind} has {has}")


def ports_beyond_the_kind(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, bridge in show.bridges.items():
        device = show.devices.get(bridge.device)
        kind = show.kind(device.kind) if device else None
        if device is None or kind is None or bridge.port <= kind.ports:
            continue
        unit = (join("devices", bridge.device, "kind"), join("kinds", device.kind))
        paths = (join("bridges", name, "port"), join("bridges", name, "device"), *unit)
        has = _many(kind.ports, "port")
        yield Found(paths, f"bridge {name} is on port {bridge.port} of {bridge.device}: kind {device.kind} has {has}")


def _many(count: int, what: str) -> str:
    return counted(count, what) if count else f"no {what}s"
