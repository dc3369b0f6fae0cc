"""Why one user can be heard by another, hop by hop; or the smallest edits that would make it so."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import partial
from heapq import heappop, heappush
from itertools import count

from showvc.document import Show
from showvc.document.pointers import parse
from showvc.paths.hops import Edit, Ground, Hop, Spot, Step, free_number
from showvc.paths.keys import Hand, hands_of
from showvc.paths.matrix import Matrix, talk_paths
from showvc.paths.naming import check_user

Proposal = tuple[Edit, ...]
"""Edits that together make a path."""


@dataclass(frozen=True, slots=True)
class Explanation:
    """Why the listener hears the talker, or what it would take.

    `hand` tells how the talker comes to it (key, open, menu); None where there is no path. `way` is a shortest
    way; `handy_way` a shortest at hand, where `way` begins in the menu and another does not. Without a path,
    `proposals` are sets of edits of the same smallest size, any one of which makes it, the likeliest first; there
    are none where nothing can be had without taking something out.
    """

    talker: str
    listener: str
    hand: Hand | None
    way: tuple[Hop, ...] = ()
    handy_way: tuple[Hop, ...] = ()
    proposals: tuple[Proposal, ...] = ()


def explain(show: Show, talker: str, listener: str, matrix: Matrix | None = None) -> Explanation:
    """Why, or what it would take. `matrix` is the show's own, if it is at hand.

    ShowError where one of the two is no user, or both are the same.
    """
    check_user(show, talker)
    check_user(show, listener, other_than=talker)
    hands = hands_of(show, matrix or talk_paths(show))
    hand = hands.hand(talker, listener)
    ground = Ground(hands, talker, listener)
    if hand is None:
        return Explanation(talker, listener, None, proposals=_proposals(ground))
    way = _way(ground, ground.hops)
    handy = _way(ground, partial(_handy_hops, ground)) if way[0].hand == "menu" else ()
    return Explanation(talker, listener, hand, way, handy)


Onward = Callable[[Spot], Iterable[Step]]


def _handy_hops(ground: Ground, spot: Spot) -> list[Step]:
    """The steps that are there, without the talker's channels in the menu."""
    hops = ground.hops(spot)
    return [step for step in hops if step.hop and step.hop.hand != "menu"] if spot == ground.start else hops


def _all_steps(ground: Ground, spot: Spot) -> Iterator[Step]:
    yield from ground.hops(spot)
    yield from ground.edits(spot, EVERYWHERE)


class _Everywhere(Container[Spot]):
    def __contains__(self, spot: object) -> bool:
        return True


EVERYWHERE = _Everywhere()


def _way(ground: Ground, onward: Onward) -> tuple[Hop, ...]:
    """The shortest way from talker to listener over these steps."""
    return tuple(step.hop for step in _walk(onward, ground.start, ground.goal) if step.hop)


def _walk(onward: Onward, start: Spot, goal: Spot) -> list[Step]:
    """The steps with the fewest edits, and of those the fewest steps. Empty where none lead there."""
    came: dict[Spot, tuple[Spot, Step]] = {}
    cost = {start: (0, 0)}
    order = count()
    pending = [((0, 0), next(order), start)]
    while pending:
        spent, _, spot = heappop(pending)
        if spot == goal:
            return _traced(came, goal)
        for step in onward(spot) if spent == cost[spot] else ():
            needed = (spent[0] + (step.edit is not None), spent[1] + 1)
            if step.head not in cost or needed < cost[step.head]:
                cost[step.head], came[step.head] = needed, (spot, step)
                heappush(pending, (needed, next(order), step.head))
    return []


def _traced(came: Mapping[Spot, tuple[Spot, Step]], goal: Spot) -> list[Step]:
    found: list[Step] = []
    spot = goal
    while spot in came:
        spot, step = came[spot]
        found.append(step)
    return found[::-1]


# --- what it would take ----------------------------------------------------------------------------------------------


def _proposals(ground: Ground) -> tuple[Proposal, ...]:
    onward = {spot: [step.head for step in ground.hops(spot)] for spot in ground.spots()}
    back: dict[Spot, list[Spot]] = {}
    for spot, heads in onward.items():
        for head in heads:
            back.setdefault(head, []).append(spot)
    said, heard = _spread(onward, ground.start), set(_spread(back, ground.goal))
    single = [step.edit for spot in said for step in ground.edits(spot, heard) if step.edit]
    if single:
        likely = sorted(single, key=lambda edit: _unlikely(edit, ground.start[1], ground.goal[1]))
        return tuple((edit,) for edit in likely)
    several = _walk(partial(_all_steps, ground), ground.start, ground.goal)
    return _numbered_apart(ground.show, tuple(step.edit for step in several if step.edit))


def _spread(onward: Mapping[Spot, Iterable[Spot]], start: Spot) -> list[Spot]:
    """All spots that are reached, the near ones first."""
    found = {start: None}
    pending = deque([start])
    while pending:
        for head in onward.get(pending.popleft(), ()):
            if head not in found:
                found[head] = None
                pending.append(head)
    return list(found)


def _unlikely(edit: Edit, talker: str, listener: str) -> int:
    """Orders proposals of one size: what stands on a list already first, what meddles with a third user last."""
    section, name, *rest = parse(edit.pointer)
    if section == "bridges":
        return 4
    if name not in (talker, listener) or rest[1] == name:
        return 5
    if not isinstance(edit.value, dict):
        return 0
    if rest[-1] == listener:
        return 3
    return 1 if name == listener else 2


def _numbered_apart(show: Show, edits: Proposal) -> tuple[Proposal, ...]:
    """The edits, where two of them add channels to one list under two free numbers; nothing where there is but one."""
    given: dict[str, list[int]] = {}
    apart: list[Edit] = []
    for edit in edits:
        user = parse(edit.pointer)[1]
        if not isinstance(edit.value, dict):
            apart.append(edit)
            continue
        number = free_number(show, user, given.get(user, ()))
        if number is None:
            return ()
        given.setdefault(user, []).append(number)
        apart.append(replace(edit, value={**edit.value, "number": number}))
    return (tuple(apart),) if apart else ()
