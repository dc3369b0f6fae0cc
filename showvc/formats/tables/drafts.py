"""Rows on their way to a show: plain trees, the cell that each value came from, and what could not be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from showvc.document import SECTIONS, Body, Entries, Head, Show, Tree, check_id, near
from showvc.formats.reading import validate
from showvc.formats.tables import cells
from showvc.formats.tables.cells import Unread, Unreadable, Value, cell_name, shown
from showvc.identity.names import folded

Path = tuple[str, ...]
Spot = tuple[str, int | str, int]
"""Sheet, row (or the place in a tree, as text) and column."""


Lost = tuple[Spot, str]
"""A cell that is only carried along and says something else than what was typed, and how that came."""


@dataclass(frozen=True, slots=True)
class Absent:
    """A column that somebody has taken out of a sheet of ours, or headed anew: the section, the field of its things."""

    sheet: str
    head: str
    section: str
    path: Path


@dataclass(slots=True)
class Draft:
    """What tables say so far. `head` holds what `show.yaml` does, `things` the bodies by section and id.

    `covered` names what the tables speak about at all: a section, or a field as `section/field`. What is not
    covered is left as it was by an import.
    """

    head: Tree = field(default_factory=dict)
    things: dict[str, dict[str, Tree]] = field(default_factory=lambda: {name: {} for name in SECTIONS})
    spots: dict[Path, Spot] = field(default_factory=dict)
    values: dict[Path, Value] = field(default_factory=dict)
    unread: list[Unread] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    lost: list[Lost] = field(default_factory=list)
    covered: set[str] = field(default_factory=set)
    absent: list[Absent] = field(default_factory=list)
    """The columns that our own sheets have not any more: they say nothing of these fields."""
    silent: Mapping[tuple[str, str], frozenset[str]] = field(default_factory=dict)
    """By section and id: the channels of a user and keys of a device that the tables say nothing of."""
    placeless: frozenset[str] = frozenset()
    """The devices that the tables have no place for."""
    made: dict[Path, tuple[Tree, Body | None]] = field(default_factory=dict)
    """Bodies made already (None where that failed), each with the tree that it was made of."""

    def refuse(self, spot: Spot, value: Value, allowed: str, path: Path = ()) -> None:
        self.unread.append(Unread(spot[0], spot_name(spot), shown(value), allowed, path))

    def put(self, path: Path, spot: Spot, value: Value, read: Callable[[Value], Any]) -> None:
        """Reads a cell into the place that `path` names; what cannot be read is told and left out."""
        try:
            result = read(value)
        except Unreadable as error:
            self.refuse(spot, value, str(error), path)
            return
        if result is not None:
            self.set(path, spot, value, result)

    def set(self, path: Path, spot: Spot, value: Value, result: Any) -> None:
        tree = self.head if path[0] not in SECTIONS else self.things[path[0]]
        steps = path if path[0] not in SECTIONS else path[1:]
        for step in steps[:-1]:
            tree = tree.setdefault(step, {})
        tree[steps[-1]] = result
        self.spots[path] = spot
        self.values[path] = value


def spot_name(spot: Spot) -> str:
    return cell_name(spot[1], spot[2]) if isinstance(spot[1], int) else spot[1]


def finished(draft: Draft) -> Show:
    """The show of a draft; values that no field can take are moved to its unread cells."""
    head = _body(draft, Head, draft.head, ()) or Head()
    sections: dict[str, Entries[Any]] = {}
    for section, model in SECTIONS.items():
        found = {name: _body(draft, model, tree, (section, name)) for name, tree in draft.things[section].items()}
        sections[section] = Entries({name: body for name, body in found.items() if body is not None})
    return Show(head, **sections)


def _body(draft: Draft, model: type[Body], tree: Tree, path: Path) -> Any:
    if path in draft.made and draft.made[path][0] is tree:
        return draft.made[path][1]
    while True:
        body, problems = validate(model, tree)
        if body is not None:
            break
        dropped = False
        told = any(unread.path[: len(path)] == path for unread in draft.unread) if path else False
        for problem, loc in problems:
            if not (told and problem.message.endswith("is missing")):
                spot, value = _origin(draft, (*path, *loc))
                draft.refuse(spot, value, problem.message, (*path, *loc))
            dropped |= _without(tree, loc)
        if not dropped:
            break
    if path:
        draft.made[path] = (tree, body)
    return body


def _origin(draft: Draft, path: Path) -> tuple[Spot, Value]:
    for length in range(len(path), 0, -1):
        if path[:length] in draft.spots:
            return draft.spots[path[:length]], draft.values.get(path[:length])
    return ("?", "/".join(path), 0), None


def _without(tree: Tree, loc: Path) -> bool:
    for step in loc[:-1]:
        tree = tree.get(step, {}) if isinstance(tree, dict) else {}
    return bool(loc) and isinstance(tree, dict) and tree.pop(loc[-1], None) is not None


def carried(value: Value, spot: Spot, lost: list[Lost]) -> Any:
    """A cell that no field describes, as JSON; told in `lost` where the spreadsheet has replaced what was typed."""
    why = cells.lost(value)
    if why is not None:
        lost.append((spot, why))
    return cells.to_json(value)


_NAMED = 10
"""How many cells a sentence names one by one."""


def lost_notes(lost: Iterable[Lost]) -> list[str]:
    """A sentence for each sheet and reason: which cells are kept as they are shown now."""
    found: dict[tuple[str, str], list[str]] = {}
    for spot, why in dict.fromkeys(lost):
        found.setdefault((spot[0], why), []).append(spot_name(spot))
    return [
        f"sheet {sheet}, {'cell' if len(names) == 1 else 'cells'} {', '.join(names[:_NAMED])}"
        f"{f' and {len(names) - _NAMED} more' if len(names) > _NAMED else ''}: kept as shown, but {why}"
        for (sheet, why), names in found.items()
    ]


ID_SHAPE = re.compile(r"[a-z][a-z0-9-]{0,39}")


class Names:
    """Finds the id that a cell means by an id, a name or a label."""

    def __init__(self, things: Iterable[tuple[str, Mapping[str, Any]]], what: str) -> None:
        self.what = what
        self.ids: set[str] = set()
        self.known: dict[str, set[str]] = {}
        for name, tree in things:
            self.ids.add(name)
            for word in (tree.get("name"), tree.get("label")):
                if isinstance(word, str) and word.strip():
                    self.known.setdefault(folded(word), set()).add(name)

    def find(self, text: str) -> str | None:
        """The id, where exactly one thing is meant."""
        if text in self.ids:
            return text
        found = self.known.get(folded(text), set())
        return next(iter(found)) if len(found) == 1 else None

    def id_of(self, text: str) -> str:
        """The id that a cell means. A word in the form of an id stands for itself, whether it is there or not."""
        if ID_SHAPE.fullmatch(text):
            return text
        found = self.known.get(folded(text)) or {folded(text)} & self.ids
        if len(found) == 1:
            return next(iter(found))
        if found:
            raise Unreadable(f"{text!r} may be {' or '.join(sorted(found))}: write the id")
        way_out = near(text, sorted({*self.known, *self.ids}))
        raise Unreadable(f"the id of a {self.what}{'; ' + way_out if way_out else ''}")


def valid_id(text: str) -> bool:
    try:
        return bool(check_id(text))
    except ValueError:
        return False


_TOTALS = re.compile(r"(grand )?(sub-?)?(total|totals|sum|count)\b.*", re.IGNORECASE)


def is_total(row: Iterable[Value]) -> bool:
    """A row that counts the others: it begins so, and nothing but numbers stands in the rest of it."""
    first, *rest = [value for value in row if value is not None] or [""]
    counts = isinstance(first, str) and bool(_TOTALS.fullmatch(first.strip()))
    return counts and all(isinstance(value, int | float) for value in rest)
