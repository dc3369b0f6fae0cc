"""The places where sound can be on its way between two users, and how it gets on from each.

A step that the show has carries a hop; one that it has not carries the edit that would make it. Proposed edits change
what there is, or add a channel to a list that has a free number. They never take anything out, add no bridge,
group or user, and keep to the show's limit of channels.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from showvc.document import Bridge, Channel, Show, target_of
from showvc.document.pointers import join
from showvc.paths.circuits import Circuit, brings_in, carries_out, circuit_words, tied
from showvc.paths.keys import HANDS, Hand, Hands, KeyAt

HIGHEST = 999
"""The highest channel number that the format takes."""


@dataclass(frozen=True, slots=True)
class Hop:
    """One step of a way.

    `talk`: `user` says it to `target` on `channel`, which he has on `keys`, always open, or in the menu (`hand`).
    `hear`: `user` hears it on `channel`, whose target is the group or the caller; channel and number are None for a
    direct call from somebody who is not on his list. `out`: `bridge` carries it from `target` into `circuit`.
    `in`: it brings it from `circuit` to `target`; where that is a user, his open channels pass it on.
    """

    step: Literal["talk", "hear", "out", "in"]
    target: str
    user: str | None = None
    channel: str | None = None
    number: int | None = None
    hand: Hand | None = None
    keys: tuple[KeyAt, ...] = ()
    bridge: str | None = None
    circuit: Circuit | None = None


@dataclass(frozen=True, slots=True)
class Edit:
    """An edit that a path needs: the value to set at a pointer, and the sentence that says what is missing."""

    pointer: str
    value: Any
    missing: str

    @property
    def command(self) -> str:
        """The edit as it is typed: `set PATH VALUE`."""
        value = self.value if isinstance(self.value, str) else f"'{json.dumps(self.value)}'"
        return f"set {self.pointer} {value}"


Spot = tuple[str, ...]
"""Where the sound is.

`("mouth", user)` says it, `("port", user)` passes on what a bridge brings, `("call", caller, user)` is a direct call,
`("said", group)` is on a group, `("ear", user)` hears it; a circuit is named as in `showvc.paths.circuits`.
"""


@dataclass(frozen=True, slots=True)
class Step:
    """A way on to `head`: by a hop, or by the edit that would make one."""

    head: Spot
    hop: Hop | None = None
    edit: Edit | None = None


Steps = dict[Spot, list[Step]]


def steps_between(hands: Hands, talker: str, listener: str) -> Steps:
    """All steps that can matter between two users; from each spot those that are there come first."""
    show = hands.show
    bridges = tuple(tied(show))
    ports = {bridge.target for _, bridge, _ in bridges} - show.groups.keys()
    ears = sorted({listener, *ports})
    lists = {target_of(key) for name in (talker, *ears) for key in show.users[name].channels}
    groups = sorted((lists | {bridge.target for _, bridge, _ in bridges}) & show.groups.keys())
    targets = [*groups, *(name for name in ears if name not in show.groups)]
    steps: Steps = {}
    mouths: list[Spot] = [("mouth", talker), *(("port", port) for port in sorted(ports))]
    for mouth in mouths:
        _add(steps, mouth, _talk_steps(hands, mouth, targets))
        for called in ears:
            _add(steps, ("call", mouth[1], called), _answer_steps(show, mouth[1], called))
    for port in ports:
        _add(steps, ("port", port), _round_steps(show, port, groups))
    for group in groups:
        _add(steps, ("said", group), (step for user in ears for step in _group_steps(show, user, group)))
    for name, bridge, circuit in bridges:
        _add_bridge(steps, show, name, bridge, circuit)
    return {spot: sorted(found, key=lambda step: step.edit is not None) for spot, found in steps.items()}


def _add(steps: Steps, tail: Spot, found: Iterable[Step]) -> None:
    steps.setdefault(tail, []).extend(found)


# --- channels --------------------------------------------------------------------------------------------------------


def _entries(show: Show, user: str, target: str) -> list[tuple[str, Channel]]:
    """A user's channels for a target, by number."""
    found = [(key, entry) for key, entry in show.users[user].channels.items() if target_of(key) == target]
    return sorted(found, key=lambda item: (item[1].number, item[0]))


def free_number(show: Show, user: str, but: Collection[int] = ()) -> int | None:
    """The lowest channel number that a user has free, `but` for these; None where the list is full."""
    channels, most = show.users[user].channels, show.limits.channels
    if len(channels) + len(but) >= most:
        return None
    taken = {*but, *(entry.number for entry in channels.values())}
    return next((number for number in range(1, min(most, HIGHEST) + 1) if number not in taken), None)


