"""How sound goes: a graph of where a talker's sound comes to, walked by networkx, hop by hop from the sentences.

A node is a target with the bridge that brought the sound there (`over`), a direct call (`call`), a circuit with the
bridge over which it was entered (`circuit`), or somebody's ear (`ear`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

import networkx as nx

from tests.paths.oracle.capacity import sure_devices
from tests.paths.oracle.there import (
    Body,
    Doc,
    Entry,
    Scene,
    Thing,
    device_stands,
    entries,
    goes,
    has_key,
    headsets,
    is_port,
    kind_of,
    live,
    live_bridges,
    on_headset,
    people,
    positions,
    says,
    section,
    swaps,
    what_is,
)

Node = tuple[str, ...]
Triple = tuple[str, str, str]
"""Talker, target, listener."""
Gate = Callable[[str, str], bool]
"""Whether a circuit lets a talker's sound in: circuit, talker."""

HOWS = ("key", "open", "page", "menu")
"""How a talker comes to a target, the best first: a key on page A and always open are equally good."""
RANK = {"key": 0, "open": 0, "page": 1, "menu": 2}


@dataclass(frozen=True)
class Way:
    """One way over a target: how the talker comes to it, and whether each hop is sure."""

    how: str
    sure: bool

    @property
    def order(self) -> tuple[int, int, bool, int]:
        """The best first: sure and on a key, on a key, in the menu; page A before the others."""
        menu = self.how == "menu"
        met = self.sure and not menu
        return (0 if met else 2 if menu else 1, RANK[self.how], not self.sure, HOWS.index(self.how))


@dataclass(frozen=True)
class Hop:
    """Where sound goes on to, whether surely heard so, and the circuit that may hold it up."""

    to: Node
    sure: bool = True
    gate: str = ""


@dataclass(frozen=True)
class First:
    """A target that a talker reaches first, the ways of coming to it, and where sound starts."""

    target: str
    ways: frozenset[Way]
    hop: Hop


def floor_of(doc: Doc) -> float | None:
    found: float | None = section(doc, "limits").get("floor")
    return found


def loud(doc: Doc, level: float) -> bool:
    """At or above the floor; -60 is below any floor."""
    floor = floor_of(doc)
    return level > -60 and (floor is None or level >= floor)


