"""A target given to positions: a channel at a free number and a key at a free place, as the rest of the show has it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from showvc.document import Device, Show, ShowError, User, key_place, target_of
from showvc.document.editing import Steps, put
from showvc.document.patterns import is_pattern, matches
from showvc.document.references import HOMES
from showvc.document.values import DEPARTMENT
from showvc.editing.done import Done
from showvc.identity.calling import find
from showvc.identity.names import folded


@dataclass(frozen=True, slots=True)
class Wish:
    """How a target shall be given: on this key (None: the next that is free), or on none; at this number; how to talk
    and listen.
    """

    key: str | None = None
    keyed: bool = True
    number: int | None = None
    talk: str | None = None
    listen: str | None = None


def give(show: Show, target: str, who: Sequence[str], wish: Wish = Wish()) -> Done:
    """The show in which these positions have the target on their lists, and under a key of each device they wear.

    Nothing is ever put where something else is: neither a number nor a key. ShowError where a named place is taken, or
    a list is full.
    """
    section, name = find(show, target, HOMES["target"])
    if section == "lines" and wish.number is not None:
        raise ShowError("a line has no number", "leave out --number")
    notes: list[str] = []
    for user in positions(show, who, name):
        show = _listed(show, user, name, section == "lines", wish, notes)
        if wish.keyed:
            show = _keyed(show, user, name, wish, notes)
    return Done(show, tuple(notes))


def is_many(who: Iterable[str]) -> bool:
    """Whether somebody is meant who was not named one by one."""
    return any(is_pattern(text) or text.startswith(DEPARTMENT) for text in who)


def positions(show: Show, who: Iterable[str], target: str) -> list[str]:
    """The users that are meant, each once; the target itself only where a pattern names it, and then left out.

    ShowError where nobody is meant.
    """
    found: dict[str, None] = {}
    for text in who:
        if not is_many((text,)):
            name = find(show, text, ("users",))[1]
            if name == target:
                raise ShowError(f"{show.label(name)} can't be given to themselves", "name another position")
            found[name] = None
            continue
        meant = [name for name in _meant(show, text) if name != target]
        if not meant:
            raise ShowError(f"{text}: no position in this show matches", "see who there are: showvc paths")
        found |= dict.fromkeys(meant)
    return list(found)


def _meant(show: Show, text: str) -> Iterator[str]:
    if text.startswith(DEPARTMENT):
        wanted = folded(text.removeprefix(DEPARTMENT))
        yield from (name for name, body in show.users.items() if folded(body.department or "") == wanted)
    else:
        pattern = text.removeprefix("/").removeprefix("users/")
        yield from (name for name, body in show.users.items() if matches(name, pattern) and not body.port)


# --- the list ---


def _listed(show: Show, user: str, name: str, line: bool, wish: Wish, notes: list[str]) -> Show:
    body: User = show.users[user]
    ways: dict[str, Any] = {"talk": wish.talk, "listen": wish.listen}
    asked = {field: way for field, way in ways.items() if way is not None}
    own = sorted(
        (each for each in body.channels if target_of(each) == name), key=lambda each: body.channels[each].number
    )
    if own or (line and name in body.lines):
        place: Steps = ("users", user, "channels", own[0]) if own else ("users", user, "lines", name)
        if own and wish.number not in (None, body.channels[own[0]].number):
            raise ShowError(
                f"{show.label(user)} has {show.label(name)} at number {body.channels[own[0]].number} already",
                f"move it: showvc set {'/'.join(place)}/number {wish.number}",
            )
        notes.append(f"{show.label(user)} has {show.label(name)} already.")
        return put(show, {(*place, field): way for field, way in asked.items()}) if asked else show
    fresh = {"talk": "momentary", **asked}
    if line:
        return put(show, {("users", user, "lines", name): fresh})
    return put(show, {("users", user, "channels", name): {"number": _number(show, user, name, wish, notes), **fresh}})


def _number(show: Show, user: str, name: str, wish: Wish, notes: list[str]) -> int:
    body, label = show.users[user], show.label(user)
    taken = {channel.number: each for each, channel in body.channels.items()}
    if len(taken) >= show.most_channels:
        raise ShowError(f"{label}: all {show.most_channels} channels are taken", "remove one first")
    if wish.number is not None:
        if wish.number in taken:
            held = show.key_label(body, taken[wish.number])
            raise ShowError(
                f"{label}: number {wish.number} is {held}", f"the next free one is {_first_free(show, taken)}"
            )
        if not 1 <= wish.number <= show.most_channels:
            raise ShowError(f"there is no number {wish.number}", f"numbers are 1 to {show.most_channels}")
        return wish.number
    habits: Counter[int] = Counter(
        channel.number for other in _colleagues(show, user) for each, channel in other.channels.items()
        if target_of(each) == name
    )  # fmt: skip
    for number in _by_habit(habits):
        if number not in taken and number <= show.most_channels:
            notes.append(f"{label}: number {number}, as others in {body.department} have {show.label(name)}.")
            return number
    return _first_free(show, taken)


def _first_free(show: Show, taken: Iterable[int]) -> int:
    held = set(taken)
    return next(number for number in range(1, show.most_channels + 1) if number not in held)


def _colleagues(show: Show, user: str) -> list[User]:
    """The rest of the department."""
    department = show.users[user].department
    return [body for name, body in show.users.items() if department and name != user and body.department == department]


def _by_habit(habits: Counter[int]) -> list[int]:
    """The most usual place first; of two as usual the lower one."""
    return sorted(habits, key=lambda place: (-habits[place], place))


# --- the keys ---


def _keyed(show: Show, user: str, name: str, wish: Wish, notes: list[str]) -> Show:
    worn = [each for each, device in show.devices.items() if device.user == user and _keys_of(show, device)]
    if wish.key is not None and not worn:
        raise ShowError(f"{show.label(user)} wears no device with keys", "leave out --key")
    body = show.users[user]
    channel = next((each for each in body.channels if target_of(each) == name), name)
    for each in worn:
        device = show.devices[each]
        here = [key for key, held in device.keys.items() if target_of(held) == name]
        if here and wish.key in (None, *here):
            continue
        key = _place(show, each, user, name, wish, notes)
        if key is not None:
            show = put(show, {("devices", each, "keys", key): channel})
    return show


def _keys_of(show: Show, device: Device) -> list[str]:
    """Every key that a device of this kind has, in the order of its pages."""
    kind = show.kind(device.kind)
    pages, keys = (kind.pages, kind.keys) if kind else (0, 0)
    return [f"{chr(ord('A') + page)}{key}" for page in range(pages) for key in range(1, keys + 1)]


def _place(show: Show, name: str, user: str, target: str, wish: Wish, notes: list[str]) -> str | None:
    device = show.devices[name]
    every = _keys_of(show, device)
    free = [key for key in every if key not in device.keys]
    if wish.key is not None:
        if wish.key not in every:
            raise ShowError(f"devices/{name} has no key {wish.key}", f"its keys are {every[0]} to {every[-1]}")
        if wish.key not in free:
            held = show.key_label(show.users[user], device.keys[wish.key])
            raise ShowError(
                f"devices/{name}/keys/{wish.key} is {held}",
                f"free: {', '.join(free[:8])}" if free else "no key is free",
            )
        return wish.key
    for key in _usual_keys(show, user, target):
        if key in free:
            department = show.users[user].department
            notes.append(f"{show.label(user)}: key {key}, as others in {department} have {show.label(target)}.")
            return key
    if not free:
        notes.append(f"{show.label(user)}: no key of {name} is free, so {show.label(target)} is on none there.")
        return None
    return free[0]


def _usual_keys(show: Show, user: str, target: str) -> list[str]:
    """Where the rest of the department has this target, the most usual place first."""
    department = show.users[user].department
    found: Counter[str] = Counter()
    for device in show.devices.values():
        wearer = show.wearer(device)
        if department and wearer is not None and device.user != user and wearer.department == department:
            found.update(key for key, held in device.keys.items() if target_of(held) == target)
    return sorted(found, key=lambda key: (-found[key], key_place(key)))
