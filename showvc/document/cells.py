"""One value in one cell: how a field is written where there is room for a single text, and how such a text is read.

Columns of tables and `set` go by it. What a spreadsheet makes of a text is no concern of this.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from showvc.document.problems import near
from showvc.document.shapes import Shape, members

Steps = tuple[str, ...]

YES = frozenset(["yes", "y", "true", "x", "1", "✓", "on"])
NO = frozenset(["no", "n", "false", "0", "-", "off"])
ALTERNATIVE = " / "
"""Between carriers of which one is enough: `switch-deck, ups-1 / ups-2`."""


def cells_of(shape: Shape, steps: Steps = ()) -> Iterator[tuple[Steps, Shape]]:
    """Each place of a body that takes one cell: its single values, those of records within, and maps of amounts.

    Maps of records (channels, lines), a device's keys and `extra` are tables of their own.
    """
    for name, inner in shape.fields.items():
        if inner.kind == "record":
            yield from cells_of(inner, (*steps, name))
        elif inner.kind != "free" and (inner.kind != "map" or in_one_cell(inner)):
            yield (*steps, name), inner


def in_one_cell(shape: Shape) -> bool:
    """Whether a map is one of names to amounts or texts, which are written `watts: 240, slots: 3`."""
    item = shape.item
    return shape.kind == "map" and item is not None and item.kind in ("number", "text") and item.to is None


def cell_text(value: Any, shape: Shape) -> str:
    """The plain value of a field (as in a tree) in one cell; empty for what is absent."""
    if value is None:
        return ""
    if shape.kind == "flag":
        return "yes" if value else "no"
    if shape.kind == "set":
        return ", ".join(_member_text(member) for member in members(value))
    if shape.kind == "map" and shape.item is not None:
        return ", ".join(f"{_word(name)}: {_word(str(inner))}" for name, inner in sorted(value.items()))
    return json.dumps(value, ensure_ascii=False) if shape.kind == "free" else str(value)


def cell_value(text: str, shape: Shape) -> Any:
    """The plain value that a cell says. ValueError, with what is allowed, where it says none."""
    return _READERS[shape.kind](text, shape)


def _flag(text: str, shape: Shape) -> bool | None:
    word = text.strip().lower()
    if shape.default is None and word in ("", "?", "unknown"):
        return None
    if word not in YES and word not in NO:
        raise ValueError("true or false" + (", or nothing where it is unknown" if shape.default is None else ""))
    return word in YES


def _number(text: str, shape: Shape) -> int | float:
    low, high = shape.low, shape.high
    wanted = f"a {'whole ' if shape.whole else ''}number from {low} to {high}"
    plain = re.sub(r"\s*db$", "", text.strip(), flags=re.IGNORECASE).replace(",", ".").replace("−", "-")
    whole = re.fullmatch(r"[-+]?[0-9]{1,9}(\.0{1,30})?", plain)
    if not whole and (shape.whole or not re.fullmatch(r"[-+]?[0-9]{1,9}(\.[0-9]{1,30})?(e-[0-9]{1,3})?", plain)):
        raise ValueError(wanted)
    value = float(plain)
    if (low is not None and value < low) or (high is not None and value > high):
        raise ValueError(wanted)
    return int(value) if value == int(value) else value


def _text(text: str, shape: Shape) -> str:
    if not shape.choices:
        return text
    word = text.strip().lower().replace(" ", "-")
    if word not in shape.choices:
        allowed = f"allowed: {', '.join(shape.choices)}"
        raise ValueError("; ".join(filter(None, (allowed, near(word, shape.choices)))))
    return word


def _set(text: str, shape: Shape) -> list[Any]:
    if shape.to is None:
        return words_of(text)
    parts = [[name.strip() for name in part.split("/")] for part in words_of(text)]
    return [names[0] if len(names) == 1 else names for names in parts]


def _map(text: str, shape: Shape) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for part in _parts(text):
        pair = _PAIR.fullmatch(part)
        name, value = (_unquoted(side) for side in pair.groups()) if pair else ("", "")
        if pair is None or name in found or shape.item is None:
            raise ValueError("each name once with its value, such as: watts: 240, slots: 3")
        found[name] = cell_value(value, shape.item)
    return found


def _free(text: str, shape: Shape) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


_READERS: Mapping[str, Callable[[str, Shape], Any]] = {
    "text": _text,
    "notes": _text,
    "flag": _flag,
    "number": _number,
    "set": _set,
    "map": _map,
    "free": _free,
}

# --- words with commas between them ---

_QUOTED = r'"(?:[^"\\]|\\.)*"'
_PLAIN = re.compile(r"[^\s,;:\"→](?:[^,;:\"\n]*[^\s,;:\"])?")
_PART = re.compile(rf"((?:{_QUOTED}|[^,;\n\"])*)(?:[,;\n]|$)")
_PAIR = re.compile(rf"({_QUOTED}|[^:\"]+?)\s*:\s*({_QUOTED}|[^\"]+)")


def _parts(text: str) -> list[str]:
    """What stands between commas, semicolons and line breaks that are not within quotes."""
    found, place = [], 0
    while place < len(text):
        part = _PART.match(text, place)
        if not part:
            raise ValueError('words with commas between them, such as: rig, stage, "one, with a comma"')
        place = part.end()
        found += [part[1].strip()] * bool(part[1].strip())
    return found


def words_text(words: Iterable[str]) -> str:
    """A set of words in one cell: `rig, stage`; a word that would be misread stands in quotes."""
    return ", ".join(_word(word) for word in sorted(words))


def words_of(text: str) -> list[str]:
    """The words of such a cell."""
    return [_unquoted(part) for part in _parts(text)]


def _word(text: str) -> str:
    return text if _PLAIN.fullmatch(text) and text.isprintable() else json.dumps(text)


def _unquoted(text: str) -> str:
    if not text.startswith('"'):
        return text
    try:
        return str(json.loads(text))
    except ValueError:
        raise ValueError('a word in quotes ends with a quote, such as "one, with a comma"') from None


def _member_text(member: str | list[str]) -> str:
    return _word(member) if isinstance(member, str) else ALTERNATIVE.join(member)