class Sound:
    """The hops of one scene."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.doc = scene.doc
        self.bridges = live_bridges(scene)
        self.sure = sure_devices(scene)

    # Who listens, and how surely

    def head_is_sure(self, user: str) -> bool:
        return any(device_stands(self.scene, each) and each in self.sure for each in headsets(self.doc, user))

    def ear_of(self, user: str, written: list[Entry]) -> bool | None:
        """None where every entry says `none`; sure is `always` at or above the floor. The surest of several entries counts.

        A port's `switchable` counts as `always`: nobody is there to switch.
        """
        heard = [each for each in written if each.listen != "none"]
        if not heard:
            return None
        steady = ("always", "switchable") if is_port(self.doc, user) else ("always",)
        return any(each.listen in steady and loud(self.doc, each.level) for each in heard)

    def listens(self, user: str, target: str) -> bool | None:
        """A group: who has it with `listen` other than none. A line: who does not say none; a port only where it is written."""
        mine = [each for each in entries(self.doc, user) if each.target == target]
        if mine:
            return self.ear_of(user, mine)
        return True if what_is(self.doc, target) == "line" and not is_port(self.doc, user) else None

    def hears_call(self, user: str, caller: str) -> bool | None:
        """Without a channel for the caller he hears all the same, unless every entry that he has for him says none."""
        mine = [each for each in entries(self.doc, user) if each.target == caller]
        return self.ear_of(user, mine) if mine else True

    def to_ear(self, user: str, sure: bool | None) -> Iterator[Hop]:
        """Who is off headset hears nobody."""
        if sure is not None and on_headset(self.scene, user):
            yield Hop(("ear", user), sure and self.head_is_sure(user))

    # Bridges and circuits

    def steady(self, bridge: Body) -> bool:
        """A bridge through an over-full carrier, or of a one-at-a-time circuit, is unsure."""
        return bridge["device"] in self.sure and not self.one_at_a_time(bridge["circuit"])

    def one_at_a_time(self, circuit: str) -> bool:
        return bool(section(self.doc, "circuits")[circuit].get("one-at-a-time", False))

    def out_by(self, target: str, brought: str, sure: bool = True) -> Iterator[Hop]:
        """By live bridges `out` or `both`, other than the one that brought it, into their circuits."""
        for name, body in self.bridges.items():
            if body["target"] == target and goes(body, "out") and name != brought:
                yield Hop(("circuit", body["circuit"], name), sure and self.steady(body))

    def landings(self, name: str) -> Iterator[tuple[str, Hop]]:
        """What a bridge brings in: to its group or line; to a user's ear, no further; by a port on its `open` ones."""
        body = self.bridges[name]
        target, sure = body["target"], self.steady(body)
        gate = body["circuit"] if self.one_at_a_time(body["circuit"]) else ""
        if what_is(self.doc, target) != "user":
            yield target, Hop(("over", target, name), sure, gate)
        elif is_port(self.doc, target):
            for each in entries(self.doc, target):
                if each.talk == "open":
                    yield each.target, Hop(self.spoken(target, each.target, name), sure, gate)
        else:
            for hop in self.to_ear(target, True):
                yield target, Hop(hop.to, hop.sure and sure, gate)

    def spoken(self, speaker: str, target: str, brought: str) -> Node:
        """Speaking on a target: a direct call is told by its caller."""
        return ("call", speaker, target, brought) if what_is(self.doc, target) == "user" else ("over", target, brought)

    # Where sound goes on

    def from_target(self, target: str, brought: str) -> Iterator[Hop]:
        """From a group or line: to who listens, through ports that listen, and out by its bridges."""
        for user in section(self.doc, "users"):
            sure = self.listens(user, target)
            if sure is not None and is_port(self.doc, user):
                yield from self.out_by(user, brought, sure)
            else:
                yield from self.to_ear(user, sure)
        yield from self.out_by(target, brought)

    def from_call(self, caller: str, user: str, brought: str) -> Iterator[Hop]:
        """A direct call: to him, and out by a bridge to him whether he listens or not; a port only sends it out."""
        if not is_port(self.doc, user):
            yield from self.to_ear(user, self.hears_call(user, caller))
        yield from self.out_by(user, brought)

    def from_circuit(self, circuit: str, brought: str) -> Iterator[Hop]:
        """People behind it who hear; and, if it carries, its other live bridges `in` or `both`."""
        body = section(self.doc, "circuits")[circuit]
        if says(self.scene, circuit, "hears"):
            yield Hop(("ear", circuit), "hears" in body and not self.one_at_a_time(circuit))
        if says(self.scene, circuit, "carries"):
            for name, bridge in self.bridges.items():
                if bridge["circuit"] == circuit and goes(bridge, "in") and name != brought:
                    for _, hop in self.landings(name):
                        yield Hop(hop.to, hop.sure and "carries" in body, hop.gate)

    def onward(self, node: Node) -> Iterator[Hop]:
        kind, *rest = node
        if kind == "over":
            yield from self.from_target(*rest)
        elif kind == "call":
            yield from self.from_call(*rest)
        elif kind == "circuit":
            yield from self.from_circuit(*rest)

    @cached_property
    def graph(self) -> nx.DiGraph:
        """All that any talker's sound can come to; of two equal hops the surer is kept."""
        graph = nx.DiGraph()
        waiting = [first.hop.to for who in positions(self.doc) for first in self.firsts(who)]
        waiting += [("over", line, "") for line in section(self.doc, "lines")]
        seen: set[Node] = set()
        while waiting:
            node = waiting.pop()
            if node in seen:
                continue
            seen.add(node)
            graph.add_node(node)
            for hop in self.onward(node):
                sure = hop.sure or (graph.has_edge(node, hop.to) and graph.edges[node, hop.to]["sure"])
                graph.add_edge(node, hop.to, sure=sure, gate=hop.gate)
                waiting.append(hop.to)
        return graph

    # Where it starts

    def ways_to(self, user: str, target: str) -> frozenset[Way]:
        """Under a key that the kind has, on a device that stands; always open; in the menu, where the kind has one."""
        found: set[Way] = set()
        spoken = [each for each in entries(self.doc, user) if each.target == target and each.talk != "none"]
        for device in headsets(self.doc, user):
            if spoken and device_stands(self.scene, device):
                sure = device in self.sure
                found |= {Way(how, sure) for each in spoken for how in self._hows(device, each)}
        if spoken and self.scene.absent and not headsets(self.doc, user):
            found.add(Way("menu", False))
        return frozenset(found)

    def can_use(self, user: str, entry: Entry) -> bool:
        """Whether he comes to this entry itself, on a device that stands."""
        worn = headsets(self.doc, user)
        there = any(any(self._hows(each, entry)) for each in worn if device_stands(self.scene, each))
        return there or (self.scene.absent and not worn)

    def _hows(self, device: str, entry: Entry) -> Iterator[str]:
        kind = kind_of(self.doc, device)
        if entry.talk == "open":
            yield "open"
        for key, held in section(self.doc, "devices")[device].get("keys", {}).items():
            if held == entry.id and has_key(kind, key):
                yield "key" if key.startswith("A") else "page"
        if kind.get("menu", True):
            yield "menu"

    def firsts(self, talker: str) -> list[First]:
        """A talker reaches targets: a user by `talk` other than none, a circuit that speaks by live bridges `in` or `both`."""
        if talker in people(self.doc):
            if not on_headset(self.scene, talker):
                return []
            targets = dict.fromkeys(each.target for each in entries(self.doc, talker))
            return [
                First(target, ways, Hop(self.spoken(talker, target, "")))
                for target in targets
                if (ways := self.ways_to(talker, target))
            ]
        if talker not in section(self.doc, "circuits") or not says(self.scene, talker, "speaks"):
            return []
        return [
            First(target, frozenset({Way("open", "speaks" in section(self.doc, "circuits")[talker])}), hop)
            for name, body in self.bridges.items()
            if body["circuit"] == talker and goes(body, "in")
            for target, hop in self.landings(name)
        ]

    def reached(self, talker: str, first: Hop, gate: Gate) -> dict[Node, bool]:
        """All nodes that a talker's sound comes to, and whether by sure hops alone: a path is as sure as its weakest hop."""
        if first.gate and not gate(first.gate, talker):
            return {}
        held = [(a, b) for a, b, data in self.graph.edges(data=True) if data["gate"] and not gate(data["gate"], talker)]
        free = nx.restricted_view(self.graph, (), held)
        unsure = [(a, b) for a, b, sure in self.graph.edges(data="sure") if not sure]
        certain = nx.restricted_view(self.graph, (), {*held, *unsure})
        surely = {first.to, *nx.descendants(certain, first.to)} if first.sure else set()
        return {node: node in surely for node in {first.to, *nx.descendants(free, first.to)}}


