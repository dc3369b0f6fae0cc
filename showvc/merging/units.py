"""Edits of several places that are one edit: swaps, rotations and moves into slots that were occupied.

A slot is what one thing at a time may occupy: a number of a list, a key of a device, a device for an address or a
wearer. A unit is the least cycle or chain of moves into slots that were occupied before.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from showvc.document import Show, differing
from showvc.document.pointers import join
from showvc.merging.conflict import ConflictKind, Side
from showvc.merging.sides import Sides

Slot = str | int
Occupants = Mapping[Any, str]
Component = frozenset[Slot]


CROSSED = "crossed-"
"""How the fact of a conflict begins that each side has settled already, one so and one otherwise; the turn follows."""


@dataclass(frozen=True, slots=True)
class Group:
    """Places that are settled together, or not at all; `booked` where two things may claim one slot of them.

    `more` are choices besides the two sides: what they are called, and the values that they put in place.
    """

    places: frozenset[str]
    kind: ConflictKind = "both-changed"
    booked: bool = False
    facts: tuple[str, ...] = ()
    more: tuple[tuple[Side, Mapping[str, Any]], ...] = ()


@dataclass(frozen=True, slots=True)
class _Table:
    """Who occupies which slot, and the places of the document at which a slot is written."""

    occupants: Sides[Occupants]
    places: Callable[[Slot], Iterable[str]]
    booked: bool


def unit_groups(sides: Sides[Show], disputed: Collection[str]) -> Iterator[Group]:
    """The units that the other side touches, each with all that hangs together with it.

    A unit is touched where the other side changes who occupies one of its slots, or where one of its places is
    disputed by itself (`disputed`: the pointers).
    """
    for table in _tables(sides):
        for slots in _touched(table, disputed):
            places = frozenset(place for slot in slots for place in table.places(slot))
            yield Group(places, booked=table.booked)


# --- the tables ---


def _tables(sides: Sides[Show]) -> Iterator[_Table]:
    for user in _edited_by_both(sides, "users"):
        yield from _numbers(sides, user)
    for device in _edited_by_both(sides, "devices"):
        yield _keys(sides, device)
    yield from _among_devices(sides)


def _edited_by_both(sides: Sides[Show], section: str) -> list[str]:
    """The things that all three have, and both sides edited."""
    there = sides.map(lambda show: show.section(section))
    edited = {*differing(there.before, there.mine)} & {*differing(there.before, there.incoming)}
    return sorted(name for name in edited if all(name in known for known in (there.before, *there.apart)))


def _numbers(sides: Sides[Show], user: str) -> Iterator[_Table]:
    lists = sides.map(lambda show: show.users[user].channels)
    slots: Sides[Occupants] = lists.map(lambda known: {entry.number: name for name, entry in known.items()})
    if any(len(slots_of) < len(known) for slots_of, known in zip(_each(slots), _each(lists), strict=True)):
        return  # a number that one side gave twice is that side's problem, and no slot

    def places(slot: Slot) -> Iterator[str]:
        for name in {known[slot] for known in _each(slots) if slot in known}:
            on_both = all(name in known for known in lists.apart)
            yield join("users", user, "channels", name, *(["number"] if on_both else []))

    yield _Table(slots, places, booked=True)


def _keys(sides: Sides[Show], device: str) -> _Table:
    keys: Sides[Occupants] = sides.map(lambda show: show.devices[device].keys)
    return _Table(keys, lambda key: [join("devices", device, "keys", str(key))], booked=False)


def _among_devices(sides: Sides[Show]) -> Iterator[_Table]:
    """Addresses and wearers, of the devices that somebody edited."""
    there = sides.map(lambda show: show.devices)
    ours, theirs = differing(there.before, there.mine), differing(there.before, there.incoming)
    if not (ours and theirs):
        return
    edited = sorted({*ours, *theirs})
    for field in ("hardware", "user"):

        def occupants(show: Show, field: str = field) -> Occupants:
            found = {name: getattr(show.devices[name], field) for name in edited if name in show.devices}
            return {name: value for name, value in found.items() if value}

        def places(slot: Slot, field: str = field) -> Iterator[str]:
            on_both = all(slot in known for known in there.apart)
            yield join("devices", str(slot), *([field] if on_both else []))

        yield _Table(sides.map(occupants), places, booked=field == "hardware")


def _each(sides: Sides[Any]) -> tuple[Any, Any, Any]:
    return sides.before, sides.mine, sides.incoming


# --- what hangs together ---


def _touched(table: _Table, disputed: Collection[str]) -> list[Component]:
    """The slots of each unit that is touched, with every move of either side that it hangs together with."""
    before, mine, incoming = _each(table.occupants)
    moves = [(each, mine, incoming) for each in _components(before, mine)]
    moves += [(each, incoming, mine) for each in _components(before, incoming)]
    found: list[Component] = []
    for slots, side, other in moves:
        if not _is_unit(slots, before, side) or all(side.get(slot) == other.get(slot) for slot in slots):
            continue
        taken = any(other.get(slot) != before.get(slot) for slot in slots)
        places = (place for slot in slots for place in table.places(slot)) if disputed else ()
        if taken or any(f"{place}/".startswith(f"{path}/") for place in places for path in disputed):
            found.append(slots)
    return joined([*found], [each for each, _, _ in moves])


def _components(before: Occupants, after: Occupants) -> list[Component]:
    """The slots that changed hands, those together between which somebody moved."""
    changed = [slot for slot in {**before, **after} if before.get(slot) != after.get(slot)]
    sets = {slot: {slot} for slot in changed}
    for one in changed:
        for other in changed:
            if before.get(one) is not None and before.get(one) == after.get(other):
                both = sets[one] | sets[other]
                sets.update(dict.fromkeys(both, both))
    return list({frozenset(each) for each in sets.values()})


def _is_unit(slots: Component, before: Occupants, after: Occupants) -> bool:
    """Whether somebody moved within these slots into one that was occupied."""
    left = {before[slot] for slot in slots if slot in before}
    return any(slot in before and after.get(slot) in left for slot in slots)


def joined(some: Iterable[frozenset[Any]], among: Iterable[frozenset[Any]]) -> list[frozenset[Any]]:
    """The sets, each with all of `among` that it overlaps, directly or through others; overlapping ones are one."""
    left = [*among]
    found: list[frozenset[Any]] = []
    for start in some:
        if any(start <= each for each in found):
            continue
        whole, grows = start, True
        while grows:
            near = [each for each in left if each & whole]
            left = [each for each in left if not each & whole]
            grows = bool(near)
            whole = whole.union(*near)
        found = [each for each in found if not each & whole] + [whole.union(*(each for each in found if each & whole))]
    return found
