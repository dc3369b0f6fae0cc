"""Which sheets of a book are ours, where their heads and rows stand, and what they say of themselves."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace

from showvc.formats.tables import cells
from showvc.formats.tables.cells import Value, decoded, shown
from showvc.formats.tables.drafts import Draft, Spot, all_rows
from showvc.formats.tables.layout import (
    ABOUT,
    ID,
    LONG,
    LONG_CELL,
    NUMBER,
    VERSION,
    fixed_columns,
    is_own,
    order,
    sheet_of,
)
from showvc.formats.tables.opening import refused
from showvc.formats.tables.sheets import Book, Sheet, is_blank
from showvc.identity.names import folded

LISTS = "Lists"
HEAD_ROWS = 30
"""How far down a head row is looked for."""
_NAME = VERSION.rpartition(" ")[0]


@dataclass(frozen=True, slots=True)
class About:
    """What tables say of themselves: the snapshot that they came from, when, and in which layout."""

    stamp: str | None = None
    when: str | None = None
    version: str | None = None


@dataclass(slots=True)
class Grid:
    """A sheet of ours as read: its heads by column, and its rows with their row number and the id that each is of."""

    sheet: str
    name: str
    heads: dict[int, str] = field(default_factory=dict)
    rows: list[tuple[int, Sequence[Value]]] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    _at: dict[str, int | None] = field(default_factory=dict)

    def columns(self, wanted: Callable[[str], bool]) -> dict[int, str]:
        return {column: head for column, head in self.heads.items() if wanted(head)}

    def at(self, head: str) -> int | None:
        """The column of this head. Asked for every row, of heads that are all read by then."""
        if head not in self._at:
            found = (column for column, name in self.heads.items() if folded(name) == folded(head))
            self._at[head] = next(found, None)
        return self._at[head]

    def value(self, row: Sequence[Value], head: str) -> Value:
        column = self.at(head)
        return row[column] if column is not None and column < len(row) else None

    def spot(self, number: int, head: str = ID) -> Spot:
        return (self.sheet, number, self.at(head) or 0)


def is_own_book(book: Book) -> bool:
    """Whether these are tables of ours: they say so, or two of them have our sheets' names and heads."""
    about = _by_name(book).get(ABOUT.casefold())
    said = [shown(value) for row in about.rows[:60] for value in row] if about is not None else []
    if any(text.startswith(_NAME) for text in said):
        return True
    named = [sheet for name, sheet in _by_name(book).items() if name in all_rows()]
    return sum(any(folded(shown(value)) == "id" for value in sheet.rows[0]) for sheet in named if sheet.rows) >= 2


def _by_name(book: Book) -> dict[str, Sheet]:
    return {name.strip().casefold(): sheet for name, sheet in book.items()}


AboutRow = tuple[str, Value, Spot]


def read_about(book: Book, file: str) -> tuple[About, list[AboutRow]]:
    """What the tables say of themselves, and the rows that speak of the show. ShowError for another layout."""
    sheet = _by_name(_with_long(book)).get(ABOUT.casefold())
    said: dict[str, str] = {}
    rows: list[AboutRow] = []
    for number, row in enumerate(sheet.rows if sheet else ()):
        what, value = [*row, None, None][:2]
        name = shown(what).strip() if what is not None else ""
        if name in ("Stamp", "When", "Format"):
            said[name] = shown(value).strip() if value is not None else ""
        elif name and name != "What":
            rows.append((name, value, (sheet.name if sheet else "", number, 1)))
    _refuse_other(said.get("Format", ""), file)
    return About(said.get("Stamp") or None, said.get("When") or None, said.get("Format") or None), rows


def _refuse_other(version: str, file: str) -> None:
    name, _, number = version.rpartition(" ")
    if version and version != VERSION:
        newer = name == _NAME and number.isdigit() and int(number) > NUMBER
        way_out = "a newer showvc wrote it: update showvc" if newer else "export the show anew, and edit that"
        raise refused(file, f"is laid out as {version!r}; this showvc reads {VERSION!r}", way_out)


