"""Who hears whom in one case (surely, possibly, or were all that is unwritten true).

How sure an ear is, is a *tier*: 2 sure, 1 would be sure were all levels 0, 0 unsure. What holds at a tier holds at
all below. How a talker comes to a target is his *hand*.

A circuit that takes one talker at a time is *held* while a user on headset has an open channel (or an open use of a
line) that reaches it; it brings in the sound of those who hold it and of nobody else. Surely, it is held as soon as it
may be, every unwritten field being true; possibly, only when it surely is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from showvc.paths.capacities import sure_devices
from showvc.paths.facts import POSSIBLY, SURELY, UNWRITTEN, Case, Facts, Standing, standing
from showvc.paths.hands import Hand, KeyAt, hands_of, has_menu, keys_of
from showvc.paths.lists import NOBODY, Lists
from showvc.paths.network import Arrival, Network, beyond, is_there, network_of
from showvc.paths.pairs import Pairs, slots_of

ANY, AT_LEVEL_0, SURE = 0, 1, 2


Silent = tuple[frozenset[str], ...]
"""For each world, the circuits that bring nothing in."""


@dataclass(frozen=True, eq=False)
class Reading:
    """Immutable; what was worked out once is kept. All bits are slots of `lists.order`.

    KeyError for ids that are neither a user's nor a circuit's, where nothing else is said.
    """

    case: Case
    facts: Facts
    lists: Lists
    chosen: frozenset[str] | None = None
    _rows: dict[int, int] = field(default_factory=dict)
    _beyond: dict[tuple[Silent, int], tuple[dict[str, int], ...]] = field(default_factory=dict)
    _reach: dict[int, Mapping[str, int]] = field(default_factory=dict)
    _hands: dict[str, Mapping[str, Hand]] = field(default_factory=dict)

    # --- who is there ---

    @cached_property
    def standing(self) -> Standing:
        """What stands."""
        return standing(self.facts, self.case, self.chosen)

    @cached_property
    def networks(self) -> tuple[Network, ...]:
        """Where bridges lead, in each world."""
        worlds, sure = self.standing.worlds, self.sure_devices
        return tuple(network_of(self.facts, self.lists, world.live, sure) for world in worlds)

    @cached_property
    def sure_devices(self) -> Collection[str]:
        """The devices that hang on no over-full carrier."""
        return sure_devices(self.facts)

    @cached_property
    def on_headset(self) -> int:
        """Bits of the users on headset."""
        lists, bits = self.lists, 0
        for name in self.standing.worn:
            if name in lists.parts:
                bits |= 1 << lists.place[name]
        if self.case.returned:
            # Who has no device may get one; whose device is out stays off.
            devices = self.facts.devices.values()
            wearers = {body.user for body in devices if body.user is not None and self.facts.has_keys(body)}
            bits |= lists.users & ~self._bits(wearers)
        outs = {name.removeprefix("users/") for name in self.facts.out if name.startswith("users/")}
        return bits & lists.users & ~self._bits(outs)

    def _bits(self, names: Iterable[str]) -> int:
        place, bits = self.lists.place, 0
        for name in names:
            bits |= 1 << place[name] if name in place else 0
        return bits

    @cached_property
    def at_a_limit(self) -> int:
        """Bits of the users of whom every device hangs on an over-full carrier."""
        sure = self.sure_devices
        if len(sure) == len(self.facts.devices):
            return 0
        return self._bits(user for user, worn in self.standing.worn.items() if not any(name in sure for name in worn))

    @cached_property
    def hearing(self) -> tuple[int, int, int]:
        """At each tier, the bits of the positions where a path can end."""
        place, circuits = self.lists.place, self.facts.circuits
        surely = sum(1 << place[name] for name, circuit in circuits.items() if circuit.hears)
        maybe = sum(1 << place[name] for name, circuit in circuits.items() if self.case.so(circuit.hears))
        sure = self.on_headset & ~self.at_a_limit | surely
        return self.on_headset | maybe, sure, sure

    def is_on_headset(self, user: str) -> bool:
        slot = self.lists.place.get(user)
        return slot is not None and bool(self.on_headset >> slot & 1)

    # --- how a talker comes to it ---

    def keys(self, user: str) -> Mapping[str, tuple[KeyAt, ...]]:
        """The channels and lines under keys of the devices that a user wears, where the kind has the key."""
        return keys_of(self.facts, self.standing, user)

    def has_menu(self, user: str) -> bool:
        """Whether a user can come to a channel without a key. Whose device is not known may have one."""
        return has_menu(self.facts, self.standing, user, unknown=self.case.returned)

    def talks(self, user: str) -> frozenset[str]:
        """The targets that a user on headset can talk to."""
        said = self.lists.parts[user].talks
        return said if self.has_menu(user) else said & self.hands(user).keys()

    def hands(self, talker: str) -> Mapping[str, Hand]:
        """The targets that a talker can talk to, and how he comes to each. A circuit is always open."""
        if talker not in self._hands:
            if talker in self.facts.circuits:
                every = zip(self.networks, self.usual, strict=True)
                first = (to for net, silent in every if talker not in silent for to in self._first(net, talker))
                self._hands[talker] = dict.fromkeys(first, "open") if self._speaks(talker) else {}
            else:
                self._hands[talker] = self._hands_of_user(talker) if self.is_on_headset(talker) else {}
        return self._hands[talker]

    def _hands_of_user(self, name: str) -> Mapping[str, Hand]:
        return hands_of(self.lists.parts[name], self.keys(name), self.has_menu(name))

    def usable(self, user: str, channel: str) -> bool:
        """Whether a user comes to a talking entry: under a key, always open, or in a menu."""
        part = self.lists.parts[user]
        if channel not in part.voices:
            return False
        return self.has_menu(user) or channel.partition("#")[0] in part.opens or channel in self.keys(user)

    def sure_hands(self, talker: str) -> Mapping[str, Hand]:
        """The targets that a talker comes to on devices that hang on no over-full carrier, and how."""
        worn = self.standing.worn.get(talker, ())
        if talker not in self.lists.parts or all(name in self.sure_devices for name in worn):
            return self.hands(talker)
        sure = tuple(name for name in worn if name in self.sure_devices)
        if not sure or not self.is_on_headset(talker):
            return {}
        part = Standing(self.standing.devices, {talker: sure}, ())
        keys, menu = keys_of(self.facts, part, talker), has_menu(self.facts, part, talker, unknown=False)
        return hands_of(self.lists.parts[talker], keys, menu)

    # --- who hears ---

    def ears(self, target: str, tier: int) -> int:
        """Bits of those who hear what is said to a group or line, or to a user by somebody whom he has no entry for."""
        lists, there = self.lists, self.on_headset
        if not is_there(self.facts, lists, target):
            return 0
        if target not in self.facts.groups and target in lists.parts:
            return 1 << lists.place[target] & there
        if tier == ANY:
            heard = lists.on.get(target, 0)
        else:
            heard = lists.always.get(target, 0)
            if tier == SURE:
                heard &= ~lists.low.get(target, 0)
        if target not in self.facts.groups:
            heard |= ~(lists.silent, lists.soft, lists.faint)[tier].get(target, 0)
        return heard & there

    def direct(self, caller: str, called: str, tier: int) -> int:
        """The bit of a user who is called, if he hears the caller."""
        lists = self.lists
        bit = 1 << lists.place[called] & self.on_headset
        if caller in self.facts.groups or not (bit & (lists.on.get(caller, 0) | lists.shut.get(caller, 0))):
            return bit
        heard = lists.on if tier == ANY else lists.always
        bit &= heard.get(caller, 0)
        return bit & ~lists.low.get(caller, 0) if tier == SURE else bit

    def arriving(self, arrival: Arrival, tier: int) -> int:
        calls = arrival.port is not None and arrival.target in self.lists.parts
        if calls and arrival.target not in self.facts.groups:
            return self.direct(arrival.port or "", arrival.target, tier)
        return self.ears(arrival.target, tier)

    def beyond(self, silent: Silent, tier: int) -> tuple[dict[str, int], ...]:
        """For each world: who hears what goes out by each bridge."""
        if (silent, tier) not in self._beyond:
            place = self.lists.place
            self._beyond[silent, tier] = tuple(
                beyond(self.facts, net, self.case, place, lambda at: self.arriving(at, tier), gone, tier)
                for net, gone in zip(self.networks, silent, strict=True)
            )
        return self._beyond[silent, tier]

    def _outside(self, target: str, tier: int, silent: Silent) -> int:
        bits = 0
        for net, found in zip(self.networks, self.beyond(silent, tier), strict=True):
            for way_out in net.exits.get(target, ()):
                if way_out.tier >= tier:
                    bits |= found[way_out.bridge]
        return bits

    # --- circuits that take one talker at a time ---

    def holders(self) -> Mapping[str, int]:
        """For each circuit that takes one talker at a time: bits of the users whose open channel reaches it."""
        single = {n: 1 << self.lists.place[n] for n, body in self.facts.circuits.items() if body.one_at_a_time}
        found = dict.fromkeys(single, 0)
        for name, part in self.lists.parts.items():
            for target in part.opens if self.is_on_headset(name) else ():
                reached = self.said(name, target)
                for circuit, bit in single.items():
                    found[circuit] |= 1 << self.lists.place[name] if reached & bit else 0
        return {circuit: bits for circuit, bits in found.items() if bits}

    @cached_property
    def held(self) -> tuple[Mapping[str, int], ...]:
        """For each world, the circuits that are held, with the bits of the users whose own sound they bring in."""
        if not any(circuit.one_at_a_time for circuit in self.facts.circuits.values()):
            return tuple({} for _ in self.standing.worlds)
        return tuple(self._held(world.chosen) for world in self.standing.worlds)

    def _held(self, chosen: frozenset[str]) -> Mapping[str, int]:
        if not self.case.returned:
            # Where two may hold it, neither surely comes through.
            may = _Open(UNWRITTEN, self.facts, self.lists, chosen).holders()
            return {name: bits if bits.bit_count() == 1 else 0 for name, bits in may.items()}
        surely = Reading(SURELY, self.facts, self.lists, chosen).holders()
        may = _Open(POSSIBLY, self.facts, self.lists, chosen).holders()
        return {name: may.get(name, 0) | bits for name, bits in surely.items()}

    @cached_property
    def usual(self) -> Silent:
        """The circuits that, in each world, bring in nothing of who does not hold them."""
        return tuple(frozenset(held) for held in self.held)

    @cached_property
    def special(self) -> int:
        """Bits of the users whose own sound a held circuit brings in."""
        bits = 0
        for held in self.held:
            for found in held.values():
                bits |= found
        return bits

    def silent(self, talker: str) -> Silent:
        """The circuits that, in each world, bring in nothing of what this talker says."""
        slot = self.lists.place[talker]
        if not self.special >> slot & 1:
            return self.usual
        return tuple(frozenset(name for name, bits in held.items() if not bits >> slot & 1) for held in self.held)

    # --- paths ---

    def reach(self, tier: int) -> Mapping[str, int]:
        """For each target, who hears what the usual talker says to it, circuits reached among them.

        Usual are those who hold no circuit, and for whom the one that is called has no entry.
        """
        if tier not in self._reach:
            groups, there = self.facts.groups, self.on_headset
            found = {target: self.ears(target, tier) for target in (*groups, *self.facts.lines)}
            for name in self.lists.parts:
                if name not in groups:
                    found[name] = 1 << self.lists.place[name] & there
            for target in {target for net in self.networks for target in net.exits}:
                found[target] = found.get(target, 0) | self._outside(target, tier, self.usual)
            self._reach[tier] = found
        return self._reach[tier]

    def said(self, talker: str, target: str, tier: int = ANY) -> int:
        """All that is reached by what a talker says to a target, the talker and circuits without ears among them."""
        if talker in self.facts.circuits:
            return self._said_by_circuit(talker, target, tier)
        hands = self.hands(talker) if tier == ANY else self.sure_hands(talker)
        return self._said_by_user(talker, target, tier) if target in hands else 0

    def _said_by_user(self, talker: str, target: str, tier: int) -> int:
        call = target in self.lists.parts and target not in self.facts.groups
        if not call and self.is_usual(talker):
            return self.reach(tier).get(target, 0)
        if not is_there(self.facts, self.lists, target):
            return 0
        ears = self.direct(talker, target, tier) if call else self.ears(target, tier)
        return ears | self._outside(target, tier, self.silent(talker))

    def _speaks(self, circuit: str) -> bool:
        return self.case.so(self.facts.circuits[circuit].speaks)

    def _first(self, net: Network, circuit: str) -> dict[str, list[tuple[str, Arrival]]]:
        """The targets that a circuit reaches first in a world, with the bridge that brings it there."""
        found: dict[str, list[tuple[str, Arrival]]] = {}
        for entry in net.entries.get(circuit, ()):
            for arrival in net.arrivals[entry]:
                found.setdefault(arrival.target, []).append((entry, arrival))
        return found

    def _said_by_circuit(self, circuit: str, target: str, tier: int) -> int:
        if not self._speaks(circuit):
            return 0
        bits = 0
        for net, silent, found in zip(self.networks, self.usual, self.beyond(self.usual, tier), strict=True):
            for entry, arrival in self._first(net, circuit).get(target, ()) if circuit not in silent else ():
                if tier > ANY and entry in net.unsure:
                    continue
                bits |= self.arriving(arrival, tier)
                for way_out in () if arrival.ear else net.exits.get(target, ()):
                    if way_out.bridge != entry and way_out.tier >= tier:
                        bits |= found[way_out.bridge]
        return bits

    def is_usual(self, talker: str) -> bool:
        """Whether `reach` holds, at least, all that is reached by what this talker says."""
        return talker in self.lists.parts and not self.special >> self.lists.place[talker] & 1

    def over(self, talker: str, target: str, tier: int = ANY) -> int:
        """Bits of the positions that hear a talker over a target, at least so surely."""
        if talker not in self.lists.place:
            return 0
        return self.said(talker, target, tier) & self.hearing[tier] & ~(1 << self.lists.place[talker])

    def row(self, talker: str) -> int:
        """Bits of the positions that hear a talker over any target but a line. 0 for who is no position."""
        slot = self.lists.place.get(talker)
        if slot is None:
            return 0
        if slot not in self._rows:
            self._rows[slot] = self._row(talker, slot)
        return self._rows[slot]

    def _row(self, talker: str, slot: int) -> int:
        bits = 0
        if talker in self.facts.circuits:
            for target in self.hands(talker).keys() - self.line_names:
                bits |= self._said_by_circuit(talker, target, ANY)
        elif self.on_headset >> slot & 1:
            targets = self.talks(talker) - self.line_names
            apart = self._closed(talker, targets) if not self.special >> slot & 1 else targets
            heard = self.reach(ANY).get
            for target in targets - apart if apart else targets:
                bits |= heard(target, 0)
            for target in apart:
                bits |= self._said_by_user(talker, target, ANY)
        return bits & self.hearing[ANY] & ~(1 << slot)

    def _closed(self, talker: str, targets: Iterable[str]) -> frozenset[str]:
        """Of these targets, the users who do not listen to this talker."""
        bits = self.lists.shut.get(talker, 0)
        place = self.lists.place
        return frozenset(name for name in targets if name in place and bits >> place[name] & 1) if bits else NOBODY

    @cached_property
    def line_names(self) -> frozenset[str]:
        """The targets that are lines."""
        return self.facts.lines - self.facts.groups - self.lists.parts.keys()

    # --- questions ---

    @cached_property
    def positions(self) -> tuple[str, ...]:
        """Users who are no ports, and circuits, by id."""
        lists = self.lists
        users = (name for name in lists.parts if name not in lists.ports)
        return tuple(sorted([*users, *self.facts.circuits]))

    def names(self, bits: int) -> tuple[str, ...]:
        """The positions of a row of bits, by id."""
        return tuple(sorted(self.lists.order[slot] for slot in slots_of(bits)))

    def heard_by(self, talker: str) -> tuple[str, ...]:
        """Everyone who hears this position over any target but a line."""
        return self.names(self.row(talker))

    def hears(self, listener: str) -> tuple[str, ...]:
        """Everyone whom this position hears over any target but a line."""
        slot = self.lists.place.get(listener)
        return () if slot is None else tuple(name for name in self.positions if self.row(name) >> slot & 1)

    def holds(self, talker: str, listener: str, over: str | None = None) -> bool:
        """Whether there is a path; over any target but a line, or over this one."""
        slot = self.lists.place.get(listener)
        if slot is None:
            return False
        return bool((self.row(talker) if over is None else self.over(talker, over)) >> slot & 1)

    def pairs(self) -> Pairs:
        """All pairs (who talks, who hears) over any target but a line."""
        place = self.lists.place
        rows = {place[name]: row for name in self.positions if (row := self.row(name))}
        return Pairs(self.lists.order, rows)


class _Open(Reading):
    """A reading in which no circuit is held."""

    @cached_property
    def held(self) -> tuple[Mapping[str, int], ...]:
        return tuple({} for _ in self.standing.worlds)
