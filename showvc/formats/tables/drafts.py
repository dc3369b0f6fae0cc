"""Rows on their way to a show: plain trees, the cell that each value came from, and what could not be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from showvc.document import SECTIONS, Body, Entries, Head, Show, Tree, check_id, head_tree, near, shape_of, to_tree
from showvc.formats.reading import validate
from showvc.formats.tables import cells
from showvc.formats.tables.cells import Unread, Unreadable, Value, cell_name, shown
from showvc.identity.names import folded

Path = tuple[str, ...]
Spot = tuple[str, int | str, int]
"""Sheet, row (or the place in a tree, as text) and column."""


Lost = tuple[Spot, str]
"""A cell that is only carried along and says something else than what was typed, and how that came."""


def rows_of_head() -> dict[str, type[Body]]:
    """What `show.yaml` has several of, by name: lines, kinds, required paths …, and the model of one."""
    fields = shape_of(Head).fields.items()
    return {name: shape.item.model for name, shape in fields if shape.item is not None and shape.item.model is not None}


def all_rows() -> dict[str, type[Body]]:
    """All that can stand in rows: the things of the sections, and what `show.yaml` has several of."""
    return {**SECTIONS, **rows_of_head()}


@dataclass(slots=True)
class Draft:
    """What tables say so far. `things` holds the bodies by section and id, rows of `show.yaml` among them; `head` what
    else that says.

    `covered` names what the tables speak about at all: `("users",)` where they say which users there are,
    `("users", "label")` for a field, `("head", "title")` for one of the show. What is not covered is left as it was.
    """

    head: Tree = field(default_factory=dict)
    things: dict[str, dict[str, Tree]] = field(default_factory=lambda: {name: {} for name in all_rows()})
    spots: dict[Path, Spot] = field(default_factory=dict)
    values: dict[Path, Value] = field(default_factory=dict)
    unread: list[Unread] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    lost: list[Lost] = field(default_factory=list)
    covered: set[Path] = field(default_factory=set)
    entries: set[Path] = field(default_factory=set)
    """Entries of maps, as `("users", "lines", "alarm")`, that are there only where a cell says something of them."""
    silent: Mapping[tuple[str, str], frozenset[str]] = field(default_factory=dict)
    """By section and id: the channels of a user and keys of a device that the tables say nothing of."""
    placeless: frozenset[str] = frozenset()
    """The devices that the tables have no place for."""
    heads: dict[str, list[str]] = field(default_factory=dict)
    """Our own sheets: their heads in their order."""

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
        tree, steps = (self.things[path[0]], path[1:]) if path[0] in self.things else (self.head, path)
        for step in steps[:-1]:
            tree = tree.setdefault(step, {})
        tree[steps[-1]] = result
        self.spots[path] = spot
        self.values[path] = value


def value_at(tree: Any, path: Path) -> Any:
    """The value at this place of a tree; None where there is none."""
    for step in path:
        tree = tree.get(step) if isinstance(tree, Mapping) else None
    return tree


def spot_name(spot: Spot) -> str:
    return cell_name(spot[1], spot[2]) if isinstance(spot[1], int) else spot[1]


def finished(draft: Draft, before: Show | None = None) -> Show:
    """The show of a draft; values that no field can take are moved to its unread cells, and what was there stays."""
    before = before or Show()
    rows = {name: draft.things[name] for name in rows_of_head() if draft.things[name]}
    head = _body(draft, Head, {**draft.head, **rows}, (), head_tree(before.head))
    sections: dict[str, Entries[Any]] = {}
    for section, model in SECTIONS.items():
        there, made = before.section(section), {}
        for name, tree in draft.things[section].items():
            base = to_tree(there[name]) if name in there else {}
            body = there[name] if tree == base and base else _body(draft, model, tree, (section, name), base)
            if body is not None:
                made[name] = body
        sections[section] = Entries(made)
    return Show(head or before.head, **sections)


def _body(draft: Draft, model: type[Body], tree: Tree, path: Path, before: Tree) -> Any:
    told = {unread.path for unread in draft.unread if unread.path[: len(path)] == path} if path else set()
    while True:
        body, problems = validate(model, tree)
        if body is not None:
            return body
        changed = False
        for problem, loc in problems:
            if not (told and problem.message.endswith("is missing")):
                spot, value = _origin(draft, (*path, *loc))
                draft.refuse(spot, value, problem.message, (*path, *loc))
            changed |= _restored(tree, before, loc)
        if not changed:
            return model.model_validate(before) if before else None


def _origin(draft: Draft, path: Path) -> tuple[Spot, Value]:
    for length in range(len(path), 0, -1):
        if path[:length] in draft.spots:
            return draft.spots[path[:length]], draft.values.get(path[:length])
    return ("?", "/".join(path), 0), None


def _restored(tree: Tree, before: Tree, loc: Path) -> bool:
    """Puts back what stood before at this place, or takes out what nothing stood at before; whether that did anything.

    Where a value is missing that was not there before, what it is missing in goes.
    """
    for length in range(len(loc), 0, -1):
        inner, then, last = tree, before, loc[length - 1]
        for step in loc[: length - 1]:
            inner = inner.get(step, {}) if isinstance(inner, dict) else {}
            then = then.get(step, {}) if isinstance(then, Mapping) else {}
        was = then.get(last) if isinstance(then, Mapping) else None
        if isinstance(inner, dict) and inner.get(last) != was:
            inner[last] = was
            if was is None:
                del inner[last]
            return True
        if isinstance(inner, dict) and inner.pop(last, None) is not None:
            return True
    return False


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
