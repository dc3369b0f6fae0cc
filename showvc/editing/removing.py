"""What is removed everywhere: a thing with all that refers to it, and with what refers to that."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from showvc.document import Show, ShowError
from showvc.document.editing import ABSENT, Steps, get, put, shape_at
from showvc.document.pointers import join
from showvc.document.references import Known, Reference, references
from showvc.editing.done import Done

_WHOLE = ("required", "apart", "accepted")
"""Entries that say something else without one of their references: such a one goes as a whole."""


def remove_everywhere(show: Show, what: Iterable[Steps]) -> Done:
    """The show without what stands at these places, and without every reference that led to it.

    What was dangling before stays as it was. ShowError where nothing is there.
    """
    known = Known(show)
    before = {each for each in references(show) if not known.has(each)}
    values: dict[Steps, Any] = {}
    for steps in what:
        if get(show, steps) is ABSENT:
            raise ShowError(f"there is nothing at {join(*steps)[1:]}", "see what there is: showvc compare")
        values[steps] = ABSENT
    after = put(show, values)
    while True:
        known = Known(after)
        dangling = [each for each in references(after) if not known.has(each) and each not in before]
        if not dangling:
            return Done(after)
        after = put(after, _without(after, dangling))


def _without(show: Show, dangling: Iterable[Reference]) -> dict[Steps, Any]:
    """What has to be written so that these references are gone."""
    values: dict[Steps, Any] = {}
    for reference in dangling:
        steps = reference.steps
        if steps[0] in _WHOLE:
            values[steps[:2]] = ABSENT
        elif steps[0] == "standards":
            values |= _standard(show, steps, values)
        else:
            shape = shape_at(steps)
            value = values.get(steps, get(show, steps))
            if isinstance(value, list):
                values[steps] = _members(value, reference.id)
            elif shape is not None and shape.required:
                values[steps[:2]] = ABSENT
            else:
                values[steps] = ABSENT
    return {steps: value for steps, value in values.items() if not _goes_above(values, steps)}


def _goes_above(values: dict[Steps, Any], steps: Steps) -> bool:
    return any(values.get(steps[:size]) is ABSENT for size in range(1, len(steps)))


def _standard(show: Show, steps: Steps, values: dict[Steps, Any]) -> dict[Steps, Any]:
    """A standard without what it asks of the thing; as a whole where that is all it asks, or where it is for it."""
    if len(steps) < 4 or steps[2] != "must":
        return {steps[:2]: ABSENT}
    asked = [each for each in get(show, steps[:3]) if values.get((*steps[:3], each)) is not ABSENT]
    return {steps[:2]: ABSENT} if asked in ([], [steps[3]]) else {steps: ABSENT}


def _members(value: list[Any], gone: str) -> list[Any]:
    """A set without one member, and its lists of alternatives without it: one that is left alone stands for itself."""
    kept: list[Any] = []
    for member in value:
        if isinstance(member, str):
            kept += [member] if member != gone else []
            continue
        left = [each for each in member if each != gone]
        kept += [left[0]] if len(left) == 1 else [left] if left else []
    return [each for place, each in enumerate(kept) if each not in kept[:place]]
