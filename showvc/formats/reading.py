"""Nodes to bodies: every scalar typed by its field, every problem told with its place."""

from __future__ import annotations

import re
from collections.abc import Mapping as Map
from typing import Any, TypeVar

from pydantic import ValidationError

from showvc.document import Body, Problem, Shape, near, shape_of
from showvc.formats.nodes import MAX_PROBLEMS, Mapping, Node, Scalar, Sequence
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
    if node is not None and not isinstance(node, Mapping) and not _empty(node):
        return None, [Problem("holds no fields: a list of 'name: value' lines is wanted", file, node.line + 1, 1)]
    raw = values(node, shape_of(model)) if node is not None else {}
    body, problems = validate(model, raw)
    return body, [placed(problem, node, file, loc) for problem, loc in problems]


def validate(model: type[B], raw: Any) -> tuple[B | None, list[tuple[Problem, tuple[str, ...]]]]:
    """The body of these plain values, or None with the problems and the steps to each."""
    try:
        return model.model_validate(raw), []
    except ValidationError as error:
        shape, details = shape_of(model), error.errors(include_url=False)
        problems = [_worded(detail, shape) for detail in details[:MAX_PROBLEMS]]
        if more := len(details) - len(problems):
            problems.append((Problem(f"and {more} more here", way_out="mend the first ones and read again"), ()))
        return None, problems


def _empty(node: Node) -> bool:
    return isinstance(node, Scalar) and node.text == "" and not node.quoted


def _worded(detail: Any, shape: Shape) -> tuple[Problem, tuple[str, ...]]:
    loc = tuple(str(step) for step in detail["loc"])
    bad_name = bool(loc) and loc[-1] == "[key]"
    loc = loc[:-1] if bad_name else loc
    where = ".".join(loc)
    kind, found = detail["type"], detail.get("input")
    if kind == "extra_forbidden":
        known = _fields_at(shape, loc[:-1])
        way_out = near(loc[-1], known) or f"allowed: {', '.join(known)}"
        return Problem(f"unknown field {loc[-1]!r}", way_out=way_out), loc
    if kind == "missing":
        return Problem(f"field {where!r} is missing", way_out="add it"), loc[:-1]
    if bad_name:
        return Problem(f"{loc[-1]!r} cannot stand here as a name", way_out=_allowed_name(loc)), loc
    subject = f"{where}: " if where else ""
    wanted = _wanted(detail)
    if wanted.startswith(_shown(found)) or (isinstance(found, dict) and wanted.startswith("which ")):
        return Problem(subject + wanted.removeprefix("which ")), loc
    return Problem(f"{subject}found {_shown(found)}, {wanted}"), loc


def _fields_at(shape: Shape, loc: tuple[str, ...]) -> list[str]:
    inner: Shape | None = shape
    for step in loc:
        inner = inner.at(step) if inner else None
    return list(inner.fields) if inner else []


def _allowed_name(loc: tuple[str, ...]) -> str:
    parent = loc[-2] if len(loc) > 1 else ""
    return {
        "keys": "a key is a page letter and a number: A1, B15",
        "lines": "the lines are emergency, announce, program",
        "channels": "a channel is named by its target's id, a second one to the same target 'id#2'",
    }.get(parent, "an id: a small letter, then small letters, digits or '-', at most 40")


def _shown(value: Any) -> str:
    text = repr(value) if not isinstance(value, dict | list) else {dict: "fields", list: "a list"}[type(value)]
    return text if len(text) <= 60 else text[:57] + "…"


def _wanted(detail: Any) -> str:
    kind, context = detail["type"], detail.get("ctx", {})
    if kind == "literal_error":
        return f"allowed: {context['expected']}".replace("'", "").replace(" or ", ", ")
    if kind == "value_error":
        said = str(context["error"])
        return f"which {said}" if said.startswith(("is ", "holds ")) else said
    if kind in _BOUNDS:
        return _BOUNDS[kind].format(*context.values())
    if kind == "string_pattern_mismatch":
        return _PATTERNS.get(context["pattern"], "not in the form wanted")
    return _TYPES.get(kind, detail["msg"][:1].lower() + detail["msg"][1:])


_PATTERNS: Map[str, str] = {
    r"^[a-z][a-z0-9-]{0,39}$": "an id is wanted: a small letter, then small letters, digits or '-', at most 40",
    r"^[a-z][a-z0-9-]{0,39}(#([2-9]|[1-9][0-9]))?$": "a target's id is wanted, such as lx or lx#2, or a line",
}
_BOUNDS: Map[str, str] = {
    "greater_than_equal": "at least {} is wanted",
    "less_than_equal": "at most {} is allowed",
    "string_too_short": "a text is wanted here",
}
_TYPES: Map[str, str] = {
    "int_type": "a whole number is wanted, without leading zeros or exponent",
    "int_from_float": "a whole number is wanted",
    "string_type": "text is wanted",
    "bool_type": "true or false is wanted",
    "bool_parsing": "true or false is wanted",
    "dict_type": "fields are wanted, such as {name: value}",
    "mapping_type": "fields are wanted, such as {name: value}",
    "model_type": "fields are wanted, such as {name: value}",
    "model_attributes_type": "fields are wanted, such as {name: value}",
}


def placed(problem: Problem, node: Node | None, file: str, loc: tuple[str, ...]) -> Problem:
    """The problem with the line and column that these steps lead to, as far as they can be followed."""
    place: Node | None = node
    for step in loc:
        if not isinstance(place, Mapping) or step not in place.pairs:
            break
        key, value = place.pairs[step]
        place = key if step == loc[-1] and _about_name(problem) else value
    line, column = (place.line + 1, place.column + 1) if place is not None else (1, 1)
    return Problem(problem.message, file, line, column, problem.way_out)


def _about_name(problem: Problem) -> bool:
    return problem.message.startswith("unknown field") or any(words in problem.message for words in _ABOUT_NAMES)


_ABOUT_NAMES = ("as a name", "is not an id:", "cannot be an id:")


def in_order(problems: list[Problem]) -> list[Problem]:
    """The problems of one file from its top to its end."""
    return sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0))
