"""Nodes to bodies: every scalar typed by its field, every problem told with its place."""

from __future__ import annotations

import re
from typing import Any, TypeVar

from pydantic import ValidationError

from showvc.document import Body, Problem, Shape, shape_of
from showvc.document.refusals import refusals
from showvc.formats.nodes import Mapping, Node, Scalar, Sequence
from showvc.formats.writing import number_text

B = TypeVar("B", bound=Body)

_INTEGER = re.compile(r"-?(0|[1-9][0-9]{0,299})")
_DECIMAL = re.compile(r"-?(0|[1-9][0-9]{0,15})\.[0-9]{1,15}")
_FLOAT = re.compile(r"-?(0|[1-9][0-9]{0,299})(\.[0-9]{1,300})?(e[-+][0-9]{2,3})?")


def values(node: Node | None, shape: Shape) -> Any:
    """The plain values of a node. A scalar that its field cannot mean stays text, for the model to refuse."""
    if isinstance(node, Mapping):
        return {name: values(inner, shape.at(name) or TEXT) for name, (_, inner) in node.pairs.items()}
    if isinstance(node, Sequence):
        return [values(inner, shape if shape.kind == "free" else TEXT) for inner in node.items]
    if not isinstance(node, Scalar):
        return {}
    return leaf_value(node.text, node.quoted, shape)


TEXT = Shape("text")


def leaf_value(text: str, quoted: bool, shape: Shape) -> Any:
    """What a scalar means in a field of this shape; text where it can mean nothing there."""
    if shape.kind == "text":
        return text
    if shape.kind == "number":
        return number(text)
    if shape.kind == "flag":
        return {"true": True, "false": False}.get(text, text)
    if shape.kind == "free":
        return text if quoted else json_scalar(text)
    if not text and not quoted and shape.kind in ("record", "map", "set"):
        return [] if shape.kind == "set" else {}
    return text


def number(text: str) -> int | float | str:
    """A number of a show, written without exponent or leading zeros; other text unchanged."""
    if _INTEGER.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) else text


def json_scalar(text: str) -> Any:
    """A plain scalar in `extra`: JSON's null, true, false and plain numbers are those, the rest is text.

    A number that would be written back otherwise than it stands (`1.50`) stays text.
    """
    words = {"null": None, "true": True, "false": False}
    if text in words:
        return words[text]
    if _INTEGER.fullmatch(text):
        return int(text)
    if not _FLOAT.fullmatch(text):
        return text
    value = float(text)
    return value if text in (repr(value), number_text(value)) else text


def read_body(model: type[B], node: Node | None, file: str) -> tuple[B | None, list[Problem]]:
    """The body that a node holds, or None with the reasons."""
    if node is not None and not isinstance(node, Mapping) and not empty(node):
        return None, [Problem("holds no fields: a list of 'name: value' lines is wanted", file, node.line + 1, 1)]
    raw = values(node, shape_of(model)) if node is not None else {}
    body, problems = validate(model, raw)
    return body, [placed(problem, node, file, loc) for problem, loc in problems]


def validate(
    model: type[B], raw: Any, shape: Shape | None = None
) -> tuple[B | None, list[tuple[Problem, tuple[str, ...]]]]:
    """The body of these plain values, or None with the problems and the steps to each.

    `shape` is that of what stands around, where it takes more fields than the model.
    """
    try:
        return model.model_validate(raw), []
    except ValidationError as error:
        return None, refusals(error, shape or shape_of(model), ".".join)


def empty(node: Node | None) -> bool:
    """Whether nothing is written there: no text, white space, or comments alone."""
    return node is None or (isinstance(node, Scalar) and node.text == "" and not node.quoted)


def placed(problem: Problem, node: Node | None, file: str, loc: tuple[str, ...]) -> Problem:
    """The problem with the line and column that these steps lead to, as far as they can be followed."""
    place: Node | None = node
    for step in loc:
        if not isinstance(place, Mapping) or step not in place.pairs:
            break
        key, value = place.pairs[step]
        place = key if step == loc[-1] and problem.on_name else value
    line, column = (place.line + 1, place.column + 1) if place is not None else (1, 1)
    return Problem(problem.message, file, line, column, problem.way_out)


def in_order(problems: list[Problem]) -> list[Problem]:
    """The problems of one file from its top to its end."""
    return sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0))
