"""Who hears whom in one case (surely, possibly, or were all that is unwritten true).

How sure an ear is, is a *tier*: 2 sure, 1 would be sure were all levels 0, 0 unsure. What holds at a tier holds at
all below. How a talker comes to a target is his *hand*.

A circuit that takes one talker at a time is *held* while a user on headset has an open channel (or an open use of a
line) that reaches it; it brings in the sound of those who hold it and of nobody else. Surely, it is held as soon as it
may be, every unwritten field being true; possibly, only when it surely is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from showvc.paths.facts import POSSIBLY, SURELY, UNWRITTEN, Case, Facts, Standing, standing
from showvc.paths.hands import Hand, KeyAt, hands_of, has_menu, keys_of
from showvc.paths.lists import NOBODY, Lists
from showvc.paths.network import Arrival, Network, beyond, is_there, network_of
from showvc.paths.pairs import Pairs, slots_of

ANY, AT_LEVEL_0, SURE = 0, 1, 2


Silent = frozenset[str]
"""Circuits that bring nothing in."""


@dataclass(frozen=True, eq=False)
class Reading:
    """Immutable; what was worked out once is kept. All bits are slots of `lists.order`.

    KeyError for ids that are neither a user's nor a circuit's, where nothing else is said.
    """

    case: Case
    facts: Facts
    lists: Lists
    _rows: dict[int, int] = field(default_factory=dict)
    _beyond: dict[tuple[Silent, int], tuple[dict[str, int], ...]] = field(default_factory=dict)
    _reach: dict[int, Mapping[str, int]] = field(default_factory=dict)
    _hands: dict[str, Mapping[str, Hand]] = field(default_factory=dict)

    # --- who is there ---

    @cached_property
    def standing(self) -> Standing:
        """What stands."""
        return standing(self.facts, self.case)

    @cached_property
    def networks(self) -> tuple[Network, ...]:
        """Where bridges lead, in each world."""
        return tuple(network_of(self.facts, self.lists, live) for live in self.standing.worlds)

    @cached_property
    def on_headset(self) -> int:
        """Bits of the users on headset."""
        lists, bits = self.lists, 0
        if self.case.returned:
            bits = lists.users
        else:
            for name in self.standing.worn:
                if name in lists.parts:
                    bits |= 1 << lists.place[name]
            bits &= lists.users
        for name in self.facts.out:
            if name.startswith("users/") and name[6:] in lists.place:
                bits &= ~(1 << lists.place[name[6:]])
        return bits

    @cached_property
    def hearing(self) -> tuple[int, int, int]:
        """At each tier, the bits of the positions where a path can end."""
        place, circuits = self.lists.place, self.facts.circuits
        surely = sum(1 << place[name] for name, circuit in circuits.items() if circuit.hears)
        maybe = sum(1 << place[name] for name, circuit in circuits.items() if self.case.so(circuit.hears))
        return self.on_headset | maybe, self.on_headset | surely, self.on_headset | surely

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
                first = (target for net in self.networks for target in self._first(net, talker))
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
                beyond(self.facts, net, self.case, place, lambda at: self.arriving(at, tier), silent, tier)
                for net in self.networks
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

    @cached_property
    def holders(self) -> Mapping[str, int]:
        """For each circuit that takes one talker at a time: bits of the users whose open channel reaches it."""
        single = {n: 1 << self.lists.place[n] for n, body in self.facts.circuits.items() if body.one_at_a_time}
        found = dict.fromkeys(single, 0)
        if not any(net.circuit[name] in single for net in self.networks for name in net.circuit):
            return {}
        for name, part in self.lists.parts.items():
            if part.opens and self.is_on_headset(name):
                for target in part.opens:
                    reached = self._outside(target, ANY, frozenset())
                    for circuit, bit in single.items():
                        found[circuit] |= (1 << self.lists.place[name]) if reached & bit else 0
        return {circuit: bits for circuit, bits in found.items() if bits}

    @cached_property
    def held(self) -> Mapping[str, int]:
        """The circuits that are held in this case, with the bits of the users whose own sound they bring in."""
        if not any(circuit.one_at_a_time for circuit in self.facts.circuits.values()):
            return {}
        if self.case == SURELY:
            may = Reading(UNWRITTEN, self.facts, self.lists).holders
            alone = {name: bits if bits.bit_count() == 1 else 0 for name, bits in may.items()}
            return {name: self.holders.get(name, 0) | alone[name] for name in may}
        if self.case == POSSIBLY:
            surely = Reading(SURELY, self.facts, self.lists).holders
            return {name: self.holders.get(name, 0) for name in surely}
        return self.holders

    @cached_property
    def _usual(self) -> Silent:
        return frozenset(self.held)

    @cached_property
    def special(self) -> int:
        """Bits of the users whose own sound a held circuit brings in."""
        bits = 0
        for found in self.held.values():
            bits |= found
        return bits

    def silent(self, talker: str) -> Silent:
        """The circuits that bring in nothing of what this talker says."""
        slot = self.lists.place[talker]
        if not self.special >> slot & 1:
            return self._usual
        return frozenset(name for name, bits in self.held.items() if not bits >> slot & 1)

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
                found[target] = found.get(target, 0) | self._outside(target, tier, self._usual)
            self._reach[tier] = found
        return self._reach[tier]

    def said(self, talker: str, target: str, tier: int = ANY) -> int:
        """All that is reached by what a talker says to a target, the talker and circuits without ears among them."""
        if talker in self.facts.circuits:
            return self._said_by_circuit(talker, target, tier)
        return self._said_by_user(talker, target, tier) if target in self.hands(talker) else 0

    def _said_by_user(self, talker: str, target: str, tier: int) -> int:
        if not is_there(self.facts, self.lists, target):
            return 0
        call = target in self.lists.parts and target not in self.facts.groups
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
        if not self._speaks(circuit) or circuit in self._usual:
            return 0
        if tier > ANY and self.facts.circuits[circuit].one_at_a_time:
            return 0
        bits = 0
        for net, found in zip(self.networks, self.beyond(self._usual, tier), strict=True):
            for entry, arrival in self._first(net, circuit).get(target, ()):
                bits |= self.arriving(arrival, tier)
                exits = () if arrival.ear else net.exits.get(target, ())
                for way_out in exits:
                    if way_out.bridge != entry and way_out.tier >= tier:
                        bits |= found[way_out.bridge]
        return bits

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

    def ways(self, talker: str, listener: str) -> Iterator[tuple[str, Hand, int]]:
        """Every target over which a pair holds, lines among them, with hand and tier."""
        slot = self.lists.place.get(listener)
        if slot is None or talker not in self.lists.place:
            return
        for target, hand in self.hands(talker).items():
            tiers = [tier for tier in (ANY, AT_LEVEL_0, SURE) if self.over(talker, target, tier) >> slot & 1]
            if tiers:
                yield target, hand, tiers[-1]
