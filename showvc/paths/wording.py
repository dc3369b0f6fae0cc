"""Paths in words that are understood at one in the morning."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from showvc.document import Show
from showvc.document.values import DEPARTMENT, EVERYONE
from showvc.paths.explaining import Explanation
from showvc.paths.hands import Hand, KeyAt
from showvc.paths.model import Paths
from showvc.paths.naming import spoken
from showvc.paths.pairs import Pair
from showvc.paths.proposing import Edit
from showvc.paths.reach import Members, Over, Reach, Reached
from showvc.paths.required import RequiredState
from showvc.paths.rings import Ring
from showvc.paths.tables import HAND_WORDS, WIDTH, names_line
from showvc.paths.ways import Doubt, Hop, Way

WHAT_A_PATH_IS = (
    "A path says what the configuration allows. It knows no levels in the room, no battery, nobody asleep: "
    "line-check it on headset."
)


def explanation_text(show: Show, explanation: Explanation) -> str:
    """Every way hop by hop, or what is missing and the edits that would make a path."""
    talker, listener = spoken(show, explanation.talker), spoken(show, explanation.listener)
    if explanation.holds:
        lines = [f"{listener} hears {talker}, {_best(explanation.ways[0])}:"]
        for way in explanation.ways:
            lines += _way_lines(show, way)
    else:
        off = [f"{spoken(show, name)} is off headset." for name in explanation.off_headset]
        lines = [" ".join([f"{listener} can't hear {talker}.", *off])]
        if explanation.possibly:
            doubts = "; ".join(doubt_words(show, doubt) for doubt in explanation.doubts)
            lines += [f"{listener} may hear {talker} if: {doubts}" if doubts else f"{listener} may hear {talker}."]
        lines += _proposal_lines(show, explanation)
    for way in explanation.line_ways:
        lines += [f"On line {spoken(show, way.target)} alone, which counts as no path otherwise:"]
        lines += _way_lines(show, way)
    return "\n".join([*lines, WHAT_A_PATH_IS] if explanation.holds else lines)


def _best(way: Way) -> str:
    return f"{HAND_WORDS[way.hand]}, {'sure' if way.sure else 'unsure'}"


def _way_lines(show: Show, way: Way) -> Iterator[str]:
    yield f"  over {spoken(show, way.target)}, {_best(way)}"
    for number, hop in enumerate(way.hops, 1):
        unsure = "" if hop.tier == 2 else " (unsure)"
        yield f"    {number}. {hop_words(show, hop)}{unsure}"


def hop_words(show: Show, hop: Hop) -> str:
    """One hop in a sentence."""
    target, user = spoken(show, hop.target), spoken(show, hop.user or "")
    port = f", where {spoken(show, hop.port)} has it open" if hop.port else ""
    circuit = f"circuit {spoken(show, hop.circuit or '')}"
    if hop.step == "talk":
        verb = "calls" if hop.target in show.users and hop.target not in show.groups else "talks on"
        return f"{user} {verb} {target}: {hand_words(hop.hand or 'menu', hop.keys)}"
    if hop.step == "hear":
        return f"{user} hears {target}: {_channel_words(show, hop)}"
    if hop.step == "end":
        return f"those behind {circuit} hear it"
    if hop.step == "out":
        listening = f", to which {spoken(show, hop.port)} listens," if hop.port and hop.port != hop.target else ""
        return f"bridge {hop.bridge} carries {target}{listening} into {circuit}"
    return f"bridge {hop.bridge} brings {circuit} to {target}{port}"


def _channel_words(show: Show, hop: Hop) -> str:
    body = show.users.get(hop.user or "")
    numbers = [body.channels[name].number for name in hop.channels if name in body.channels] if body else []
    return f"channel {min(numbers)}" if numbers else "no channel needed"


def hand_words(hand: Hand, keys: Iterable[KeyAt]) -> str:
    """How a target is come by: the keys, each with its device; always open; or in the menu only."""
    places = [f"key {at.key} of {at.device}" for at in keys]
    return ", ".join(places) if places else HAND_WORDS[hand]


def doubt_words(show: Show, doubt: Doubt) -> str:
    """What has to be so, in a sentence."""
    name = spoken(show, doubt.id)
    return {
        "hears": f"somebody behind circuit {name} listens",
        "speaks": f"somebody behind circuit {name} talks",
        "carries": f"circuit {name} carries what one bridge brings on to the others",
        "held": f"nobody's open channel holds circuit {name}",
        "user": f"{name} is back on headset",
        "device": f"device {doubt.id} is back",
        "bridge": f"bridge {doubt.id} is back",
        "standby": f"bridge {doubt.id} is in use as standby",
    }[doubt.what]


def edit_words(show: Show, edit: Edit) -> str:
    """What is missing that an edit would bring, in a sentence."""
    names = [spoken(show, name) for name in edit.about]
    if edit.reason in ("talk", "listen", "open"):
        verb = {"talk": "has no talk on", "listen": "doesn't listen on", "open": "has no open channel on"}[edit.reason]
        return f"{names[0]} {verb} {names[1]}"
    return {
        "call": lambda: f"{names[0]} can't call {names[1]}",
        "answer": lambda: f"{names[0]} doesn't listen to {names[1]}",
        "key": lambda: f"{names[0]} has no key for {names[1]}",
        "wear": lambda: f"{names[0]} is off headset; device {edit.about[1]} is spare",
        "back": lambda: f"{edit.about[0]} is away",
        "direction": lambda: f"bridge {edit.about[0]} carries one way only",
        "say": lambda: f"{edit.about[1]} of circuit {names[0]} isn't written; set it if it is so",
        "restore": lambda: f"{edit.pointer.removeprefix('/')} was just changed",
    }[edit.reason]()


def _proposal_lines(show: Show, explanation: Explanation) -> Iterator[str]:
    proposals = explanation.proposals
    if not proposals:
        yield "No one or two edits make a path."
        return
    together = len(proposals[0]) > 1
    yield (
        ("To fix it, run one of these sets:" if together else "To fix it, run one of:")
        if len(proposals) > 1
        else "To fix it, run:"
    )
    for proposal in proposals:
        for edit in proposal:
            yield f"    {edit.command}"
            yield f"      ({edit_words(show, edit)})"
        if together:
            yield ""


# --- reach -----------------------------------------------------------------------------------------------------------


def reach_text(show: Show, reach: Reach, width: int = WIDTH) -> str:
    """Who hears a position and whom it hears, one target after the other."""
    name = spoken(show, reach.position)
    return "\n".join(
        [
            f"{name} is heard by {_count(show, reach.heard_by)}",
            *_over_lines(show, reach.heard_by, width),
            f"{name} hears {_count(show, reach.hears)}",
            *_over_lines(show, reach.hears, width),
            WHAT_A_PATH_IS,
        ]
    )


def _count(show: Show, found: Iterable[Over]) -> str:
    positions = {at.position for over in found if over.target not in show.lines for at in over.positions}
    return "nobody" if not positions else f"{len(positions)} {'position' if len(positions) == 1 else 'positions'}:"


def _over_lines(show: Show, found: Iterable[Over], width: int) -> Iterator[str]:
    for over in found:
        line = "line " if over.target in show.lines and over.target not in show.groups else ""
        title = f"  over {line}{spoken(show, over.target)}"
        yield from names_line(title, [_reached(show, each) for each in over.positions], width)


def _reached(show: Show, reached: Reached) -> str:
    """A position, and what is not on a key or not sure."""
    name = spoken(show, reached.position)
    notes = {"key": [], "open": ["open"], "page": ["other page"], "menu": ["menu"]}[reached.hand]
    notes = [*notes, *([] if reached.sure else ["unsure"])]
    if not notes:
        return name
    return f"{name[:-1]}, {', '.join(notes)})" if name.endswith(")") else f"{name} ({', '.join(notes)})"


def members_text(paths: Paths, members: Members, width: int = WIDTH) -> str:
    """Who talks and who listens on a group or line."""
    show = paths.show
    parts = {
        "talk": members.talkers,
        "listen": members.listeners,
        "on the list, off headset": members.off_headset,
        "not written whether they hear or speak": members.unknown,
    }
    head = end_words(show, members.target)
    lines = [
        line
        for title, names in parts.items()
        if names or title in ("talk", "listen")
        for line in names_line(f"  {title}", [spoken(show, name) for name in names], width)
    ]
    return "\n".join([f"{head[:1].upper()}{head[1:]}:", *lines])


# --- required paths --------------------------------------------------------------------------------------------------


def end_words(show: Show, name: str) -> str:
    """An end of a path, so that a department and a group of one name cannot be mixed up."""
    if name == EVERYONE:
        return "everyone"
    if name.startswith(DEPARTMENT):
        return f"all of the {name.removeprefix(DEPARTMENT)} department"
    if name in show.groups and name not in show.users:
        return f"group {spoken(show, name)}"
    if name in show.lines and name not in show.users:
        return f"line {spoken(show, name)}"
    return spoken(show, name)


def required_words(show: Show, state: RequiredState) -> str:
    """How a required path stands, in one line: who can't hear whom, which path asks for it, and why."""
    return f"{_state_words(show, state)} {_asked_by(state)}"


