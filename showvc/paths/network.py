"""How sound goes on over bridges: from targets into circuits, and from circuits to targets again.

Sound moves from bridge to bridge. It goes *out* by a bridge from a target into the circuit; from a circuit that
carries it comes *in* by another bridge, to what that one *arrives* at, and from there out by others. No bridge follows
itself. A port's list is part of its bridges: they go out from all that the list listens to, and arrive at all that it
has open.

Where the rules leave room:

- A call to a port goes out by its bridges whatever its list says of the caller.
- Who is called by a port has it as caller: what his list says of the port counts.
- What is brought straight to somebody's ear is as a call without an entry.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from showvc.document import Bridge
from showvc.paths.facts import Case, Facts, brings_in, carries_out
from showvc.paths.lists import Lists


class Exit(NamedTuple):
    """A bridge by which a target's sound goes out, and how surely (0 to 2, as in `showvc.paths.reading`)."""

    bridge: str
    tier: int


class Arrival(NamedTuple):
    """A target that a bridge brings its circuit's sound to.

    `port`: the port whose open channel it is; `ear`: it goes straight to the user's ear and nowhere else.
    """

    target: str
    port: str | None = None
    ear: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """The live bridges of one world. `exits` of each target, `arrivals` of each bridge, `entries` of each circuit.

    `unsure` are the bridges that bring in nothing surely.
    """

    exits: Mapping[str, tuple[Exit, ...]]
    arrivals: Mapping[str, tuple[Arrival, ...]]
    entries: Mapping[str, tuple[str, ...]]
    circuit: Mapping[str, str]
    unsure: frozenset[str]


def network_of(facts: Facts, lists: Lists, live: Collection[str], sure_devices: Collection[str]) -> Network:
    """Where these bridges lead; `sure_devices` hang on no over-full carrier."""
    exits: dict[str, dict[str, int]] = {}
    arrivals: dict[str, tuple[Arrival, ...]] = {}
    entries: dict[str, tuple[str, ...]] = {}
    circuit: dict[str, str] = {}
    for name in sorted(live):
        bridge = facts.bridges[name]
        found = tuple(arrivals_at(facts, lists, bridge.target))
        if bridge.circuit is None or not (found or bridge.target in lists.ports):
            continue
        circuit[name] = bridge.circuit
        if carries_out(bridge):
            sure = 2 if is_sure(facts, bridge, sure_devices) else 0
            for target, tier in listened(facts, lists, bridge.target).items():
                exits.setdefault(target, {})[name] = min(tier, sure)
        if brings_in(bridge):
            arrivals[name] = found
            entries[bridge.circuit] = (*entries.get(bridge.circuit, ()), name)
    return Network(
        {target: tuple(Exit(*exit_) for exit_ in found.items()) for target, found in exits.items()},
        arrivals,
        entries,
        circuit,
        frozenset(name for name in circuit if not is_sure(facts, facts.bridges[name], sure_devices)),
    )


def is_sure(facts: Facts, bridge: Bridge, sure_devices: Collection[str]) -> bool:
    """Whether what a bridge carries is sure: its circuit takes several talkers, its unit hangs on no full carrier."""
    circuit = facts.circuits[bridge.circuit or ""]
    return bridge.device in sure_devices and not circuit.one_at_a_time


def is_there(facts: Facts, lists: Lists, target: str) -> bool:
    """Whether there is a group, user or line of this id, and it is not out."""
    if target in facts.groups:
        return not facts.is_out("groups", target)
    if target in lists.parts:
        return not facts.is_out("users", target)
    return target in facts.lines and not facts.is_out("lines", target)


def arrivals_at(facts: Facts, lists: Lists, target: str) -> Iterator[Arrival]:
    """Where a bridge of this target brings sound to."""
    if not is_there(facts, lists, target):
        return
    if target in facts.groups or target not in lists.parts:
        yield Arrival(target)
    elif target in lists.ports:
        yield from (Arrival(to, target) for to in lists.ports[target].opens if is_there(facts, lists, to))
    else:
        yield Arrival(target, ear=True)


def listened(facts: Facts, lists: Lists, target: str) -> Mapping[str, int]:
    """The targets whose sound goes out by a bridge of this target, and how surely."""
    if not is_there(facts, lists, target):
        return {}
    if target in facts.groups or target not in lists.ports:
        return {target: 2}
    # What a port has of users on its list are calls from them, which reach it as they are.
    heard = {
        name: tier
        for name, tier in lists.ports[target].listens.items()
        if (name in facts.groups or name not in lists.parts) and is_there(facts, lists, name)
    }
    return {**heard, target: 2}


Ears = Callable[[Arrival], int]


def beyond(
    facts: Facts, net: Network, case: Case, place: Mapping[str, int], ears: Ears, silent: Collection[str], tier: int
) -> dict[str, int]:
    """For each bridge that goes out: the bits of all that sound gets to by it, at least so surely.

    `place` is the slot of each circuit, whose bit stands for the circuit itself, whether or not somebody hears there;
    `ears` tells who hears what arrives; `silent` are circuits that bring nothing in.
    """
    found: dict[str, int] = {}
    onward: dict[str, list[str]] = {}
    for name, circuit in net.circuit.items():
        found[name] = 1 << place[circuit]
        for entry in next_in(facts, net, case, name, silent, tier):
            for arrival in net.arrivals[entry]:
                found[name] |= ears(arrival)
                onward.setdefault(name, []).extend(next_out(net, entry, arrival, tier))
    into: dict[str, set[str]] = {}
    for name, heads in onward.items():
        for head in heads:
            into.setdefault(head, set()).add(name)
    pending = list(found)
    while pending:
        name = pending.pop()
        for earlier in into.get(name, ()):
            if found[name] & ~found[earlier]:
                found[earlier] |= found[name]
                pending.append(earlier)
    return found


def next_in(
    facts: Facts, net: Network, case: Case, name: str, silent: Collection[str] = (), tier: int = 0
) -> Iterator[str]:
    """The bridges by which sound comes in again that went out by this one."""
    circuit = net.circuit[name]
    if circuit not in silent and case.so(facts.circuits[circuit].carries):
        entries = net.entries.get(circuit, ())
        yield from (entry for entry in entries if entry != name and (tier == 0 or entry not in net.unsure))


def next_out(net: Network, name: str, arrival: Arrival, tier: int = 0) -> Iterator[str]:
    """The bridges by which sound goes out again that came in by this one."""
    if not arrival.ear:
        yield from (to.bridge for to in net.exits.get(arrival.target, ()) if to.bridge != name and to.tier >= tier)
