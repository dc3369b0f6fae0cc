"""Workbooks from strangers: measured and vetted before a reader sees them.

A workbook is a zip of XML files. The reader is handed a zip of our own making that holds exactly what was
checked here, so that no two readers of zips can disagree on what is inside.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cache
from typing import Any
from xml.parsers import expat

from showvc.document import Problem, ShowError
from showvc.formats.tables.cells import LONG_NUMBER, Mangled, cell_name

MAX_BYTES = 64 * 1024 * 1024
"""The largest file that is taken as a table."""
MAX_UNPACKED = 256 * 1024 * 1024
MAX_MEMBERS = 2_000
MAX_RATIO = 250
"""How many times its packed size a part may be, once it is larger than RATIO_FROM. Sheets pack 5 to 60 times."""
RATIO_FROM = 8 * 1024 * 1024
MAX_AREA = 6_000_000
"""Cells from the first to the last that is filled: readers keep room for every one of them."""

_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_PARTS = re.compile(r"(\[Content_Types\]\.xml|_rels/.*|xl/.*\.(xml|rels))")


def refused(file: str, message: str, way_out: str | None = None) -> ShowError:
    return ShowError([Problem(message, file, way_out=way_out)])


@dataclass(slots=True)
class Vetted:
    """What may be handed to a reader, and what the XML says that the reader leaves out.

    `odd` holds, for each part, the cells (row, column from 0) that stand for something else than their number.
    """

    data: bytes
    comments: int = 0
    """How many comments hang on cells."""
    odd: dict[str, dict[tuple[int, int], Any]] = field(default_factory=dict)


def vet(data: bytes, file: str) -> Vetted:
    """A workbook's bytes, safe to read. ShowError with one clear sentence for everything else."""
    if len(data) > MAX_BYTES:
        raise refused(file, f"is larger than {MAX_BYTES // 1024 // 1024} MiB", "is it really a plot?")
    _refuse_other_kinds(data, file)
    try:
        parts = _unpacked(data, file)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, OSError, RuntimeError):
        raise refused(file, "is damaged: it cannot be unpacked", "ask for it again, or save it anew") from None
    if "xl/workbook.xml" not in parts:
        raise refused(file, "is not a workbook (.xlsx)", "open it in a spreadsheet and save it as .xlsx")
    formats = _formats(parts.get("xl/styles.xml", b""), file)
    vetted = Vetted(_packed(parts))
    for name, part in parts.items():
        scan = _Scan(name, file, formats)
        scan.run(part)
        vetted.odd[name] = scan.odd
        vetted.comments += scan.comments
    return vetted


def _refuse_other_kinds(data: bytes, file: str) -> None:
    if data.startswith(_OLE):
        if "EncryptedPackage".encode("utf-16-le") in data:
            raise refused(file, "is protected by a password", "open it, take the password off, save it again")
        raise refused(file, "is an old .xls workbook, whatever its name says", "save it as .xlsx")
    if not data.startswith(b"PK\x03\x04"):
        raise refused(file, "is not a workbook (.xlsx)", "open it in a spreadsheet and save it as .xlsx")


def _unpacked(data: bytes, file: str) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        members = archive.infolist()
        if len(members) > MAX_MEMBERS or len({member.filename for member in members}) < len(members):
            raise refused(file, "holds too many parts, or one part twice", "save it anew in a spreadsheet")
        if sum(member.file_size for member in members) > MAX_UNPACKED:
            raise _too_large(file)
        if any(member.flag_bits & 1 for member in members):
            raise refused(file, "is protected by a password", "open it, take the password off, save it again")
        left = MAX_UNPACKED
        parts: dict[str, bytes] = {}
        for member in members:
            if _PARTS.fullmatch(member.filename):
                parts[member.filename] = _inflated(archive, member, left, file)
                left -= len(parts[member.filename])
        return parts


def _too_large(file: str) -> ShowError:
    size = MAX_UNPACKED // 1024 // 1024
    return refused(file, f"unpacks to more than {size} MiB, which no plot does", "do not open it: ask who sent it")


def _inflated(archive: zipfile.ZipFile, member: zipfile.ZipInfo, left: int, file: str) -> bytes:
    """A part, its actual size held against the limits. The zip's own check sum is held too (by zipfile)."""
    out = bytearray()
    with archive.open(member) as stream:
        while piece := stream.read(1 << 18):
            out += piece
            if len(out) > left or (len(out) > RATIO_FROM and len(out) > MAX_RATIO * max(member.compress_size, 1)):
                raise _too_large(file)
    if len(out) != member.file_size:
        raise zipfile.BadZipFile("a part is not as long as its header says")
    return bytes(out)