def between_words(show: Show, state: RequiredState) -> str:
    """How a path between two ends stands that nobody may have asked for, in one line."""
    return _state_words(show, state)


def asked_words(show: Show, state: RequiredState) -> str:
    """What a required path asks for, in one line, and why."""
    return f"{_ends(show, state)} {_asked_by(state)}"


def _asked_by(state: RequiredState) -> str:
    reason = f": {state.required.why}" if state.required.why else ""
    return f"(required path {state.name}{reason})"


def _ends(show: Show, state: RequiredState) -> str:
    required = state.required
    over = f" over {spoken(show, required.over)}" if required.over else ""
    return f"{end_words(show, required.from_)} -> {end_words(show, required.to)}{over}{', both ways' * required.both}"


def _state_words(show: Show, state: RequiredState) -> str:
    over = f" over {spoken(show, state.required.over)}" if state.required.over else ""
    if state.state == "lost":
        parts = [*state.reasons, *(f"{spoken(show, who)} is off headset" for who in state.off_headset)]
        shown = [pair for pair in state.missing if not set(pair) & set(state.off_headset)]
        parts += [f"{_pairs(show, shown, 'can' + chr(39) + 't hear')}{over}"] if shown else []
        return f"{_ends(show, state)}: lost, {'; '.join(parts)}"
    if state.state == "in doubt":
        return f"{_ends(show, state)}: in doubt; met only if {_doubts(show, state)}"
    if state.state == "menu only":
        return f"{_ends(show, state)}: menu only; {_pairs(show, state.in_menu, 'hears')} without a key"
    if state.state == "unsure":
        parts = [_pairs(show, state.unsure, "may not hear")] if state.unsure else []
        parts += [f"not written whether {_doubts(show, state)}"] if state.doubts else []
        return f"{_ends(show, state)}: unsure; {'; '.join(parts)}"
    return f"{_ends(show, state)}: met"


def _doubts(show: Show, state: RequiredState) -> str:
    return " and ".join(doubt_words(show, doubt) for doubt in state.doubts)


def _pairs(show: Show, pairs: Iterable[Pair], verb: str, most: int = 4) -> str:
    found = list(pairs)
    words = [f"{spoken(show, listener)} {verb} {spoken(show, talker)}" for talker, listener in found[:most]]
    return ", ".join([*words, f"{len(found) - most} more"] if len(found) > most else words)


def ring_words(show: Show, ring: Ring) -> str:
    """The ring in one line: `FLY - bridge a - circuit House party line A - bridge b - FLY`."""
    steps = [word for place, bridge in ring.steps for word in (_place(show, place), f"bridge {bridge}")]
    return " - ".join([*steps, _place(show, ring.steps[0][0])])


def _place(show: Show, name: str) -> str:
    return f"circuit {spoken(show, name)}" if name in show.circuits else show.label(name)
