"""A value from the command line, typed by the field that it is for."""

from __future__ import annotations

from typing import Any

from showvc.document import Problem, Shape, ShowError
from showvc.formats import nodes
from showvc.formats.reading import json_scalar, number, values


def value_of(text: str, shape: Shape, place: str) -> Any:
    """The plain value that `text` means at a place of this shape.

    A field's text is taken as it is written. A list may be `a, b` or `[a, b]`; fields are `{name: value}`.
    ShowError where the text cannot be read.
    """
    if shape.kind == "number":
        return number(text)
    if shape.kind == "flag":
        return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower(), text)
    if shape.kind == "set" and not text.lstrip().startswith("["):
        return sorted({word.strip() for word in text.split(",") if word.strip()})
    if shape.kind in ("record", "map", "set", "free"):
        return _structured(text, shape, place)
    return text


def _structured(text: str, shape: Shape, place: str) -> Any:
    node, problems = nodes.parse(text, place)
    if problems or node is None:
        raise ShowError(problems or [Problem(f"{place}: a value is wanted")])
    if isinstance(node, nodes.Scalar):
        if shape.kind == "free":
            return node.text if node.quoted else json_scalar(node.text)
        raise ShowError(f"{place}: found {text!r}", "write its fields so: {number: 5, talk: latch}")
    return values(node, shape)
