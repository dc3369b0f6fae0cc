"""What has to be written where, so that all that refers to one thing refers to another."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from showvc.document.editing import ABSENT, Steps, get
from showvc.document.pointers import join, parse
from showvc.document.references import HOMES, Reference, references
from showvc.document.shapes import members
from showvc.document.show import Show


def redirected(show: Show, section: str, old: str, new: str) -> dict[Steps, Any]:
    """The values, for `put`, after which every reference to `old` in a section is one to `new`.

    Sections are those of things, and `lines` and `kinds`. Where a list has entries for both, that of the new one stays.
    """
    found: dict[Steps, Any] = {}
    for reference in references(show):
        if reference.target == old and section in HOMES.get(reference.thing, ()):
            found |= _redirected(show, reference, new, found)
    return found


def _redirected(show: Show, reference: Reference, new: str, known: Mapping[Steps, Any]) -> dict[Steps, Any]:
    steps, old = reference.steps, reference.target
    value = known.get(steps, get(show, steps))
    if isinstance(value, list):
        return {steps: members({_member(member, old, new) for member in value})}
    name = steps[-1]
    if isinstance(value, str) and not _is_name(reference):
        return {steps: _renamed(value, reference, new)}
    moved = (*steps[:-1], _renamed(name, reference, new))
    return {steps: ABSENT} | ({} if get(show, moved) is not ABSENT else {moved: value})


def _is_name(reference: Reference) -> bool:
    """Whether what refers is the name of an entry, and not what stands there."""
    return reference.steps[-1] == reference.id or reference.steps[-2:-1] in (("must",), ("where",))


def _member(member: str | list[str], old: str, new: str) -> str | tuple[str, ...]:
    if isinstance(member, str):
        return new if member == old else member
    return tuple(sorted({new if name == old else name for name in member}))


def _renamed(text: str, reference: Reference, new: str) -> str:
    """The text of a reference with the new id: an id with its number, or a path that has it for a step."""
    _, mark, number = reference.id.partition("#")
    if reference.place is None:
        return f"{new}{mark}{number}"
    path = list(parse(text))
    path[reference.place] = f"{new}{mark}{number}"
    return join(*path)[not text.startswith("/") :]
