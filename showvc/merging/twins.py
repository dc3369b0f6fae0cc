"""Things that both sides added under two ids, and that look like one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from showvc.changes.words import thing_name
from showvc.document import SECTIONS, Show, ShowError, differing, head_tree, to_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import join, parse
from showvc.merging.conflict import SideProblem, Sides


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
    """Makes one thing of two: `other` goes, what pointed at it points at `keep`, which takes over fields it lacks.

    Both are pointers such as `/groups/house-radio`. ShowError where one is not there, or they are of two kinds.
    """
    kept, gone = parse(keep), parse(other)
    if len(kept) != 2 or len(gone) != 2 or kept[0] != gone[0] or kept[0] not in SECTIONS or kept == gone:
        raise ShowError(f"{keep} and {other} cannot be made one", "name two things of one kind: groups/a=groups/b")
    for section, name in (kept, gone):
        if name not in show.section(section):
            raise ShowError(f"there is no {join(section, name)}", "see: showvc compare")
    bodies = show.section(kept[0])
    values: dict[tuple[str, ...], Any] = {kept: {**to_tree(bodies[gone[1]]), **to_tree(bodies[kept[1]])}, gone: ABSENT}
    return put(show, {**_redirected(show, kept[0], kept[1], gone[1]), **values})


def _redirected(show: Show, section: str, keep: str, gone: str) -> dict[tuple[str, ...], Any]:
    """Every place that pointed at the one, pointing at the other."""
    found: dict[tuple[str, ...], Any] = {}
    if section in ("groups", "users"):
        found |= _channels(show, keep, gone)
        found |= {("bridges", name, "target"): keep for name, body in show.bridges.items() if body.target == gone}
        for name, path in head_tree(show.head).get("required", {}).items():
            ends = {end: keep if path[end] == gone else path[end] for end in ("from", "to")}
            if ends != {end: path[end] for end in ends}:
                found["required", name] = {**path, **ends}
    if section == "users":
        found |= {("devices", name, "user"): keep for name, body in show.devices.items() if body.user == gone}
    if section == "devices":
        found |= {("bridges", name, "device"): keep for name, body in show.bridges.items() if body.device == gone}
    return found


def _channels(show: Show, keep: str, gone: str) -> dict[tuple[str, ...], Any]:
    """Channels and keys. Where a list has both, the channel of the kept one stands."""
    found: dict[tuple[str, ...], Any] = {}
    for user, body in show.users.items():
        for channel in body.channels:
            target, mark, number = channel.partition("#")
            if target == gone:
                found["users", user, "channels", channel] = ABSENT
                if keep + mark + number not in body.channels:
                    entry = to_tree(body.channels[channel])
                    found["users", user, "channels", keep + mark + number] = entry
    for device, unit in show.devices.items():
        for key, channel in unit.keys.items():
            target, mark, number = channel.partition("#")
            if target == gone:
                found["devices", device, "keys", key] = keep + mark + number
    return found