def find_grids(book: Book, draft: Draft) -> dict[str, Grid]:
    """Our sheets by our own name for them, with their heads and rows; what is none of ours is noted."""
    sheets = _with_long(book)
    named = _by_name(sheets)
    found = {name: named[name.casefold()] for name in order() if name != ABOUT and name.casefold() in named}
    taken = {sheet.name for sheet in found.values()}
    for section, model in all_rows().items():
        heads = {folded(column.head) for column in fixed_columns(model)} | {"id"}
        for sheet in sheets.values():
            if sheet_of(section) not in found and sheet.name not in taken and _is_headed(sheet, heads):
                found[sheet_of(section)] = sheet
                taken.add(sheet.name)
    ours = (ABOUT.casefold(), LISTS.casefold(), LONG.casefold())
    others = (name for name in sheets if name not in taken and name.casefold() not in ours)
    draft.skipped += [f"sheet {name}: not one of ours" for name in others]
    return {name: _grid(sheet, name, draft) for name, sheet in found.items()}


def _is_headed(sheet: Sheet, heads: Collection[str]) -> bool:
    return any({*heads} <= {folded(shown(value)) for value in row} for row in sheet.rows[:HEAD_ROWS])


def _with_long(book: Book) -> Book:
    """The same sheets with the texts that are too long for a cell in their places."""
    long = _by_name(book).get(LONG.casefold())
    if long is None:
        return book
    pieces: dict[str, list[tuple[int, str]]] = {}
    for row in long.rows[1:]:
        if len(row) > 2 and isinstance(row[1], int | float):
            pieces.setdefault(shown(row[0]), []).append((int(row[1]), decoded(row[2]) or ""))
    whole = {cell: "".join(text for _, text in sorted(parts)) for cell, parts in pieces.items()}

    def full(value: Value) -> Value:
        mark = LONG_CELL.fullmatch(value) if isinstance(value, str) and value.startswith("→") else None
        return whole.get(mark[1], value) if mark else value

    return {
        name: sheet if sheet is long else replace(sheet, rows=[[full(value) for value in row] for row in sheet.rows])
        for name, sheet in book.items()
    }


def _grid(sheet: Sheet, name: str, draft: Draft) -> Grid:
    """Finds the head row and takes the rows below it. Empty rows and repeated heads are passed over."""
    grid = Grid(sheet.name, name)
    head_row = _head_row(sheet, name)
    if head_row is None:
        if any(not is_blank(row) for row in sheet.rows):
            draft.refuse((sheet.name, 0, 0), sheet.value(0, 0), f"a head row with the column {ID}")
        return grid
    heads = [shown(value) for value in sheet.rows[head_row]]
    width = max((len(row) for row in sheet.rows[head_row:] if not is_blank(row)), default=0)
    for column in range(width):
        head = heads[column] if column < len(heads) else ""
        if head or any(column < len(row) and row[column] is not None for row in sheet.rows[head_row + 1 :]):
            grid.heads[column] = _unique(head or f"Column {cells.column_name(column)}", grid.heads.values())
    first = [value for value in heads if value]
    for number, row in enumerate(sheet.rows[head_row + 1 :], head_row + 1):
        texts = (text for text in map(shown, row) if text)
        if not is_blank(row) and (next(texts, "") != first[0] or [*texts] != first[1:]):
            grid.rows.append((number, row))
    return grid


def _unique(head: str, taken: Collection[str]) -> str:
    used, number, name = set(taken), 2, head
    while name in used:
        name, number = f"{head} ({number})", number + 1
    return name


def _head_row(sheet: Sheet, name: str) -> int | None:
    best, most = None, 0
    for number, row in enumerate(sheet.rows[:HEAD_ROWS]):
        heads = [shown(value) for value in row if value is not None]
        count = sum(is_own(name, head) for head in heads)
        if count > most and any(folded(head) == "id" for head in heads):
            best, most = number, count
    return best
