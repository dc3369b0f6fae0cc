"""Ids that one side gave to another thing, while the other side went on pointing at the thing that was."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from showvc.changes.words import thing_name
from showvc.document import SECTIONS, Show, differing
from showvc.document.lining import printable
from showvc.document.pointers import join
from showvc.identity.names import one_name
from showvc.identity.references import references
from showvc.merging.conflict import Side, SideProblem
from showvc.merging.sides import Sides


def reused_ids(sides: Sides[Show]) -> Iterator[SideProblem]:
    """What is called otherwise in every respect on one side, and has new references on the other: told, no conflict."""
    views: tuple[tuple[Side, Show, Show], ...] = (
        ("mine", sides.mine, sides.incoming),
        ("incoming", sides.incoming, sides.mine),
    )
    for side, show, other in views:
        for section in SECTIONS:
            there = sides.before.section(section), show.section(section)
            changed = [
                name for name in differing(*there) if all(name in known for known in (*there, other.section(section)))
            ]
            strange = [name for name in changed if _another_thing(there[0][name], there[1][name])]
            if strange:
                yield from _told(sides.before, show, other, section, strange, side)


def _told(before: Show, show: Show, other: Show, section: str, names: list[str], side: Side) -> Iterator[SideProblem]:
    known, now = references(before, section), references(other, section)
    for name in names:
        added = sorted(now.get(name, set()) - known.get(name, set()))
        if added:
            was, is_now = thing_name(before, section, name), thing_name(show, section, name)
            said = printable(
                f"{name} was {was}, is {is_now} on this side; the other side points at it from {join(*added[0])}"
            )
            yield SideProblem(side, "id-reused", join(section, name), said, (join(section, name),))


def _another_thing(one: Any, other: Any) -> bool:
    """Whether nothing that a thing is called by is left of it; with a name alone, it may only be called otherwise."""
    called = [(getattr(one, field, None) or "", getattr(other, field, None) or "") for field in ("name", "label")]
    named = [(was, now) for was, now in called if was]
    return len(named) > 1 and all(now and not one_name(was, now) for was, now in named)
