"""Conflicts in sentences for a tired engineer."""

from __future__ import annotations

from typing import Any

from showvc.changes import edits_at
from showvc.changes.words import place_words, value_words
from showvc.document import Show
from showvc.document.editing import ABSENT
from showvc.document.pointers import parse
from showvc.merging.conflict import ConflictKind, Sides


def leaf_message(
    sides: Sides, kind: ConflictKind, steps: tuple[str, ...], before: Any, mine: Any, incoming: Any
) -> str:
    place = place_words(_show_with(sides, steps), steps)
    if kind == "removed-and-changed":
        remover = "mine" if mine is ABSENT else "incoming"
        changer, show = ("incoming", sides.incoming) if mine is ABSENT else ("mine", sides.mine)
        what = "; ".join(change.text for change in edits_at(sides.before, show, steps)[:4])
        return f"{place}: {remover} removed it, {changer} changed it" + (f" ({what})" if what else "")
    was = "nothing" if before is ABSENT else shown(before)
    return f"{place}: mine says {shown(mine)}, incoming says {shown(incoming)}; before it was {was}"


def shown(value: Any) -> str:
    """A side's value in a sentence."""
    if value is ABSENT:
        return "nothing"
    return value_words(value)


def _show_with(sides: Sides, steps: tuple[str, ...]) -> Show:
    """The show that knows the names at this place: the one from before if it can."""
    for show in (sides.before, sides.mine, sides.incoming):
        if (
            len(steps) < 2
            or steps[0] not in ("groups", "users", "devices", "bridges")
            or steps[1] in show.section(steps[0])
        ):
            return show
    return sides.before


def edit_words(sides: Sides, pointer: str) -> tuple[str, str]:
    """What mine and incoming did at this place, in a few words each."""
    steps = parse(pointer)
    before, mine, incoming = sides.values(pointer)
    place = place_words(_show_with(sides, steps), steps)
    return _did(place, before, mine), _did(place, before, incoming)


def _did(place: str, before: Any, after: Any) -> str:
    if before == after:
        return ""
    if after is ABSENT:
        return f"removed {place}"
    if before is ABSENT:
        return f"added {place}" if isinstance(after, dict) else f"set {place} to {shown(after)}"
    return f"changed {place}" if isinstance(after, dict) else f"set {place} to {shown(after)}"
