"""Values put at places, and taken away: one after the other, each on what those before made of the show."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from showvc.document import SECTIONS, Show, ShowError, near
from showvc.document.editing import ABSENT, Steps, get, put, require_shape, shape_at
from showvc.document.pointers import join
from showvc.editing.done import Done
from showvc.editing.places import Where, places
from showvc.identity.calling import resolved_value

Read = Callable[[str, Steps], Any]
"""Makes the plain value of a text, for the place that it is for."""


def set_fields(show: Show, pairs: Iterable[tuple[str, str]], read: Read, where: Iterable[Where] = ()) -> Done:
    """The show with each text at the places that its path names. ShowError where one cannot stand there."""
    asked, replaced = tuple(where), False
    for path, text in pairs:
        values: dict[Steps, Any] = {}
        for steps in places(show, path, asked):
            require_shape(steps)
            _parent_stands(show, steps)
            _new_id(show, steps)
            values[steps] = read(resolved_value(show, steps, text), steps)
            replaced |= isinstance(values[steps], dict) and get(show, steps) is not ABSENT
        show = put(show, values)
    return Done(show, replaced=replaced)


def remove_fields(show: Show, paths: Iterable[str], where: Iterable[Where] = ()) -> Done:
    """The show without what stands at the places that the paths name. ShowError where nothing does."""
    asked = tuple(where)
    for path in paths:
        found = places(show, path, asked, there=True)
        for steps in found:
            if get(show, steps) is ABSENT:
                raise ShowError(f"there is nothing at {join(*steps)}", _there(show, steps))
            _parent_stands(show, steps)
        show = put(show, dict.fromkeys(found, ABSENT))
    return Done(show)


def _parent_stands(show: Show, steps: Steps) -> None:
    """A field of a thing that is not there is a slip of the pen, not a new thing."""
    for size in range(2, len(steps)):
        shape = shape_at(steps[: size - 1])
        if shape is not None and shape.kind == "map" and get(show, steps[:size]) is ABSENT:
            raise ShowError(f"there is no {join(*steps[:size])}", _there(show, steps[:size]))


def _new_id(show: Show, steps: Steps) -> None:
    """No thing is called like a line of the show: what refers to it could mean either."""
    if len(steps) == 2 and steps[0] in SECTIONS and steps[1] in show.lines and steps[1] not in show.section(steps[0]):
        raise ShowError(f"{steps[1]!r} cannot be an id: it is the name of a line", "give it another id")


def _there(show: Show, steps: Steps) -> str:
    """Near names of what does stand there."""
    around = list(show.section(steps[0])) if len(steps) == 2 and steps[0] in SECTIONS else get(show, steps[:-1])
    known = list(around) if around is not ABSENT and isinstance(around, dict | list) else []
    hint = near(steps[-1], known) if steps else None
    return hint or (
        f"there are: {', '.join(sorted(known)[:12])}" if known else "see: showvc compare, or look into the files"
    )
