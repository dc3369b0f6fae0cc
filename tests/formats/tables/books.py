"""Workbooks for tests, made by hand: from plain rows, and with parts replaced by hostile ones."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import xlsxwriter


def workbook(sheets: Mapping[str, Sequence[Sequence[Any]]], merge: Sequence[tuple[str, str, Any]] = ()) -> bytes:
    """A workbook of these rows. `merge` holds (sheet, range, value). A value may be (value, number format)."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"strings_to_formulas": False}) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name)
            for line, row in enumerate(rows):
                for column, value in enumerate(row):
                    shape = book.add_format({"num_format": value[1]}) if isinstance(value, tuple) else None
                    bare = value[0] if isinstance(value, tuple) else value
                    if bare is not None:
                        sheet.write(line, column, bare, shape)
            for where, area, value in merge:
                if where == name:
                    sheet.merge_range(area, value)
    return out.getvalue()


def edited(data: bytes, part: str, change: Callable[[bytes], bytes]) -> bytes:
    """The same workbook with one of its parts changed."""
    source, out = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name in source.namelist():
            found = source.read(name)
            target.writestr(name, change(found) if name == part else found)
    return out.getvalue()


def rows_of(data: bytes) -> dict[str, list[list[Any]]]:
    """The rows of every sheet of a workbook, as the reader gives them."""
    from showvc.formats.tables.sheets import read_xlsx

    return {name: [list(row) for row in sheet.rows] for name, sheet in read_xlsx(data, "show.xlsx").items()}
