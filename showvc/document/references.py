"""Every reference of a show, found in one walk: where it stands, what kind of thing it refers to, and its id."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator, Mapping
from typing import Any, NamedTuple

from showvc.document.bodies import Body
from showvc.document.head import BUILT_IN_KINDS
from showvc.document.names import target_of
from showvc.document.pointers import Steps, join, parse
from showvc.document.shapes import DOCUMENT, SECTIONS, Shape, fields_of, shape_of
from showvc.document.show import Show
from showvc.document.values import DEPARTMENT, EVERYONE, Thing

HOMES: Mapping[Thing, tuple[str, ...]] = {
    "target": ("groups", "users", "lines"),
    "channel": ("groups", "users", "lines"),
    "group": ("groups",),
    "user": ("users",),
    "line": ("lines",),
    "device": ("devices",),
    "kind": ("kinds",),
    "circuit": ("circuits",),
    "carrier": ("carriers",),
    "bridge": ("bridges",),
    "over": ("groups", "lines"),
    "end": ("users", "groups", "circuits", "lines"),
}
"""Where what is referred to may stand. A department stands on its users."""

NOUNS: Mapping[Thing, str] = {
    "target": "group, user or line",
    "over": "group or line",
    "kind": "kind that the show knows",
    "end": "user, group, circuit or line",
}
"""What is wanted where the kind of thing is not its own noun."""


class Reference(NamedTuple):
    """One reference: the steps to it, what kind of thing it refers to, and the id as it is written (`lx#2`).

    `owner` is whose list a key's channel is on: the device's user. Of a map's name, the steps end with the name; of
    a set's member, with the set. `place` tells which step of a path within the document it is.
    """

    steps: Steps
    thing: Thing
    id: str
    owner: str | None = None
    place: int | None = None

    @property
    def target(self) -> str:
        """The id of the thing itself: `lx` of `lx#2`."""
        return target_of(self.id) if self.thing in ("target", "channel") else self.id

    @property
    def pointer(self) -> str:
        return join(*self.steps)

    def homes(self) -> tuple[str, ...]:
        """The pointers at which what is referred to could stand, the nearest first."""
        if self.thing == "channel":
            of_list = [join("users", self.owner, "channels", self.id)] if self.owner else []
            return (join(*self.steps[:2], "user"), *of_list)
        return tuple(join(section, self.target) for section in HOMES.get(self.thing, ()))


def references(show: Show) -> list[Reference]:
    """Every reference of the show, in the order of the document."""
    return _references(show, {})


def _references(show: Show, there: Mapping[Thing, Collection[str]]) -> list[Reference]:
    """Every reference but, of those that are names of maps, the ones to what is `there`."""
    found: list[Reference] = []
    _gather(show.head, shape_of(type(show.head)), (), None, found, there)
    for section, model in SECTIONS.items():
        shape = shape_of(model)
        if shape.refers:
            for name, body in show.section(section).items():
                _gather(body, shape, (section, name), None, found, there)
    return found


def _gather(
    value: Any,
    shape: Shape,
    steps: Steps,
    body: Body | None,
    found: list[Reference],
    there: Mapping[Thing, Collection[str]],
) -> None:
    """Adds what refers at this place and below it; a large show has a hundred thousand references."""
    if value is None or not shape.refers:
        return
    if shape.kind == "record" and shape.model is not None:
        for name, written, inner in fields_of(shape.model):
            if inner.refers:
                _gather(getattr(value, name), inner, (*steps, written), value, found, there)
    elif shape.kind == "map" and shape.item is not None:
        known = there.get(shape.to, ()) if shape.to is not None else value
        for name, inner_value in value.items():
            if name not in known:
                _written(name, shape.to, (*steps, name), body, found)
            if shape.item.refers:
                _gather(inner_value, shape.item, (*steps, name), body, found, there)
    elif shape.kind == "set":
        names = itertools.chain.from_iterable((member,) if isinstance(member, str) else member for member in value)
        found += [Reference(steps, shape.to or "carrier", name) for name in names]
    else:
        _written(value, shape.to, steps, body, found)


def _written(text: str, thing: Thing | None, steps: Steps, body: Any, found: list[Reference]) -> None:
    if thing is None:
        return
    if thing == "target":
        found.append(Reference(steps, thing, text))
    elif thing == "end" and text.startswith(DEPARTMENT):
        found.append(Reference(steps, "department", text.removeprefix(DEPARTMENT)))
    elif thing == "place":
        found += _along((), parse(text), steps)
    elif thing == "field":
        found += _along(parse(body.for_), parse(text), steps)
    elif thing != "end" or text != EVERYONE:
        found.append(Reference(steps, thing, text, body.user if thing == "channel" else None))


def _along(around: Steps, path: Steps, steps: Steps) -> Iterator[Reference]:
    """What a path below `around` names on its way: a thing, and the ids that are names in maps."""
    shape = DOCUMENT.along(around)
    for place, step in enumerate(path):
        if shape is None:
            return
        if shape.kind == "map" and "*" not in step and shape.to is not None:
            yield Reference(steps, shape.to, step, place=place)
        shape = shape.at(step)


class Known:
    """The ids that a show has, of each kind of thing that can be referred to."""

    def __init__(self, show: Show) -> None:
        self.show = show
        self._ids: dict[str, Collection[str]] = {
            **{section: show.section(section) for section in SECTIONS},
            "lines": show.lines,
            "kinds": {**BUILT_IN_KINDS, **show.head.kinds},
        }
        self._of: dict[Thing, frozenset[str]] = {
            thing: frozenset(name for home in homes for name in self._ids[home]) for thing, homes in HOMES.items()
        }
        self._of["department"] = frozenset(user.department for user in show.users.values() if user.department)

    def ids(self, thing: Thing) -> frozenset[str]:
        """Every id that a reference to this kind of thing may have."""
        return self._of.get(thing, frozenset())

    @property
    def by_thing(self) -> Mapping[Thing, Collection[str]]:
        return {thing: ids for thing, ids in self._of.items() if thing != "channel"}

    def has(self, reference: Reference) -> bool:
        """Whether what is referred to is there. A key's channel is on its user's list, or a line."""
        if reference.thing == "channel":
            user = self.show.users.get(reference.owner or "")
            return reference.id in self.show.lines or (user is not None and reference.id in user.channels)
        return reference.target in self._of[reference.thing]


def dangling(show: Show) -> Iterator[Reference]:
    """The references to what is not there. What the show accepts and its standards may speak of what is gone."""
    known = Known(show)
    for reference in _references(show, known.by_thing):
        if reference.steps[0] not in ("accepted", "standards") and not known.has(reference):
            yield reference
