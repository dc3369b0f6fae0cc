"""Rings: sound that comes round to where it began, and howls.

A ring is a way round over bridges that are live, from target to circuit and from circuit that carries to target, in
which no bridge follows itself; a port's list is part of its bridges. Only its set of bridges is told, and only where
no part of that set is a ring by itself. There may be very many: as many are told as are independent, so that none is
put together (as sets, what is in one or the other but not in both) from others that are told.

Where the rules leave room: a circuit that takes one talker at a time closes a ring as any other does, for whoever talks
on it hears himself come round.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from showvc.paths.facts import place_of, standing
from showvc.paths.model import Paths
from showvc.paths.network import Network, network_of, next_in, next_out
from showvc.paths.reading import Reading
from showvc.paths.ways import Doubt, bridge_doubts


class Pass(NamedTuple):
    """Sound that goes through a bridge, out of a target or in from a circuit."""

    bridge: str
    inward: bool


Web = Mapping[Pass, Sequence[Pass]]
Bridges = frozenset[str]


@dataclass(frozen=True, slots=True)
class Ring:
    """One ring. `steps` is a way round over its bridges: the place that sound is at, and the bridge it goes on by.

    A place is a target or a circuit. `doubts` are what has to be so for it: nothing where it is there surely.
    """

    bridges: Bridges
    steps: tuple[tuple[str, str], ...]
    doubts: tuple[Doubt, ...] = ()

    @property
    def surely(self) -> bool:
        return not self.doubts


def rings(paths: Paths) -> tuple[Ring, ...]:
    """Each independent ring once: those that are there surely, then those that only may be; the smallest first."""
    surely = _independent(_told(paths.surely))
    found = [_ring(paths, paths.surely, bridges) for bridges in surely]
    known = set(surely)
    for bridges in _independent(_told(paths.possibly), surely):
        if bridges not in known and not is_ring(paths.surely, bridges):
            found.append(_ring(paths, paths.possibly, bridges))
    return tuple(found)


def is_ring(reading: Reading, bridges: Iterable[str]) -> bool:
    """Whether these bridges hold a ring in this reading. False where they are not live."""
    names = frozenset(bridges)
    return any(_has_ring(_web(reading, net, names)) for net in _networks(reading, names))


def is_smallest(reading: Reading, bridges: Iterable[str]) -> bool:
    """Whether these bridges are one ring in this reading that holds no smaller one."""
    names = frozenset(bridges)
    return is_ring(reading, names) and not any(is_ring(reading, names - {name}) for name in names)


def closes_ring(before: Paths, after: Paths) -> bool:
    """Whether a ring is there, surely or possibly, that was not there before."""
    return any(not is_ring(before.possibly, found) for found in _independent(_told(after.possibly)))


def _networks(reading: Reading, only: Bridges | None = None) -> tuple[Network, ...]:
    """The networks of a reading, also those with standbys that carry the same as what they replace.

    With `only`, the one in which the standbys among these bridges are in use; none where one place had two.
    """
    if not reading.case.returned:
        return reading.networks
    if only is not None:
        bridges = reading.facts.bridges
        standbys = {name for name in only if name in bridges and bridges[name].standby is not None}
        alone = len({place_of(bridges, name) for name in standbys}) == len(standbys)
        return Reading(reading.case, reading.facts, reading.lists, frozenset(standbys)).networks if alone else ()
    worlds = standing(reading.facts, reading.case, exact=True).worlds
    return tuple(network_of(reading.facts, reading.lists, world.live, reading.sure_devices) for world in worlds)


# --- the web ---------------------------------------------------------------------------------------------------------


def _web(reading: Reading, net: Network, only: Bridges | None = None) -> dict[Pass, list[Pass]]:
    """Which pass follows which."""
    web: dict[Pass, list[Pass]] = {}
    exits = {way_out.bridge for found in net.exits.values() for way_out in found}
    names = [name for name in net.circuit if only is None or name in only]
    for name in names:
        if name in exits:
            following = next_in(reading.facts, net, reading.case, name)
            web[Pass(name, False)] = [Pass(entry, True) for entry in following if only is None or entry in only]
        if name in net.arrivals:
            onward = {to for arrival in net.arrivals[name] for to in next_out(net, name, arrival)}
            web[Pass(name, True)] = [Pass(to, False) for to in sorted(onward) if only is None or to in only]
    return web


def _thinned(web: Web) -> dict[Pass, list[Pass]]:
    """The web without passes that lead nowhere, over and over: no ring comes through them."""
    left = {one: list(onward) for one, onward in web.items()}
    while loose := {one for one, onward in left.items() if not onward}:
        left = {
            one: [to for to in onward if to not in loose and to in left]
            for one, onward in left.items()
            if one not in loose
        }
    return left


def _has_ring(web: Web) -> bool:
    return bool(_thinned(web))


def _back(web: Web, start: Pass) -> tuple[Pass, ...] | None:
    """The shortest way round from a pass to itself."""
    came: dict[Pass, Pass | None] = {}
    pending = deque([start])
    while pending:
        one = pending.popleft()
        for following in web.get(one, ()):
            if following == start:
                way: list[Pass] = [one]
                while way[-1] != start:
                    way.append(came[way[-1]] or start)
                return tuple(reversed(way))
            if following not in came:
                came[following] = one
                pending.append(following)
    return None


# --- those that hold no smaller one ----------------------------------------------------------------------------------

MOST_LOOKED_AT = 400
"""How many sets of bridges are looked at, to find rings that are hidden behind others."""


def _told(reading: Reading) -> Iterator[Bridges]:
    """Rings that hold no smaller one, the likely small ones first; some of them more than once."""
    for net in _networks(reading):
        web = _thinned(_web(reading, net))
        rounds = (_back(web, start) for start in web)
        first = dict.fromkeys(_smallest(reading, net, {each.bridge for each in way}) for way in rounds if way)
        yield from first
        yield from _hidden(reading, net, web, list(first))


def _smallest(reading: Reading, net: Network, bridges: Iterable[str]) -> Bridges:
    """A ring within these bridges, which hold one, that holds no smaller one."""
    left = frozenset(bridges)
    for name in sorted(left):
        if _has_ring(_web(reading, net, left - {name})):
            left -= {name}
    return left


def _hidden(reading: Reading, net: Network, web: Web, found: list[Bridges]) -> Iterator[Bridges]:
    """Rings that are there when bridges of others are taken out, the fewest taken out first."""
    every = frozenset(one.bridge for one in web)
    pending = deque([frozenset[str]()])
    looked: set[Bridges] = set()
    while pending and len(looked) < MOST_LOOKED_AT:
        gone = pending.popleft()
        if gone in looked:
            continue
        looked.add(gone)
        ring = next((each for each in found if not each & gone), None)
        if ring is None:
            left = _thinned(_web(reading, net, every - gone))
            if not left:
                continue
            ring = _smallest(reading, net, {each.bridge for each in left})
            found.append(ring)
            yield ring
        pending.extend(gone | {name} for name in sorted(ring))


def _independent(found: Iterable[Bridges], given: Sequence[Bridges] = ()) -> tuple[Bridges, ...]:
    """The rings that are not put together from earlier ones: those that are given, then the smallest first."""
    ordered = [*given, *sorted(set(found) - set(given), key=lambda ring: (len(ring), sorted(ring)))]
    bit = {name: 1 << turn for turn, name in enumerate(sorted({name for ring in ordered for name in ring}))}
    kept: list[Bridges] = []
    leading: dict[int, int] = {}
    for ring in ordered:
        rest = sum(bit[name] for name in ring)
        while rest and rest.bit_length() in leading:
            rest ^= leading[rest.bit_length()]
        if rest:
            leading[rest.bit_length()] = rest
            kept.append(ring)
    return tuple(kept)


# --- told ------------------------------------------------------------------------------------------------------------


def _ring(paths: Paths, reading: Reading, bridges: Bridges) -> Ring:
    """The ring with a way round over its bridges, in the world where it is one."""
    for net in _networks(reading, bridges):
        web = _thinned(_web(reading, net, bridges))
        if web:
            way = min((way for start in sorted(web) if (way := _back(web, start))), key=len)
            turn = way.index(min(way, key=lambda each: (each.inward, each.bridge)))
            way = way[turn:] + way[:turn]
            steps = tuple((_place(net, way[at - 1], each), each.bridge) for at, each in enumerate(way))
            return Ring(bridges, steps, tuple(_doubts(paths, net, way)))
    raise ValueError(f"no ring over {', '.join(sorted(bridges))}")


def _place(net: Network, came: Pass, goes: Pass) -> str:
    """Where sound is between two passes."""
    if goes.inward:
        return net.circuit[goes.bridge]
    at = sorted(arrival.target for arrival in net.arrivals[came.bridge] if goes.bridge in next_out(net, "", arrival))
    return at[0]


def _doubts(paths: Paths, net: Network, way: Iterable[Pass]) -> Iterator[Doubt]:
    found: dict[Doubt, None] = {}
    for each in way:
        found |= dict.fromkeys(bridge_doubts(paths, each.bridge))
        circuit = net.circuit[each.bridge]
        if paths.facts.circuits[circuit].carries is None:
            found[Doubt("carries", circuit)] = None
    return iter(found)
