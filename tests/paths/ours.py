"""The answers of `showvc.paths` in the words of the worked cases, one function a question."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from showvc.document import show_from_tree
from showvc.paths import (
    ANY,
    Paths,
    advance,
    apart_states,
    difference,
    line_talkers,
    public_states,
    required_states,
    rings,
    talk_paths,
)
from showvc.paths.capacities import over_full
from showvc.paths.reading import Reading
from showvc.paths.ways import held_over
from tests.paths.oracle.there import Doc, Thing


def paths_of(doc: Doc, out: frozenset[Thing] = frozenset()) -> Paths:
    return talk_paths(show_from_tree({"format": 2, **doc}), frozenset("/".join(thing) for thing in out))


def _pairs(read: Reading) -> set[str]:
    return {f"{x}>{y}" for x in read.positions for y in read.heard_by(x)}


def heard(paths: Paths) -> set[str]:
    return _pairs(paths.surely)


def maybe(paths: Paths) -> set[str]:
    return _pairs(paths.possibly) - _pairs(paths.surely)


def over_every_target(paths: Paths) -> set[str]:
    read = paths.surely
    return {
        f"{x}>{y} over {target}: {hand} {'sure' if tier == 2 else 'unsure'}"
        for x in read.positions
        for y in read.positions
        if x != y
        for target, hand, tier in held_over(read, x, y)
    }


def off(paths: Paths) -> set[str]:
    lists = paths.lists
    return {name for name in lists.parts if name not in lists.ports and not paths.surely.is_on_headset(name)}


def raises(paths: Paths) -> dict[str, set[str]]:
    return {line: {name for name, _ in line_talkers(paths, line)} for line in paths.show.lines}


def hears(paths: Paths) -> dict[str, set[str]]:
    read = paths.surely
    return {line: {*read.names(read.reach(ANY)[line] & read.hearing[ANY])} for line in paths.show.lines}


def required(paths: Paths) -> dict[str, str]:
    return {state.name: state.state for state in required_states(paths)}


def names(paths: Paths) -> dict[str, set[str]]:
    """The circuits of which the document does not say whether they hear, where nothing more is in doubt."""
    return {
        state.name: {doubt.id for doubt in state.doubts}
        for state in required_states(paths)
        if state.state != "in doubt"
    }


def apart(paths: Paths) -> dict[str, str]:
    told = {}
    for state in apart_states(paths):
        word, pairs = ("broken", state.surely) if state.surely else ("maybe", state.possibly)
        found = f"{word} {' '.join(sorted(f'{x}>{y}' for x, y in pairs))}" if pairs else "kept"
        told[state.name] = "empty" if state.empty else found
    return told


def clash(paths: Paths) -> set[str]:
    return {f"{must} {state.name} {x}>{y}" for state in apart_states(paths) for must, (x, y) in state.required}


def public(paths: Paths) -> set[str]:
    """The gravest of each talker, target and circuit: surely before possibly, open before a latch."""
    worst: dict[tuple[str, str, str], tuple[bool, bool]] = {}
    for each in public_states(paths):
        key, value = (each.user, each.target, each.circuit), (not each.surely, each.talk != "open")
        worst[key] = min(worst.get(key, value), value)
    return {
        f"{user} over {target} to {circuit}: {'latch' if latch else 'open'} {'possibly' if only else 'surely'}"
        for (user, target, circuit), (only, latch) in worst.items()
    }


def sure_rings(paths: Paths) -> set[frozenset[str]]:
    return {ring.bridges for ring in rings(paths) if ring.surely}


def maybe_rings(paths: Paths) -> set[frozenset[str]]:
    return {ring.bridges for ring in rings(paths) if not ring.surely}


def full(paths: Paths) -> set[str]:
    return {" ".join(each) for each in over_full(paths.facts)}


QUESTIONS: dict[str, Callable[[Paths], Any]] = {
    "heard": heard, "maybe": maybe, "paths": over_every_target, "off": off, "raises": raises, "hears": hears,
    "required": required, "names": names, "apart": apart, "clash": clash, "public": public, "full": full,
}  # fmt: skip


def effect(before: Doc, after: Doc) -> dict[str, set[str]]:
    """What two shows differ in for people. Only the fields in which something is."""
    found = difference(old := paths_of(before), advance(old, show_from_tree({"format": 2, **after})))
    shows = (found.before.show, found.after.show)
    matters = {name for show in shows for name in (*show.critical_groups, *show.lines)}
    told = {
        "off_headset": {*found.off_headset},
        "lost": {f"{x}>{y}" for x, y in found.lost},
        "gained": {f"{x}>{y}" for x, y in found.gained},
        "lost_over": {f"{x}>{y} over {over}" for x, over, y in found.lost_over(matters)},
        "weaker": {f"{x}>{y} over {over or '-'}: {word}" for x, over, y, word in found.weaker},
    }
    return {name: value for name, value in told.items() if value}
