"""Every text of one line that somebody chose in a show, whatever fields things come to have."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from operator import attrgetter
from typing import Any, Literal, get_origin

from showvc.document import SECTIONS, Body, Shape, Show, shape_of

Steps = tuple[str, ...]


def texts(show: Show) -> Iterator[tuple[Steps, str]]:
    """Each text with the steps to it, of a set each member. Free notes and what an import carried are none."""
    yield from _texts((), show.head, shape_of(type(show.head)))
    for section, model in SECTIONS.items():
        for name, body in show.section(section).items():
            yield from _texts((section, name), body, shape_of(model))


def _texts(steps: Steps, value: Any, shape: Shape) -> Iterator[tuple[Steps, str]]:
    if shape.kind == "text":
        yield steps, value
    elif shape.kind == "set":
        yield from ((steps, member) for member in sorted(value, key=str) if isinstance(member, str))
    elif shape.kind == "record" and shape.model is not None:
        for name, written, inner in _with_text(shape.model):
            if below := getattr(value, name):
                yield from _texts((*steps, written), below, inner)
    elif shape.kind == "map" and shape.item is not None:
        # Nearly all of a show is channels without a label: nothing is made for these.
        has_any = _has_any(shape.item.model) if shape.item.model else bool
        for name, item in value.items():
            if has_any(item):
                yield from _texts((*steps, name), item, shape.item)


def _has_any(model: type[Body]) -> Callable[[Any], bool]:
    """Whether a body of this model has anything in a field that is or holds a text."""
    names = [name for name, _, _ in _with_text(model)]
    if not names:
        return lambda item: False
    found = attrgetter(*names)
    return lambda item: any(found(item)) if len(names) > 1 else bool(found(item))


@cache
def _with_text(model: type[Body]) -> tuple[tuple[str, str, Shape], ...]:
    """The fields of a body that are a text of somebody's choice, or may hold one below."""
    fields = shape_of(model).fields
    known = ((name, info.alias or name, info.annotation) for name, info in model.model_fields.items())
    return tuple(
        (name, written, fields[written])
        for name, written, hint in known
        if _holds_text(fields[written]) and get_origin(hint) is not Literal
    )


def _holds_text(shape: Shape) -> bool:
    if shape.kind == "map" and shape.item is not None:
        return _holds_text(shape.item)
    return bool(_with_text(shape.model)) if shape.model is not None else shape.kind in ("text", "set")
