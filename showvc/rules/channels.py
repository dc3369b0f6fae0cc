"""Rules about single channels, and the labels and addresses of devices."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from showvc.document import Show, User, target_of
from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene


def channels_that_do_nothing(scene: Scene) -> Iterator[Found]:
    """Channels with neither talk nor listen."""
    for user, body in scene.show.users.items():
        for channel, entry in body.channels.items():
            if entry.talk == "none" and entry.listen == "none":
                yield Found((join("users", user, "channels", channel),), (user, channel))


def levels_below_the_floor(scene: Scene) -> Iterator[Found]:
    """Levels at which nothing is surely heard, where it matters: on what is critical, or must always be heard."""
    loud, critical = scene.paths.facts.loud, scene.critical
    for user, body in scene.show.users.items():
        for section, entries in (("channels", body.channels), ("lines", body.lines)):
            for channel, entry in entries.items():
                if entry.level < 0 and not loud(entry.level) and entry.listen != "none":
                    target = target_of(channel)
                    if target in critical or (section == "channels" and entry.listen == "always"):
                        path = join("users", user, section, channel, "level")
                        yield Found((path,), (user, channel, entry.level, scene.show.limits.floor))


# --- labels ---


def labels_too_long(scene: Scene) -> Iterator[Found]:
    """Labels longer than the show's limit, and, under a key, longer than its device shows."""
    show, most = scene.show, scene.show.limits.label
    if most is not None:
        for steps, label in _labels(show):
            if len(label) > most:
                yield Found((join(*steps), "/limits/label"), (label, most, ""))
    for name, device in show.devices.items():
        kind = show.kind(device.kind)
        if kind is None or kind.label is None or (most is not None and most <= kind.label):
            continue
        wearer = show.wearer(device)
        for key, channel in device.keys.items():
            label = show.key_label(wearer, channel)
            if len(label) > kind.label:
                paths = (join("devices", name, "keys", key), join("devices", name, "kind"))
                yield Found(paths, (label, kind.label, device.kind))


def _labels(show: Show) -> Iterator[tuple[tuple[str, ...], str]]:
    for line, setup in show.lines.items():
        if setup.label:
            yield ("lines", line, "label"), setup.label
    for section in ("groups", "users"):
        for name, body in show.section(section).items():
            if body.label:
                yield (section, name, "label"), body.label
    for user, body in show.users.items():
        for channel, entry in body.channels.items():
            if entry.label:
                yield ("users", user, "channels", channel, "label"), entry.label


def labels_twice_on_a_device(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        user: User | None = show.wearer(device)
        shown: dict[str, list[str]] = defaultdict(list)
        for key, channel in device.keys.items():
            shown[show.key_label(user, channel)].append(key)
        for label, keys in shown.items():
            if len(keys) > 1 and len({device.keys[key] for key in keys}) > 1:
                yield Found((join("devices", name, "keys"),), (name, label, tuple(sorted(keys))), (label,))


def hardware_of_no_single_device(scene: Scene) -> Iterator[Found]:
    # The lowest bit of the first octet marks a group address. Source: IEEE 802, EUI-48.
    for name, device in scene.show.devices.items():
        if device.hardware and int(device.hardware[:2], 16) & 1:
            yield Found((join("devices", name, "hardware"),), (device.hardware,))
