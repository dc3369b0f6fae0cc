"""Every table of rows, from workbooks and text files, in one plain form."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from showvc.document import Problem, ShowError
from showvc.formats.tables.cells import Mangled, Value, unguarded
from showvc.formats.tables.opening import MAX_AREA, MAX_BYTES, Vetted, as_shown, parse_xml, refused, vet

Progress = Callable[[int, int], None]
"""Is told how many rows are read, and of how many."""

R = TypeVar("R")


NOT_KEPT = "They are not kept: what matters in them belongs in a column"


class Count:
    """Counts the rows of several tables while they are read, for `progress`."""

    def __init__(self, total: int, progress: Progress | None) -> None:
        self.done, self.total, self.progress = 0, total, progress

    def of(self, rows: Iterable[R]) -> Iterator[R]:
        for row in rows:
            yield row
            self.done += 1
            if self.progress:
                self.progress(self.done, self.total)


Row = list[Value]
Spans = Sequence[tuple[tuple[int, int], tuple[int, int]]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A named table. Rows may differ in length; `merged` holds ((row, column), (row, column)), both inclusive."""

    name: str
    rows: Sequence[Row]
    merged: Spans = ()

    def value(self, row: int, column: int) -> Value:
        cells = self.rows[row] if row < len(self.rows) else []
        return cells[column] if column < len(cells) else None


Book = Mapping[str, Sheet]


def is_blank(row: Row) -> bool:
    return all(value is None or (isinstance(value, str) and not value.strip()) for value in row)


def read_xlsx(data: bytes, file: str) -> Book:
    """All sheets of a workbook. ShowError for what is none, or is not safe to open.

    A cell merged over several rows stands in each of them; merged over columns it stands in the first alone.
    """
    return read_xlsx_noted(data, file)[0]


def read_xlsx_noted(data: bytes, file: str) -> tuple[Book, tuple[str, ...]]:
    """As `read_xlsx`, and a sentence of what in the workbook is not read."""
    vetted = vet(data, file)
    notes = (f"comments on cells: {vetted.comments}. {NOT_KEPT}",) if vetted.comments else ()
    try:
        return _read_vetted(vetted, file), notes
    except ShowError:
        raise
    except BaseException as error:
        # The reader is a compiled one: where it gives up on odd XML, its panic is no Exception.
        if not isinstance(error, Exception) and type(error).__name__ != "PanicException":
            raise
        found = str(error).splitlines()[0][:200] if str(error) else type(error).__name__
        raise refused(file, f"cannot be read as a workbook: {found}", "save it anew in a spreadsheet") from None


def _read_vetted(vetted: Vetted, file: str) -> Book:
    from python_calamine import CalamineWorkbook

    workbook = CalamineWorkbook.from_filelike(io.BytesIO(vetted.data))
    parts = _part_names(vetted.data, file)
    book: dict[str, Sheet] = {}
    area = 0
    if len(workbook.sheet_names) > MAX_SHEETS:
        raise refused(
            file, f"holds {len(workbook.sheet_names)} sheets, which no plot does", "copy the plot to a new one"
        )
    for name in workbook.sheet_names:
        found = workbook.get_sheet_by_name(name)
        area += (found.total_height + 1) * (found.total_width + 1)  # they count from 0
        if area > MAX_AREA:  # small files may say one large sheet under many names
            raise refused(file, "holds more cells than any plot does", "copy the plot to a new workbook")
        rows = found.to_python(skip_empty_area=False) if found.height else []
        merged = _merged(found.merged_cell_ranges or (), len(rows), file)
        book[name] = _sheet(name, rows, vetted.odd.get(parts.get(name, ""), {}), merged)
    return book


MAX_SHEETS = 500
MAX_MERGED = 2_000_000


def _merged(spans: Spans, height: int, file: str) -> Spans:
    if sum(max(0, min(bottom, height) - top) for (top, _), (bottom, _) in spans) > MAX_MERGED:
        raise refused(file, "merges more cells than any plot does", "save it anew without merged cells")
    return spans


_NO_NUMBER = Mangled("NaN", "it is no number")


def _sheet(name: str, found: Any, odd: Mapping[tuple[int, int], str], merged: Spans) -> Sheet:
    rows: list[Row] = [
        [None if value == "" else value if value == value else _NO_NUMBER for value in row]  # noqa: PLR0124 - NaN
        for row in found
    ]
    for (line, place), how in odd.items():
        rows += [[] for _ in range(line + 1 - len(rows))]
        rows[line] += [None] * (place + 1 - len(rows[line]))
        rows[line][place] = as_shown(rows[line][place], how)
    for (top, left), (bottom, _) in merged:
        for line in range(top + 1, min(bottom + 1, len(rows))):
            if left < min(len(rows[line]), len(rows[top])) and rows[line][left] is None:
                rows[line][left] = rows[top][left]
    return Sheet(name, rows, tuple(merged))


