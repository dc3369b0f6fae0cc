"""The plain layout, in which nearly every file stands, read in one pass.

One entry a line, two spaces a level, no escapes. Anything else is left to the full reader;
the two never differ (a property test holds them together). Twice as quick as the full reader.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable
from functools import lru_cache
from typing import Any

from showvc.document import Body, Shape, Tree, shape_of
from showvc.formats.reading import TEXT, leaf_value

_NAME = r"""(?:[^\W_][\w#./*-]*|"[^"\\]*")"""
_SCALAR = r"""(?:-?[^\W_](?:[\w ./()'+&;°%@#-]*[\w./()'+&;°%@-])?|"[^"\\]*")"""
_LINE = re.compile(rf"( *)({_NAME}):(?: (.+))?")
_LEAF = re.compile(_SCALAR)
_FLAT_MAP = rf"\{{(?:{_NAME}: {_SCALAR}(?:, {_NAME}: {_SCALAR})*)?\}}"
_ITEMS = rf"{_SCALAR}(?:, {_SCALAR})*"
_ITEM = rf"(?:{_SCALAR}|\[{_ITEMS}\])"
_LIST = rf"\[(?:{_ITEM}(?:, {_ITEM})*)?\]"
_VALUE = rf"(?:{_SCALAR}|{_LIST}|{_FLAT_MAP})"
_FLOW_MAP = re.compile(rf"\{{(?:{_NAME}: {_VALUE}(?:, {_NAME}: {_VALUE})*)?\}}")
_FLOW_LIST = re.compile(_LIST)
_MEMBER = re.compile(_ITEM)
_ENTRY = re.compile(rf"({_NAME}): ({_VALUE})")
# Tabs, other line ends, and what no text may hold.
_ODD = re.compile("[^\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd]")
_MAX_LEVEL = 8


class _Unusual(Exception):
    """Something here is for the full reader."""


Made = Callable[[str, Shape], Any]
"""What stands in a line, from its text."""


def quick_values(text: str, shape: Shape) -> Tree | None:
    """The plain values of a text in the plain layout; None where anything in it is otherwise."""
    return _read(text, shape, _value)


def quick_bodies(text: str, shape: Shape) -> Tree | None:
    """The same with bodies for the records that stand in one line, such as a channel, equal lines being one body.

    Most channels of a large show are alike, so each different one is read and checked once.
    """
    return _read(text, shape, _body_or_value)


def _read(text: str, shape: Shape, made: Made) -> Tree | None:
    if not text.endswith("\n") or _ODD.search(text):
        return None
    try:
        return _tree(text, shape, made)
    except _Unusual:
        return None


def _tree(text: str, shape: Shape, made: Made) -> Tree:
    root: Tree = {}
    open_maps: list[tuple[Tree, Shape]] = [(root, shape)]
    opened = True
    lines = deque(text.split("\n"))
    while lines:
        line = lines.popleft()
        if not line or line.lstrip(" ").startswith("#"):
            continue
        level, name, value = _parts(line)
        if level >= len(open_maps) or (opened and level != len(open_maps) - 1):
            raise _Unusual
        del open_maps[level + 1 :]
        held, here = open_maps[level]
        if name in held:
            raise _Unusual
        inner = here.at(name) or TEXT
        opened = value is None
        if value is None:
            open_maps.append(({}, inner))
            held[name] = open_maps[-1][0]
        elif value in ("|", "|-"):
            held[name] = leaf_value(_block(lines, 2 * level + 2, value), True, inner)
        elif " #" in value:
            raise _Unusual
        else:
            held[name] = made(value, inner)
    if opened:
        raise _Unusual
    return root


def _block(lines: deque[str], indent: int, style: str) -> str:
    """The text of several lines that follows; what is left of it stays in `lines`."""
    pad, found = " " * indent, []
    while lines and (not lines[0] or lines[0].startswith(pad)):
        found.append(lines.popleft()[indent:])
    while found and not found[-1]:
        found.pop()
    deeper = bool(lines) and lines[0].startswith(" " * (indent - 1))
    if not found or not found[0].strip() or found[0].startswith(" ") or deeper:
        raise _Unusual
    return "\n".join(found) + ("\n" if style == "|" else "")


def _parts(line: str) -> tuple[int, str, str | None]:
    found = _LINE.fullmatch(line)
    if found is None:
        raise _Unusual
    spaces, name, value = found.groups()
    if len(spaces) % 2 or len(spaces) > 2 * _MAX_LEVEL:
        raise _Unusual
    return len(spaces) // 2, name.strip('"'), value


def _body_or_value(text: str, shape: Shape) -> Any:
    return _body(text, shape.model) if text[0] == "{" and shape.model is not None else _value(text, shape)


@lru_cache(maxsize=2**16)
def _body(text: str, model: type[Body]) -> Body:
    try:
        return model.model_validate(_value(text, shape_of(model)))
    except ValueError:  # the full reader tells what is wrong, and where
        raise _Unusual from None


def _value(text: str, shape: Shape) -> Any:
    if text[0] == "{" and _FLOW_MAP.fullmatch(text):
        pairs = [(name.strip('"'), inner) for name, inner in _ENTRY.findall(text)]
        made = {name: _value(inner, shape.at(name) or TEXT) for name, inner in pairs}
        if len(made) < len(pairs):
            raise _Unusual
        return made
    if text[0] == "[" and _FLOW_LIST.fullmatch(text):
        item = shape if shape.kind == "free" else TEXT
        return [_value(inner, item) for inner in _MEMBER.findall(text[1:-1])]
    if not _LEAF.fullmatch(text):
        raise _Unusual
    return _leaf(text, shape)


def _leaf(text: str, shape: Shape) -> Any:
    return leaf_value(text[1:-1], True, shape) if text[0] == '"' else leaf_value(text, False, shape)
