"""Things that both sides added under two ids, and that look like one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from showvc.changes.words import thing_name
from showvc.document import SECTIONS, differing
from showvc.document.pointers import join
from showvc.merging.conflict import SideProblem, Sides


def twins(sides: Sides) -> Iterator[SideProblem]:
    """A warning for each pair of additions, one of each side, with the same name, address or circuit."""
    for section in SECTIONS:
        before, mine, incoming = (getattr(show, section) for show in (sides.before, sides.mine, sides.incoming))
        ours = [name for name in differing(before, mine) if name not in before and name not in incoming]
        theirs = [name for name in differing(before, incoming) if name not in before and name not in mine]
        for name in ours:
            for other in theirs:
                if _alike(mine[name], incoming[other]):
                    yield _twin(sides, section, name, other)


def _twin(sides: Sides, section: str, name: str, other: str) -> SideProblem:
    one, two = thing_name(sides.mine, section, name), thing_name(sides.incoming, section, other)
    message = f"both sides added what looks like the same: mine {one} as {name}, incoming {two} as {other}"
    return SideProblem("both", "twin", join(section, name), message, (join(section, name), join(section, other)))


def _alike(one: Any, other: Any) -> bool:
    if getattr(one, "hardware", None) and one.hardware == getattr(other, "hardware", None):
        return True
    if getattr(one, "circuit", ""):
        return bool((one.circuit, one.target) == (other.circuit, other.target))
    names = {_folded(one.name), _folded(other.name)} if hasattr(one, "name") else set()
    return len(names) == 1 and names != {""}


def _folded(text: str) -> str:
    return " ".join("".join(char if char.isalnum() else " " for char in text.casefold()).split())