def _packed(parts: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return out.getvalue()


Handler = Callable[[str, dict[str, str]], None]
"""Takes an element's name, with its prefix if it has one, and its attributes."""


def parse_xml(part: bytes, file: str, start: Handler, where: str) -> None:
    """Runs `start` on every element. ShowError for a document type (so for every entity) and for broken XML."""
    parser = expat.ParserCreate()

    def doctype(*_: Any) -> None:
        raise refused(file, f"declares XML entities in {where}, which no plot needs", "do not open it: ask who sent it")

    parser.StartElementHandler = start
    parser.StartDoctypeDeclHandler = doctype
    try:
        parser.Parse(part, True)
    except (expat.ExpatError, LookupError, ValueError) as error:  # the last two: an encoding that is none, or not known
        raise refused(file, f"is damaged: {where} is no XML ({error})", "save it anew in a spreadsheet") from None


_CELL = re.compile("([A-Z]{1,3})([1-9][0-9]{0,6})").fullmatch


class _Scan:
    """One pass over a part: how far it reaches, and cells whose number is not what was typed."""

    def __init__(self, name: str, file: str, formats: Mapping[str, str]) -> None:
        self.name, self.file, self.formats = name, file, formats
        self.row = self.column = -1
        self.far = (0, 0)
        self.cell: tuple[int, int, str] | None = None
        self.kind = "n"
        self.odd: dict[tuple[int, int], Any] = {}
        self.comments = 0

    def run(self, part: bytes) -> None:
        parse_xml(part, self.file, self.start, self.name)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if ":" in name:
            name = name.rpartition(":")[2]
        if name == "v" or name == "is":  # noqa: PLR1714 - run for every cell
            if self.cell is not None:
                self._filled()
        elif name == "c":
            self._cell(attributes)
        elif name == "f" and self.cell is not None:
            self.cell = (*self.cell[:2], self.cell[2] if self.kind == "str" else f"={self.cell[2]}")
            self._filled()
        elif name == "comment":
            self.comments += 1
        elif name == "row":
            self.row = int(self._place("[1-9][0-9]{0,6}", attributes)[0]) - 1 if "r" in attributes else self.row + 1
            self.column = -1

    def _place(self, form: str, attributes: dict[str, str]) -> re.Match[str]:
        found = re.fullmatch(form, attributes["r"], re.ASCII)
        if not found:
            raise refused(self.file, f"is damaged: {attributes['r'][:20]!r} is no place in {self.name}", "save it anew")
        return found

    def _cell(self, attributes: dict[str, str]) -> None:
        self.column += 1
        if "r" in attributes:
            place = _CELL(attributes["r"]) or self._place("", attributes)
            self.column, self.row = _column_number(place[1]), int(place[2]) - 1
        self.kind = kind = attributes.get("t", "n")
        odd = "error" if kind == "e" else self.formats.get(attributes.get("s", ""), "") if kind == "n" else ""
        self.cell = (self.row, self.column, odd)

    def _filled(self) -> None:
        assert self.cell is not None
        row, column, odd = self.cell
        if odd:
            self.odd[row, column] = odd
        if row > self.far[0] or column > self.far[1]:
            self.far = (max(row, self.far[0]), max(column, self.far[1]))
            if (self.far[0] + 1) * (self.far[1] + 1) > MAX_AREA:
                raise refused(
                    self.file,
                    f"reaches out to cell {cell_name(row, column)} in {self.name}; no plot is that large",
                    "delete the stray cells, or copy the plot to a new workbook",
                )


@cache
def _column_number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - 64
    return number - 1


def _formats(styles: bytes, file: str) -> dict[str, str]:
    """Style numbers whose format shows other characters than the number's own: zeros in front, powers of ten, %."""
    codes: dict[str, str] = {"9": "0%", "10": "0.00%", "11": "0.00E+00", "48": "##0.0E+0"}
    used: list[str] = []
    inside = ""

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal inside
        name = name.rpartition(":")[2]
        if name in ("cellXfs", "cellStyleXfs", "dxfs", "numFmts", "fonts", "fills", "borders", "cellStyles"):
            inside = name
        if name == "numFmt" and inside == "numFmts":
            codes[attributes.get("numFmtId", "")] = attributes.get("formatCode", "")
        if name == "xf" and inside == "cellXfs":
            used.append(attributes.get("numFmtId", "0"))

    if styles:
        parse_xml(styles, file, start, "xl/styles.xml")
    odd = {}
    for number, code in enumerate(codes.get(key, "") for key in used):
        if re.fullmatch(r"00+|0(\.0+)?%", code) or "E+" in code.upper():
            odd[str(number)] = code
    return odd


def as_shown(value: Any, odd: str) -> Any:
    """A number as its cell shows it: `12` under the format `000` is `012`. `odd` of a formula begins with `=`."""
    how = odd.removeprefix("=")
    if how == "error":
        return Mangled("(error)", "the formula behind it failed")
    if value is None and odd != how:
        return Mangled("(formula)", "the formula was never worked out; open the file in a spreadsheet and save it")
    if not isinstance(value, float) or not how:
        return value
    if how.endswith("%"):
        return f"{(Decimal(repr(value)) * 100).normalize():f}%"
    if "E" in how.upper():
        return Mangled(f"{value:.2E}", "a spreadsheet made a power of ten of what was typed")
    return str(int(value)).zfill(len(how)) if 0 <= value < LONG_NUMBER and value == int(value) else value
