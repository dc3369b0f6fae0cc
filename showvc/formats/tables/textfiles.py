"""The same tables as a folder of text files, one for each sheet (RFC 4180)."""

from __future__ import annotations

from collections.abc import Mapping

from showvc.document import Show
from showvc.formats.tables import own
from showvc.formats.tables.layout import tables
from showvc.formats.tables.opening import MAX_BYTES, refused
from showvc.formats.tables.own_sheets import About
from showvc.formats.tables.sheets import Sheet, read_text_table, write_text_table
from showvc.formats.tables.workbook import strict

SUFFIX = ".csv"


def write_csv(show: Show, stamp: str | None = None, when: str = "") -> dict[str, bytes]:
    """The show as text tables: file name → bytes (`Users.csv` …), UTF-8 with a byte order mark."""
    return {table.name + SUFFIX: write_text_table([table.heads, *table.rows]) for table in tables(show, stamp, when)}


def csv_book(files: Mapping[str, bytes], file: str) -> dict[str, Sheet]:
    """Text tables as sheets, each named by its file without the ending. ShowError with the file's name."""
    if sum(map(len, files.values())) > 4 * MAX_BYTES:
        raise refused(file, "holds more than any plot does")
    book = {}
    for name, data in files.items():
        stem = name.rpartition("/")[2]
        if stem.lower().endswith((SUFFIX, ".tsv", ".txt")):
            sheet = stem.rpartition(".")[0]
            book[sheet] = read_text_table(data, f"{file}/{name}" if file else name, sheet)
    return book


def read_csv(files: Mapping[str, bytes], file: str) -> tuple[Show, About]:
    """The show that a folder of our text tables holds, and what it says of itself. ShowError as for a workbook."""
    draft, about = own.read_tables(csv_book(files, file), file)
    return strict(draft, file), about
