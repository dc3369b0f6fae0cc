"""The places where sound can be on its way between two users, and how it gets on from each.

A step that the show has carries a hop; one that it has not carries the edit that would make it. Proposed edits change
what there is, or add a channel to a list that has a free number. They never take anything out, add no bridge,
group or user, and keep to the show's limit of channels.
"""

from __future__ import annotations

import shlex
from collections.abc import Collection, Container, Iterator
from dataclasses import dataclass
from typing import Any, Literal

from showvc.document import Bridge, Channel, Show, target_of
from showvc.document.pointers import join
from showvc.paths.circuits import Circuit, brings_in, carries_out, circuit_words, tied
from showvc.paths.keys import HANDS, Hand, Hands, KeyAt
from showvc.paths.naming import spoken


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
        """The edit as it is typed."""
        value = self.value
        if not isinstance(value, str):
            value = f"{{{', '.join(f'{name}: {part}' for name, part in value.items())}}}"
        return shlex.join(["showvc", "set", self.pointer.removeprefix("/"), value])


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


Entry = tuple[str, Channel]
Tie = tuple[str, Bridge, Circuit]


class Ground:
    """All that can matter between two users: from each spot, the hops that are there, and the edits that are not."""

    def __init__(self, hands: Hands, talker: str, listener: str) -> None:
        self.hands, self.show = hands, hands.show
        self.start: Spot = ("mouth", talker)
        self.goal: Spot = ("ear", listener)
        self._lists: dict[str, dict[str, list[Entry]]] = {}
        ties = tuple(tied(self.show))
        self._ports = {tie[1].target for tie in ties} - self.show.groups.keys()
        self._ears = sorted({listener, *self._ports})
        on_lists = {target for name in (talker, *self._ears) for target in self._list(name)}
        self._groups = sorted((on_lists | {tie[1].target for tie in ties}) & self.show.groups.keys())
        self._called = [name for name in self._ears if name not in self.show.groups]
        self._carrying: dict[Spot, list[Tie]] = {}
        self._bringing: dict[Spot, list[Tie]] = {}
        for tie in ties:
            self._carrying.setdefault(self._heard_at(tie[1]), []).append(tie)
            self._bringing.setdefault(tie[2], []).append(tie)
        self._listening: dict[str, list[str]] = {}
        for name in self._ears:
            for target in self._list(name):
                if self._hear_hop(name, target):
                    self._listening.setdefault(target, []).append(name)

    def spots(self) -> Iterator[Spot]:
        """Every spot from which a step leads on."""
        mouths = [self.start, *(("port", port) for port in sorted(self._ports))]
        yield from mouths
        yield from (("call", mouth[1], name) for mouth in mouths for name in self._called)
        yield from (("said", group) for group in self._groups)
        yield from (("ear", name) for name in self._ears)
        yield from self._bringing

    def hops(self, spot: Spot) -> list[Step]:
        """The steps from a spot that the show has, the handy ones first."""
        if spot[0] in ("mouth", "port"):
            return self._talk_hops(spot)
        if spot[0] == "call":
            hop = self._answer_hop(spot[1], spot[2])
            return [Step(("ear", spot[2]), hop)] if hop else []
        if spot[0] in ("said", "ear"):
            hearing = self._listening.get(spot[1], ()) if spot[0] == "said" else ()
            heard = [Step(("ear", name), self._hear_hop(name, spot[1])) for name in hearing]
            return heard + [_carry_step(tie) for tie in self._carrying.get(spot, ()) if carries_out(tie[1])]
        return [self._bring_step(tie) for tie in self._bringing.get(spot, ()) if brings_in(tie[1])]

    def edits(self, spot: Spot, wanted: Container[Spot]) -> Iterator[Step]:
        """The steps from a spot to wanted ones that the show has not, with the edits that would make them."""
        found = self._edits(spot, wanted)
        return (Step(head, edit=edit) for head, edit in found if edit and head in wanted)

    def _edits(self, spot: Spot, wanted: Container[Spot]) -> Iterator[tuple[Spot, Edit | None]]:
        if spot[0] in ("mouth", "port"):
            yield from self._talk_edits(spot, wanted)
        elif spot[0] == "call" and not self._answer_hop(spot[1], spot[2]):
            missing = f"{self._said(spot[2])} does not listen to {self._said(spot[1])}"
            yield ("ear", spot[2]), self._edit(spot[2], spot[1], "listen", "switchable", missing)
        elif spot[0] == "said":
            deaf = sorted(set(self._ears) - set(self._listening.get(spot[1], ())))
            for name in (name for name in deaf if ("ear", name) in wanted):
                missing = f"{self._said(name)} does not listen on {self._said(spot[1])}"
                yield ("ear", name), self._edit(name, spot[1], "listen", "switchable", missing)
        yield from self._bridge_edits(spot)

    def _said(self, target: str) -> str:
        return spoken(self.show, target)

    # channels

    def _list(self, user: str) -> dict[str, list[Entry]]:
        """A user's channels by their targets, each target's by number."""
        if user not in self._lists:
            found: dict[str, list[Entry]] = {}
            channels = self.show.users[user].channels
            for key in sorted(channels, key=lambda key: (channels[key].number, key)):
                found.setdefault(target_of(key), []).append((key, channels[key]))
            self._lists[user] = found
        return self._lists[user]

    def _edit(self, user: str, target: str, field: str, value: str, missing: str) -> Edit | None:
        """Sets talk or listen on the first channel for a target, or adds a channel. None where the list is full."""
        entries = self._list(user).get(target)
        if entries:
            return Edit(join("users", user, "channels", entries[0][0], field), value, missing)
        number = free_number(self.show, user)
        if number is None:
            return None
        return Edit(join("users", user, "channels", target), {"number": number, field: value}, missing)

    def _said_at(self, caller: str, target: str) -> Spot:
        return ("said", target) if target in self.show.groups else ("call", caller, target)

    def _talk_hops(self, mouth: Spot) -> list[Step]:
        """From a talker, over any channel with talk; from a bridge's target, over the open ones."""
        user = mouth[1]
        hops: list[Hop] = []
        for target, entries in self._list(user).items():
            known = target in self.show.groups or target in self._ears
            for key, entry in entries if known else ():
                if entry.talk == "open" or (entry.talk != "none" and mouth[0] == "mouth"):
                    keys = self.hands.keys.get(user, {}).get(key, ())
                    hops.append(Hop("talk", target, user, key, entry.number, self.hands.channel(user, key), keys))
        hops.sort(key=lambda hop: (HANDS.index(hop.hand or "menu"), hop.number))
        return [Step(self._said_at(user, hop.target), hop) for hop in hops]

    def _talk_edits(self, mouth: Spot, wanted: Container[Spot]) -> Iterator[tuple[Spot, Edit | None]]:
        user, is_port = mouth[1], mouth[0] == "port"
        said = {step.head for step in self._talk_hops(mouth)}
        talk, what = ("open", "open channel") if is_port else ("momentary", "talk")
        for target in (*self._groups, *self._called):
            head = self._said_at(user, target)
            if head in wanted and head not in said:
                where = f"{'on' if target in self.show.groups else 'to'} {self._said(target)}"
                yield head, self._edit(user, target, "talk", talk, f"{self._said(user)} has no {what} {where}")
        if is_port and ("ear", user) in wanted:
            yield from self._round_edits(user)

    def _round_edits(self, port: str) -> Iterator[tuple[Spot, Edit]]:
        """One new channel on which a bridge's target both passes on what comes in and hears it."""
        number = free_number(self.show, port)
        for group in self._groups if number is not None else ():
            if group not in self._list(port):
                value = {"number": number, "talk": "open", "listen": "switchable"}
                missing = f"{self._said(port)} has no open channel on {self._said(group)} to hear it there"
                yield ("ear", port), Edit(join("users", port, "channels", group), value, missing)

    def _hear_hop(self, user: str, target: str) -> Hop | None:
        for key, entry in self._list(user).get(target, ()):
            if entry.listen != "none":
                return Hop("hear", target, user, key, entry.number)
        return None

    def _answer_hop(self, caller: str, called: str) -> Hop | None:
        """A direct call is heard, unless the caller is on the list and listened to on no channel."""
        if caller in self.show.groups or caller not in self._list(called):
            return Hop("hear", caller, called)
        return self._hear_hop(called, caller)

    # bridges

    def _heard_at(self, bridge: Bridge) -> Spot:
        return ("said" if bridge.target in self.show.groups else "ear"), bridge.target

    def _brought_to(self, bridge: Bridge) -> Spot:
        return ("said" if bridge.target in self.show.groups else "port"), bridge.target

    def _bring_step(self, tie: Tie) -> Step:
        name, bridge, circuit = tie
        return Step(self._brought_to(bridge), Hop("in", bridge.target, bridge=name, circuit=circuit))

    def _bridge_edits(self, spot: Spot) -> Iterator[tuple[Spot, Edit]]:
        for name, bridge, circuit in self._carrying.get(spot, ()):
            if not carries_out(bridge):
                missing = f"bridge {name} does not carry {self._said(bridge.target)} into {circuit_words(circuit)}"
                yield circuit, Edit(join("bridges", name, "direction"), "both", missing)
        for name, bridge, circuit in self._bringing.get(spot, ()):
            if not brings_in(bridge):
                missing = f"bridge {name} does not bring {circuit_words(circuit)} to {self._said(bridge.target)}"
                yield self._brought_to(bridge), Edit(join("bridges", name, "direction"), "both", missing)


def _carry_step(tie: Tie) -> Step:
    name, bridge, circuit = tie
    return Step(circuit, Hop("out", bridge.target, bridge=name, circuit=circuit))


def free_number(show: Show, user: str, but: Collection[int] = ()) -> int | None:
    """The lowest channel number that a user has free, `but` for these; None where the list is full."""
    channels, most = show.users[user].channels, show.most_channels
    if len(channels) + len(but) >= most:
        return None
    taken = {*but, *(entry.number for entry in channels.values())}
    return next((number for number in range(1, most + 1) if number not in taken), None)
