"""Edits that are one edit: no answer leaves a panel, a list or a wearer that neither engineer drew."""

from __future__ import annotations

from itertools import permutations, product

import pytest

from showvc.document import Show
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from showvc.merging import Merge, choices, merge, settle
from tests.merging.cases import GONE, SMALL, Edits, edited

KEYS = ("A1", "A2", "A3")
BEFORE = ("lx", "fly", "snd")


def keys(*held: str | None) -> Edits:
    """The first keys of the prompt desk, in this order."""
    found = zip((*KEYS, "A4", "A5"), held, strict=False)
    return {f"devices/desk-01/keys/{key}": channel or GONE for key, channel in found}


def numbers(**given: int) -> Edits:
    return {f"users/sm/channels/{name.replace('_', '-')}/number": number for name, number in given.items()}


def three(mine: Edits, incoming: Edits, before: Edits = {}) -> tuple[Show, Show, Show]:  # noqa: B006
    start = edited(SMALL, before)
    return start, edited(start, mine), edited(start, incoming)


def paths(merged: Merge) -> list[tuple[str, ...]]:
    return [conflict.paths for conflict in merged.conflicts]


def on_keys(show: Show) -> dict[str, str]:
    return {key: held for key, held in show.devices["desk-01"].keys.items() if key != "A8"}


# --- keys of a device


def test_a_rotation_against_a_swap_is_one_conflict_of_all_its_keys() -> None:
    shows = three(keys("fly", "snd", "lx"), keys("fly", "lx"))
    merged = merge(*shows)
    assert paths(merged) == [tuple(f"/devices/desk-01/keys/{key}" for key in KEYS)]
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(merged.conflicts[0], side)]).show == show


def test_of_every_pair_of_panels_no_answer_leaves_one_that_neither_drew() -> None:
    """Each side puts the same three channels under the same three keys, in any order."""
    for one, other in product(permutations(BEFORE), repeat=2):
        shows = three(keys(*one), keys(*other))
        for side, drawn in (("mine", one), ("incoming", other)):
            merged = merge(*shows)
            assert len(merged.conflicts) <= 1
            result = merge(*shows, [settle(conflict, side) for conflict in merged.conflicts]).show
            wanted = drawn if merged.conflicts else one if other == BEFORE else other
            assert tuple(on_keys(result).values()) == wanted, (one, other)


@pytest.mark.parametrize(
    "incoming",
    [
        {"devices/desk-01/keys/A4": "asm"},  # another key
        {"devices/desk-01/place": "Prompt side"},  # another field
        {"users/sm/channels/lx/level": -3},  # what stands behind the key
        keys("fly", "lx"),  # the same swap
    ],
)
def test_a_swap_of_keys_that_the_other_side_does_not_touch_stands(incoming: Edits) -> None:
    shows = three(keys("fly", "lx"), incoming)
    merged = merge(*shows)
    assert merged.clean
    assert on_keys(merged.show)["A1"] == "fly"


def test_a_chain_into_an_empty_key_takes_the_empty_key_along() -> None:
    """LX goes onto FLY's key, FLY onto an empty one: with the other side's A2, FLY must not be on two keys."""
    shows = three(keys(None, "lx", "snd", "fly"), {"devices/desk-01/keys/A2": "asm"})
    (conflict,) = merge(*shows).conflicts
    assert conflict.paths == tuple(f"/devices/desk-01/keys/{key}" for key in ("A1", "A2", "A4"))
    assert on_keys(merge(*shows, [settle(conflict, "incoming")]).show) == {"A1": "lx", "A2": "asm", "A3": "snd"}


def test_a_move_to_an_empty_key_alone_is_no_unit() -> None:
    shows = three(keys(None, "fly", "snd", "lx"), {"devices/desk-01/keys/A1": "asm"})
    assert paths(merge(*shows)) == [("/devices/desk-01/keys/A1",)]


# --- numbers of a list


def test_a_swap_of_numbers_against_a_swap_with_a_third() -> None:
    shows = three(numbers(lx=2, fly=1), numbers(lx=3, snd=1))
    merged = merge(*shows)
    assert paths(merged) == [tuple(f"/users/sm/channels/{name}/number" for name in ("fly", "lx", "snd"))]
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(merged.conflicts[0], side)]).show == show


