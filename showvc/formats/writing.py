"""Bodies to canonical YAML text. The layout is ours; what a scalar needs in quotes, YAML's rules say."""

from __future__ import annotations

import json
import re
from functools import lru_cache
from typing import Any

from showvc.document import SECTIONS, Shape
from showvc.document.cells import in_one_cell

# What YAML 1.1 (types repository) and 1.2 (core schema) readers take for something else than text.
_WORDS = frozenset({"y", "n", "yes", "no", "on", "off", "true", "false", "null"})
_GUESSED = re.compile(
    r"""[-+]?(0b[01_]+|0o?[0-7_]+|[0-9][0-9_]*|0x[0-9a-f_]+)
      | [-+]?(\.[0-9_]+|[0-9][0-9_]*(\.[0-9_]*)?)(e[-+]?[0-9]+)?
      | [-+]?[0-9][0-9_]*(:[0-5]?[0-9])+(\.[0-9_]*)?
      | [0-9]{4}-[0-9]{1,2}-[0-9]{1,2}.*""",
    re.VERBOSE | re.IGNORECASE,
)
_INSIDE = frozenset(" _-./()'+&;°%#@")


@lru_cache(maxsize=4096)
def scalar(text: str) -> str:
    """Text as a YAML scalar: plain where every reader takes it for text, else in double quotes."""
    return text if _plain(text) else quoted(text)


def quoted(text: str) -> str:
    escaped = json.dumps(text, ensure_ascii=False)
    return "".join(char if _printable(char) else f"\\u{ord(char):04x}" for char in escaped)


def _printable(char: str) -> bool:
    code = ord(char)
    if code < 0xA0:
        return 0x20 <= code < 0x7F
    return code not in (0x2028, 0x2029, 0xFEFF, 0xFFFE, 0xFFFF) and not 0xD800 <= code < 0xE000


def _plain(text: str) -> bool:
    if not text or not text[0].isalnum() or text[-1] in " #" or " #" in text:
        return False
    if not all(char.isalnum() or char in _INSIDE for char in text):
        return False
    return text.lower() not in _WORDS and not _GUESSED.fullmatch(text)


def value_text(value: Any) -> str:
    """A leaf in one line: text, number, flag, list, and within `extra` any JSON value."""
    if isinstance(value, str):
        return scalar(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{scalar(name)}: {value_text(inner)}" for name, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(value_text(inner) for inner in value) + "]"
    return number_text(value) if isinstance(value, float) else json.dumps(value)


def number_text(value: float) -> str:
    """A number as JSON and both versions of YAML read it: 1.1 wants a dot before an exponent."""
    text = repr(value)
    return text.replace("e", ".0e") if "e" in text and "." not in text else text


def entry(name: str, value: Any, shape: Shape, indent: int) -> list[str]:
    """The lines of `name: value` in canonical layout, without line ends."""
    pad, key = " " * indent, scalar(name)
    if shape.kind == "notes" and "\n" in value:
        return _notes(pad, key, value)
    if isinstance(value, dict) and value and not _in_line(shape):
        inner = [line for child in value for line in entry(child, value[child], shape.at(child) or shape, indent + 2)]
        return [f"{pad}{key}:", *inner]
    return [f"{pad}{key}: {value_text(value)}"]


def _in_line(shape: Shape) -> bool:
    """Records of scalars (a channel, the limits, a kind with what it needs) take one line; things with more do not."""
    if shape.model in SECTIONS.values():
        return not any(inner.kind in ("map", "record") for inner in shape.fields.values())
    return shape.kind == "record" and all(
        inner.kind != "record" and (inner.kind != "map" or in_one_cell(inner)) for inner in shape.fields.values()
    )


def _notes(pad: str, key: str, text: str) -> list[str]:
    lines = text.split("\n")
    awkward = lines[0][:1] in (" ", "\t", "") or any(not all(map(_printable, line)) for line in lines)
    if awkward or text.endswith("\n\n") or any(line != line.rstrip() for line in lines):
        return [f"{pad}{key}: {quoted(text)}"]
    chomp = "|" if text.endswith("\n") else "|-"
    body = lines[:-1] if text.endswith("\n") else lines
    return [f"{pad}{key}: {chomp}", *(f"{pad}  {line}" if line else "" for line in body)]


def document(tree: dict[str, Any], shape: Shape) -> str:
    """A whole file in canonical form: one entry after the other, each line ended by a line feed."""
    lines = [line for name in tree for line in entry(name, tree[name], shape.fields[name], 0)]
    return "".join(line + "\n" for line in lines) or "{}\n"
