"""Paths in words that are understood at one in the morning."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from showvc.document import Show
from showvc.paths.circuits import circuit_words
from showvc.paths.explaining import Explanation, Proposal
from showvc.paths.hops import Hop
from showvc.paths.keys import Hand, KeyAt
from showvc.paths.pairs import Pair
from showvc.paths.reaching import Reach, Reached, Via
from showvc.paths.required import RequiredState
from showvc.paths.tables import listed

HAND_WORDS: dict[Hand, str] = {"key": "on a key", "open": "always open", "menu": "in the menu only"}


def explanation_text(show: Show, explanation: Explanation, most: int = 5) -> str:
    """The way hop by hop, or what is missing and the edits that would make it: at most `most` proposals."""
    talker, listener = explanation.talker, explanation.listener
    if explanation.hand is None:
        return "\n".join([f"{listener} cannot hear {talker}.", *_proposal_lines(explanation.proposals, most)])
    lines = [f"{listener} hears {talker}, {HAND_WORDS[explanation.hand]}:", *_hop_lines(show, explanation.way)]
    if explanation.handy_way:
        lines += ["A longer way needs no menu:", *_hop_lines(show, explanation.handy_way)]
    return "\n".join(lines)


def _hop_lines(show: Show, way: Iterable[Hop]) -> Iterator[str]:
    for number, hop in enumerate(way, 1):
        yield f"  {number}. {hop_words(show, hop)}"


def hop_words(show: Show, hop: Hop) -> str:
    """One hop in a sentence."""
    label = show.label(hop.target)
    if hop.step == "talk":
        what = f"calls {hop.target}" if hop.target not in show.groups else f"talks on {label}"
        return f"{hop.user} {what}: channel {hop.number}, {hand_words(hop.hand or 'menu', hop.keys)}"
    if hop.step == "hear":
        if hop.number is None:
            return f"{hop.user} hears the direct call; it needs no channel"
        return f"{hop.user} hears {label if hop.target in show.groups else hop.target}: channel {hop.number}"
    outside = circuit_words(hop.circuit) if hop.circuit else "its circuit"
    if hop.step == "out":
        return f"bridge {hop.bridge} carries {label} into {outside}"
    return f"bridge {hop.bridge} brings {outside} to {label}"


def hand_words(hand: Hand, keys: Iterable[KeyAt]) -> str:
    """How a channel is come by: the keys, each with its device; always open; or in the menu only."""
    places = [f"key {at.key} of {at.device}" for at in keys]
    return ", ".join(places) if places else HAND_WORDS[hand]


def _proposal_lines(proposals: tuple[Proposal, ...], most: int) -> Iterator[str]:
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
        yield f"  and {len(proposals) - most} more"


# --- reach -----------------------------------------------------------------------------------------------------------


def reach_text(show: Show, reach: Reach) -> str:
    """Who hears a user and whom he hears, one line for each way."""
    label = show.label(reach.user)
    name = reach.user if label.lower() == reach.user else f"{label} ({reach.user})"
    return "\n".join(
        [
            f"{name} is heard by {_count(reach.heard_by)}",
            *_via_lines(show, reach.heard_by),
            f"{name} hears {_count(reach.hears)}",
            *_via_lines(show, reach.hears),
        ]
    )


def _count(ways: Iterable[Via]) -> str:
    users = {user for via in ways for user, _ in via.users}
    return "nobody" if not users else f"{len(users)} {'user' if len(users) == 1 else 'users'}:"


def _via_lines(show: Show, ways: Iterable[Via]) -> Iterator[str]:
    for via in ways:
        where = f"on {show.label(via.by)}" if via.kind == "group" and via.by else f"by bridge {via.by}"
        yield f"  {'direct' if via.kind == 'direct' else where}: {listed(map(_reached, via.users))}"


def _reached(reached: Reached) -> str:
    return reached.user if reached.hand == "key" else f"{reached.user} ({reached.hand})"


# --- required paths --------------------------------------------------------------------------------------------------


def required_words(show: Show, state: RequiredState) -> str:
    """A required path and how it stands, in one line: who does not hear whom, and why that matters."""
    required = state.required
    end = show.label(required.to) if required.to in show.groups else required.to
    path = f"{required.from_} to {end}{', both ways' if required.both else ''}"
    why = f" ({required.why})" if required.why else ""
    return f"{path}{why}: {_state_words(state)}"


def _state_words(state: RequiredState) -> str:
    if state.reason:
        return f"lost: {state.reason}"
    if state.state == "lost":
        return f"lost: {_pair_words(state.missing, 'does not hear')}"
    if state.state == "menu":
        return f"in the menu only: {_pair_words(state.in_menu, 'hears', ' without a key')}"
    return "holds"


def _pair_words(pairs: tuple[Pair, ...], verb: str, after: str = "", most: int = 4) -> str:
    words = [f"{listener} {verb} {talker}{after}" for talker, listener in pairs[:most]]
    return "; ".join(words) + (f"; and {len(pairs) - most} more" if len(pairs) > most else "")
