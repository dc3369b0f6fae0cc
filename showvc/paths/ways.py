"""By which way a pair holds, hop by hop; and what would have to be true for it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from heapq import heappop, heappush
from itertools import count
from typing import Literal, NamedTuple

from showvc.document import target_of
from showvc.paths.hands import Hand, KeyAt
from showvc.paths.model import Paths
from showvc.paths.network import Arrival, Network, next_in, next_out
from showvc.paths.reading import ANY, AT_LEVEL_0, SURE, Reading


class Doubt(NamedTuple):
    """Something that must be so for a path, and that the document does not say, or says is not so now.

    `hears`, `speaks`, `carries` of a circuit; a `user` is back on headset; a `device` or `bridge` is back; a bridge is
    used as `standby`; a circuit is not `held` by somebody's open channel.
    """

    what: Literal["hears", "speaks", "carries", "held", "user", "device", "bridge", "standby"]
    id: str


@dataclass(frozen=True, slots=True)
class Hop:
    """One step of a way.

    `talk`: `user` says it to `target`, on one of `channels`, which he has on `keys`, always open, or in the menu
    (`hand`). `hear`: `user` hears it on one of `channels`; none of them: a direct call without an entry, or a line
    that is there for everybody. `out`: `bridge` carries `target` into `circuit`, `port` listening to it where its
    bridge's target is a port. `in`: it brings `circuit` to `target`, where `port` has it open. `end`: those behind
    `circuit` hear it. A circuit that talks begins with `in`. `tier` is how sure the hop is.
    """

    step: Literal["talk", "hear", "out", "in", "end"]
    target: str
    user: str | None = None
    channels: tuple[str, ...] = ()
    hand: Hand | None = None
    keys: tuple[KeyAt, ...] = ()
    bridge: str | None = None
    circuit: str | None = None
    port: str | None = None
    tier: int = SURE


@dataclass(frozen=True, slots=True)
class Way:
    """A way over a target: its hand, its tier, its hops, and what has to be true for it (nothing, read surely)."""

    target: str
    hand: Hand
    tier: int
    hops: tuple[Hop, ...]
    doubts: tuple[Doubt, ...] = ()

    @property
    def sure(self) -> bool:
        return self.tier == SURE


def ways(paths: Paths, talker: str, listener: str, reading: Reading | None = None) -> tuple[Way, ...]:
    """A way over each target over which the pair holds: the surest first, lines after all others."""
    read = reading or paths.surely
    found = []
    for target, hand, tier in held_over(read, talker, listener):
        way = _Search(paths, read, talker, listener, target, tier).shortest()
        if way is not None:
            found.append(Way(target, hand, tier, *way))
    order = {"key": 0, "open": 0, "page": 1, "menu": 2}
    return tuple(
        sorted(
            found,
            key=lambda way: (
                way.target in read.line_names, way.tier < SURE, order[way.hand], len(way.hops), way.target,
            ),
        )
    )  # fmt: skip


def held_over(reading: Reading, talker: str, listener: str) -> Iterator[tuple[str, Hand, int]]:
    """Every target over which a pair holds, lines among them, with the hand and the tier of the best way."""
    slot = reading.lists.place.get(listener)
    if slot is None or talker not in reading.lists.place:
        return
    sure = reading.sure_hands(talker)
    for target, hand in reading.hands(talker).items():
        tiers = [tier for tier in (ANY, AT_LEVEL_0, SURE) if reading.over(talker, target, tier) >> slot & 1]
        if tiers and tiers[-1] == SURE and (sure[target] != "menu" or hand == "menu"):
            yield target, sure[target], SURE
        elif tiers:
            yield target, hand, tiers[-1] if sure.get(target) == hand else ANY


def way_into(paths: Paths, reading: Reading, talker: str, target: str, circuit: str) -> Way | None:
    """A way by which what a talker says to a target gets into a circuit, whether or not anybody hears it there."""
    found = _Search(paths, reading, talker, circuit, target, ANY, into=True).shortest()
    return found and Way(target, reading.hands(talker)[target], ANY, *found)


def fewest_doubts(
    paths: Paths, reading: Reading, talker: str, listener: str, over: str | None = None
) -> tuple[Doubt, ...]:
    """What has to be true for a pair to hold in this reading, over a target or over any but a line: as few as can be.

    Nothing where it holds surely, or not at all.
    """
    if paths.surely.holds(talker, listener, over):
        return ()
    found = [
        way.doubts
        for way in ways(paths, talker, listener, reading)
        if (way.target == over if over is not None else way.target not in reading.line_names)
    ]
    return min(found, key=len, default=())


State = tuple[Arrival | None, str]
"""Where sound has arrived, with the bridge that brought it; or None and the bridge by which it went out. Both empty
where it was heard."""
Trail = tuple[tuple[Hop, ...], tuple[Doubt, ...]]


class _Search:
    """From a talker, over one target, to a listener, over hops of at least one tier."""

    def __init__(
        self, paths: Paths, reading: Reading, talker: str, listener: str, target: str, tier: int, into: bool = False
    ) -> None:
        self.paths, self.reading, self.tier, self.into = paths, reading, tier, into
        self.talker, self.listener, self.target = talker, listener, target
        self.surely_silent = paths.surely.silent(talker)[0]

    def shortest(self) -> Trail | None:
        """The hops of a way with the fewest doubts, and of those one with the fewest hops."""
        every = zip(self.reading.networks, self.reading.silent(self.talker), strict=True)
        found = [trail for net, silent in every if (trail := self._in(net, silent)) is not None]
        return min(found, key=lambda trail: (len(trail[1]), len(trail[0])), default=None)

    def _in(self, net: Network, silent: Collection[str]) -> Trail | None:
        order, done = count(), set()
        pending: list[tuple[int, int, int, State, Trail]] = []

        def add(state: State | None, trail: Trail) -> None:
            heappush(pending, (len(trail[1]), len(trail[0]), next(order), state or (None, ""), trail))

        for state, trail in self._starts(net, silent):
            add(state, trail)
        while pending:
            _, _, _, state, trail = heappop(pending)
            if state == (None, ""):
                return trail
            if state in done:
                continue
            done.add(state)
            for following, hops, doubts in self._steps(net, silent, state):
                add(following, (trail[0] + hops, tuple(dict.fromkeys(trail[1] + doubts))))
        return None

    def _starts(self, net: Network, silent: Collection[str]) -> Iterator[tuple[State, Trail]]:
        if self.talker in self.paths.facts.circuits:
            yield from self._starts_of_circuit(net, silent)
            return
        yield (Arrival(self.target), ""), ((self._talk_hop(),), tuple(self._talk_doubts()))

    def _talk_doubts(self) -> Iterator[Doubt]:
        """What has to be so that the talker comes to the target: he is on headset, or another device of his is back."""
        surely = self.paths.surely
        if not surely.is_on_headset(self.talker):
            yield Doubt("user", self.talker)
        elif self.target not in surely.hands(self.talker):
            worn = self.reading.standing.worn.get(self.talker, ())
            back = [name for name in worn if name not in surely.standing.devices]
            kinds = {name: self.paths.facts.kind(self.paths.facts.devices[name]) for name in back}
            held = {at.device for channel in self._channels() for at in self.reading.keys(self.talker).get(channel, ())}
            helps = [name for name, kind in kinds.items() if name in held or (kind is not None and kind.menu)]
            yield from (Doubt("device", name) for name in helps[:1])

    def _channels(self) -> list[str]:
        voices = self.paths.lists.parts[self.talker].voices
        return sorted(name for name in voices if target_of(name) == self.target)

    def _starts_of_circuit(self, net: Network, silent: Collection[str]) -> Iterator[tuple[State, Trail]]:
        if self.talker in silent:
            return
        speaks = self.paths.facts.circuits[self.talker].speaks
        doubts = (Doubt("speaks", self.talker),) if speaks is None else ()
        for entry in net.entries.get(self.talker, ()):
            for arrival in net.arrivals[entry] if self.tier == ANY or entry not in net.unsure else ():
                if arrival.target == self.target:
                    step = self._in_step(net, entry, arrival)
                    yield step[0], (step[1], doubts + step[2])

    def _talk_hop(self) -> Hop:
        user, reading = self.talker, self.reading
        held = reading.keys(user)
        channels = self._channels()
        hand = reading.hands(user)[self.target]
        keys = tuple(at for name in channels for at in held.get(name, ()))
        if hand == "open":
            keys = ()
        return Hop("talk", self.target, user, tuple(channels), hand, keys)

    def _steps(
        self, net: Network, silent: Collection[str], state: State
    ) -> Iterator[tuple[State | None, tuple[Hop, ...], tuple[Doubt, ...]]]:
        arrival, bridge = state
        if arrival is None:
            circuit = net.circuit[bridge]
            if circuit == self.listener and circuit != self.talker:
                yield from self._end_step(circuit)
            for entry in next_in(self.paths.facts, net, self.reading.case, bridge, silent, self.tier):
                yield from (self._in_step(net, entry, at) for at in net.arrivals[entry])
            return
        if hop := self._hear_hop(arrival, first=not bridge):
            off = not self.paths.surely.is_on_headset(self.listener)
            yield None, (hop,), (Doubt("user", self.listener),) if off else ()
        for name in next_out(net, bridge, arrival, self.tier):
            tier = next(way.tier for way in net.exits[arrival.target] if way.bridge == name)
            hop = Hop(
                "out", arrival.target, bridge=name, circuit=net.circuit[name], port=self._port(name, arrival.target),
                tier=tier,
            )  # fmt: skip
            yield (None, name), (hop,), bridge_doubts(self.paths, name)

    def _in_step(self, net: Network, entry: str, arrival: Arrival) -> tuple[State, tuple[Hop, ...], tuple[Doubt, ...]]:
        circuit = net.circuit[entry]
        hop = Hop("in", arrival.target, bridge=entry, circuit=circuit, port=arrival.port)
        doubts = bridge_doubts(self.paths, entry)
        body = self.paths.facts.circuits[circuit]
        if circuit != self.talker and body.carries is None:
            doubts += (Doubt("carries", circuit),)
        if circuit in self.surely_silent:
            doubts += (Doubt("held", circuit),)
        return (arrival, entry), (replace(hop, tier=ANY) if entry in net.unsure else hop,), doubts

    def _end_step(self, circuit: str) -> Iterator[tuple[State | None, tuple[Hop, ...], tuple[Doubt, ...]]]:
        body = self.paths.facts.circuits[circuit]
        sure = body.hears is True and not body.one_at_a_time
        if self.into:
            yield None, (), ()
        elif self.reading.case.so(body.hears) and (sure or self.tier == ANY):
            doubts = (Doubt("hears", circuit),) if body.hears is None else ()
            yield None, (Hop("end", circuit, circuit=circuit, tier=SURE if sure else ANY),), doubts

    def _port(self, bridge: str, target: str) -> str | None:
        port = self.paths.facts.bridges[bridge].target
        return port if port in self.paths.lists.ports and port not in self.paths.facts.groups else None

    def _hear_hop(self, arrival: Arrival, first: bool) -> Hop | None:
        lists, name = self.paths.lists, self.listener
        if name not in lists.parts:
            return None
        bit = 1 << lists.place[name]
        heard = [tier for tier in (ANY, 1, SURE) if self._ears(arrival, tier, first) & bit]
        if not heard or heard[-1] < self.tier:
            return None
        call = arrival.target in lists.parts and arrival.target not in self.paths.facts.groups
        caller = self.talker if first else arrival.port
        of = caller if call else arrival.target
        entries = self._entries(of, heard[-1]) if of is not None else ()
        return Hop("hear", arrival.target, name, entries, port=arrival.port, tier=heard[-1])

    def _entries(self, of: str, tier: int) -> tuple[str, ...]:
        """The listener's channels for a target, or for a caller, that are heard at least so surely."""
        facts = self.paths.facts
        return tuple(
            key
            for key, entry in self.paths.show.users[self.listener].channels.items()
            if target_of(key) == of
            and entry.listen != "none"
            and (tier == ANY or entry.listen == "always")
            and (tier < SURE or facts.loud(entry.level))
        )

    def _ears(self, arrival: Arrival, tier: int, first: bool) -> int:
        call = arrival.target in self.paths.lists.parts and arrival.target not in self.paths.facts.groups
        if first and call:
            return self.reading.direct(self.talker, arrival.target, tier)
        return self.reading.arriving(arrival, tier)


def bridge_doubts(paths: Paths, name: str) -> tuple[Doubt, ...]:
    """What has to be so for a bridge to carry; nothing where it is surely live."""
    surely, bridge = paths.surely.standing, paths.facts.bridges[name]
    if name in surely.worlds[0].live:
        return ()
    found: list[Doubt] = [Doubt("standby", name)] if bridge.standby is not None else []
    found += [Doubt("bridge", name)] if bridge.away is not None else []
    found += [Doubt("device", bridge.device)] if bridge.device not in surely.devices else []
    return tuple(found)
