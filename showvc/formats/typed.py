"""A value from the command line, typed by the field that it is for."""

from __future__ import annotations

from typing import Any

from showvc.document import Problem, Shape, ShowError
from showvc.document.cells import cell_value, in_one_cell
from showvc.formats import nodes
from showvc.formats.reading import json_scalar, number, values


def value_of(text: str, shape: Shape, place: str) -> Any:
    """The plain value that `text` means at a place of this shape.

    A field's text is taken as it is written. A list may be `a, b` or `[a, b]`; fields are `{name: value}`, and such as
    one cell of a table takes them also `watts: 240, slots: 3`.
    ShowError where the text cannot be read.
    """
    if shape.kind == "number":
        return number(text)
    if shape.kind == "flag" or ((shape.kind == "set" or in_one_cell(shape)) and text.lstrip()[:1] not in ("[", "{")):
        try:
            return cell_value(text, shape)
        except ValueError as error:
            raise ShowError(f"{place}: found {text!r}", f"allowed: {error}") from None
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
