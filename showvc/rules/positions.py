"""Rules about positions and their headsets: who has none, who hears nobody."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show, target_of
from showvc.document.pointers import join
from showvc.paths import alone
from showvc.rules.finding import Found, Scene, Severity

# --- off headset ---


def users_without_device(scene: Scene) -> Iterator[Found]:
    """Users to whom no device with keys is assigned."""
    having = _assigned(scene.show)
    for name in _off(scene):
        if name not in having:
            yield _off_headset(scene, name, ())


def users_off_headset(scene: Scene) -> Iterator[Found]:
    """Users of whom no device can be used: it is away, lent, or without what it hangs on."""
    having = _assigned(scene.show)
    for name in _off(scene):
        if name in having:
            why = tuple((device, _absence(scene.show, device)) for device in having[name])
            yield _off_headset(scene, name, why)


def _off(scene: Scene) -> list[str]:
    read, ports = scene.paths.surely, scene.paths.lists.ports
    return [name for name in scene.paths.lists.parts if name not in ports and not read.is_on_headset(name)]


def _assigned(show: Show) -> dict[str, list[str]]:
    """The devices with keys of each user."""
    found: dict[str, list[str]] = {}
    for name, device in show.devices.items():
        kind = show.kind(device.kind)
        if device.user is not None and kind is not None and kind.keys:
            found.setdefault(device.user, []).append(name)
    return found


def _absence(show: Show, device: str) -> str:
    body = show.devices[device]
    return "lent" if body.lent is not None else "away" if body.away is not None else "carrier"


def _off_headset(scene: Scene, user: str, why: tuple[tuple[str, str], ...]) -> Found:
    ends = tuple(state.name for state in scene.required if user in state.members)
    last = tuple(_last_on(scene, user))
    severity: Severity = "block" if ends or last else "warning"
    return Found((join("users", user),), (user, why, ends, last), severity=severity)


def _last_on(scene: Scene, user: str) -> Iterator[tuple[str, str]]:
    """The critical groups and lines that have lost their last talker or listener with this user."""
    part, body = scene.paths.lists.parts[user], scene.show.users[user]
    for members in scene.deserted:
        if user in members.off_headset:
            listens = any(
                target_of(name) == members.target and entry.listen != "none" for name, entry in body.channels.items()
            ) or (members.target in body.lines and body.lines[members.target].listen != "none")
            if not members.talkers and members.target in part.talks:
                yield members.target, "talker"
            if not members.listeners and listens:
                yield members.target, "listener"


def devices_without_user(scene: Scene) -> Iterator[Found]:
    show = scene.show
    for name, device in show.devices.items():
        kind = show.kind(device.kind)
        if device.user is None and kind is not None and kind.keys:
            yield Found((join("devices", name),), (name,))


# --- who hears nobody ---


def users_alone(scene: Scene) -> Iterator[Found]:
    """Users on headset who hear nobody and whom nobody hears, over lines neither."""
    read, cut_off = scene.paths.surely, alone(scene.paths)
    for name in sorted(set(cut_off.heard_by_nobody) & set(cut_off.hears_nobody) & set(scene.show.users)):
        if read.is_on_headset(name) and not _has_a_line(scene, name):
            yield Found((join("users", name),), (name,))


def _has_a_line(scene: Scene, user: str) -> bool:
    """Whether somebody hears this user over a line, or the user has a line written and somebody can raise it."""
    read = scene.paths.surely
    if any(read.over(user, line) for line in read.hands(user).keys() & read.line_names):
        return True
    uses = scene.show.users[user].lines
    return any(
        members.target in uses and user in members.listeners and set(members.talkers) - {user}
        for members in scene.members
    )


def users_who_hear_nobody(scene: Scene) -> Iterator[Found]:
    """Users whom somebody hears and answers, and who do not hear it.

    A microphone that only pages is none of them: on what it talks to, nobody both listens and talks.
    """
    read, cut_off = scene.paths.surely, alone(scene.paths)
    unheard, answering = set(cut_off.heard_by_nobody), _answering(scene)
    for name in cut_off.hears_nobody:
        if name in scene.show.users and name not in unheard and read.is_on_headset(name):
            targets = tuple(sorted(target for target in read.hands(name) if answering.get(target, set()) - {name}))
            if targets:
                yield Found((join("users", name),), (name, targets))


def _answering(scene: Scene) -> dict[str, set[str]]:
    """For each group, who both talks and listens there."""
    groups = scene.show.groups
    return {each.target: {*each.talkers} & {*each.listeners} for each in scene.members if each.target in groups}
