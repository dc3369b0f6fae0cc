"""Rules about things that point at nothing: one for each field that refers to something."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from itertools import combinations

from showvc.document import Show, near
from showvc.document.pointers import join
from showvc.document.references import NOUNS, Known, Reference
from showvc.document.shapes import DOCUMENT
from showvc.rules.finding import Found, Scene

Sentence = Callable[[Show, Reference], str]


def to_nothing(*places: str) -> Callable[[Scene], Iterator[Found]]:
    """What a rule looks for: references to nothing at these places, such as `bridges/target`."""
    wanted = {tuple(place.split("/")) for place in places}

    def look(scene: Scene) -> Iterator[Found]:
        for reference in scene.dangling:
            if (reference.steps[0], reference.steps[2]) in wanted:
                known = Known(scene.show)
                said = _SENTENCES.get(reference.thing, _plainly)(scene.show, reference)
                hint = near(reference.target, known.ids(reference.thing)) if reference.thing != "channel" else None
                yield Found((reference.pointer, *reference.homes()), said, hint=hint or "")

    return look


def _plainly(show: Show, reference: Reference) -> str:
    section, name = reference.steps[:2]
    shape = DOCUMENT.along(reference.steps)
    noun = DOCUMENT.fields[section].words
    words = f"{shape.words} " if shape is not None and shape.words else ""
    what = NOUNS.get(reference.thing, reference.thing)
    if reference.thing == "department":
        return f"{noun} {name}: nobody is of the department {reference.id!r}"
    return f"{noun} {_called(show, section, name)}: {words}{reference.id!r}, which is no {what}"


def _called(show: Show, section: str, name: str) -> str:
    if section in ("groups", "users"):
        return show.label(name)
    long = getattr(show.section(section)[name], "name", "") if section in ("devices", "carriers") else ""
    return f"{name} ({long})" if long else name


def _of_list(show: Show, reference: Reference) -> str:
    if reference.steps[0] != "users":
        return _plainly(show, reference)
    user = show.users[reference.steps[1]]
    number = user.channels[reference.id].number
    wanted = NOUNS["target"]
    return f"{show.label(reference.steps[1])}: channel {number} points at {reference.target!r}, which is no {wanted}"


def _under_key(show: Show, reference: Reference) -> str:
    owner = reference.owner or ""
    why = f"{show.label(owner)} has no such channel" if owner in show.users else "the device is worn by nobody"
    key = f"key {reference.steps[3]} holds {reference.id!r}"
    return f"device {_called(show, 'devices', reference.steps[1])}: {key}, but {why}"


_SENTENCES: dict[str, Sentence] = {"target": _of_list, "channel": _under_key}


def one_id_for_two(scene: Scene) -> Iterator[Found]:
    """Groups, users, lines and circuits share one set of ids."""
    show = scene.show
    shared: dict[str, Collection[str]] = {
        "groups": show.groups,
        "users": show.users,
        "lines": show.lines,
        "circuits": show.circuits,
    }
    for (one, names), (other, others) in combinations(shared.items(), 2):
        for name in names:
            if name in others:
                message = f"{name!r} is a {one[:-1]} and a {other[:-1]} at once: what refers to it could mean either"
                yield Found((join(one, name), join(other, name)), message)
