"""Single edits in the show folder, each with its check."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from showvc.changes import Comparison, edits
from showvc.document import SECTIONS, Show, ShowError, near
from showvc.document.editing import ABSENT, get, put, require_shape, shape_at
from showvc.document.pointers import join, parse
from showvc.formats.typed import value_of
from showvc.history.archive import Archive
from showvc.history.brought import Brought, brought
from showvc.history.files import files_with
from showvc.history.operations import operation
from showvc.history.shows import Shows
from showvc.rules import Finding, new_findings

Steps = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Edited:
    """The show before and after an edit, what changed, what the rules find now, and whom it cuts off.

    `replaced` says that a thing with fields of its own gave way to the one that was set.
    """

    changes: Comparison
    new_findings: tuple[Finding, ...]
    brought: Brought
    before: Show
    after: Show
    replaced: bool = False


def set_value(archive: Archive, shows: Shows, path: str, text: str) -> Edited:
    """Puts a value at a path of the working show. ShowError where it cannot stand there."""
    steps = parse(path)
    if not steps:
        raise ShowError("nothing can stand at /", "a path is such as users/sm/channels/fly/talk")
    shape = require_shape(steps)
    value = value_of(text, shape, join(*steps))
    return _edit(archive, shows, f"set {join(*steps)} {text}", {steps: value})


def remove_value(archive: Archive, shows: Shows, path: str) -> Edited:
    """Takes away what stands at a path of the working show. ShowError where nothing does."""
    steps = parse(path)
    return _edit(archive, shows, f"remove {join(*steps)}", {steps: ABSENT})


def _edit(archive: Archive, shows: Shows, said: str, values: Mapping[Steps, Any]) -> Edited:
    with operation(archive, said) as step:
        before = shows.of_work(step.before.work, step.before.last)
        for steps, value in values.items():
            if value is ABSENT and get(before, steps) is ABSENT:
                raise ShowError(f"there is nothing at {join(*steps)}", _there(before, steps))
            _parent_stands(before, steps)
            _new_id(before, steps)
        after = put(before, values)
        files = files_with(shows, archive.files(step.before.work), before, after)
        step.set(work=archive.write_tree(files))
    replaced = any(isinstance(value, dict) and get(before, steps) is not ABSENT for steps, value in values.items())
    found = new_findings(before, after)
    return Edited(edits(before, after), found, brought(before, after, found), before, after, replaced)


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
