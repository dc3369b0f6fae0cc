"""What both sides had under a key of a user, and the two together have not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from showvc.document import Show, differing, target_of
from showvc.document.pointers import join
from showvc.merging.sides import Sides
from showvc.paths import spoken
from showvc.rules import Found, Rule, Scene


def key_lost(sides: Sides[Show]) -> Rule:
    """A rule that finds, in a merged show, what both sides had under a key of a user and is under none of his,
    or under two of one device where both had it there once.
    """
    users = sorted(_concerned(sides))

    def look(scene: Scene) -> Iterator[Found]:
        for user in users:
            if user in scene.show.users:
                yield from _missing(sides, user, scene.show)

    return Rule(
        "key-lost",
        "warning",
        "the hand finds an empty key in the dark",
        "put it under a key again",
        look,
        "key-lost",
        says=_says,
    )


def _says(show: Show, user: str, held: str, device: str | None, count: int) -> str:
    label = show.key_label(show.users.get(user), held)
    if device is None:
        return f"{spoken(show, user)}: {label} is on no key; both sides had one"
    return f"{spoken(show, user)}: {label} is on {count} keys of {device}; both sides had one"


def _concerned(sides: Sides[Show]) -> set[str]:
    """Those whose keys both sides may have had a hand in."""

    def wearers(after: Show) -> set[str]:
        names = differing(sides.before.devices, after.devices)
        worn = (show.devices[name].user for show in (sides.before, after) for name in names if name in show.devices)
        return {user for user in worn if user is not None}

    ours, theirs = wearers(sides.mine), wearers(sides.incoming)
    return ours & theirs


def _held(show: Show, user: str) -> dict[str, Counter[str]]:
    """What a user has under keys, by device, each with the number of keys that hold it."""
    found = {name: unit.keys for name, unit in show.devices.items() if unit.user == user}
    return {
        name: Counter(held for held in keys.values() if target_of(held) not in show.lines)
        for name, keys in found.items()
    }


def _missing(sides: Sides[Show], user: str, show: Show) -> Iterator[Found]:
    had = sides.map(lambda side: _held(side, user))
    now, known = _held(show, user), show.users[user]
    mine, incoming = had.apart
    both = {held for keys in mine.values() for held in keys} & {held for keys in incoming.values() for held in keys}
    there = {held for keys in now.values() for held in keys}
    for held in sorted(both - there):
        if held in known.channels:
            units = sorted({name for side in had.apart for name, keys in side.items() if held in keys})
            yield Found(tuple(_places(sides, units, held)), (user, held, None, 0), (user, held, "none"))
    for name in sorted(now.keys() & mine.keys() & incoming.keys()):
        for held, count in sorted(now[name].items()):
            if count > 1 and mine[name][held] == incoming[name][held] == 1:
                yield Found(tuple(_places(sides, [name], held)), (user, held, name, count), (user, held, "twice"))


def _places(sides: Sides[Show], units: list[str], held: str) -> Iterator[str]:
    """Where the devices of one side or the other have it, or had it, and who wears them."""
    for name in units:
        there = [show.devices[name].keys for show in (sides.before, *sides.apart) if name in show.devices]
        yield from (
            join("devices", name, "keys", key)
            for key in sorted({*there[0]}.union(*there))
            if held in {keys.get(key) for keys in there}
        )
        yield join("devices", name, "user")
