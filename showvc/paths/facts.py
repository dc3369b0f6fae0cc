"""What paths need of a show beside its users' lists: devices, bridges, circuits, carriers; and what of it is there.

Three *cases* are told apart. SURELY: what is not in the document is left out. POSSIBLY: it is put in, unwritten
`hears`, `speaks` and `carries`, users off headset, devices and bridges away, a standby in place of what it replaces.
UNWRITTEN lies between: every unwritten field of a circuit is true, and nothing else is supposed.

Where the rules leave room, the reading that cannot make a false "holds" is taken:

- Carriers that hang on each other in a circle, with nothing else, hang on nothing and do not stand.
- A bridge whose circuit, device or target is not in the document carries nothing, in no case.
- A port has one bridge, whatever state the others that name it are in; only standbys and what they replace share it.
- A standby of a standby stands in for the first of them; a standby of what is not in the document may be used, but
  surely is not.
- What is named as out stays out in every case.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Set
from dataclasses import dataclass
from itertools import product
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
class Standing:
    """What is there in one case: devices; the devices with keys of each user; the bridges, once for each world.

    A *world* is one choice of which bridge of a standby's place is in use. Surely there is but one.
    """

    devices: frozenset[str]
    worn: Mapping[str, tuple[str, ...]]
    worlds: tuple[frozenset[str], ...]


def standing(facts: Facts, case: Case) -> Standing:
    """What stands."""
    carried = _carried(facts, case)
    devices = frozenset(name for name, device in facts.devices.items() if _stands(facts, name, device, case, carried))
    worn: dict[str, tuple[str, ...]] = {}
    for name, device in facts.devices.items():
        kind = facts.kind(device) if name in devices and device.user is not None else None
        if kind is not None and kind.keys and device.user is not None:
            worn[device.user] = (*worn.get(device.user, ()), name)
    return Standing(devices, worn, _worlds(facts, case, devices))


On = frozenset[str | tuple[str, ...]]


def _stands(facts: Facts, name: str, device: Device, case: Case, carried: Callable[[On], bool]) -> bool:
    here = case.returned or (device.away is None and device.lent is None)
    return here and not facts.is_out("devices", name) and (not device.on or carried(device.on))


def _carried(facts: Facts, case: Case) -> Callable[[On], bool]:
    """Tells whether all that a thing hangs on is there. Surely: what is not known to stand does not."""
    if not case.returned:
        up = _grown(facts, lambda known, on: _all(known.__contains__, on))
        return lambda on: _all(up.__contains__, on)
    named = {name.removeprefix("carriers/") for name in facts.out if name.startswith("carriers/")}
    down = _grown(facts, lambda known, on: not _all(lambda each: each not in known, on), named)
    return lambda on: _all(lambda each: each not in down, on)


def _all(there: Callable[[str], bool], on: On) -> bool:
    return all(there(each) if isinstance(each, str) else any(map(there, each)) for each in on)


def _grown(facts: Facts, joins: Callable[[Set[str], On], bool], start: Iterable[str] = ()) -> Set[str]:
    known = set(start)
    names = {name for name in facts.carriers if not facts.is_out("carriers", name)}
    while more := {name for name in names - known if joins(known, facts.carriers[name].on)}:
        known |= more
    return known


# --- bridges ---------------------------------------------------------------------------------------------------------

MOST_WORLDS = 64
"""Beyond this many choices of standbys, all of them are put in at once: more may be possible then, never less."""


def place_of(bridges: Mapping[str, Bridge], name: str) -> str:
    """The place that a bridge is judged in: its own id, or that of the first one for which it stands in."""
    passed = [name]
    while (bridge := bridges.get(passed[-1])) is not None and bridge.standby is not None:
        if bridge.standby in passed:
            return min(passed[passed.index(bridge.standby) :])
        passed.append(bridge.standby)
    return passed[-1]


def _worlds(facts: Facts, case: Case, devices: Set[str]) -> tuple[frozenset[str], ...]:
    places = {name: place_of(facts.bridges, name) for name in facts.bridges}
    fit = [name for name in facts.bridges if _fits(facts, name, devices, places)]
    if not case.returned:
        return (frozenset(n for n in fit if facts.bridges[n].standby is None and facts.bridges[n].away is None),)
    choices: dict[str, dict[object, str]] = {}
    for name in sorted(fit, key=lambda name: (name != places[name], name)):
        bridge = facts.bridges[name]
        choices.setdefault(places[name], {}).setdefault((bridge.circuit, bridge.target, bridge.direction), name)
    several = [tuple(found.values()) for found in choices.values() if len(found) > 1]
    fixed = frozenset(name for found in choices.values() if len(found) == 1 for name in found.values())
    count = 1
    for found in several:
        count *= len(found)
    if count > MOST_WORLDS:
        return (fixed.union(*several),)
    return tuple(fixed | set(chosen) for chosen in product(*several))


def _fits(facts: Facts, name: str, devices: Set[str], places: Mapping[str, str]) -> bool:
    """Whether a bridge's unit stands and its port is there and its alone, and there is a circuit behind it."""
    bridge = facts.bridges[name]
    if bridge.device not in devices or facts.is_out("bridges", name):
        return False
    if bridge.circuit is None or bridge.circuit not in facts.circuits:
        return False
    kind = facts.kind(facts.devices[bridge.device])
    if kind is None or bridge.port > kind.ports or facts.is_out("circuits", bridge.circuit):
        return False
    return all(
        places[other] == places[name]
        for other, body in facts.bridges.items()
        if body.port == bridge.port and body.device == bridge.device
    )


def carries_out(bridge: Bridge) -> bool:
    """Whether it carries what is said to its target into its circuit."""
    return bridge.direction in ("out", "both")


def brings_in(bridge: Bridge) -> bool:
    """Whether it brings its circuit's sound to its target."""
    return bridge.direction in ("in", "both")
