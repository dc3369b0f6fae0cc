"""Our own workbook: made to be worked in, and read back after somebody did."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from showvc.document import Problem, Show, ShowError
from showvc.document.references import HOMES, Known
from showvc.formats.tables import own
from showvc.formats.tables.cells import column_name, exact
from showvc.formats.tables.drafts import Draft
from showvc.formats.tables.layout import GRIDS, ID, LONG, Column, Table, is_grid_head, tables
from showvc.formats.tables.own_sheets import LISTS, About
from showvc.formats.tables.sheets import Progress, read_xlsx

MAX_COLUMNS, MAX_ROWS = 16_384, 1_048_576
"""The size of a sheet. Source: ECMA-376 readers, from memory."""

# A colour never stands alone: the cell says the same in a letter or a word.
_TALK_COLOURS = {"M": "#DDEBF7", "L": "#FCE4D6", "D": "#EADCF4", "O": "#F8CBAD"}
_CRITICAL = "#F4B6B6"
_HEAD = {"bold": True, "bg_color": "#333F4F", "font_color": "#FFFFFF", "border": 1, "text_wrap": True, "valign": "top"}


def write_workbook(show: Show, stamp: str | None, when: str) -> bytes:
    """The show as a workbook (.xlsx). `stamp` names the snapshot that it is of, `when` is an RFC 3339 time.

    ShowError when the show does not fit a sheet.
    """
    import xlsxwriter

    made = tables(show, stamp, when)
    _refuse_oversize(made)
    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(out, options) as workbook:
        sheets = _Sheets(workbook, _lists(show))
        for table in made:
            sheets.add(table)
        sheets.add_lists()
    return out.getvalue()


def _refuse_oversize(made: Sequence[Table]) -> None:
    for table in made:
        if len(table.heads) > MAX_COLUMNS or len(table.rows) >= MAX_ROWS:
            message = f"the sheet {table.name} would need {len(table.heads)} columns and {len(table.rows)} rows"
            raise ShowError([Problem(message, way_out="export a single document instead: NAME.show.yaml")])


def _lists(show: Show) -> Mapping[str, Sequence[str]]:
    """By what a column refers to: the ids that its cells offer."""
    known = Known(show)
    return {thing: sorted(known.ids(thing)) for thing in HOMES}


_NARROWEST, _WIDEST, _ARROW = 9, 40, 3  # letters; the arrow of a filter stands beside its head
_WRAPPED: Mapping[str, Mapping[str, int]] = {"About": {"Value": 60, "Explained": 100}, LONG: {"Text": 100}}
"""Sheets of text rather than of places: their columns that wrap, and how wide they are."""
_LINE = 15  # points


def _lines(table: Table, row: Sequence[Any]) -> int:
    """How many lines of text the row needs: a height is not made by the reader of a workbook until it is edited."""
    wide = _WRAPPED[table.name]
    cells = ((str(value), wide[head]) for head, value in zip(table.heads, row, strict=False) if value and head in wide)
    return max((sum(-(-len(line) // width) or 1 for line in text.split("\n")) for text, width in cells), default=1)


def _on_paper(sheet: Any, table: Table, frozen: int) -> None:
    """Printed as it is used: heads and names on every page, no empty columns of a grid, nothing cut off."""
    sheet.set_landscape()
    sheet.set_paper(9)  # A4
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    sheet.repeat_columns(0, frozen - 1)
    sheet.set_footer("&L&F, &A&RPage &P of &N")
    used = max((place for row in table.rows for place, value in enumerate(row) if value is not None), default=0)
    if table.name in GRIDS and table.rows:
        sheet.print_area(0, 0, len(table.rows), max(used, frozen))


class _Sheets:
    """Puts tables into a workbook, one sheet for each."""

    def __init__(self, workbook: Any, lists: Mapping[str, Sequence[str]]) -> None:
        self.workbook, self.lists = workbook, lists
        self.head = workbook.add_format(_HEAD)
        # A text cell shows and keeps what is typed: no number, no date, no formula is made of it.
        self.text = workbook.add_format({"num_format": "@", "valign": "top"})
        self.hot = workbook.add_format({"num_format": "@", "quote_prefix": True})
        self.long = workbook.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
        self.critical = workbook.add_format({"bg_color": _CRITICAL, "bold": True})
        self.talk = {letter: workbook.add_format({"bg_color": colour}) for letter, colour in _TALK_COLOURS.items()}

    def add(self, table: Table) -> None:
        sheet = self.workbook.add_worksheet(table.name)
        for column, (head, width) in enumerate(zip(table.heads, self._widths(table), strict=True)):
            sheet.set_column(column, column, width, self._format(table, head))
            sheet.write_string(0, column, head, self.head)
        for number, row in enumerate(table.rows, 1):
            for column, value in enumerate(row):
                if value is not None:
                    self._write(sheet, number, column, value)
            if table.name in _WRAPPED:
                sheet.set_row(number, _LINE * _lines(table, row))
        frozen = 2 if table.name in GRIDS and table.heads[:2] == (ID, "Name") else 1
        sheet.freeze_panes(1, frozen)
        _on_paper(sheet, table, frozen)
        if table.rows and table.name not in _WRAPPED:
            sheet.autofilter(0, 0, len(table.rows), len(table.heads) - 1)
        self._offers(sheet, table)
        self._colours(sheet, table)

    def _widths(self, table: Table) -> list[int]:
        """How wide each column is, in letters: what stands in it, within reason; room to write where nothing does."""
        if table.name in _WRAPPED:
            return [_WRAPPED[table.name].get(head, 22) for head in table.heads]
        longest = [max(_NARROWEST, len(head) + _ARROW) for head in table.heads]
        for row in table.rows:
            for place, value in enumerate(row):
                if value is not None:
                    longest[place] = max(longest[place], len(str(value)) + 1)
        return [min(width, _WIDEST) for width in longest]

    def _format(self, table: Table, head: str) -> Any:
        kind = table.columns[head].shape.kind if head in table.columns else "text"
        return None if kind == "number" else self.long if head in _WRAPPED.get(table.name, ()) else self.text

    def _write(self, sheet: Any, row: int, column: int, value: Any) -> None:
        if isinstance(value, bool):
            sheet.write_boolean(row, column, value)
        elif isinstance(value, int | float):
            if exact(value):
                sheet.write_number(row, column, value)
            else:
                sheet.write_string(row, column, repr(value))
        else:
            sheet.write_string(row, column, value, self.hot if value[:1] in _RUNS else None)

    def _offers(self, sheet: Any, table: Table) -> None:
        """Drop-downs, some rows past the end as well; only our own words are enforced, ids may be new."""
        last = len(table.rows) + 200
        for place, head in enumerate(table.heads):
            column = table.columns.get(head)
            source, strict = self._source(table.name, head, column)
            if source is not None:
                rule = {"validate": "list", "source": source, "show_error": strict, "ignore_blank": True}
                sheet.data_validation(1, place, last, place, rule)

    def _source(self, name: str, head: str, column: Column | None) -> tuple[Any, bool]:
        shape = column.shape if column is not None else None
        if shape is not None and (shape.choices or shape.kind == "flag"):
            return list(shape.choices) or ["yes", "no"], True
        if shape is not None and shape.to and shape.to in self.lists:
            return self._range(shape.to), False
        return (self._range("target"), False) if is_grid_head(name, head) else (None, False)

    def _range(self, name: str) -> str | None:
        count = len(self.lists[name])
        column = column_name(list(self.lists).index(name))
        return f"={LISTS}!${column}$2:${column}${count + 1}" if count else None

    def _colours(self, sheet: Any, table: Table) -> None:
        if table.name == "Channels" and table.rows:
            for letter, shade in self.talk.items():
                rule = {"type": "text", "criteria": "containing", "value": f" {letter}/", "format": shade}
                sheet.conditional_format(1, 1, len(table.rows) + 200, len(table.heads) - 1, rule)
        if "Critical" in table.heads and table.columns:
            place = table.heads.index("Critical")
            rule = {"type": "text", "criteria": "containing", "value": "yes", "format": self.critical}
            sheet.conditional_format(1, place, len(table.rows) + 200, place, rule)

    def add_lists(self) -> None:
        sheet = self.workbook.add_worksheet(LISTS)
        for column, (name, words) in enumerate(self.lists.items()):
            sheet.write_string(0, column, name, self.head)
            sheet.set_column(column, column, 20)
            for row, word in enumerate(words, 1):
                sheet.write_string(row, column, word)
        sheet.hide()  # the drop-downs live on it; nobody needs to see it


_RUNS = tuple("=+-@\t\r\n'＝＋－＠")


def read_workbook(data: bytes, file: str, progress: Progress | None = None) -> tuple[Show, About]:
    """The show that a workbook of ours holds, and what it says of itself.

    ShowError for a workbook that is not ours, is not safe to open, or holds a cell that cannot be read:
    then with every such cell.
    """
    draft, about = own.read_tables(read_xlsx(data, file), file, progress)
    return strict(draft, file), about


def strict(draft: Draft, file: str) -> Show:
    """The show of a draft; ShowError with each cell that could not be read."""
    show = own.show_of(draft)
    if draft.unread:
        raise ShowError(unread.problem(file) for unread in draft.unread)
    return show
