"""Single cells: what a spreadsheet made of what was typed, and text that no spreadsheet runs or rewrites."""

from __future__ import annotations

import datetime
import json
import re
from dataclasses import dataclass
from math import inf
from typing import Any

from showvc.document import Problem, Shape
from showvc.document.cells import cell_value


@dataclass(frozen=True, slots=True)
class Mangled:
    """A cell whose text the spreadsheet has replaced: what stands there now, and how that came."""

    shown: str
    why: str


Value = str | int | float | bool | Mangled | datetime.date | datetime.time | datetime.timedelta | None
"""One cell as read. Empty cells are None; text is never an empty string."""


@dataclass(frozen=True, slots=True)
class Unread:
    """A cell that could not be read: where it stands, what it holds, what is allowed there.

    `path` is the pointer that it would have filled, where that is known.
    """

    sheet: str
    cell: str
    value: str
    allowed: str
    path: tuple[str, ...] = ()

    def problem(self, file: str) -> Problem:
        message = f"sheet {self.sheet}, cell {self.cell}: {self.value!r} cannot be read"
        return Problem(message, file, way_out=self.allowed)


class Unreadable(ValueError):
    """Raised with what is allowed in a cell."""


LONG_NUMBER = 10**15
"""From here on a spreadsheet's numbers (IEEE 754 doubles, shown with 15 digits) lose digits."""

_AS_TEXT = "format the cell as text and type it again"


def cell_name(row: int, column: int) -> str:
    """The name of a cell whose row and column count from 0: (0, 27) → AB1."""
    return f"{column_name(column)}{row + 1}"


def column_name(column: int) -> str:
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def shown(value: Value) -> str:
    """A cell's content for a message, whatever it is."""
    if isinstance(value, Mangled):
        return value.shown
    try:
        return text_of(value)
    except Unreadable:
        return str(value)


def text_of(value: Value) -> str:
    """A cell as the text that was typed; Unreadable where the spreadsheet has thrown that away."""
    if value is None or isinstance(value, str):
        return value or ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return _number_text(value)
    if isinstance(value, Mangled):
        raise Unreadable(f"{value.why}; {_AS_TEXT}")
    raise Unreadable(f"the spreadsheet made a date or a time of what was typed; {_AS_TEXT}")


_TOO_LONG = "a number of more than 15 digits has lost its last ones"


def lost(value: Value) -> str | None:
    """How a cell came to say something else than what was typed; None where it says that."""
    if isinstance(value, Mangled):
        return value.why
    return _TOO_LONG if isinstance(value, int | float) and abs(value) >= LONG_NUMBER else None


def _number_text(value: int | float) -> str:
    if abs(value) >= LONG_NUMBER:
        raise Unreadable(f"{_TOO_LONG}; {_AS_TEXT}")
    return str(int(value)) if value == int(value) else repr(value)


def decoded(value: Value) -> str | None:
    """A cell of our own tables as text: None where empty; quoted text is unquoted."""
    if value is None:
        return None
    text = text_of(value)
    if len(text) > 1 and text[0] == text[-1] == '"':
        try:
            return str(json.loads(text))
        except ValueError:
            return text
    return text


_QUOTE_ANYWAY = ("json:", "→Long ")
_NO_XML = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")


def encoded(text: str) -> str:
    """Text for a cell of our own tables; what is empty, hidden or looks quoted stands in quotes.

    XML 1.0 has no place for control characters, surrogates and the last two of the basic plane.
    """
    quoted = text[:1] == text[-1:] == '"'
    if text and not quoted and not text.startswith(_QUOTE_ANYWAY) and not _NO_XML.search(text):
        return text
    return json_text(text)


def json_text(value: Any) -> str:
    """A JSON value in one line that any cell can hold."""
    return _NO_XML.sub(lambda found: f"\\u{ord(found[0]):04x}", json.dumps(value, ensure_ascii=False))


def from_json(value: Any) -> Value:
    """A JSON value of `extra` as a cell that says it exactly."""
    if isinstance(value, str):
        return encoded(value)
    if isinstance(value, bool):
        return value
    if isinstance(value, int) and abs(value) < LONG_NUMBER:
        return value
    if isinstance(value, float) and isinstance(_plain_number(repr(value)), float) and exact(value):
        return value
    return "json: " + json_text(value)


