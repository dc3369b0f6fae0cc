"""Rules about what works badly on headset though nothing is broken."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from showvc.document import target_of
from showvc.document.lining import counted
from showvc.document.pointers import join
from showvc.paths import alone, target_members
from showvc.rules.finding import Found, Scene


def labels_too_long(scene: Scene) -> Iterator[Found]:
    show, most = scene.show, scene.show.limits.label
    if most is None:
        return
    for line, setup in show.lines.items():
        if setup.label and len(setup.label) > most:
            yield Found((join("lines", line, "label"),), f"label {setup.label!r} has {len(setup.label)} characters")
    for section in ("groups", "users"):
        for name, body in show.section(section).items():
            if body.label and len(body.label) > most:
                yield Found((join(section, name, "label"),), f"label {body.label!r} has {len(body.label)} characters")
    for user, body in show.users.items():
        for channel, entry in body.channels.items():
            if entry.label and len(entry.label) > most:
                path = join("users", user, "channels", channel, "label")
                yield Found((path,), f"label {entry.label!r} has {len(entry.label)} characters")


def labels_twice_on_a_device(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        user = show.users.get(device.user) if device.user else None
        shown: dict[str, list[str]] = defaultdict(list)
        for key, channel in device.keys.items():
            shown[show.key_label(user, channel)].append(key)
        for label, keys in shown.items():
            if len(keys) > 1 and len({device.keys[key] for key in keys}) > 1:
                listed = ", ".join(sorted(keys))
                yield Found(
                    (join("devices", name, "keys"),), f"device {name}: {label!r} stands under {listed}", (label,)
                )


def users_without_device(scene: Scene) -> Iterator[Found]:
    show = scene.show
    worn = {device.user for device in show.devices.values()} | {bridge.target for bridge in show.bridges.values()}
    for name in show.users:
        if name not in worn:
            yield Found((join("users", name),), f"{show.label(name)} has no device")


def devices_without_user(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        kind = show.kind(device.kind)
        if device.user is None and kind is not None and kind.keys:
            yield Found((join("devices", name),), f"device {name} is worn by nobody")


def groups_unheard(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for members in target_members(scene.paths):
        if members.target in show.groups and members.unheard:
            yield Found((join("groups", members.target),), f"nobody listens on {show.label(members.target)}")


def groups_with_one_talker(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for members in target_members(scene.paths):
        if members.target in show.groups and members.single_talker and not members.unheard:
            label = show.label(members.target)
            message = f"only {show.label(members.talkers[0])} talks on {label}"
            yield Found((join("groups", members.target),), message)


def users_alone(scene: Scene) -> Iterator[Found]:
    show = scene.show
    nobody = alone(scene.paths)
    for name in sorted(set(nobody.heard_by_nobody) & set(nobody.hears_nobody) & set(show.users)):
        yield Found((join("users", name),), f"{show.label(name)} hears nobody and is heard by nobody")


def critical_without_key(scene: Scene) -> Iterator[Found]:
    show = scene.show
    critical = show.critical_groups
    for user, body in show.users.items():
        reached = scene.paths.surely.hands(user)
        for group in sorted(critical & reached.keys()):
            if reached[group] == "menu":
                talked = (name for name, entry in body.channels.items() if entry.talk != "none")
                channel = min(name for name in talked if target_of(name) == group)
                message = f"{show.label(user)} reaches {show.label(group)} only through the menu"
                yield Found((join("users", user, "channels", channel),), message)


def priority_against_critical(scene: Scene) -> Iterator[Found]:
    show = scene.show
    critical = show.critical_groups
    odd: dict[tuple[str, str], set[str]] = defaultdict(set)
    for user, body in show.users.items():
        for channel, entry in body.channels.items():
            target = target_of(channel)
            if target in show.groups and entry.talk != "none" and (entry.priority == "high") != (target in critical):
                odd[target, entry.priority].add(user)
    for (target, priority), users in sorted(odd.items()):
        is_critical = "critical" if target in critical else "not critical"
        talk = f"{counted(len(users), 'user')} {'talks' if len(users) == 1 else 'talk'} on it with {priority} priority"
        message = f"{show.label(target)} is {is_critical}, but {talk}"
        yield Found((join("groups", target),), message, (priority,))


def hardware_of_no_single_device(scene: Scene) -> Iterator[Found]:
    show = scene.show
    # The lowest bit of the first octet marks a group address. Source: IEEE 802, EUI-48.
    for name, device in show.devices.items():
        if device.hardware and int(device.hardware[:2], 16) & 1:
            path = (join("devices", name, "hardware"),)
            yield Found(path, f"{device.hardware} is the address of a group of devices, not of one")


def quiet_without_effect(scene: Scene, codes: frozenset[str]) -> Iterator[Found]:
    show = scene.show
    for name, quiet in show.accepted.items():
        if quiet.rule not in codes:
            yield Found(
                (join("accepted", name, "rule"),), f"quietens {quiet.rule!r}, which is no rule that can be quietened"
            )
