"""Things that both sides added under two ids, and that look like one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from showvc.changes.words import thing_name
from showvc.document import SECTIONS, Show, ShowError, Tree, differing, target_of, to_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import join, parse
from showvc.document.redirecting import redirected
from showvc.merging.conflict import SideProblem, Sides
from showvc.paths import free_number

Steps = tuple[str, ...]


def twins(sides: Sides) -> Iterator[SideProblem]:
    """A warning for each pair of additions, one of each side, with the same name, address or circuit."""
    for section in SECTIONS:
        before, mine, incoming = (getattr(show, section) for show in (sides.before, sides.mine, sides.incoming))
        ours = [name for name in differing(before, mine) if name not in before and name not in incoming]
        theirs = [name for name in differing(before, incoming) if name not in before and name not in mine]
        for name in ours:
            for other in theirs:
                if _alike(mine[name], incoming[other]):
                    yield _twin(sides, section, name, other)


def _twin(sides: Sides, section: str, name: str, other: str) -> SideProblem:
    one, two = thing_name(sides.mine, section, name), thing_name(sides.incoming, section, other)
    message = f"both sides added what looks like the same: mine {one} as {name}, incoming {two} as {other}"
    return SideProblem("both", "twin", join(section, name), message, (join(section, name), join(section, other)))


def _alike(one: Any, other: Any) -> bool:
    if getattr(one, "hardware", None) and one.hardware == getattr(other, "hardware", None):
        return True
    if getattr(one, "circuit", ""):
        return bool((one.circuit, one.target) == (other.circuit, other.target))
    names = {_folded(one.name), _folded(other.name)} if hasattr(one, "name") else set()
    return len(names) == 1 and names != {""}


def _folded(text: str) -> str:
    return " ".join("".join(char if char.isalnum() else " " for char in text.casefold()).split())


def unify(show: Show, keep: str, other: str) -> Show:
    """Makes one thing of two: `other` goes, what pointed at it points at `keep`, which takes over fields it lacks, and
    of lists the entries it lacks: a channel under a free number where its own is taken.

    Both are pointers such as `/groups/house-radio`. ShowError where one is not there, or they are of two kinds.
    """
    kept, gone = parse(keep), parse(other)
    if len(kept) != 2 or len(gone) != 2 or kept[0] != gone[0] or kept[0] not in SECTIONS or kept == gone:
        raise ShowError(f"{keep} and {other} cannot be made one", "name two things of one kind: groups/a=groups/b")
    for section, name in (kept, gone):
        if name not in show.section(section):
            raise ShowError(f"there is no {join(section, name)}", "see: showvc compare")
    values: dict[Steps, Any] = {kept: _both(show, kept[0], kept[1], gone[1]), gone: ABSENT}
    return put(show, {**_redirected(show, kept[0], kept[1], gone[1]), **values})


def _both(show: Show, section: str, keep: str, gone: str) -> Tree:
    """The kept thing with what it lacks of the other."""
    kept, other = (to_tree(show.section(section)[name]) for name in (keep, gone))
    both = {**other, **kept}
    for name, inner in kept.items():
        if isinstance(inner, dict) and name in other:
            both[name] = {**other[name], **inner}
    if section == "users":
        both["channels"] = _one_list(show, keep, gone, both.get("channels", {}))
    return both


def _one_list(show: Show, keep: str, gone: str, channels: Tree) -> Tree:
    """The channels of both under numbers of their own, without those to one another."""
    found: Tree = {}
    given: list[int] = []
    for name, entry in channels.items():
        if target_of(name) in (keep, gone):
            continue
        found[name] = entry
        if name not in show.users[keep].channels:
            number = _free(show, keep, given, entry["number"])
            given.append(number)
            found[name] = {**entry, "number": number}
    return found


def _free(show: Show, user: str, given: list[int], wanted: int) -> int:
    """The wanted number where it is free, else the lowest that is; on a full list the wanted one, for check to tell."""
    taken = {*given, *(entry.number for entry in show.users[user].channels.values())}
    return wanted if wanted not in taken else free_number(show, user, given) or wanted


def _redirected(show: Show, section: str, keep: str, gone: str) -> dict[Steps, Any]:
    """Every place that pointed at the one, pointing at the other; none of two users calls himself."""
    both = ((section, keep), (section, gone))
    found = {steps: value for steps, value in redirected(show, section, gone, keep).items() if steps[:2] not in both}
    for device, unit in show.devices.items() if section == "users" else ():
        if unit.user in (keep, gone):
            own = (key for key, channel in unit.keys.items() if target_of(channel) in (keep, gone))
            found |= {("devices", device, "keys", key): ABSENT for key in own}
    return found