def exact(value: float) -> bool:
    """Whether a workbook's sixteen digits say this number."""
    return float(f"{value:.16G}") == value


def to_json(value: Value) -> Any:
    """The JSON value of a cell that no field of ours describes. Dates become their RFC 3339 text, spans `30:00:00`."""
    if isinstance(value, float) and abs(value) < LONG_NUMBER and value == int(value):
        return int(value)
    if value in (inf, -inf):
        return str(value)
    if value is None or isinstance(value, int | float):
        return value
    if isinstance(value, Mangled):
        return value.shown
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    if isinstance(value, datetime.timedelta):
        minutes, seconds = divmod(int(value.total_seconds()), 60)
        return f"{minutes // 60}:{minutes % 60:02}:{seconds:02}"
    if value.startswith("json:"):
        try:
            return json.loads(value[5:])
        except (ValueError, RecursionError):
            return value
    return decoded(value)


def field_value(value: Value, shape: Shape) -> Any:
    """The plain value of a field that a cell says, by the catalogue. Unreadable says what is allowed."""
    if isinstance(value, datetime.date) and shape.day:  # a spreadsheet's date says the same
        return value.isoformat()[: len("2026-12-04")]
    try:
        return cell_value(text_of(value), shape)
    except Unreadable as error:
        raise Unreadable(f"{shape.words}: {error}" if shape.words else str(error)) from None
    except ValueError as error:
        raise Unreadable(str(error)) from None


# What a spreadsheet runs (OWASP, "CSV Injection", from memory) and what it rewrites when it opens a text file.
_RUN = r"[=+\-@\t\r\n＝＋－＠]"
_NUMBERS = r"[0-9.,/: \-]+|[0-9.,]+\s?e[-+]?[0-9]+|true|false"
_DATES = r"[0-9]{1,4}[-/. ][a-z]{3,9}\.?([-/. ][0-9]{1,4})?|[a-z]{3,9}\.?[-/. ][0-9]{1,4}"
_TIMES = r"[0-9]{1,2}(:[0-9]{2})*\s?[ap]m?|[0-9.,]+\s?%|[$€£][0-9.,]+"
_GUARDED = re.compile(rf"'*({_RUN}.*|{_NUMBERS}|{_DATES}|{_TIMES})", re.IGNORECASE | re.DOTALL)
_REWRITTEN = (
    (re.compile(r"[0-9](\.[0-9]+)?E[-+][0-9]{2,3}"), "a spreadsheet made a power of ten of what was typed"),
    (re.compile(r"[0-9]{1,2}-(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)"), "a spreadsheet made a date of it"),
    (re.compile(r"(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)-[0-9]{2}"), "a spreadsheet made a date of it"),
    (re.compile(r"#(REF!|N/A|DIV/0!|VALUE!|NAME\?|NUM!|NULL!)"), "the formula behind it failed"),
)


def guarded(text: str) -> str:
    """Text for a text file: an apostrophe goes before what a spreadsheet would run or rewrite."""
    return "'" + text if _GUARDED.fullmatch(text) or _rewritten(text.lstrip("'")) else text


def unguarded(text: str) -> Value:
    """A field of a text file as a cell: the apostrophe of `guarded` is taken off, plain numbers are numbers.

    A number counts as one only where writing it again gives the same characters: `012` and `1.50` stay text.
    """
    if not text:
        return None
    if text[0] == "'" and (_GUARDED.fullmatch(text) or _rewritten(text.lstrip("'"))):
        return text[1:] or None
    if text in ("TRUE", "FALSE"):
        return text == "TRUE"
    return _rewritten(text) or _plain_number(text)


def _rewritten(text: str) -> Mangled | None:
    for pattern, why in _REWRITTEN:
        if pattern.fullmatch(text):
            return Mangled(text, why)
    return None


def _plain_number(text: str) -> Value:
    if re.fullmatch(r"-?(0|[1-9][0-9]{0,14})", text) and text != "-0":
        return int(text)
    if re.fullmatch(r"-?[0-9]{1,15}\.[0-9]{1,17}", text) and repr(float(text)) == text and float(text) % 1:
        return float(text)
    return text
