"""What the cells of other people's files mean: codes, keys, numbers, lines, and the fields that they fill."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from typing import Any, get_args

from showvc.document.bodies import BridgeKind, Direction, Listen, Priority, Talk
from showvc.formats.tables import cells
from showvc.formats.tables.cells import Unreadable, Value, shown, text_of
from showvc.formats.tables.lines import LINE_LABELS, LINES
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
    return tuple((word, part.strip()) for word, part in found.groupdict().items())


def line_of(text: str) -> str | None:
    """The line that a word names, by its id or its usual label."""
    word = folded(text)
    return next((line for line in LINES if word in (line, LINE_LABELS[line].casefold())), None)


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


def _words(words: Sequence[str]) -> Callable[[Value], str]:
    return lambda value: cells.choice(value, words)


def one_line(text: str) -> str:
    """Text without the line breaks that only make it fit a narrow column."""
    return re.sub(r"\s*[\r\n]+\s*", " ", text.strip())


def plain_text(value: Value) -> str | None:
    return one_line(text_of(value)) or None


CHANNEL_READERS: Mapping[str, Callable[[Value], Any]] = {
    "talk": _words(get_args(Talk)),
    "listen": _words(get_args(Listen)),
    "priority": _words(get_args(Priority)),
    "level": cells.decibel,
    "label": plain_text,
}
_THING_READERS: Mapping[tuple[str, str], Callable[[Value], Any]] = {
    ("groups", "critical"): cells.flag,
    ("groups", "tags"): lambda value: cells.tags_of(text_of(value)),
    ("bridges", "kind"): _words(get_args(BridgeKind)),
    ("bridges", "direction"): _words(get_args(Direction)),
    ("bridges", "port"): lambda value: cells.whole(value, 1, 999),
}


def reader_of(section: str, word: str) -> Callable[[Value], Any]:
    return _THING_READERS.get((section, word), plain_text)
