"""What points at what: every place of a show that names a thing, and an id changed at all of them at once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from showvc.document import SECTIONS, Body, Head, Show, to_tree
from showvc.document.pointers import join, parse

Steps = tuple[str, ...]

# The fields that name things, and the sections these are in. `#` behind an id is a second channel to it.
_TARGETS = ("groups", "users")
_NAMES: Mapping[tuple[str, ...], tuple[str, ...]] = {
    ("users", "*", "channels", "*"): _TARGETS,
    ("devices", "*", "user"): ("users",),
    ("devices", "*", "keys", "*"): _TARGETS,
    ("bridges", "*", "device"): ("devices",),
    ("bridges", "*", "target"): _TARGETS,
    ("required", "*", "from"): _TARGETS,
    ("required", "*", "to"): _TARGETS,
}
_POINTERS = (("quiet", "*", "at"),)


def references(show: Show, section: str) -> dict[str, set[Steps]]:
    """Every place that names a thing of a section, by the thing's id: of a list's entry the entry, else the field."""
    found: dict[str, set[Steps]] = defaultdict(set)
    for pattern, sections in _NAMES.items():
        if section in sections:
            for steps, value in _at(show, pattern):
                found[_bare(value)].add(steps)
    return found


def _at(show: Show, pattern: tuple[str, ...]) -> Iterator[tuple[Steps, str]]:
    """The places that a pattern names, each with what it says: of a list's entry its name, else the value."""
    if pattern[0] in SECTIONS:
        for name, body in show.section(pattern[0]).items():
            yield from _below(body, pattern[2:], (pattern[0], name))
    else:
        yield from _below(show.head, pattern, ())


def _below(value: Any, pattern: tuple[str, ...], steps: Steps) -> Iterator[tuple[Steps, str]]:
    if not pattern:
        if value is not None:
            yield steps, value if isinstance(value, str) else steps[-1]
    elif isinstance(value, Mapping):
        for name in value if pattern[0] == "*" else [pattern[0]] if pattern[0] in value else []:
            yield from _below(value[name], pattern[1:], (*steps, name))
    else:
        field = "from_" if pattern[0] == "from" else pattern[0]
        yield from _below(getattr(value, field), pattern[1:], (*steps, pattern[0]))


def _bare(value: str) -> str:
    return value.partition("#")[0]


def renamed(show: Show, section: str, old: str, new: str) -> Show:
    """The show with one thing under another id, and all that pointed at it pointing there.

    Nothing where the old id is none, or the new one is taken.
    """
    if old not in show.section(section) or new in show.section(section):
        return show
    named = references(show, section)[old]
    touched = {steps[:2] if steps[0] in SECTIONS else () for steps in named}
    touched |= {() for _, value in _pointing(show) if parse(value)[:2] == (section, old)}
    result = show.with_section(section, {old: None, new: show.section(section)[old]})
    for thing in touched:
        if not thing:
            tree = _rewritten(to_tree(show.head), (), section, old, new)
            result = replace(result, head=Head.model_validate({"format": show.head.format, **tree}))
            continue
        place = new if thing == (section, old) else thing[1]
        body: Body = result.section(thing[0])[place]
        tree = _rewritten(to_tree(body), thing, section, old, new)
        result = result.with_section(thing[0], {place: type(body).model_validate(tree)})
    return result


def _pointing(show: Show) -> Iterator[tuple[Steps, str]]:
    for pattern in _POINTERS:
        for steps, value in _at(show, pattern):
            if value.strip("/"):
                yield steps, "/" + value.removeprefix("/")


def _rewritten(tree: Any, steps: Steps, section: str, old: str, new: str) -> Any:
    """The tree with the id changed wherever it names the thing."""
    if isinstance(tree, Mapping):
        named = _names_things((*steps, ""), section)
        found = {}
        for name, inner in tree.items():
            entry = _changed(name, old, new) if named and not isinstance(inner, str) else name
            found[entry] = _rewritten(inner, (*steps, name), section, old, new)
        return found
    if isinstance(tree, str) and _names_things(steps, section):
        return _changed(tree, old, new)
    if isinstance(tree, str) and any(_matches(steps, pattern) for pattern in _POINTERS) and tree.strip("/"):
        return _repointed(tree, section, old, new)
    return tree


def _names_things(steps: Steps, section: str) -> bool:
    return any(section in sections and _matches(steps, pattern) for pattern, sections in _NAMES.items())


def _matches(steps: Steps, pattern: tuple[str, ...]) -> bool:
    return len(steps) == len(pattern) and all(part in ("*", step) for step, part in zip(steps, pattern, strict=True))


def _changed(value: str, old: str, new: str) -> str:
    name, mark, number = value.partition("#")
    return new + mark + number if name == old else value


def _repointed(pointer: str, section: str, old: str, new: str) -> str:
    steps = parse("/" + pointer.removeprefix("/"))
    if steps[:2] == (section, old):
        steps = (section, new, *steps[2:])
    elif len(steps) > 3 and _names_things(steps[:4], section):
        steps = (*steps[:3], _changed(steps[3], old, new), *steps[4:])
    return join(*steps)[0 if pointer.startswith("/") else 1 :]