def test_what_else_stands_on_a_channel_that_moved_is_not_part_of_the_unit() -> None:
    shows = three(numbers(lx=2, fly=1), {"users/sm/channels/lx/talk": "dual", "users/sm/channels/fly": GONE})
    (conflict,) = merge(*shows).conflicts
    assert conflict.paths == ("/users/sm/channels/fly", "/users/sm/channels/lx/number")
    taken = merge(*shows, [settle(conflict, "mine")]).show
    assert {name: (entry.number, entry.talk) for name, entry in taken.users["sm"].channels.items()}["lx"] == (2, "dual")


SHIFTED: Edits = {"users/sm/channels/stage": {"number": 3}, **numbers(snd=4, asm=5)}


def test_a_list_shifted_by_one_that_collides_is_one_conflict() -> None:
    """Mine puts STAGE on 3 and moves what follows down by one; incoming put LX OP on 5, which is ASM's now."""
    shows = three(SHIFTED, {"users/sm/channels/lx-op": {"number": 5}})
    (conflict,) = merge(*shows).conflicts
    assert conflict.kind == "double-booked"
    assert {path.split("/")[4] for path in conflict.paths} == {"stage", "snd", "asm", "lx-op"}
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(conflict, side)]).show == show


@pytest.mark.parametrize("turned", [False, True])
def test_it_offers_the_next_free_number_for_the_one_that_is_in_the_way(turned: bool) -> None:
    """Whoever shifted the list, it is the single channel that moves, to 6."""
    before, shifted, added = three(SHIFTED, {"users/sm/channels/lx-op": {"number": 5}})
    shows = (before, added, shifted) if turned else (before, shifted, added)
    merged = merge(*shows)
    (conflict,) = merged.conflicts
    offered = choices(conflict, merged)
    assert [choice.take for choice in offered] == ["mine", "incoming", "value"]
    assert offered[-1].result["/users/sm/channels/lx-op"] == {"number": 6}
    settled = merge(*shows, [offered[-1].settlement(conflict)])
    assert settled.clean
    assert settled.show == edited(before, {**SHIFTED, "users/sm/channels/lx-op": {"number": 6}})


# --- addresses and wearers among devices

FIRST, SECOND, THIRD = (f"02-00-5E-10-00-0{number}" for number in (1, 2, 3))
UNITS: Edits = {"devices/pack-01/hardware": SECOND, "devices/pack-02/hardware": THIRD}


def test_two_addresses_swapped_here_one_of_them_moved_on_there() -> None:
    swapped = {"devices/pack-01/hardware": THIRD, "devices/pack-02/hardware": SECOND}
    shows = three(swapped, {"devices/pack-01/hardware": GONE, "devices/pack-03/hardware": SECOND}, UNITS)
    merged = merge(*shows)
    assert paths(merged) == [tuple(f"/devices/pack-0{number}/hardware" for number in (1, 2, 3))]
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(merged.conflicts[0], side)]).show == show


def test_two_packs_swapped_here_one_of_them_given_to_a_third_there() -> None:
    swapped = {"devices/desk-01/user": "fly-1", "devices/pack-02/user": "sm"}
    shows = three(swapped, {"devices/pack-02/user": "lx-op"}, {"devices/desk-01/keys": {}, "devices/pack-02/keys": {}})
    (conflict,) = merge(*shows).conflicts
    assert conflict.paths == ("/devices/desk-01/user", "/devices/pack-02/user")
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(conflict, side)]).show == show


def test_two_packs_swapped_here_one_of_them_removed_there() -> None:
    swapped = {"devices/desk-01/user": "fly-1", "devices/pack-02/user": "sm"}
    shows = three(swapped, {"devices/pack-02": GONE}, {"devices/desk-01/keys": {}, "devices/pack-02/keys": {}})
    merged = merge(*shows)
    assert paths(merged) == [("/devices/desk-01/user", "/devices/pack-02")]
    taken = merge(*shows, [settle(merged.conflicts[0], "incoming")]).show
    assert taken.devices["desk-01"].user == "sm"
    assert get(taken, parse("/devices/pack-02")) is ABSENT


# --- as data


def test_the_values_of_a_unit_are_maps_from_pointer_to_value() -> None:
    (conflict,) = merge(*three(keys("fly", "lx"), keys("snd"))).conflicts
    plain = conflict.plain("1")
    assert plain["before"] == {"/devices/desk-01/keys/A1": "lx", "/devices/desk-01/keys/A2": "fly"}
    assert plain["incoming"] == {"/devices/desk-01/keys/A1": "snd", "/devices/desk-01/keys/A2": "fly"}
