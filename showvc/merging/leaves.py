"""The one rule of merging, applied down to the leaf."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from showvc.document import SECTIONS, Head, Show, differing, shape_of, whole_tree
from showvc.document.editing import ABSENT
from showvc.document.pointers import join
from showvc.document.shapes import Shape, members
from showvc.merging.conflict import Conflict, ConflictKind
from showvc.merging.lines import merge_lines
from showvc.merging.sides import OPEN, Sides, kept, values_of
from showvc.merging.words import leaf_message

Steps = tuple[str, ...]


def merge_leaves(sides: Sides[Show]) -> tuple[Show, list[Conflict]]:
    """The merged show and the conflicts of single places.

    Where a conflict stands, the show has the value from before, else the side that kept the thing.
    """
    leaves = _Leaves(sides)
    show = replace(sides.mine, head=leaves.body(sides.map(lambda show: show.head), shape_of(Head), ()))
    for section in SECTIONS:
        show = show.with_section(section, leaves.section(section))
    return show, leaves.conflicts


class _Leaves:
    def __init__(self, sides: Sides[Show]) -> None:
        self.sides = sides
        self.conflicts: list[Conflict] = []

    def section(self, section: str) -> dict[str, Any]:
        """What the incoming side changes in mine."""
        entries = self.sides.map(lambda show: show.section(section))
        shape = shape_of(SECTIONS[section])
        ours, theirs = set(differing(entries.before, entries.mine)), set(differing(entries.before, entries.incoming))
        changes: dict[str, Any] = {name: entries.incoming.get(name) for name in theirs - ours}
        for name in sorted(theirs & ours):
            changes[name] = self.body(entries.map(lambda known: known.get(name)), shape, (section, name))  # noqa: B023
        return changes

    def body(self, bodies: Sides[Any], shape: Shape, steps: Steps) -> Any:
        body = bodies.resolved(lambda one, other: one == other)
        if body is not OPEN:
            return body
        merged = self.value(bodies.map(lambda body: ABSENT if body is None else whole_tree(body)), shape, steps)
        assert shape.model is not None, "a body's shape knows its model"
        return None if merged is ABSENT else shape.model.model_validate(merged)

    def value(self, values: Sides[Any], shape: Shape, steps: Steps) -> Any:
        found = values.resolved()
        if found is not OPEN:
            return found
        if shape.branches and _maps(values):
            return self.branch(values, shape, steps)
        if shape.kind == "set":
            return _united(values.map(lambda side: set(map(_member, side or ()))))
        if shape.kind == "notes" and (merged := merge_lines(values)) is not None:
            return merged
        return self.clash(values, steps)

    def branch(self, values: Sides[Any], shape: Shape, steps: Steps) -> dict[str, Any]:
        merged: dict[str, Any] = {}
        before = {} if values.before is ABSENT or values.before is None else values.before
        for name in [*values.mine, *(name for name in values.incoming if name not in values.mine)]:
            inner = shape.at(name) or shape
            nothing = ABSENT if shape.kind != "record" or inner.required else _nothing(inner)
            sides = (values.mine.get(name, ABSENT), values.incoming.get(name, ABSENT))
            value = self.value(Sides(before.get(name, nothing), *sides), inner, (*steps, name))
            if value is not ABSENT:
                merged[name] = value
        return merged

    def clash(self, values: Sides[Any], steps: Steps) -> Any:
        kind, place = _kind(values, steps), (join(*steps),)
        written = values_of(self.sides, place)
        message = leaf_message(self.sides, kind, steps, written.map(lambda found: found[0]))
        self.conflicts.append(Conflict(kind, place, written, message))
        if values.before is not ABSENT and ABSENT not in values.apart:
            return values.before
        return kept(values)


def _united(sets: Sides[set[Any]]) -> list[Any]:
    before, mine, incoming = sets.before, sets.mine, sets.incoming
    return members((mine | incoming) - (before - mine) - (before - incoming))


def _kind(values: Sides[Any], steps: Steps) -> ConflictKind:
    gone = values.map(lambda value: value is ABSENT or value is None)
    if gone.before and steps[0] == "devices" and steps[2:3] == ("keys",):
        return "double-booked"
    return "removed-and-changed" if not gone.before and any(gone.apart) else "both-changed"


def _nothing(shape: Shape) -> Any:
    """What stands in a field of a thing that is not there: its default, so that two additions merge."""
    if shape.kind in ("map", "free"):
        return {}
    if shape.kind == "record":
        return None if shape.default is None else {name: _nothing(inner) for name, inner in shape.fields.items()}
    return members(shape.default) if shape.kind == "set" else shape.default


def _member(value: str | list[str]) -> str | tuple[str, ...]:
    """A member of a set; one that is a list of alternatives is one."""
    return value if isinstance(value, str) else tuple(value)


def _maps(values: Sides[Any]) -> bool:
    return all(isinstance(value, Mapping) for value in values.apart) and (
        values.before is ABSENT or values.before is None or isinstance(values.before, Mapping)
    )
