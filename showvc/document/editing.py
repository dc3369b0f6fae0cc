"""Looking up and changing single places of a show by their steps, all at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from enum import Enum
from typing import Any, Final

from pydantic import ValidationError

from showvc.document.bodies import Body
from showvc.document.head import Head
from showvc.document.names import check_id
from showvc.document.pointers import join
from showvc.document.problems import ShowError, near
from showvc.document.refusals import refusals
from showvc.document.shapes import DOCUMENT, SECTIONS, Shape, Tree, shape_of, slim, whole_tree
from showvc.document.show import Show

Steps = tuple[str, ...]


class Absent(Enum):
    """The value of a place where nothing stands."""

    ABSENT = "absent"

    def __repr__(self) -> str:
        return "ABSENT"


ABSENT: Final = Absent.ABSENT


def shape_at(steps: Steps) -> Shape | None:
    """The shape of this place in the single document; None where nothing can stand there."""
    return DOCUMENT.along(steps)


def require_shape(steps: Steps) -> Shape:
    """The shape of this place. ShowError, with what was perhaps meant, where nothing can stand there."""
    shape: Shape = DOCUMENT
    for place, step in enumerate(steps):
        inner = shape.at(step)
        if inner is None:
            known = shape.fields if shape.kind == "record" else ()
            allowed = (
                f"allowed: {', '.join(known)}" if known and place else "a path is such as users/sm/channels/fly/talk"
            )
            raise ShowError(f"nothing can stand at {join(*steps)}", near(step, known) or allowed)
        shape = inner
    return shape


def get(show: Show, steps: Steps) -> Any:
    """The plain value at this place, defaults filled in; ABSENT where there is none.

    An optional field that is not set is ABSENT.
    """
    value, rest = _start(show, steps)
    for step in rest:
        if not isinstance(value, Mapping) or step not in value:
            return ABSENT
        value = value[step]
    in_extra = "extra" in steps and (shape := shape_at(steps)) is not None and shape.kind == "free"
    return ABSENT if value is None and not in_extra else value


def _start(show: Show, steps: Steps) -> tuple[Any, Steps]:
    if not steps:
        return show.tree(), ()
    if steps[0] not in SECTIONS:
        return whole_tree(show.head), steps
    entries = show.section(steps[0])
    if len(steps) == 1:
        return {name: whole_tree(body) for name, body in entries.items()}, ()
    return (whole_tree(entries[steps[1]]), steps[2:]) if steps[1] in entries else (None, ())


def written(show: Show, steps: Steps) -> Any:
    """The value at this place as it is written, defaults left out; None where nothing stands."""
    value = get(show, steps)
    return None if value is ABSENT else as_written(steps, value)


def as_written(steps: Steps, value: Any) -> Any:
    """A value of this place without its defaults."""
    shape = shape_at(steps)
    whole = isinstance(value, Mapping) and shape is not None and shape.kind in ("record", "map") and steps
    return slim(dict(value), shape) if whole and shape is not None else value


def put(show: Show, values: Mapping[Steps, Any]) -> Show:
    """The show with these plain values at their places; ABSENT takes a place out.

    Several places may change at once. ShowError for a place that cannot be, or a value that its field
    does not take.
    """
    by_thing: dict[Steps, dict[Steps, Any]] = defaultdict(dict)
    for steps, value in values.items():
        size = 2 if steps[0] in SECTIONS else 0
        if len(steps) < size:
            raise ShowError(f"{join(*steps)} is a whole section: name one thing in it")
        by_thing[steps[:size]][steps[size:]] = value
    sections: dict[str, dict[str, Body | None]] = defaultdict(dict)
    for thing, inner in by_thing.items():
        if not thing:
            show = replace(show, head=_head(show.head, inner))
        else:
            sections[thing[0]][thing[1]] = _thing(show, thing, inner)
    for section, changes in sections.items():
        show = show.with_section(section, changes)
    return show


def _head(head: Head, inner: Mapping[Steps, Any]) -> Head:
    edited: Head = _validated(Head, _edited(whole_tree(head), inner), ())
    return edited


def _thing(show: Show, thing: Steps, inner: Mapping[Steps, Any]) -> Body | None:
    section, name = thing
    if () in inner:
        tree = inner[()]
    else:
        found = show.section(section).get(name)
        tree = whole_tree(found) if found is not None else {}
    if tree is ABSENT:
        return None
    try:
        check_id(name)
    except ValueError as error:
        raise ShowError(str(error)) from None
    rest = {steps: value for steps, value in inner.items() if steps}
    body: Body = _validated(SECTIONS[section], _edited(dict(tree), rest), thing)
    return body


def _edited(tree: Tree, inner: Mapping[Steps, Any]) -> Tree:
    for steps, value in sorted(inner.items(), key=lambda item: len(item[0])):
        tree = _with(tree, steps, value)
    return tree


def _with(tree: Any, steps: Steps, value: Any) -> Any:
    if not steps:
        return value
    name, rest = steps[0], steps[1:]
    if isinstance(tree, list):
        return _with_item(tree, name, rest, value)
    below = dict(tree) if isinstance(tree, Mapping) else {}
    if value is ABSENT and (not rest or name not in below):
        below.pop(name, None)
    else:
        below[name] = _with(below.get(name), rest, value)
    return below


def _with_item(items: list[Any], name: str, rest: Steps, value: Any) -> list[Any]:
    """RFC 6901 on an array, as `extra` may hold one."""
    if not (name.isdigit() and int(name) < len(items)):
        raise ShowError(f"{name!r} is no place in a list of {len(items)}")
    place = int(name)
    if value is ABSENT and not rest:
        return items[:place] + items[place + 1 :]
    return [*items[:place], _with(items[place], rest, value), *items[place + 1 :]]


def _validated(model: type[Body], tree: Tree, thing: Steps) -> Any:
    try:
        return model.model_validate(tree)
    except ValidationError as error:
        found = refusals(error, shape_of(model), lambda steps: join(*thing, *steps))
        raise ShowError(problem for problem, _ in found) from None
