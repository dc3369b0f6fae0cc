"""An id changed everywhere; a user or a device again under another one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from showvc.document import BUILT_IN_KINDS, SECTIONS, Show, ShowError, check_id
from showvc.document.editing import ABSENT, Steps, get, put
from showvc.document.pointers import join
from showvc.document.redirecting import redirected
from showvc.document.references import HOMES, references
from showvc.editing.done import Done
from showvc.identity.calling import ENDS, find, things
from showvc.identity.references import renamed
from showvc.rules import check

_OF_ONE_UNIT = ("hardware", "away", "lent")
"""What is true of one unit and not of another that is set up alike."""


def rename(show: Show, what: str, new: str) -> Done:
    """The show with one thing under another id, and all that refers to it referring to that.

    What the show accepts at the thing stays accepted. ShowError where the new id is taken, or referred to already.
    """
    section, old = find(show, what)
    if section == "kinds" and old not in show.head.kinds:
        raise ShowError(f"{old} is a built-in kind", "add a kind of your own: showvc set kinds/NAME '{keys: 4}'")
    if old == new:
        return Done(show)
    _require_free(show, section, new)
    told: tuple[tuple[str, str], ...] = ()
    if section in SECTIONS:
        after, told = renamed(show, section, old, new), ((join(section, old), join(section, new)),)
    else:
        moved: dict[Steps, Any] = {(section, old): ABSENT, (section, new): get(show, (section, old))}
        after = put(show, redirected(show, section, old, new) | moved)
    return Done(_still_accepted(show, after, told), renamed=told)


def copy(show: Show, what: str, new: str, name: str | None = None, label: str | None = None) -> Done:
    """The show with a user or device again under another id, with another name or label where these are given.

    A device's address, loan and absence stay with the one unit. ShowError where the id is taken.
    """
    section, old = find(show, what, ("users", "devices"))
    _require_free(show, section, new)
    if section == "devices" and label is not None:
        raise ShowError("a device has no label", "leave out --label; a name is given with --name")
    body = show.section(section)[old]
    dropped = [field for field in _OF_ONE_UNIT if section == "devices" and getattr(body, field) is not None]
    values: dict[Steps, Any] = {(section, new): get(show, (section, old))}
    values |= {(section, new, field): ABSENT for field in dropped}
    given = {"name": name, "label": label}
    values |= {(section, new, field): text for field, text in given.items() if text is not None}
    notes = (f"Not copied, for one unit alone has it: {', '.join(dropped)}.",) if dropped else ()
    return Done(put(show, values), notes)


def _require_free(show: Show, section: str, new: str) -> None:
    """ShowError where a thing can't get this id: it is none, taken, or referred to though nothing has it."""
    try:
        check_id(new)
    except ValueError as error:
        raise ShowError(str(error)) from None
    sharing = ENDS if section in ENDS else (section,)
    taken = next((each for each in sharing if new in things(show, each)), None)
    if section == "kinds" and new in BUILT_IN_KINDS:
        raise ShowError(f"{new} is a built-in kind", "choose another id")
    if taken:
        raise ShowError(f"{new} is taken: {taken}/{new} has it", "choose another id")
    named = (each for each in references(show) if each.target == new)
    waiting = next((each for each in named if section in HOMES.get(each.thing, ())), None)
    if waiting is not None:
        place = waiting.pointer.removeprefix("/")
        raise ShowError(
            f"{place} refers to {new} already, which isn't there", "change that field first, or choose another id"
        )


def _still_accepted(before: Show, after: Show, pairs: tuple[tuple[str, str], ...]) -> Show:
    """The facts of a finding hold ids: with another id the same facts have another digest."""
    if not after.accepted:
        return after
    sound: Mapping[tuple[str, str], str] = {
        (each.code, each.path): each.facts for each in check(before) if each.accepted
    }
    now = {(each.code, each.path): each.facts for each in check(after) if each.accept}
    values: dict[Steps, Any] = {}
    for name, entry in before.accepted.items():
        old = (entry.rule, _slashed(entry.at))
        facts = now.get((entry.rule, _slashed(after.accepted[name].at))) if name in after.accepted else None
        if entry.facts and sound.get(old) == entry.facts and facts not in (None, entry.facts):
            values["accepted", name, "facts"] = facts
    return put(after, values) if values else after


def _slashed(path: str) -> str:
    return "/" + path.removeprefix("/")