def open_door(circuit: str, talker: str) -> bool:
    return True


def holders(sound: Sound, gate: Gate) -> dict[str, set[str]]:
    """Users on headset of whom an `open` channel reaches a circuit that takes one talker at a time."""
    found: dict[str, set[str]] = {}
    for user in people(sound.doc):
        open_on = {each.target for each in entries(sound.doc, user) if each.talk == "open"}
        for first in sound.firsts(user):
            if first.target in open_on:
                for node in sound.reached(user, first.hop, gate):
                    if node[0] == "circuit" and sound.one_at_a_time(node[1]):
                        found.setdefault(node[1], set()).add(user)
    return found


def sure_gate(doc: Doc, swapped: frozenset[str], out: frozenset[Thing]) -> Gate:
    """Surely, a held circuit brings nothing in but the holder's own sound, as soon as somebody may hold it over what is unwritten.

    Where two may hold it, neither surely comes through.
    """
    may = holders(Sound(Scene(doc, unwritten=True, swapped=swapped, out=out)), open_door)
    return lambda circuit, talker: may.get(circuit, {talker}) == {talker}


def possible_gate(doc: Doc, swapped: frozenset[str], out: frozenset[Thing]) -> Gate:
    """Possibly, only where somebody surely holds it; then the own sound of any who then may hold it."""
    does = holders(Sound(Scene(doc, swapped=swapped, out=out)), sure_gate(doc, swapped, out))
    may = holders(Sound(Scene(doc, unwritten=True, absent=True, swapped=swapped, out=out)), open_door)
    return lambda circuit, talker: circuit not in does or talker in does[circuit] | may[circuit]


