"""The sentences of rules about references, characters, labels and standards: those that speak of what is written."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from typing import Any

from showvc.document import Show
from showvc.document.pointers import join
from showvc.document.references import NOUNS, Reference
from showvc.document.shapes import DOCUMENT
from showvc.document.visible import visible
from showvc.paths import spoken
from showvc.rules.texts import Steps

# --- references ---


def points_at_nothing(show: Show, steps: Steps, thing: Any, name: str, owner: str | None) -> str:
    """A reference to what is not there."""
    reference = Reference(tuple(steps), thing, name, owner)
    said: Callable[[Show, Reference], str] = _BY_THING.get(thing, _plainly)
    return said(show, reference)


def _plainly(show: Show, reference: Reference) -> str:
    section, name = reference.steps[:2]
    shape = DOCUMENT.along(reference.steps)
    where = f"{DOCUMENT.fields[section].words} {_called(show, section, name)}"
    words = f"{shape.words} " if shape is not None and shape.words else ""
    which = ", which" if words.endswith(_PREPOSITIONS) else ""
    return f"{where}: {words}{reference.id!r}{which} is no {NOUNS.get(reference.thing, reference.thing)}"


_PREPOSITIONS = ("on ", "for ", "from ", "to ", "over ")
"""After one, the value belongs to it and is no subject: `hangs on 'ups-1', which is no carrier`."""


def _called(show: Show, section: str, name: str) -> str:
    if section in ("groups", "users"):
        return spoken(show, name)
    long = getattr(show.section(section)[name], "name", "") if section in ("devices", "carriers", "circuits") else ""
    return f"{name} ({long})" if long else name


def _of_list(show: Show, reference: Reference) -> str:
    if reference.steps[0] != "users":
        return _plainly(show, reference)
    user = reference.steps[1]
    number = show.users[user].channels[reference.id].number
    return f"{spoken(show, user)}, channel {number}: {reference.target!r} is no {NOUNS['target']}"


def _under_key(show: Show, reference: Reference) -> str:
    owner = reference.owner or ""
    why = f"{spoken(show, owner)} has no such channel" if owner in show.users else "the device is unassigned"
    device, key = _called(show, "devices", reference.steps[1]), reference.steps[3]
    return f"device {device}, key {key}: holds {reference.id!r}, but {why}"


_BY_THING: dict[str, Callable[[Show, Reference], str]] = {"target": _of_list, "channel": _under_key}


# --- characters ---


def unseen_characters(show: Show, steps: Steps, text: str, places: Sequence[tuple[str, int]]) -> str:
    """A text that holds characters which nobody sees."""
    listed = ", ".join(f"{_named(char)} as character {at}" for char, at in places[:3])
    more = f", and {len(places) - 3} more" if len(places) > 3 else ""
    return f"{_place(steps)}: '{visible(text)}' holds {listed}{more}"


def looks_alike(show: Show, *facts: Any) -> str:
    """A text that looks like plain Latin, or two that nobody can tell apart."""
    if isinstance(facts[1], str):
        steps, text, mixed, odd = facts
        scripts = " and ".join(map(str.capitalize, mixed))
        return f"{_place(steps)}: '{visible(text)}' looks like plain Latin, but mixes {scripts}: {_named(odd)}"
    first, second, one, other = facts
    return f"{_place(first)} and {_place(second)}: look alike and differ, {_difference(one, other)}"


def _difference(one: str, other: str) -> str:
    """The first character that differs on each side."""
    at = next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    return " and ".join(_named(text[at]) if at < len(text) else "nothing" for text in (one, other))


def _named(char: str) -> str:
    return f"U+{ord(char):04X} {unicodedata.name(char, '')}".rstrip()


def _place(steps: Steps) -> str:
    return join(*steps).removeprefix("/")


# --- labels and standards ---


def label_too_long(show: Show, label: str, most: int, kind: str) -> str:
    """A label that a display cuts off."""
    where = f"kind {kind} shows" if kind else "a display shows"
    return f"label {label!r}: {len(label)} characters; {where} {most}"


def unlike_standard(show: Show, name: str, steps: Steps, wanted: str, found: str | None) -> str:
    """A field that is not as the house wants it."""
    is_now = "is missing" if found is None else f"is {found or 'empty'}"
    why = show.head.standards[name].why
    return f"{_place(steps)}: {is_now}, not {wanted} (standard {name}{': ' + why if why else ''})"
