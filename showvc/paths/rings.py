"""Rings of bridges: sound that comes round to where it began, and howls.

Targets and circuits are the places of a graph, bridges its ties: a bridge `both` is a tie that sound passes either
way, `out` passes from its target to its circuit, `in` from its circuit to its target. A ring is a round trip over
ties that sound passes in that direction, that uses no bridge twice and comes through no place twice. Two bridges
between the same circuit and the same target are a ring when they carry both ways between them.

One-way and two-way bridges mix in one ring as long as all of them pass the same way round; a two-way bridge there and
back is no ring. Not every ring is told, for there may be very many: within each part of the graph in which sound gets
from every place to every other and back, with B bridges and P places, B - P + 1 of them are *independent*, and from
these all others are put together. This holds for one-way bridges as for two-way ones, since such a part can be built
up from one place by adding one round trip at a time (ear decomposition of a strongly connected graph). For two-way
bridges alone it is the cycle basis of graph theory.

The order is always the same: shortest rings first, then by the ids of their bridges. Bridges that point at
nothing are left out. The channels of a user who is a bridge's target are no ties: section 6 of the design.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import pairwise

from showvc.document import Show
from showvc.paths.circuits import brings_in, carries_out, circuit_words, tied

Place = tuple[str, str]
"""A circuit, or `("target", id)`."""
Arc = tuple[str, Place]
"""A bridge, and the place that it leads to."""
Web = Mapping[Place, Sequence[Arc]]


@dataclass(frozen=True, slots=True)
class Ring:
    """One round trip. `bridges[i]` leads from `places[i]` to the next place, the last one back to the first."""

    bridges: tuple[str, ...]
    places: tuple[Place, ...]

    @property
    def targets(self) -> tuple[str, ...]:
        """The groups and users in it, in their order round the ring."""
        return tuple(name for kind, name in self.places if kind == "target")


def rings_of(show: Show) -> tuple[Ring, ...]:
    """Each independent ring once, the shortest first. Empty where no sound can come round."""
    web = _thinned(_web(show))
    found = [ring for place, arcs in web.items() for arc in arcs if (ring := _shortest_ring(web, place, arc))]
    return _independent([*found, *_all_round(web)])


def is_ring(show: Show, bridges: Iterable[str]) -> bool:
    """Whether just these bridges are one ring in this show. False where one of them is missing."""
    names = set(bridges)
    web = {place: [arc for arc in arcs if arc[0] in names] for place, arcs in _web(show).items()}
    found = (_shortest_ring(web, place, arc) for place, arcs in web.items() for arc in arcs)
    return any(ring is not None and set(ring.bridges) == names for ring in found)


def ring_words(show: Show, ring: Ring) -> str:
    """The ring in one line: `FLY - bridge a - circuit House party line A - bridge b - FLY`."""
    steps = [
        word
        for place, bridge in zip(ring.places, ring.bridges, strict=True)
        for word in (_place_words(show, place), f"bridge {bridge}")
    ]
    return " - ".join([*steps, _place_words(show, ring.places[0])])


def _place_words(show: Show, place: Place) -> str:
    return show.label(place[1]) if place[0] == "target" else circuit_words(place)


def _web(show: Show) -> dict[Place, list[Arc]]:
    web: dict[Place, list[Arc]] = {}
    for name, bridge, circuit in tied(show):
        target = ("target", bridge.target)
        leads, brings = web.setdefault(target, []), web.setdefault(circuit, [])
        if carries_out(bridge):
            leads.append((name, circuit))
        if brings_in(bridge):
            brings.append((name, target))
    return web


def _thinned(web: Web) -> dict[Place, list[Arc]]:
    """The web without places that one bridge alone touches, over and over: no ring comes through them."""
    touching: dict[Place, set[str]] = {place: set() for place in web}
    ends: dict[str, set[Place]] = {}
    for place, arcs in web.items():
        for bridge, there in arcs:
            ends.setdefault(bridge, set()).update((place, there))
            touching[place].add(bridge)
            touching[there].add(bridge)
    loose = [place for place, bridges in touching.items() if len(bridges) == 1]
    while loose:
        for bridge in tuple(touching[loose.pop()]):
            for place in ends.pop(bridge):
                touching[place].discard(bridge)
                if len(touching[place]) == 1:
                    loose.append(place)
    return {place: [arc for arc in arcs if arc[0] in ends] for place, arcs in web.items() if touching[place]}


def _shortest_ring(web: Web, start: Place, arc: Arc) -> Ring | None:
    """The shortest ring that leaves this place over this bridge."""
    back = _way(web, arc[1], {start}, {arc[0]})
    return None if back is None else _ring(start, [arc, *back])


def _way(web: Web, start: Place, goals: Set[Place], barred: Set[str]) -> list[Arc] | None:
    """The shortest way from a place to any of the goals, without the barred bridges. None where there is none."""
    came: dict[Place, tuple[Place, Arc] | None] = {start: None}
    pending = deque([start])
    while pending:
        place = pending.popleft()
        if place in goals:
            return _traced(came, place)
        for arc in web.get(place, ()):
            if arc[0] not in barred and arc[1] not in came:
                came[arc[1]] = (place, arc)
                pending.append(arc[1])
    return None


def _traced(came: Mapping[Place, tuple[Place, Arc] | None], place: Place) -> list[Arc]:
    way: list[Arc] = []
    while (step := came[place]) is not None:
        place = step[0]
        way.append(step[1])
    return way[::-1]


def _ring(start: Place, arcs: Sequence[Arc]) -> Ring:
    """The ring over these bridges, told from its first target by alphabet."""
    places = [start, *(arc[1] for arc in arcs[:-1])]
    turn = places.index(min(place for place in places if place[0] == "target"))
    bridges = [arc[0] for arc in arcs]
    return Ring((*bridges[turn:], *bridges[:turn]), (*places[turn:], *places[:turn]))


def _all_round(web: Web) -> Iterator[Ring]:
    """For each part of the web that sound gets all round, as many independent rings as there are."""
    done: set[Place] = set()
    for root in web:
        if root not in done:
            yield from _grown(web, root, done)


def _grown(web: Web, root: Place, done: set[Place]) -> Iterator[Ring]:
    """Grows the part round `root` by one round trip at a time; adds its places to `done`."""
    inside: set[Place] = {root}
    built: dict[Place, list[Arc]] = {}
    used: set[str] = set()
    pending = deque((root, arc) for arc in web[root])
    while pending:
        start, arc = pending.popleft()
        if arc[0] in used:
            continue
        back = _way(web, arc[1], inside, {*used, arc[0]})
        if back is None:
            continue
        trip = [arc, *back]
        rest = _way(built, trip[-1][1], {start}, set())
        yield _ring(start, [*trip, *(rest or ())])
        for place in _build(web, built, start, trip):
            if place not in inside:
                inside.add(place)
                pending.extend((place, onward) for onward in web[place])
        used.update(bridge for bridge, _ in trip)
    done |= inside


def _build(web: Web, built: dict[Place, list[Arc]], start: Place, trip: Sequence[Arc]) -> list[Place]:
    """Adds the bridges of a trip to what is built, both ways where they carry both ways; gives the places back."""
    places = [start, *(place for _, place in trip)]
    for (here, there), (bridge, _) in zip(pairwise(places), trip, strict=True):
        built.setdefault(here, []).append((bridge, there))
        if (bridge, here) in web[there]:
            built.setdefault(there, []).append((bridge, here))
    return places[1:]


def _independent(found: Iterable[Ring]) -> tuple[Ring, ...]:
    """The rings that are not put together from earlier ones, the shortest first."""
    ordered = sorted(found, key=lambda ring: (len(ring.bridges), sorted(ring.bridges), ring.bridges))
    bit = {name: 1 << turn for turn, name in enumerate(sorted({name for ring in ordered for name in ring.bridges}))}
    kept: list[Ring] = []
    leading: dict[int, int] = {}
    for ring in ordered:
        rest = sum(bit[name] for name in ring.bridges)
        while rest and rest.bit_length() in leading:
            rest ^= leading[rest.bit_length()]
        if rest:
            leading[rest.bit_length()] = rest
            kept.append(ring)
    return tuple(kept)
