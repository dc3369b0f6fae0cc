"""The one rule of merging, applied down to the leaf."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from showvc.document import SECTIONS, Head, Show, differing, same, shape_of, whole_tree
from showvc.document.editing import ABSENT
from showvc.document.pointers import join
from showvc.document.shapes import Shape, members
from showvc.merging.conflict import Conflict, ConflictKind, Sides
from showvc.merging.lines import merge_lines
from showvc.merging.words import leaf_message

Steps = tuple[str, ...]


def merge_leaves(sides: Sides) -> tuple[Show, list[Conflict]]:
    """The merged show and the conflicts of single places.

    Where a conflict stands, the show has the value from before, else the side that kept the thing.
    """
    leaves = _Leaves(sides)
    head = leaves.body(sides.before.head, sides.mine.head, sides.incoming.head, shape_of(Head), ())
    show = replace(sides.mine, head=head)
    for section in SECTIONS:
        show = show.with_section(section, leaves.section(section))
    return show, leaves.conflicts


class _Leaves:
    def __init__(self, sides: Sides) -> None:
        self.sides = sides
        self.conflicts: list[Conflict] = []

    def section(self, section: str) -> dict[str, Any]:
        """What the incoming side changes in mine."""
        before, mine, incoming = (
            getattr(side, section) for side in (self.sides.before, self.sides.mine, self.sides.incoming)
        )
        shape = shape_of(SECTIONS[section])
        ours, theirs = set(differing(before, mine)), set(differing(before, incoming))
        changes: dict[str, Any] = {name: incoming.get(name) for name in theirs - ours}
        for name in sorted(theirs & ours):
            body = self.body(before.get(name), mine.get(name), incoming.get(name), shape, (section, name))
            changes[name] = body
        return changes

    def body(self, before: Any, mine: Any, incoming: Any, shape: Shape, steps: Steps) -> Any:
        if incoming in (mine, before):
            return mine
        if mine == before:
            return incoming
        old, one, other = (ABSENT if body is None else whole_tree(body) for body in (before, mine, incoming))
        merged = self.value(old, one, other, shape, steps)
        assert shape.model is not None, "a body's shape knows its model"
        return None if merged is ABSENT else shape.model.model_validate(merged)

    def value(self, before: Any, mine: Any, incoming: Any, shape: Shape, steps: Steps) -> Any:
        if same(mine, incoming) or same(incoming, before):
            return mine
        if same(mine, before):
            return incoming
        if shape.branches and _maps(before, mine, incoming):
            return self.branch({} if before is ABSENT or before is None else before, mine, incoming, shape, steps)
        if shape.kind == "set":
            old, one, other = (set(map(_member, side or ())) for side in (before, mine, incoming))
            return members((one | other) - (old - one) - (old - other))
        if shape.kind == "notes" and (merged := merge_lines(before, mine, incoming)) is not None:
            return merged
        return self.clash(before, mine, incoming, steps)

    def branch(self, before: Any, mine: Any, incoming: Any, shape: Shape, steps: Steps) -> dict[str, Any]:
        merged: dict[str, Any] = {}
        for name in [*mine, *(name for name in incoming if name not in mine)]:
            inner = shape.at(name) or shape
            nothing = ABSENT if shape.kind != "record" or inner.required else _nothing(inner)
            values = (before.get(name, nothing), mine.get(name, ABSENT), incoming.get(name, ABSENT))
            value = self.value(*values, inner, (*steps, name))
            if value is not ABSENT:
                merged[name] = value
        return merged

    def clash(self, before: Any, mine: Any, incoming: Any, steps: Steps) -> Any:
        kind = _kind(before, mine, incoming, steps)
        old, one, other = self.sides.values(join(*steps))
        message = leaf_message(self.sides, kind, steps, old, one, other)
        self.conflicts.append(Conflict(kind, (join(*steps),), (old,), (one,), (other,), message))
        if before is not ABSENT and ABSENT not in (mine, incoming):
            return before
        return min((side for side in (mine, incoming) if side is not ABSENT), key=_ordered)


def _kind(before: Any, mine: Any, incoming: Any, steps: Steps) -> ConflictKind:
    gone = [value is ABSENT or value is None for value in (before, mine, incoming)]
    if gone[0] and steps[0] == "devices" and steps[2:3] == ("keys",):
        return "double-booked"
    return "removed-and-changed" if not gone[0] and (gone[1] or gone[2]) else "both-changed"


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


def _maps(before: Any, mine: Any, incoming: Any) -> bool:
    return (
        isinstance(mine, Mapping)
        and isinstance(incoming, Mapping)
        and (before is ABSENT or before is None or isinstance(before, Mapping))
    )


def _ordered(value: Any) -> str:
    return json.dumps(value, sort_keys=True)
