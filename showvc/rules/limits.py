"""Rules about what the system takes at the most."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import key_place
from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene


def too_many_targets(scene: Scene) -> Iterator[Found]:
    show = scene.show
    count, limit = len(show.groups) + len(show.users), show.limits.targets
    if limit is not None and count > limit:
        yield Found(("/limits/targets", "/groups", "/users"), (count, limit))


def too_many_devices(scene: Scene) -> Iterator[Found]:
    show = scene.show
    count, limit = len(show.devices), show.limits.devices
    if limit is not None and count > limit:
        yield Found(("/limits/devices", "/devices"), (count, limit))


def channels_beyond_the_limit(scene: Scene) -> Iterator[Found]:
    show = scene.show
    limit = show.most_channels
    for user, body in show.users.items():
        if len(body.channels) > limit:
            yield Found((join("users", user, "channels"), "/limits/channels"), (user, len(body.channels), limit))
        for channel, entry in body.channels.items():
            if entry.number > limit:
                paths = (join("users", user, "channels", channel, "number"), "/limits/channels")
                yield Found(paths, (user, entry.number, limit, channel))


def keys_beyond_the_kind(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        kind = show.kind(device.kind)
        if kind is None:
            continue
        for key in device.keys:
            page, number = key_place(key)
            if number > kind.keys or ord(page) - ord("A") >= kind.pages:
                paths = (join("devices", name, "keys", key), join("devices", name, "kind"), join("kinds", device.kind))
                yield Found(paths, (name, key, device.kind, kind.keys, kind.pages))


def ports_beyond_the_kind(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, bridge in show.bridges.items():
        device = show.devices.get(bridge.device)
        kind = show.kind(device.kind) if device else None
        if device is None or kind is None or bridge.port <= kind.ports:
            continue
        unit = (join("devices", bridge.device, "kind"), join("kinds", device.kind))
        paths = (join("bridges", name, "port"), join("bridges", name, "device"), *unit)
        yield Found(paths, (name, bridge.port, bridge.device, device.kind, kind.ports))