def _part_names(data: bytes, file: str) -> dict[str, str]:
    """Which part of the zip holds which sheet, by the workbook's own list."""
    import zipfile

    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        known = set(archive.namelist())
        targets: dict[str, str] = {}
        sheets: dict[str, str] = {}

        def relation(name: str, attributes: dict[str, str]) -> None:
            if name.endswith("Relationship"):
                target = attributes.get("Target", "")
                targets[attributes.get("Id", "")] = target[1:] if target.startswith("/") else f"xl/{target}"

        def sheet(name: str, attributes: dict[str, str]) -> None:
            if name.rpartition(":")[2] == "sheet":
                link = next((value for key, value in attributes.items() if key.endswith(":id")), "")
                sheets[attributes.get("name", "")] = targets.get(link, "")

        for part, handler in (("xl/_rels/workbook.xml.rels", relation), ("xl/workbook.xml", sheet)):
            if part in known:
                parse_xml(archive.read(part), file, handler, part)
    return sheets


def read_text_table(data: bytes, file: str, name: str = "") -> Sheet:
    """A text file of separated fields (RFC 4180; separators `,` `;` tab; UTF-8, UTF-16 with a mark, Windows-1252)."""
    text = decode_text(data, file)
    head, _, rest = text.partition("\n")
    told = re.fullmatch(r"sep=(.)\r?", head)
    separator = told[1] if told else separator_of(text)
    reader = csv.reader(io.StringIO(rest if told else text, newline=""), delimiter=separator, strict=True)
    rows: list[Row] = []
    try:
        for fields in reader:
            rows.append([unguarded(value) for value in fields])
    except csv.Error as error:
        line = reader.line_num + (1 if told else 0)
        found = Problem(f"is not readable as a table: {error}", file, line, way_out="look at the quotes in this line")
        raise ShowError([found]) from None
    return Sheet(name or file, rows)


def decode_text(data: bytes, file: str) -> str:
    """Text of a table or tree in any of the encodings that the trade's exports come in."""
    if len(data) > MAX_BYTES:
        raise refused(file, f"is larger than {MAX_BYTES // 1024 // 1024} MiB", "is it really a plot?")
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return data.decode("utf-16")
        try:
            return data.decode("utf-8-sig")
        except UnicodeDecodeError:
            return data.decode("cp1252")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        message = "is neither UTF-8 nor Windows-1252 text"
        raise ShowError([Problem(message, file, line, way_out="save it as UTF-8")]) from None


def separator_of(text: str) -> str:
    """The separator that stands most often, and as often in each of the first lines, outside quotes."""
    bare = re.sub(r'"(?:[^"]|"")*"', "", text[:200_000])
    lines = [line for line in bare.splitlines() if line.strip(" ")][:30]
    if not lines:
        return ","

    def worth(separator: str) -> tuple[int, int]:
        counts = [line.count(separator) for line in lines]
        usual = max(set(counts), key=lambda count: (counts.count(count), count))
        return (counts.count(usual) * min(usual, 1), usual)

    return max((",", ";", "\t"), key=worth)


def write_text_table(rows: Sequence[Sequence[Any]], separator: str = ",") -> bytes:
    """RFC 4180: lines end with CR LF, quotes where needed. A byte order mark, so that spreadsheets read UTF-8."""
    from showvc.formats.tables.cells import guarded

    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=separator, lineterminator="\r\n")
    for row in rows:
        writer.writerow([_field(value, guarded) for value in row])
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def _field(value: Any, guarded: Callable[[str], str]) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, Mangled):
        return value.shown
    return guarded(value) if isinstance(value, str) else repr(value)


def write_plain_workbook(grids: Mapping[str, Sequence[Sequence[Any]]]) -> bytes:
    """Rows by the name of their sheet as a workbook; text stays text, whatever it looks like."""
    import xlsxwriter

    out = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(out, options) as book:
        text = book.add_format({"num_format": "@", "quote_prefix": True})
        for name, rows in grids.items():
            sheet = book.add_worksheet(name[:31])
            for line, row in enumerate(rows):
                for column, value in enumerate(row):
                    if isinstance(value, str) and value:
                        sheet.write_string(line, column, value, text if value[:1] in tuple("=+-@\t'") else None)
                    elif value is not None and value != "":
                        sheet.write(line, column, value)
    return out.getvalue()
