"""Paths in words that are understood at one in the morning."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from showvc.document import Show
from showvc.paths.circuits import circuit_of, circuit_words
from showvc.paths.explaining import Explanation
from showvc.paths.hops import Hop
from showvc.paths.keys import Hand, KeyAt
from showvc.paths.naming import spoken
from showvc.paths.pairs import Pair
from showvc.paths.reaching import Reach, Reached, Via
from showvc.paths.required import RequiredState
from showvc.paths.tables import HAND_WORDS, WIDTH, names_line


def explanation_text(show: Show, explanation: Explanation, most: int = 5) -> str:
    """The way hop by hop, or what is missing and the edits that would make it: at most `most` proposals."""
    talker, listener = spoken(show, explanation.talker), spoken(show, explanation.listener)
    if explanation.hand is None:
        return "\n".join([f"{listener} cannot hear {talker}.", *_proposal_lines(explanation, most)])
    lines = [f"{listener} hears {talker}, {HAND_WORDS[explanation.hand]}:", *_hop_lines(show, explanation.way)]
    if explanation.handy_way:
        lines += ["A longer way needs no menu:", *_hop_lines(show, explanation.handy_way)]
    return "\n".join(lines)


def _hop_lines(show: Show, way: Iterable[Hop]) -> Iterator[str]:
    for number, hop in enumerate(way, 1):
        yield f"  {number}. {hop_words(show, hop, passed_on=number > 1)}"


def hop_words(show: Show, hop: Hop, passed_on: bool = False) -> str:
    """One hop in a sentence; `passed_on` where a user does not talk himself, but passes on what a bridge brings."""
    target, user = spoken(show, hop.target), spoken(show, hop.user or "")
    if hop.step == "talk":
        what = "talks on" if hop.target in show.groups else "calls"
        what = "passes it on to" if passed_on else what
        return f"{user} {what} {target}: channel {hop.number}, {hand_words(hop.hand or 'menu', hop.keys)}"
    if hop.step == "hear":
        if hop.number is None:
            return f"{user} hears the direct call; it needs no channel"
        return f"{user} hears {target}: channel {hop.number}"
    outside = circuit_words(hop.circuit) if hop.circuit else "its circuit"
    if hop.step == "out":
        return f"bridge {hop.bridge} carries {target} into {outside}"
    return f"bridge {hop.bridge} brings {outside} to {target}"


def hand_words(hand: Hand, keys: Iterable[KeyAt]) -> str:
    """How a channel is come by: the keys, each with its device; always open; or in the menu only."""
    places = [f"key {at.key} of {at.device}" for at in keys]
    return ", ".join(places) if places else HAND_WORDS[hand]


def _proposal_lines(explanation: Explanation, most: int) -> Iterator[str]:
    proposals = explanation.proposals
    if not proposals:
        yield "No edit makes it: the lists are full. Take a channel out first."
        return
    edits = len(proposals[0])
    yield (
        f"It takes {'one edit' if edits == 1 else f'{edits} edits together'}:"
        if len(proposals) == 1
        else "Any one of these edits makes it:"
    )
    for proposal in proposals[:most]:
        for edit in proposal:
            yield f"  - {edit.missing}"
            yield f"      {edit.command}"
    if len(proposals) > most:
        both = f"{explanation.talker} {explanation.listener}"
        yield f"  and {len(proposals) - most} more; all: showvc paths {both} --json"


# --- reach -----------------------------------------------------------------------------------------------------------


def reach_text(show: Show, reach: Reach, width: int = WIDTH) -> str:
    """Who hears a user and whom he hears, one way after the other."""
    name = spoken(show, reach.user)
    return "\n".join(
        [
            f"{name} is heard by {_count(reach.heard_by)}",
            *_via_lines(show, reach.heard_by, "to", width),
            f"{name} hears {_count(reach.hears)}",
            *_via_lines(show, reach.hears, "from", width),
        ]
    )


def _count(ways: Iterable[Via]) -> str:
    users = {user for via in ways for user, _ in via.users}
    return "nobody" if not users else f"{len(users)} {'user' if len(users) == 1 else 'users'}:"


def _via_lines(show: Show, ways: Iterable[Via], direction: str, width: int) -> Iterator[str]:
    for via in ways:
        title = f"  {_way_words(show, via, direction)}"
        yield from names_line(title, [_reached(show, each) for each in via.users] or ["outside only"], width)


def _way_words(show: Show, via: Via, direction: str) -> str:
    if via.kind == "direct" or via.by is None:
        return "direct"
    if via.kind == "group":
        return f"on {spoken(show, via.by)}"
    return f"by bridge {via.by} {direction} {circuit_words(circuit_of(via.by, show.bridges[via.by]))}"


def _reached(show: Show, reached: Reached) -> str:
    """A user, and what his talker needs where it is no key."""
    name = spoken(show, reached.user)
    hand = {"key": "", "open": "open", "menu": "menu"}[reached.hand]
    if not hand:
        return name
    return f"{name[:-1]}, {hand})" if name.endswith(")") else f"{name} ({hand})"


# --- required paths --------------------------------------------------------------------------------------------------


def required_words(show: Show, state: RequiredState) -> str:
    """How a required path stands, in one line: who does not hear whom, which path asks for it, and why."""
    return f"{_state_words(show, state)} {_asked_by(state)}"


def asked_words(show: Show, state: RequiredState) -> str:
    """What a required path asks for, in one line, and why."""
    return f"{_ends(show, state)} {_asked_by(state)}"


def _asked_by(state: RequiredState) -> str:
    reason = f": {state.required.why}" if state.required.why else ""
    return f"(required path {state.name}{reason})"


def _ends(show: Show, state: RequiredState) -> str:
    required = state.required
    return f"{spoken(show, required.from_)} to {spoken(show, required.to)}{', both ways' if required.both else ''}"


def _state_words(show: Show, state: RequiredState) -> str:
    if state.reason:
        return f"{_ends(show, state)}: lost, {state.reason}"
    if state.state == "lost":
        return _pair_words(show, state, state.missing, ("does not hear", "do not hear"))
    if state.state == "menu":
        return _pair_words(show, state, state.in_menu, ("hears", "hear"), " from the menu only, without a key")
    return f"{_ends(show, state)}: holds"


def _pair_words(
    show: Show, state: RequiredState, pairs: tuple[Pair, ...], verbs: tuple[str, str], after: str = ""
) -> str:
    """Who of the path's two ends hears the other, or does not: the listeners of the one end, then its talkers."""
    start = state.required.from_
    end = [listener for talker, listener in pairs if talker == start]
    back = [talker for talker, _ in pairs if talker != start]
    words = [f"{_few(show, end)} {verbs[len(end) > 1]} {spoken(show, start)}{after}"] if end else []
    words += [f"{spoken(show, start)} {verbs[0]} {_few(show, back)}{after}"] if back else []
    return "; ".join(words)


def _few(show: Show, names: list[str], most: int = 4) -> str:
    words = [spoken(show, name) for name in names[:most]]
    words += [f"{len(names) - most} more"] if len(names) > most else []
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else words[0]
