"""The house's own rules: what each thing that a pattern names must be like.

`*` stands within one step of the pattern, and as a step of a field: `channels/*/listen` are all of them. A field that
is not written has its default. A value is compared as it is written: `always`, `-3`, `true`; of a set, whether it has
the member. Where a field stands below something that the thing has not (a channel that is not on the list), `must`
asks for it, and `where` leaves the thing alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from showvc.document import Show
from showvc.document.bodies import Body
from showvc.document.patterns import matches
from showvc.document.pointers import join, parse
from showvc.document.shapes import SECTIONS
from showvc.rules.finding import Found, Scene

_NOT_THERE = object()


def unlike_the_standard(scene: Scene) -> Iterator[Found]:
    """Each field that is not as a standard of the show says."""
    for name, standard in scene.show.head.standards.items():
        for steps, thing in _named(scene.show, parse(standard.for_)):
            if not all(_is(thing, parse(field), value) for field, value in standard.where.items()):
                continue
            for field, value in standard.must.items():
                for at, found in _fields(thing, parse(field)):
                    if not _same(found, value):
                        written = None if found is _NOT_THERE else _written(found)
                        facts = (name, (*steps, *at), value, written)
                        paths = (join(*steps, *at), join("standards", name))
                        yield Found(paths, facts, (name,), severity=standard.severity)


def standards_of_nothing(scene: Scene) -> Iterator[Found]:
    """Standards whose pattern names nothing that is there."""
    for name, standard in scene.show.head.standards.items():
        if not any(_named(scene.show, parse(standard.for_))):
            yield Found((join("standards", name),), (name, standard.for_))


def _named(show: Show, pattern: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """What the pattern names, each with the steps to it."""
    if not pattern:
        return
    first, *rest = pattern
    if first in SECTIONS:
        for name in show.section(first):
            if rest and matches(name, rest[0]):
                yield from (((first, name, *at), found) for at, found in _below(show.section(first)[name], rest[1:]))
    else:
        yield from _below(show.head, pattern)


def _below(thing: Any, pattern: Iterable[str]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """What is there at a pattern below a thing."""
    for at, found in _fields(thing, tuple(pattern)):
        if found is not _NOT_THERE:
            yield at, found


def _fields(thing: Any, pattern: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:
    """The fields at a pattern below a thing; one that is not there where the pattern names it plainly."""
    if not pattern:
        yield (), thing
        return
    step, rest = pattern[0], pattern[1:]
    inner = _inner(thing)
    if "*" in step:
        names = [name for name in inner if matches(name, step)]
    elif step in inner:
        names = [step]
    else:
        yield pattern, _NOT_THERE
        return
    for name in names:
        yield from (((name, *at), found) for at, found in _fields(inner[name], rest))


def _inner(thing: Any) -> Mapping[str, Any]:
    if isinstance(thing, Body):
        return {info.alias or name: getattr(thing, name) for name, info in type(thing).model_fields.items()}
    return thing if isinstance(thing, Mapping) else {}


def _is(thing: Any, field: tuple[str, ...], value: str) -> bool:
    return any(_same(found, value) for _, found in _fields(thing, field))


def _same(found: Any, value: str) -> bool:
    if isinstance(found, frozenset):
        return value in found
    return found is not _NOT_THERE and _written(found) == value


def _written(found: Any) -> str:
    """A field as it is written."""
    if found is None:
        return ""
    if isinstance(found, bool):
        return "true" if found else "false"
    if isinstance(found, frozenset):
        return ", ".join(sorted(map(str, found)))
    if isinstance(found, Mapping):
        return ", ".join(sorted(found))
    return str(found)
