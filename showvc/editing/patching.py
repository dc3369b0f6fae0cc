"""An RFC 6902 JSON Patch of the single document, applied to a show."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import jsonpatch

from showvc.document import SECTIONS, Problem, Show, ShowError, same
from showvc.document.editing import ABSENT, Steps, put, require_shape
from showvc.document.pointers import join
from showvc.editing.done import Done

_SORRY = "a patch is what showvc compare --patch prints: a list of operations as RFC 6902 has them"


def patched(show: Show, text: str, name: str = "patch") -> Done:
    """The show that a patch makes of it. ShowError where the text is no patch, does not fit, or makes no show."""
    tree = json.loads(json.dumps(show.tree()))  # what is frozen in a show can't be patched
    try:
        operations = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise ShowError(f"{name}: is not JSON: {error}", _SORRY) from None
    if not isinstance(operations, list) or not all(isinstance(each, dict) for each in operations):
        raise ShowError(f"{name}: is no patch", _SORRY)
    made: Any = json.loads(json.dumps(tree))
    for number, operation in enumerate(operations, 1):
        try:
            made = jsonpatch.apply_patch(made, [operation], in_place=True)
        except (jsonpatch.JsonPatchException, jsonpatch.JsonPointerException, TypeError, KeyError, ValueError) as error:
            said = " ".join(str(error).split())[:200]
            raise ShowError(
                f"{name}: operation {number} does not fit this show: {said}",
                "nothing was changed; make the patch again",
            ) from None
    if not isinstance(made, dict) or not same(made.get("format"), tree["format"]):
        raise ShowError(f"{name}: the format can't be changed by a patch", "leave /format out of it")
    values = _differing(tree, made, name)
    try:
        return Done(put(show, values))
    except ShowError as error:
        raise _placed(show, values, name) or error from None


def _placed(show: Show, values: dict[Steps, Any], name: str) -> ShowError | None:
    """What is wrong with the values, each with the place that it stands at."""
    problems: list[Problem] = []
    for steps, value in values.items():
        try:
            put(show, {steps: value})
        except ShowError as error:
            problems += [replace(each, message=f"{name}: {join(*steps)}: {each.message}") for each in error.problems]
    return ShowError(problems) if problems else None


def _differing(old: dict[str, Any], new: dict[str, Any], name: str) -> dict[Steps, Any]:
    """The fields of the head and the things that a patch made others."""
    values: dict[Steps, Any] = {}
    for field in {**old, **new}:
        require_shape((field,))
        if field not in SECTIONS:
            if field not in new or field not in old or not same(old[field], new[field]):
                values[field,] = new.get(field, ABSENT)
            continue
        before, after = old.get(field, {}), new.get(field, {})
        if not isinstance(after, dict):
            raise ShowError(f"{name}: {join(field)} is no map of things", "name the things in it: /users/ID")
        for each in {**before, **after}:
            if each not in after or each not in before or not same(before[each], after[each]):
                values[field, each] = after.get(each, ABSENT)
    return values
