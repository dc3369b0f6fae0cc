"""Who hears one user and whom he hears, grouped by the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from showvc.document import Show, target_of
from showvc.paths.circuits import Circuit, brings_in, carries_out, tied
from showvc.paths.keys import HANDS, Hand, Hands, hands_of
from showvc.paths.matrix import Spot, brought, carried, heard_over, talk_paths, web_of
from showvc.paths.naming import check_user


class Reached(NamedTuple):
    """The other user of a path, and how its talker comes to it on this way."""

    user: str
    hand: Hand


@dataclass(frozen=True, slots=True)
class Via:
    """A way, and everyone at its other end, by id.

    `by` is the group; or the bridge: the first one when others hear the user, the last one when he hears them;
    None for direct calls. A user stands under every way that leads to him.
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
    return Reach(
        user, ways_out(known, user, heard_in_circuits(known)), tuple(via for via in _hears(known, user) if via.users)
    )


def heard_in_circuits(hands: Hands) -> Mapping[Spot, int]:
    """For each circuit, the bits of those who hear what is carried into it."""
    return heard_over(web_of(hands.show, hands.matrix.ears), hands.matrix.ears)


def ways_out(hands: Hands, talker: str, heard: Mapping[Spot, int]) -> tuple[Via, ...]:
    """The ways on which a user is heard; `heard` is that of `heard_in_circuits`."""
    return tuple(via for via in _heard_by(hands, talker, heard) if via.users)


def _on_list(show: Show, user: str) -> list[str]:
    """The targets on a user's list, by their first number."""
    channels = show.users[user].channels
    return list(dict.fromkeys(target_of(key) for key in sorted(channels, key=lambda key: (channels[key].number, key))))


# --- who hears him ---------------------------------------------------------------------------------------------------


def _heard_by(hands: Hands, talker: str, heard: Mapping[Spot, int]) -> Iterator[Via]:
    show, ears = hands.show, hands.matrix.ears
    closed = ears.closed_to(talker)
    talks = {target: hand for target, hand in hands.targets(talker).items() if target not in closed}
    for group in _on_list(show, talker):
        if group in talks and group in ears.groups:
            yield Via("group", group, _at(hands, talker, ears.at(group), talks[group]))
    called = sorted(name for name in talks if name in show.users and name not in ears.groups and name != talker)
    yield Via("direct", None, tuple(Reached(name, talks[name]) for name in called))
    for name, bridge, circuit in tied(show):
        said = carried(show, bridge, ears) & talks.keys() if carries_out(bridge) else ()
        if said:
            yield Via("bridge", name, _at(hands, talker, heard[circuit], _handiest(talks[target] for target in said)))


def _at(hands: Hands, talker: str, bits: int, hand: Hand) -> tuple[Reached, ...]:
    return tuple(Reached(name, hand) for name in hands.matrix.names(bits) if name != talker)


def _handiest(found: Iterable[Hand]) -> Hand:
    return min(found, key=HANDS.index)


# --- whom he hears ---------------------------------------------------------------------------------------------------


def _hears(hands: Hands, listener: str) -> Iterator[Via]:
    show, ears = hands.show, hands.matrix.ears
    bit = 1 << ears.place[listener]
    for group in _on_list(show, listener):
        if group in ears.groups and ears.at(group) & bit:
            yield Via("group", group, _saying(hands, listener, {group}))
    own = set() if listener in ears.groups else {listener}
    yield Via("direct", None, _saying(hands, listener, own))
    into: dict[Spot, list[Spot]] = {}
    for tail, head in web_of(show, ears):
        into.setdefault(head, []).append(tail)
    for name, bridge, circuit in tied(show):
        if brings_in(bridge) and any(ears.at(target) & bit for target in brought(show, bridge, ears)):
            yield Via("bridge", name, _saying(hands, listener, _leading_into(into, circuit)))


def _leading_into(into: dict[Spot, list[Spot]], circuit: Circuit) -> set[str]:
    """The targets from which sound gets into a circuit."""
    found: set[Spot] = {circuit}
    pending: list[Spot] = [circuit]
    while pending:
        earlier = set(into.get(pending.pop(), ())) - found
        found |= earlier
        pending.extend(earlier)
    return {name for kind, name in found if kind == "to"}


def _saying(hands: Hands, listener: str, targets: set[str]) -> tuple[Reached, ...]:
    """Everyone else who says something to these targets that is heard."""
    matrix = hands.matrix
    found = []
    for name in matrix.users:
        said = matrix.talks[matrix.ears.place[name]] & targets if name != listener else frozenset()
        said -= matrix.ears.closed_to(name) if said else frozenset()
        if said:
            known = hands.targets(name)
            found.append(Reached(name, _handiest(known[target] for target in said)))
    return tuple(found)