@dataclass(frozen=True)
class Heard:
    """Who hears whom in one reading: each path with its ways, and each circuit that sound comes to, heard there or not."""

    paths: dict[Triple, frozenset[Way]]
    circuits: set[Triple]


def listen_in(sound: Sound, gate: Gate) -> Heard:
    """A path is over the target that the talker reaches first."""
    paths: dict[Triple, set[Way]] = {}
    circuits: set[Triple] = set()
    for talker in positions(sound.doc):
        for first in sound.firsts(talker):
            for node, sure in sound.reached(talker, first.hop, gate).items():
                if node[0] == "circuit":
                    circuits.add((talker, first.target, node[1]))
                if node[0] == "ear" and node[1] != talker:
                    ways = {Way(each.how, each.sure and sure) for each in first.ways}
                    paths.setdefault((talker, first.target, node[1]), set()).update(ways)
    return Heard({triple: frozenset(ways) for triple, ways in paths.items()}, circuits)


def surely(doc: Doc, out: frozenset[Thing] = frozenset(), swapped: frozenset[str] = frozenset()) -> Heard:
    """Surely: what is not in the document is left out."""
    return listen_in(Sound(Scene(doc, swapped=swapped, out=out)), sure_gate(doc, swapped, out))


def possibly(doc: Doc, out: frozenset[Thing] = frozenset()) -> Heard:
    """Possibly: unwritten is put in, the absent come back, a standby stands in place of what it replaces."""
    paths: dict[Triple, frozenset[Way]] = {}
    circuits: set[Triple] = set()
    for swapped in swaps(doc):
        scene = Scene(doc, unwritten=True, absent=True, swapped=swapped, out=out)
        if not all(live(scene, each) for each in swapped):
            continue  # nobody puts in a standby that cannot carry
        found = listen_in(Sound(scene), possible_gate(doc, swapped, out))
        circuits |= found.circuits
        for triple, ways in found.paths.items():
            paths[triple] = paths.get(triple, frozenset()) | ways
    return Heard(paths, circuits)


def best(ways: frozenset[Way]) -> Way:
    return min(ways, key=lambda way: way.order)


def pairs(doc: Doc, heard: Heard) -> dict[tuple[str, str], frozenset[Way]]:
    """The matrix is made of groups, direct calls and circuits; a path over a line is no pair."""
    found: dict[tuple[str, str], frozenset[Way]] = {}
    for (talker, target, listener), ways in heard.paths.items():
        if what_is(doc, target) != "line":
            found[talker, listener] = found.get((talker, listener), frozenset()) | ways
    return found


def line_raisers(doc: Doc, line: str, out: frozenset[Thing] = frozenset()) -> set[str]:
    """Who can raise a line, in the reading of what surely is."""
    sound, gate = Sound(Scene(doc, out=out)), sure_gate(doc, frozenset(), out)
    return {
        who
        for who in positions(doc)
        for first in sound.firsts(who)
        if first.target == line and (not first.hop.gate or gate(first.hop.gate, who))
    }


def line_hearers(doc: Doc, line: str, out: frozenset[Thing] = frozenset()) -> set[str]:
    """Who hears a line, whoever raises it."""
    sound = Sound(Scene(doc, out=out))
    reached = sound.reached("", Hop(("over", line, "")), sure_gate(doc, frozenset(), out))
    return {node[1] for node in reached if node[0] == "ear"}
