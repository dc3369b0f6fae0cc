"""Who hears one user and whom he hears, grouped by the way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Set
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from typing import Literal, NamedTuple

from showvc.document import Show, target_of
from showvc.paths.circuits import Circuit, brings_in, carries_out, tied
from showvc.paths.keys import HANDS, Hand, Hands, hands_of
from showvc.paths.matrix import Arc, Spot, arcs_of, brought, carried, heard_over, talk_paths
from showvc.paths.naming import check_user


class Reached(NamedTuple):
    """The other user of a path, and how its talker comes to it on this way."""

    user: str
    hand: Hand


@dataclass(frozen=True, slots=True)
class Via:
    """A way, and everyone at its other end, by id.

    `by` is the group; or the bridge: the first one when others hear the user, the last one when he hears them;
    None for direct calls. A user stands under every way that leads to him. A bridge does not give back what it took:
    under a bridge stand those who hear by what it carries away, not those on the group that it took it from, unless
    another bridge brings it back to them. A bridge with nobody under it leads outside only.
    """

    kind: Literal["group", "direct", "bridge"]
    by: str | None
    users: tuple[Reached, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """Who hears a user, and whom he hears: groups in the order of his list, then direct calls, then bridges."""

    user: str
    heard_by: tuple[Via, ...]
    hears: tuple[Via, ...]


def reach_of(show: Show, user: str, hands: Hands | None = None) -> Reach:
    """Who hears this user and whom he hears. `hands` are the show's own, if they are at hand.

    ShowError where there is no such user.
    """
    check_user(show, user)
    known = hands or hands_of(show, talk_paths(show))
    heard_by, hears = _heard_by(known, user), _hears(known, user)
    return Reach(user, *(tuple(via for via in ways if via.users or via.kind == "bridge") for ways in (heard_by, hears)))


def _on_list(show: Show, user: str) -> list[str]:
    """The targets on a user's list, by their first number."""
    channels = show.users[user].channels
    return list(dict.fromkeys(target_of(key) for key in sorted(channels, key=lambda key: (channels[key].number, key))))


def _handiest(found: Iterable[Hand]) -> Hand:
    return min(found, key=HANDS.index)


# --- who hears him ---------------------------------------------------------------------------------------------------


def _heard_by(hands: Hands, talker: str) -> Iterator[Via]:
    """One way for all direct calls together."""
    ways = ways_out(hands, talker, Web(hands))
    for (kind, by), same in groupby(ways, key=lambda way: (way.kind, way.by)):
        users = [Reached(name, way.hand) for way in same for name in hands.matrix.names(way.bits) if name != talker]
        yield Via(kind, by, tuple(users))


class Way(NamedTuple):
    """A way on which a user is heard, and the bits of those who hear him on it; he himself may be among them."""

    kind: Literal["group", "direct", "bridge"]
    by: str | None
    hand: Hand
    bits: int


class Web:
    """Where bridges carry, with each bridge's part in it known; what was worked out once is kept."""

    def __init__(self, hands: Hands) -> None:
        self.ears = hands.matrix.ears
        self.arcs = arcs_of(hands.show, self.ears)
        self._bridges = Counter(arc for arcs in self.arcs.values() for arc in arcs)
        self.beyond = cache(self._beyond)
        self.leading_into = cache(self._leading_into)

    def without(self, name: str, arcs: Iterable[Arc]) -> frozenset[Arc]:
        """Those of the arcs that are there by this bridge alone."""
        return frozenset(arc for arc in arcs if arc in self.arcs[name] and self._bridges[arc] == 1)

    def _beyond(self, circuit: Circuit, gone: frozenset[Arc]) -> int:
        """Bits of those who hear what is carried into a circuit, where the arcs in `gone` carry nothing."""
        return heard_over(self._bridges.keys() - gone, self.ears).get(circuit, 0)

    def _leading_into(self, circuit: Circuit, gone: frozenset[Arc]) -> frozenset[str]:
        """The targets from which sound gets into a circuit, where the arcs in `gone` carry nothing."""
        into: dict[Spot, list[Spot]] = {}
        for tail, head in self._bridges.keys() - gone:
            into.setdefault(head, []).append(tail)
        found: set[Spot] = {circuit}
        pending: list[Spot] = [circuit]
        while pending:
            earlier = set(into.get(pending.pop(), ())) - found
            found |= earlier
            pending.extend(earlier)
        return frozenset(name for kind, name in found if kind == "to")


def ways_out(hands: Hands, talker: str, web: Web) -> Iterator[Way]:
    """The ways on which a user is heard; `web` is that of his show. A way for each direct call."""
    show, ears = hands.show, hands.matrix.ears
    talks = _heeded(hands, talker)
    for group in _on_list(show, talker):
        if group in talks and group in ears.groups:
            yield Way("group", group, talks[group], ears.at(group))
    for name in sorted(talks.keys() - ears.groups):
        yield Way("direct", None, talks[name], ears.at(name))
    for name, bridge, circuit in tied(show):
        said = carried(show, bridge, ears) & talks.keys() if carries_out(bridge) else ()
        if said:
            best = _handiest(talks[target] for target in said)
            # To a target that is talked to in the menu, one that is on a key may still be a handier way.
            back = web.without(name, [(circuit, ("to", target)) for target in said if talks[target] == best])
            yield Way("bridge", name, best, web.beyond(circuit, back))


def _heeded(hands: Hands, talker: str) -> dict[str, Hand]:
    """The targets that a user talks to and that have not shut him out."""
    closed = hands.matrix.ears.closed_to(talker)
    return {target: hand for target, hand in hands.targets(talker).items() if target not in closed}


# --- whom he hears ---------------------------------------------------------------------------------------------------


def _hears(hands: Hands, listener: str) -> Iterator[Via]:
    show, ears = hands.show, hands.matrix.ears
    bit = 1 << ears.place[listener]
    talkers = _talkers(hands, listener)
    for group in _on_list(show, listener):
        if group in ears.groups and ears.at(group) & bit:
            yield Via("group", group, _saying(talkers, {group}))
    yield Via("direct", None, _saying(talkers, {listener} - ears.groups))
    web = Web(hands)
    for name, bridge, circuit in tied(show):
        heard = [target for target in brought(show, bridge, ears) if ears.at(target) & bit] if brings_in(bridge) else ()
        if heard:
            out = web.without(name, [(("to", target), circuit) for target in heard])
            yield Via("bridge", name, _saying(talkers, web.leading_into(circuit, out)))


def _talkers(hands: Hands, listener: str) -> dict[str, list[Reached]]:
    """For each target, everyone else who talks to it and is not shut out."""
    found: dict[str, list[Reached]] = {}
    for name in hands.matrix.users:
        for target, hand in _heeded(hands, name).items() if name != listener else ():
            found.setdefault(target, []).append(Reached(name, hand))
    return found


def _saying(talkers: Mapping[str, list[Reached]], targets: Set[str]) -> tuple[Reached, ...]:
    """Everyone who says something to these targets, with the handiest way to do it."""
    found: dict[str, Hand] = {}
    for target in targets:
        for name, hand in talkers.get(target, ()):
            found[name] = _handiest((hand, found.get(name, "menu")))
    return tuple(Reached(name, found[name]) for name in sorted(found))