def _edit(show: Show, user: str, target: str, field: str, value: str, missing: str) -> Edit | None:
    """Sets talk or listen on the first channel for a target, or adds a channel. None where the list is full."""
    entries = _entries(show, user, target)
    if entries:
        return Edit(join("users", user, "channels", entries[0][0], field), value, missing)
    number = free_number(show, user)
    if number is None:
        return None
    return Edit(join("users", user, "channels", target), {"number": number, field: value}, missing)


def _talk_steps(hands: Hands, mouth: Spot, targets: Sequence[str]) -> Iterator[Step]:
    """From a talker, over any channel with talk, the handy ones first; from a bridge's target, over the open ones."""
    show, user, is_port = hands.show, mouth[1], mouth[0] == "port"
    hops: list[tuple[Spot, Hop]] = []
    for target in targets:
        head = _head(show, user, target)
        for key, entry in _entries(show, user, target):
            if entry.talk == "open" or (entry.talk != "none" and not is_port):
                keys = hands.keys.get(user, {}).get(key, ())
                hop = Hop("talk", target, user, key, entry.number, hands.channel(user, key), keys)
                hops.append((head, hop))
    for head, hop in sorted(hops, key=lambda found: (HANDS.index(found[1].hand or "menu"), found[1].number)):
        yield Step(head, hop)
    said = {hop.target for _, hop in hops}
    for target in (target for target in targets if target not in said):
        what = f"on {show.label(target)}" if target in show.groups else f"to {target}"
        missing = f"{user} has no {'open channel' if is_port else 'talk'} {what}"
        if edit := _edit(show, user, target, "talk", "open" if is_port else "momentary", missing):
            yield Step(_head(show, user, target), edit=edit)


def _head(show: Show, caller: str, target: str) -> Spot:
    return ("said", target) if target in show.groups else ("call", caller, target)


def _hear_steps(show: Show, user: str, target: str, missing: str) -> Iterator[Step]:
    entries = _entries(show, user, target)
    listening = [(key, entry) for key, entry in entries if entry.listen != "none"]
    if listening:
        key, entry = listening[0]
        yield Step(("ear", user), Hop("hear", target, user, key, entry.number))
    elif edit := _edit(show, user, target, "listen", "switchable", missing):
        yield Step(("ear", user), edit=edit)


def _group_steps(show: Show, user: str, group: str) -> Iterator[Step]:
    return _hear_steps(show, user, group, f"{user} does not listen on {show.label(group)}")


def _round_steps(show: Show, port: str, groups: Iterable[str]) -> Iterator[Step]:
    """One new channel on which a bridge's target both passes on what comes in and hears it."""
    number = free_number(show, port)
    for group in groups if number is not None else ():
        if not _entries(show, port, group):
            value = {"number": number, "talk": "open", "listen": "switchable"}
            missing = f"{port} has no open channel on {show.label(group)} to hear it there"
            yield Step(("ear", port), edit=Edit(join("users", port, "channels", group), value, missing))


def _answer_steps(show: Show, caller: str, called: str) -> Iterator[Step]:
    """A direct call is heard, unless the caller is on the list and listened to on no channel."""
    if caller in show.groups or not _entries(show, called, caller):
        yield Step(("ear", called), Hop("hear", caller, called))
    else:
        yield from _hear_steps(show, called, caller, f"{called} does not listen to {caller}")


# --- bridges ---------------------------------------------------------------------------------------------------------


def _add_bridge(steps: Steps, show: Show, name: str, bridge: Bridge, circuit: Circuit) -> None:
    target, is_group = bridge.target, bridge.target in show.groups
    label, outside = show.label(target), circuit_words(circuit)
    heard: Spot = ("said", target) if is_group else ("ear", target)
    said: Spot = ("said", target) if is_group else ("port", target)
    both = join("bridges", name, "direction")
    carry = Hop("out", target, bridge=name, circuit=circuit)
    turn = Edit(both, "both", f"bridge {name} does not carry {label} into {outside}")
    _add(steps, heard, [Step(circuit, carry) if carries_out(bridge) else Step(circuit, edit=turn)])
    bring = Hop("in", target, bridge=name, circuit=circuit)
    turn = Edit(both, "both", f"bridge {name} does not bring {outside} to {label}")
    _add(steps, circuit, [Step(said, bring) if brings_in(bridge) else Step(said, edit=turn)])
