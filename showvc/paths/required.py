"""Required paths: does each hold, does it hold on a key, is it lost?

A path to a user is a path to him. A path to a group is one to every other user who listens on it, by whatever
way, and there must be at least one; with `both`, from every one of them back as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Literal

from showvc.document import Required, Show, near
from showvc.paths.keys import Hands, hands_of
from showvc.paths.matrix import Matrix, talk_paths
from showvc.paths.naming import no_user, spoken
from showvc.paths.pairs import Pair

State = Literal["holds", "menu", "lost"]


@dataclass(frozen=True, slots=True)
class RequiredState:
    """How a required path stands.

    `holds`: every pair it asks for is there and at hand (on a key, or on a channel that is always open); `menu`:
    every pair is there, those in `in_menu` only by way of the menu; `lost`: those in `missing` are not there, or
    there is nobody it could lead to, which `reason` says. Pairs are (who talks, who hears).
    """

    name: str
    required: Required
    state: State
    missing: tuple[Pair, ...] = ()
    in_menu: tuple[Pair, ...] = ()
    reason: str | None = None


def required_states(show: Show, matrix: Matrix | None = None) -> tuple[RequiredState, ...]:
    """Every required path of the show with its state, by name. `matrix` is the show's own, if it is at hand."""
    if not show.required:
        return ()
    hands = hands_of(show, matrix or talk_paths(show))
    return tuple(_state(show, hands, name, show.required[name]) for name in sorted(show.required))


def required_state(show: Show, name: str, matrix: Matrix | None = None) -> RequiredState:
    """One required path with its state. KeyError where the show does not ask for it."""
    return _state(show, hands_of(show, matrix or talk_paths(show)), name, show.required[name])


def _state(show: Show, hands: Hands, name: str, required: Required) -> RequiredState:
    listeners, reason = _listeners(show, hands.matrix, required)
    if reason:
        return RequiredState(name, required, "lost", reason=reason)
    pairs = tuple(_pairs(required, listeners))
    missing = tuple(pair for pair in pairs if not hands.matrix.holds(*pair))
    in_menu = tuple(_not_at_hand(hands, (pair for pair in pairs if hands.matrix.holds(*pair))))
    state: State = "lost" if missing else "menu" if in_menu else "holds"
    return RequiredState(name, required, state, missing, in_menu)


def _not_at_hand(hands: Hands, pairs: Iterable[Pair]) -> Iterator[Pair]:
    """The pairs that are there by way of the menu only. A talker's keys are gone through once for all listeners."""
    place, handy = hands.matrix.ears.place, cache(hands.row)
    return (pair for pair in pairs if not handy(pair[0]) >> place[pair[1]] & 1)


def _pairs(required: Required, listeners: tuple[str, ...]) -> Iterator[Pair]:
    for listener in listeners:
        yield required.from_, listener
        if required.both:
            yield listener, required.from_


def _listeners(show: Show, matrix: Matrix, required: Required) -> tuple[tuple[str, ...], str | None]:
    """Whom the path must lead to; or why there is nobody."""
    start, end = required.from_, required.to
    if start not in show.users:
        return (), _with_hint(*no_user(show, start))
    if end in show.groups:
        listeners = tuple(name for name in matrix.names(matrix.ears.at(end)) if name != start)
        return listeners, None if listeners else f"nobody else listens on {spoken(show, end)}"
    if end not in show.users:
        return (), _with_hint(f"there is no group or user {end}", near(end, [*show.groups, *show.users]))
    return (end,), f"{start} needs no path to {start}" if start == end else None


def _with_hint(words: str, hint: str | None) -> str:
    return f"{words}; {hint}" if hint else words
