"""What the cells of other people's files mean: codes, keys, numbers, lines, and the fields that they fill."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from showvc.document import Shape
from showvc.formats.tables.cells import Unreadable, Value, field_value, shown, text_of
from showvc.formats.tables.mapping import MappedTable, pattern
from showvc.formats.tables.plots import Cell
from showvc.identity.names import folded


def meaning(table: MappedTable, word: str, value: Value) -> Value:
    """What a cell means by the mapping's codes; itself where they say nothing."""
    codes = table.codes.get(word)
    if not codes or value is None:
        return value
    said = shown(value)
    if said in codes:
        return codes[said]
    said = folded(said)
    return next((meaning for code, meaning in codes.items() if folded(code) == said), value)


def text_in(table: MappedTable, said: Mapping[str, Cell], word: str) -> str:
    """The text of a field of a row, by the mapping's codes; empty where there is none, or none that can be read."""
    try:
        return one_line(text_of(meaning(table, word, said[word][0]))) if word in said else ""
    except Unreadable:
        return ""


def name_in(table: MappedTable, word: str, value: Value) -> str:
    """The name that a cell points with, its spaces evened. Unreadable for a cell that failed."""
    return " ".join(text_of(meaning(table, word, value)).split())


@lru_cache(maxsize=4096)
def parts_across(says: str, text: str) -> tuple[tuple[str, str], ...]:
    """A cell across by its pattern: `LX (TL)` under `{target} ({mode})`."""
    text = text.strip()
    found = pattern(says).fullmatch(text) if len(text) <= 200 else None
    if not found:
        raise Unreadable(f"a cell such as {says}")
    return tuple((word.replace("__", "-"), part.strip()) for word, part in found.groupdict().items())


def key_of(text: str) -> str:
    """A key's name: `A1`, `a 1`, or `1` on the first page."""
    found = re.fullmatch(r"([A-Za-z]?)\s*0*([1-9][0-9]{0,2})", text.strip())
    if not found:
        raise Unreadable("a key: a page letter and a number, such as A1 or B15; a number alone is of page A")
    return f"{(found[1] or 'A').upper()}{found[2]}"


def number_of(value: Value) -> int:
    found = re.fullmatch(r"\D{0,8}?\s*0*([1-9][0-9]{0,2})", text_of(value).strip())
    if not found:
        raise Unreadable("a channel's number, 1 to 999")
    return int(found[1])


def extra_key(table: str, head: str, first: str) -> str:
    """The field of `extra` for a column: its head; with the table's name where it is not the first of its kind."""
    return head if table == first else f"{table}: {head}"


def one_line(text: str) -> str:
    """Text without the line breaks that only make it fit a narrow column."""
    return re.sub(r"\s*[\r\n]+\s*", " ", text.strip())


def plain_text(value: Value) -> str | None:
    return one_line(text_of(value)) or None


def read_field(value: Value, shape: Shape | None) -> Any:
    """The plain value of a field that a cell says."""
    if shape is not None and shape.kind == "notes":
        return text_of(value)
    if shape is None or (shape.kind == "text" and not shape.choices and not shape.day):
        return plain_text(value)
    return field_value(value, shape)


def names_in(value: Any) -> list[str]:
    """The names in a plain value that refers to something: one, or those of a set."""
    if isinstance(value, str):
        return [" ".join(value.split())]
    return [name for member in value or () for name in names_in(member)]
