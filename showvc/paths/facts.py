"""What paths need of a show beside its users' lists: devices, bridges, circuits, carriers; and what of it is there.

Three *cases* are told apart. SURELY: what is not in the document is left out. POSSIBLY: it is put in, unwritten
`hears`, `speaks` and `carries`, users off headset, devices and bridges away, a standby in place of what it replaces.
UNWRITTEN lies between: every unwritten field of a circuit is true, and nothing else is supposed.

Where the rules leave room, the reading that cannot make a false "holds" is taken:

- Carriers that hang on each other in a circle, with nothing else, hang on nothing and do not stand.
- A bridge whose circuit, device or target is not in the document carries nothing, in no case.
- A port has one bridge, whatever state the others that name it are in; standbys share that of what they replace.
- A standby of a standby stands in for the first of them; a standby of what is not in the document may be used, but
  surely is not.
- What is named as out stays out in every case.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Set
from dataclasses import dataclass, replace
from itertools import product
from math import prod
from typing import NamedTuple, TypeVar

from showvc.document import BUILT_IN_KINDS, Bridge, Carrier, Circuit, Device, Kind, Show, differing
from showvc.document.bodies import Body
from showvc.document.show import Entries
from showvc.document.values import FLOOR

Out = frozenset[str]
"""What is supposed to be out: `section/id`, such as `devices/desk-01`."""
NOTHING_OUT: Out = frozenset()


class Case(NamedTuple):
    """What is supposed of things that the document leaves open."""

    unwritten: bool
    returned: bool

    def so(self, field: bool | None) -> bool:
        """Whether a field of a circuit counts as true."""
        return self.unwritten if field is None else field


SURELY, UNWRITTEN, POSSIBLY = Case(False, False), Case(True, False), Case(True, True)


@dataclass(frozen=True, slots=True, eq=False)
class Facts:
    """`floor` is the lowest level that is heard; `circuits` are those that can be told from a user by their id."""

    groups: frozenset[str]
    lines: frozenset[str]
    kinds: Mapping[str, Kind]
    floor: float | None
    devices: Mapping[str, Device]
    bridges: Mapping[str, Bridge]
    circuits: Mapping[str, Circuit]
    carriers: Mapping[str, Carrier]
    out: Out

    def loud(self, level: float) -> bool:
        """Whether something at this level is surely heard."""
        return level > FLOOR and (self.floor is None or level >= self.floor)

    def kind(self, device: Device) -> Kind | None:
        return self.kinds.get(device.kind) or BUILT_IN_KINDS.get(device.kind)

    def has_keys(self, device: Device) -> bool:
        kind = self.kind(device)
        return kind is not None and kind.keys > 0

    def without(self, out: Out) -> Facts:
        """The same facts with these things out."""
        return replace(self, out=out)

    def is_out(self, section: str, name: str) -> bool:
        return bool(self.out) and f"{section}/{name}" in self.out


def facts_of(show: Show, out: Out = NOTHING_OUT) -> Facts:
    """Reads every device, bridge, circuit and carrier, and the ids of groups and users."""
    sections = (dict(show.section(name).items()) for name in ("devices", "bridges", "circuits", "carriers"))
    return _facts(show, out, *sections)


def moved_facts(facts: Facts, before: Show, after: Show) -> Facts:
    """The facts of `after` from those of `before`: only bodies that may differ are read."""
    pairs = ((getattr(facts, name), name) for name in ("devices", "bridges", "circuits", "carriers"))
    sections = (_moved(known, before.section(name), after.section(name)) for known, name in pairs)
    return _facts(after, facts.out, *sections)


def _facts(
    show: Show,
    out: Out,
    devices: Mapping[str, Device],
    bridges: Mapping[str, Bridge],
    circuits: Mapping[str, Circuit],
    carriers: Mapping[str, Carrier],
) -> Facts:
    head = show.head
    circuits = {name: body for name, body in circuits.items() if name not in show.users}
    return Facts(
        frozenset(show.groups), frozenset(head.lines), head.kinds, head.limits.floor, devices, bridges, circuits,
        carriers, out,
    )  # fmt: skip


B = TypeVar("B", bound=Body)


def _moved(known: Mapping[str, B], before: Entries[B], after: Entries[B]) -> Mapping[str, B]:
    changed = {*differing(before, after), *(name for name in after if name not in known)}
    if not changed:
        return known
    after.read(changed)
    kept = {name: body for name, body in known.items() if name in after}
    return dict(sorted((kept | {name: after[name] for name in changed if name in after}).items()))


# --- what stands -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class World:
    """One choice of which bridges are in use where standbys are: `chosen` standbys, and all bridges that are `live`."""

    chosen: frozenset[str]
    live: frozenset[str]


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """What is there in one case: devices; the devices with keys of each user; the bridges, once for each world."""

    devices: frozenset[str]
    worn: Mapping[str, tuple[str, ...]]
    worlds: tuple[World, ...]


def standing(facts: Facts, case: Case, chosen: frozenset[str] | None = None, exact: bool = False) -> Standing:
    """What stands; in the one world in which these standbys are in use, if they are given.

    With `exact`, worlds that differ in nothing but which of two equal bridges is in use are told apart.
    """
    devices = standing_devices(facts, case)
    worn: dict[str, tuple[str, ...]] = {}
    for name, device in facts.devices.items():
        if name in devices and device.user is not None and facts.has_keys(device):
            worn[device.user] = (*worn.get(device.user, ()), name)
    return Standing(devices, worn, tuple(_worlds(facts, case, devices, chosen, exact)))


def standing_devices(facts: Facts, case: Case) -> frozenset[str]:
    """The devices that are neither away, lent, out nor without a carrier that they need."""
    up = standing_carriers(facts, case)
    return frozenset(
        name
        for name, body in facts.devices.items()
        if (case.returned or (body.away is None and body.lent is None))
        and not facts.is_out("devices", name)
        and (not body.on or carried_by(up, body.on))
    )


On = frozenset[str | tuple[str, ...]]


class _AllBut(Container[str]):
    def __init__(self, names: Set[str]) -> None:
        self._names = names

    def __contains__(self, name: object) -> bool:
        return name not in self._names


def standing_carriers(facts: Facts, case: Case) -> Container[str]:
    """The carriers that are there. Surely: of which that is known; possibly: all but those that are out."""
    names = {name for name in facts.carriers if not facts.is_out("carriers", name)}
    if not case.returned:
        up: set[str] = set()
        while more := {name for name in names - up if carried_by(up, facts.carriers[name].on)}:
            up |= more
        return frozenset(up)
    down = {name.removeprefix("carriers/") for name in facts.out if name.startswith("carriers/")}
    while gone := {name for name in names - down if not carried_by(_AllBut(down), facts.carriers[name].on)}:
        down |= gone
    return _AllBut(down)


def carried_by(up: Container[str], on: On) -> bool:
    """Whether all that a thing hangs on is there: of alternatives, one."""
    return all(each in up if isinstance(each, str) else any(one in up for one in each) for each in on)


# --- bridges ---------------------------------------------------------------------------------------------------------

MOST_WORLDS = 256
"""Beyond so many choices of standbys, all bridges are put in at once: more may be possible then, never less."""


def place_of(bridges: Mapping[str, Bridge], name: str) -> str:
    """The place that a bridge is judged in: its own id, or that of the first one for which it stands in."""
    passed = [name]
    while (bridge := bridges.get(passed[-1])) is not None and bridge.standby is not None:
        if bridge.standby in passed:
            return min(passed[passed.index(bridge.standby) :])
        passed.append(bridge.standby)
    return passed[-1]


def _worlds(facts: Facts, case: Case, devices: Set[str], chosen: frozenset[str] | None, exact: bool) -> Iterator[World]:
    fit = [name for name in facts.bridges if _fits(facts, name, devices, case)]
    if chosen is None and case.returned:
        choices = _choices(facts, fit, exact)
        if choices is None:
            yield World(frozenset(name for name in fit if facts.bridges[name].standby), frozenset(fit))
        for standbys in choices or ():
            yield World(standbys, _live(facts, fit, standbys))
    else:
        yield World(chosen or frozenset(), _live(facts, fit, chosen or frozenset()))


def _live(facts: Facts, fit: Iterable[str], standbys: frozenset[str]) -> frozenset[str]:
    """Of the bridges that are fit, the chosen standbys, and those that are none and in whose place none is chosen."""
    taken = {place_of(facts.bridges, name) for name in standbys}
    return frozenset(
        name for name in fit if name in standbys or (facts.bridges[name].standby is None and name not in taken)
    )


def _choices(facts: Facts, fit: Iterable[str], exact: bool) -> Iterable[frozenset[str]] | None:
    """Every choice of at most one standby for each place; None where there are too many.

    Unless `exact`, or where even so there are too many, one that carries the same as another of its place is left out.
    """
    exact = exact or any(circuit.one_at_a_time for circuit in facts.circuits.values())
    for apart in (True, False) if exact else (False,):
        several = _several(facts, fit, apart)
        if prod(map(len, several)) <= MOST_WORLDS:
            return (frozenset(filter(None, choice)) for choice in product(*several))
    return None


def _several(facts: Facts, fit: Iterable[str], apart: bool) -> list[tuple[str, ...]]:
    """For each place that has standbys: none of them, and each."""
    at: dict[str, dict[object, str]] = {}
    for name in sorted(fit, key=lambda name: (facts.bridges[name].standby is not None, name)):
        bridge = facts.bridges[name]
        same = name if apart else (bridge.circuit, bridge.target, bridge.direction)
        at.setdefault(place_of(facts.bridges, name), {}).setdefault(same, name)
    standbys = [[name for name in found.values() if facts.bridges[name].standby is not None] for found in at.values()]
    return [("", *found) for found in standbys if found]


def _fits(facts: Facts, name: str, devices: Set[str], case: Case) -> bool:
    """Whether a bridge could carry: it is not away, its unit stands, its port is its alone, its circuit is there."""
    bridge = facts.bridges[name]
    if bridge.device not in devices or facts.is_out("bridges", name) or not (case.returned or bridge.away is None):
        return False
    if bridge.circuit is None or bridge.circuit not in facts.circuits or facts.is_out("circuits", bridge.circuit):
        return False
    kind = facts.kind(facts.devices[bridge.device])
    return kind is not None and bridge.port <= kind.ports and _port_is_its_alone(facts, name)


def _port_is_its_alone(facts: Facts, name: str) -> bool:
    bridge = facts.bridges[name]
    here = {n: b for n, b in facts.bridges.items() if b.port == bridge.port and b.device == bridge.device and n != name}
    replaced = bridge.standby
    return all(
        other == replaced or body.standby == name or (replaced in here and body.standby == replaced)
        for other, body in here.items()
    )


def carries_out(bridge: Bridge) -> bool:
    """Whether it carries what is said to its target into its circuit."""
    return bridge.direction in ("out", "both")


def brings_in(bridge: Bridge) -> bool:
    """Whether it brings its circuit's sound to its target."""
    return bridge.direction in ("in", "both")
