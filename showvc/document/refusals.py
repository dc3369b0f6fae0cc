"""What a body refuses, in words: the same for a field of a file and for one that is set by itself."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from pydantic import ValidationError

from showvc.document.names import CHANNEL, ID, ID_WORDS
from showvc.document.problems import MAX_PROBLEMS, Problem, near
from showvc.document.shapes import Shape

Steps = tuple[str, ...]
NEWER = "A newer showvc may have written it"
"""What is said of a field that this program does not know: it is never to be thrown away."""
Spelling = Callable[[Steps], str]
"""How a place is written: `channels.fly.talk` within a file, or its pointer in the whole document."""


def refusals(error: ValidationError, shape: Shape, spelled: Spelling) -> list[tuple[Problem, Steps]]:
    """The first problems that pydantic found in a value of this shape, each with the steps to it."""
    details = error.errors(include_url=False)
    problems = [_worded(detail, shape, spelled) for detail in details[:MAX_PROBLEMS]]
    if more := len(details) - len(problems):
        problems.append((Problem(f"and {more} more here", way_out="mend the first ones and read again"), ()))
    return problems


def _worded(detail: Any, shape: Shape, spelled: Spelling) -> tuple[Problem, Steps]:
    loc = tuple(str(step) for step in detail["loc"])
    bad_name = bool(loc) and loc[-1] == "[key]"
    loc = loc[:-1] if bad_name else loc
    where = spelled(loc)
    kind, found = detail["type"], detail.get("input")
    if kind == "extra_forbidden":
        around = shape.along(loc[:-1])
        known = around.fields if around else ()
        way_out = f"{near(loc[-1], known) or 'allowed: ' + ', '.join(known) + '.'} {NEWER}"
        return Problem(f"unknown field {loc[-1]!r}", way_out=way_out, on_name=True), loc
    if kind == "missing":
        return Problem(f"field {where!r} is missing", way_out="add it"), loc[:-1]
    if bad_name:
        message = f"{loc[-1]!r} cannot stand here as a name"
        return Problem(message, way_out=_allowed_name(loc), on_name=True), loc
    subject = f"{where}: " if where else ""
    wanted = _wanted(detail)
    if wanted.startswith(_shown(found)) or (isinstance(found, dict) and wanted.startswith("which ")):
        return Problem(subject + wanted.removeprefix("which ")), loc
    return Problem(f"{subject}found {_shown(found)}, {wanted}"), loc


def _allowed_name(loc: Steps) -> str:
    parent = loc[-2] if len(loc) > 1 else ""
    return {
        "keys": "a key is a page letter and a number: A1, B15",
        "channels": "a channel is named by its target's id, a second one to the same target 'id#2'",
    }.get(parent, f"an id: {ID_WORDS}")


def _shown(value: Any) -> str:
    """A value as it was written: text in quotes, and no word of the language that this program is written in."""
    if isinstance(value, dict | list):
        return {dict: "fields", list: "a list"}[type(value)]
    words = {None: "nothing", True: "true", False: "false"}
    text = words[value] if value is None or isinstance(value, bool) else repr(value)
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


_PATTERNS: Mapping[str, str] = {
    f"^{ID.pattern}$": f"an id is wanted: {ID_WORDS}",
    f"^{CHANNEL.pattern}$": "a target's id is wanted, such as lx or lx#2, or a line",
}
_BOUNDS: Mapping[str, str] = {
    "greater_than_equal": "at least {} is wanted",
    "less_than_equal": "at most {} is allowed",
    "string_too_short": "a text is wanted here",
}
_TYPES: Mapping[str, str] = {
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
