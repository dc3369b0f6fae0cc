"""Text that lines up in columns, whatever its letters: on a terminal, in a mail, on paper."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Sequence
from datetime import datetime

from showvc.document.visible import JOINERS, escaped, visible

CUT = "…"


def printable(text: str) -> str:
    """The text with everything escaped that would move a terminal's cursor or garble a line; `extra` may hold it."""
    if text.isprintable():
        return text
    return "".join(char if char.isprintable() or char in JOINERS else escaped(char) for char in text)


def counted(count: int, what: str) -> str:
    """`1 edit`, `3 edits`."""
    return f"{count} {what}{'' if count == 1 else 's'}"


def when_words(when: str) -> str:
    """An RFC 3339 time to the minute, as it was on the clock where it was taken."""
    return when[:16].replace("T", " ")


def clock_words(when: str, now: datetime | None = None) -> str:
    """The same, without the date where it is today's."""
    today = (now or datetime.now().astimezone()).isoformat()[:10]
    return when[11:16] if when[:10] == today else when_words(when)


def columns(text: str) -> int:
    """How many columns a text takes: two for wide letters, none for accents that stand on another letter.

    Source of the widths: Unicode Standard Annex 11, East Asian Width.
    """
    if text.isascii():
        return len(text)
    return sum(_columns(char) for char in text)


def _columns(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1


def cut(text: str, width: int) -> str:
    """The text in at most `width` columns; what was left out shows as `…`."""
    if columns(text) <= width:
        return text
    kept = ""
    for char in text:
        if columns(kept) + _columns(char) > width - 1:
            break
        kept += char
    return kept.rstrip() + CUT


def padded(text: str, width: int) -> str:
    """The text in exactly `width` columns."""
    shown = cut(text, width)
    return shown + " " * (width - columns(shown))


def wrapped(text: str, width: int, most: int | None = None) -> list[str]:
    """The text in lines of at most `width` columns, broken between words where it can be.

    With `most`, never more lines than that: the last one then ends with `…`.
    """
    lines: list[str] = []
    rest = text.strip()
    while rest and (most is None or len(lines) < most):
        last = most is not None and len(lines) == most - 1
        line = cut(rest, width) if last else _line(rest, width)
        lines.append(line)
        rest = "" if last else rest[len(line) :].strip()
    return lines or [""]


def _line(text: str, width: int) -> str:
    if columns(text) <= width:
        return text
    end, taken = 0, 0
    while end < len(text) and (taken + _columns(text[end]) <= width or end == 0):
        taken += _columns(text[end])
        end += 1
    space = text.rfind(" ", 0, end + 1)
    return text[:space].rstrip() if space > 0 else text[:end]


def lined_up(rows: Sequence[Sequence[str]], right: Collection[int] = ()) -> list[str]:
    """Lines with the cells of each column below each other, to the left but for the columns named in `right`."""
    rows = [list(map(visible, row)) for row in rows]  # as they will be printed, so that they are measured so
    widths = [max(map(columns, cells)) for cells in zip(*rows, strict=True)]
    return [
        "  ".join(_cell(text, widths[place], place in right) for place, text in enumerate(row)).rstrip() for row in rows
    ]


def _cell(text: str, width: int, right: bool) -> str:
    room = " " * (width - columns(text))
    return room + text if right else text + room


def table(head: Sequence[str], rows: Sequence[Sequence[str]], widest: int = 40) -> list[str]:
    """Lines of a table under a ruled head; no column is wider than `widest`, and the last is left as it is."""
    if not rows:
        return []
    widths = [
        min(widest, max(columns(row[place]) for row in (head, *rows))) if place < len(head) - 1 else None
        for place in range(len(head))
    ]
    ruled = ["-" * (width or columns(head[-1])) for width in widths]
    return [_row(row, widths) for row in (head, ruled, *rows)]


def _row(cells: Sequence[str], widths: Sequence[int | None]) -> str:
    shown = [cell if width is None else padded(cell, width) for cell, width in zip(cells, widths, strict=True)]
    return "  ".join(shown).rstrip()
