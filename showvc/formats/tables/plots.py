"""Other people's files as plain rows, by their mapping: what each row is, its fields, and all that is left over."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from showvc.document import Problem, ShowError, near
from showvc.formats.tables import trees
from showvc.formats.tables.cells import Value, column_name, shown, to_json
from showvc.formats.tables.drafts import Lost, Spot, carried, is_total
from showvc.formats.tables.mapping import MappedTable, PlotMapping
from showvc.formats.tables.sheets import Book, Sheet, is_blank
from showvc.identity.names import folded

HEAD_ROWS = 30

Cell = tuple[Value, Spot]


@dataclass(slots=True)
class PlotRow:
    """One row: fields and further columns by name, cells of the columns across by head, and what is left over."""

    fields: dict[str, Cell] = field(default_factory=dict)
    across: list[tuple[str, Cell]] = field(default_factory=list)
    extra: dict[str, Any] = field(default_factory=dict)
    spot: Spot = ("", 0, 0)


@dataclass
class PlotTable:
    """The rows of one mapped table, and the place of everything in it, for writing it again.

    `place`: `heads` in their order, `above` and `under` the rows around them.
    """

    name: str
    mapping: MappedTable
    rows: list[PlotRow] = field(default_factory=list)
    place: dict[str, Any] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    lost: list[Lost] = field(default_factory=list)

    @cached_property
    def heads_across(self) -> dict[str, tuple[str, int]]:
        """What each head across says, and which of these columns it is, from 1."""
        said = [(head, across_name(self.mapping, head)) for head in self.place["heads"]]
        words = [(head, word) for head, word in said if word is not None]
        return {head: (word, place) for place, (head, word) in enumerate(words, 1)}


@dataclass(frozen=True, slots=True)
class Source:
    """A file as read, before its mapping: the sheets of a workbook or text tables, or a tree."""

    book: Book | None = None
    tree: Any = None
    file: str = ""
    notes: tuple[str, ...] = ()
    """What of the file is not read at all."""


def read_plot(source: Source, mapping: PlotMapping) -> list[PlotTable]:
    """All mapped tables of a file. ShowError where the mapping does not fit it."""
    made: list[PlotTable] = []
    problems: list[Problem] = []
    for name, table in mapping.tables.items():
        try:
            if source.book is not None:
                made.append(_read_sheet(name, table, _sheet_of(table, source)))
            else:
                made.append(_read_branch(name, table, source.tree, mapping))
        except ShowError as error:
            problems += [problem.in_file(source.file) for problem in error.problems]
    if problems:
        raise ShowError(problems)
    return made


def _sheet_of(table: MappedTable, source: Source) -> Sheet:
    assert source.book is not None, "called for books alone"
    wanted = table.sheet or (table.file or "").rpartition(".")[0]
    if not wanted and len(source.book) == 1:
        return next(iter(source.book.values()))
    named = {folded(name): sheet for name, sheet in source.book.items()}
    if folded(wanted) in named:
        return named[folded(wanted)]
    there = ", ".join(source.book)
    raise ShowError(f"the mapping reads {wanted or 'rows of a tree'!r}, which is not there", f"there are: {there}")


def _read_sheet(name: str, table: MappedTable, sheet: Sheet) -> PlotTable:
    number = _head_row(table, sheet)
    heads = heads_in(sheet, number)
    missing = [head for head in table.columns if head not in heads.values()]
    if missing:
        known = [head for head in heads.values() if head]
        raise ShowError(
            Problem(
                f"{sheet.name}: no column is headed {head!r}",
                way_out=near(head, known) or f"there are: {', '.join(known)}",
            )
            for head in missing
        )
    first = number + 1 + table.under
    made = PlotTable(name, table)
    made.place = {"heads": [*heads.values()]}
    for key, rows in (("above", sheet.rows[:number]), ("under", sheet.rows[number + 1 : first])):
        if rows:
            made.place[key] = [[to_json(value) for value in row] for row in rows]
    filler: dict[str, Cell] = {}
    columns = [(place, head, _role(table, head)) for place, head in heads.items()]
    for line in range(first, len(sheet.rows)):
        row = sheet.rows[line]
        if is_blank(row) or is_head(row, heads):
            continue
        if is_total(row):
            made.notes.append(f"{sheet.name}, row {line + 1}: a row of totals")
            continue
        made.rows.append(_sheet_row(table, sheet.name, columns, line, row, filler, made.lost))
    return made


def _head_row(table: MappedTable, sheet: Sheet) -> int:
    if table.head is not None:
        return table.head - 1
    wanted = {folded(head) for head in table.columns}
    counts = [
        len(wanted & {folded(shown(value)) for value in row if value is not None}) for row in sheet.rows[:HEAD_ROWS]
    ]
    most = max(counts, default=0)
    return counts.index(most) if most else 0


def heads_in(sheet: Sheet, number: int) -> dict[int, str]:
    """The heads of a row by column; a column without one is named by its letters, a second of a name is numbered."""
    row = sheet.rows[number] if number < len(sheet.rows) else []
    below = [found for found in sheet.rows[number + 1 :] if not is_blank(found)]
    width = max((len(found) for found in (row, *below)), default=0)
    filled = {place for found in below for place, value in enumerate(found) if value is not None}
    heads: dict[int, str] = {}
    used: set[str] = set()
    for place in range(width):
        text = " ".join(shown(row[place]).split()) if place < len(row) and row[place] is not None else ""
        if not text and place not in filled:
            continue
        head, again = text or f"Column {column_name(place)}", 2
        while head in used:
            head, again = f"{text or column_name(place)} ({again})", again + 1
        used.add(head)
        heads[place] = head
    return heads


def is_head(row: Sequence[Value], heads: Mapping[int, str]) -> bool:
    """Whether a row repeats the heads, as printed plots do on every page."""
    first = next((shown(value) for value in row if value is not None), "")
    order = sorted(heads.items())
    if not order or folded(first) != folded(order[0][1]):
        return False
    texts = [folded(shown(value)) for value in row if value is not None]
    return len(texts) > 1 and texts == [folded(head) for _, head in order][: len(texts)]


def _sheet_row(
    table: MappedTable,
    sheet: str,
    columns: Sequence[tuple[int, str, str | None]],
    line: int,
    row: Sequence[Value],
    filler: dict[str, Cell],
    lost: list[Lost],
) -> PlotRow:
    made = PlotRow(spot=(sheet, line, 0))
    for place, head, role in columns:
        value = row[place] if place < len(row) else None
        value = None if isinstance(value, str) and not value.strip() else value
        cell: Cell = (value, (sheet, line, place))
        if head in table.fill:
            cell = filler[head] if value is None and head in filler else cell
            filler[head] = cell
        if role == "across":
            made.across += [(head, cell)] if cell[0] is not None else []
        elif role is not None:
            made.fields[role] = cell
        elif cell[0] is not None:
            made.extra[head] = carried(cell[0], cell[1], lost)
    return made


def _role(table: MappedTable, head: str) -> str | None:
    """What a column is: a field, `across`, or None for one that the mapping says nothing of."""
    return table.columns.get(head) or ("across" if across_name(table, head) is not None else None)


def across_name(table: MappedTable, head: str) -> str | None:
    """What a head says of its column across: a target, a number, a key; None for a column that is none."""
    from showvc.formats.tables.mapping import pattern

    across = table.across
    if across is None or head in table.columns or head in across.except_:
        return None
    found = pattern(across.heads).fullmatch(head) if len(head) <= 200 else None
    return found["it"].strip() if found else None


def _read_branch(name: str, table: MappedTable, tree: Any, mapping: PlotMapping) -> PlotTable:
    path = table.rows or "."
    made = PlotTable(name, table)
    others = [other.rows or "." for other in mapping.tables.values() if other is not table]
    below = trees.claimed(path, others)
    found = [*trees.branches(tree, path)]
    if not found:
        made.place = {"heads": []}
        made.notes.append(f"no row stands at {path}")
        return made
    made.place = {"heads": [], "many": trees.is_many(tree, path)}
    heads: dict[str, None] = {}
    said: list[dict[str, Any]] = []
    for branch in found:
        leaves = trees.leaves(branch, below, frozenset(table.columns))
        made.rows.append(_branch_row(table, branch, leaves))
        said.append({head: value for head, value in leaves.items() if head in table.columns})
        _note_order(heads, leaves)
    made.place["heads"] = [*heads]
    made.place["false"] = sorted(
        {head for row in said for head, value in row.items() if value is False or value == "false"}
    )
    _refuse_missing(table, heads, path)
    return made


def _note_order(heads: dict[str, None], leaves: Mapping[str, Any]) -> None:
    """Puts heads that are new behind the one that they stand behind in this row."""
    before: str | None = None
    for head in leaves:
        if head not in heads:
            order = [*heads]
            order.insert(order.index(before) + 1 if before is not None else 0, head)
            heads.clear()
            heads.update(dict.fromkeys(order))
        before = head


def _refuse_missing(table: MappedTable, heads: Mapping[str, None], path: str) -> None:
    missing = [head for head in table.columns if head not in heads and not head.startswith("../") and head != "*"]
    known = ", ".join(head for head in heads if not head.endswith("/"))
    if known and missing and len(missing) == len(table.columns):
        raise ShowError(f"{path}: no row has {' or '.join(map(repr, missing))}", f"there are: {known}")


def _branch_row(table: MappedTable, branch: trees.Branch, leaves: Mapping[str, Any]) -> PlotRow:
    made = PlotRow(spot=(table.rows or ".", branch.where, 0))
    for head, value in leaves.items():
        if head.endswith("/"):
            continue
        plain = isinstance(value, str | int | float | bool) or (value is None and head in table.columns)
        cell: Cell = (value if plain and value != "" else None, (table.rows or ".", f"{branch.where}/{head}", 0))
        if plain and head in table.columns:
            made.fields[table.columns[head]] = cell
        elif plain and across_name(table, head) is not None:
            made.across += [(head, cell)] if cell[0] is not None else []
        else:
            made.extra[head] = value
    for head, name in table.columns.items():
        if head.startswith("../") or head == "*":
            made.fields[name] = (branch.around(head), (table.rows or ".", f"{branch.where}/{head}", 0))
    return made


def cells_of(row: PlotRow, table: MappedTable) -> Iterator[tuple[str, Cell]]:
    """The fields of a row: what its columns say, then what the mapping sets for every row."""
    yield from row.fields.items()
    for name, value in table.set.items():
        if name not in row.fields or row.fields[name][0] is None:
            yield name, (value, row.spot)


@dataclass(frozen=True, slots=True)
class Preview:
    """The first rows of a table as a mapping reads them: what each column is, and texts."""

    table: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def preview(source: Source, mapping: PlotMapping, count: int = 10) -> list[Preview]:
    """The first rows of each table, read by a mapping."""
    made = []
    for table in read_plot(source, mapping):
        rows = []
        for row in table.rows[:count]:
            said = {name: shown(cell[0]) for name, cell in cells_of(row, table.mapping)}
            said.update({head: shown(cell[0]) for head, cell in row.across})
            said.update({f"({head})": _carried(value) for head, value in row.extra.items()})
            rows.append(said)
        order = [text for head in table.place["heads"] for text in (table.mapping.columns.get(head), head, f"({head})")]
        found = dict.fromkeys(head for said in rows for head in said)
        heads = tuple(sorted(found, key=lambda head: order.index(head) if head in order else len(order)))
        made.append(Preview(table.name, heads, tuple(tuple(said.get(head, "") for head in heads) for said in rows)))
    return made


def _carried(value: Any) -> str:
    """A value that is only carried along, on one line."""
    return json.dumps(value, ensure_ascii=False) if isinstance(value, dict | list) else shown(value)
