"""The places that a path names: one, or with `*` each that is there; and which of them fields of their things leave."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from showvc.document import SECTIONS, Show, ShowError, near, target_of
from showvc.document.editing import ABSENT, Steps, get, require_shape, shape_at
from showvc.document.patterns import is_pattern, matches
from showvc.document.pointers import join, parse
from showvc.identity.calling import find, resolved, resolved_step
from showvc.identity.names import folded

Where = tuple[str, str]
_WEARERS = ("department", "group")
"""Of a device these are its wearer's."""


def conditions(texts: Iterable[str]) -> tuple[Where, ...]:
    """What `FIELD=VALUE` asks for. ShowError for another spelling."""
    found = []
    for text in texts:
        field, mark, value = text.partition("=")
        if not (field and mark):
            raise ShowError(f"--where {text}: FIELD=VALUE is wanted", "such as --where department=lighting")
        found.append((field.strip(), value.strip()))
    return tuple(found)


def places(show: Show, path: str, where: Iterable[Where] = (), there: bool = False) -> list[Steps]:
    """The places that a path names, with ids for labels and names; of a pattern those whose thing or entry is there.

    With `there` only places that hold something. ShowError where a pattern or a condition leaves none.
    """
    steps = parse(path)
    if not steps:
        raise ShowError("nothing can stand at /", "a path is such as users/sm/channels/fly/talk")
    asked = tuple(where)
    if not is_pattern(path):
        found = [resolved(show, steps)]
    else:
        if is_pattern(steps[0]):
            raise ShowError(f"{path}: a pattern begins with a section", f"one of: {', '.join(SECTIONS)}")
        found = list(_below(show, (), steps))
        found = [each for each in found if get(show, each) is not ABSENT] if there else found
        if not found:
            raise ShowError(f"{path}: nothing in this show matches", _nearest(show, steps))
    kept = [each for each in found if all(_holds(show, each, *one) for one in asked)]
    if not kept:
        words = ", ".join("=".join(one) for one in asked)
        raise ShowError(f"{path}: nothing there has {words}", "leave a condition out, or look into the files")
    return kept


def _below(show: Show, above: Steps, pattern: Steps) -> Iterator[Steps]:
    if not pattern:
        require_shape(above)
        yield above
        return
    step, rest = pattern[0], pattern[1:]
    if is_pattern(step):
        names = [name for name in _names(show, above) if matches(name, step)]
    else:
        names = [resolved_step(show, above, step)]
    around = shape_at(above)
    for name in names:
        place = (*above, name)
        if rest and around is not None and around.kind == "map" and get(show, place) is ABSENT:
            continue
        yield from _below(show, place, rest)


def _names(show: Show, above: Steps) -> list[str]:
    if len(above) == 1 and above[0] in SECTIONS:
        return list(show.section(above[0]))
    value = get(show, above)
    return list(value) if isinstance(value, Mapping) else []


def _nearest(show: Show, pattern: Steps) -> str:
    """Near names, where it is the thing that does not match."""
    known = _names(show, pattern[:1])
    if len(pattern) > 1 and not any(matches(name, pattern[1]) for name in known):
        hint = near(pattern[1].replace("*", ""), known, 0.5)
        return hint or (f"there are: {', '.join(sorted(known)[:12])}" if known else f"{pattern[0]} are none")
    return "'*' stands within one step: users/spot-*/channels/cue/listen"


# --- conditions ---


def _holds(show: Show, steps: Steps, field: str, value: str) -> bool:
    """Whether the thing that a place belongs to is as a condition says."""
    if field in _WEARERS:
        user = _user(show, steps)
        if field == "department":
            return user is not None and folded(user.department or "") == folded(value)
        group = find(show, value, ("groups", "users", "lines"))[1]
        return user is not None and (group in map(target_of, user.channels) or group in user.lines)
    thing = steps[:2]
    below = parse("tags" if field == "tag" else field)
    shape = shape_at(thing)
    if shape is None or shape.along(below) is None:
        known = [*(shape.fields if shape else ()), "tag", *_WEARERS]
        raise ShowError(f"--where {field}: {join(*thing[:1])[1:]} have no such field", near(field, known) or "")
    return _is(get(show, (*thing, *below)), value)


def _user(show: Show, steps: Steps) -> Any:
    if steps[0] == "users":
        return show.users.get(steps[1])
    if steps[0] == "devices":
        return show.wearer(show.devices.get(steps[1]))
    raise ShowError(f"{steps[0]} belong to no department or group", "use it with users or devices")


def _is(found: Any, value: str) -> bool:
    if isinstance(found, list):
        return folded(value) in {folded(str(member)) for member in found}
    if isinstance(found, bool):
        return value.casefold() == ("true" if found else "false")
    return folded("" if found is ABSENT else str(found)) == folded(value)
