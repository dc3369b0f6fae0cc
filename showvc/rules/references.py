"""Rules about things that point at nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from showvc.document import Show, near, target_of
from showvc.document.pointers import join
from showvc.rules.finding import Found, Scene


def channels_to_nothing(scene: Scene) -> Iterator[Found]:
    show = scene.show
    known = _targets(show)
    for user, body in show.users.items():
        for channel in body.channels:
            target = target_of(channel)
            if target not in known:
                number = body.channels[channel].number
                message = f"{show.label(user)}: channel {number} points at {target!r}, which is no group or user"
                yield Found(
                    _reference(join("users", user, "channels", channel), target), message, hint=_hint(target, known)
                )


def devices_without_a_user_that_exists(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        if device.user is not None and device.user not in show.users:
            message = f"{_device(show, name)} is worn by {device.user!r}, which is no user"
            yield Found(
                (join("devices", name, "user"), join("users", device.user)),
                message,
                hint=_hint(device.user, show.users),
            )


def devices_of_unknown_kind(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        if show.kind(device.kind) is None:
            message = f"{_device(show, name)} is of kind {device.kind!r}, which the show does not know"
            yield Found((join("devices", name, "kind"), join("kinds", device.kind)), message)


def keys_to_nothing(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        user = show.users.get(device.user) if device.user else None
        for key, channel in device.keys.items():
            if channel in show.lines or (user is not None and channel in user.channels):
                continue
            owner = device.user or ""
            why = f"{show.label(owner)} has no such channel" if user else "the device is worn by nobody"
            paths = (
                join("devices", name, "keys", key),
                join("devices", name, "user"),
                join("users", owner, "channels", channel),
            )
            yield Found(paths, f"{_device(show, name)}: key {key} holds {channel!r}, but {why}")


def bridges_to_nothing(scene: Scene) -> Iterator[Found]:
    show = scene.show
    known = _targets(show)
    for name, bridge in show.bridges.items():
        if bridge.target not in known:
            message = (
                f"bridge {name} ties {bridge.circuit or 'its circuit'} to {bridge.target!r}, which is no group or user"
            )
            yield Found(
                _reference(join("bridges", name, "target"), bridge.target), message, hint=_hint(bridge.target, known)
            )


def bridges_on_no_device(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, bridge in show.bridges.items():
        if bridge.device not in show.devices:
            message = f"bridge {name} is on device {bridge.device!r}, which is not in the show"
            paths = (join("bridges", name, "device"), join("devices", bridge.device))
            yield Found(paths, message, hint=_hint(bridge.device, show.devices))


def required_paths_to_nothing(scene: Scene) -> Iterator[Found]:
    show = scene.show
    known = _targets(show)
    for name, path in show.required.items():
        if path.from_ not in show.users:
            message = f"required path {name} starts at {path.from_!r}, which is no user"
            yield Found(
                _reference(join("required", name, "from"), path.from_), message, hint=_hint(path.from_, show.users)
            )
        if path.to not in known:
            message = f"required path {name} leads to {path.to!r}, which is no group or user"
            yield Found(_reference(join("required", name, "to"), path.to), message, hint=_hint(path.to, known))


def one_id_for_group_and_user(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name in show.groups:
        if name in show.users:
            message = f"{name!r} is a group and a user at once: a channel to it could mean either"
            yield Found((join("groups", name), join("users", name)), message)


def _targets(show: Show) -> frozenset[str]:
    return frozenset((*show.groups, *show.users, *show.lines))


def _reference(pointer: str, target: str) -> tuple[str, ...]:
    """The reference, and both places where its target could stand."""
    return pointer, join("groups", target), join("users", target)


def _device(show: Show, name: str) -> str:
    return f"device {name}" + (f" ({show.devices[name].name})" if show.devices[name].name else "")


def _hint(word: str, known: Iterable[str]) -> str:
    return near(word, known) or ""
