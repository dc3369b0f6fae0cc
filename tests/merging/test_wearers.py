"""A key belongs to who wears the device: it changes hands only when somebody says so."""

from __future__ import annotations

import pytest

from showvc.document import Show
from showvc.merging import Conflict, merge, settle
from tests.merging.cases import GONE, SMALL, Edits, edited

# ASM wears pack-01. LX OP has SND too, as the deck has.
BEFORE = edited(SMALL, {"users/lx-op/channels/snd": {"number": 2, "talk": "latch"}})


def three(mine: Edits, incoming: Edits, before: Edits = {}) -> tuple[Show, Show, Show]:  # noqa: B006
    start = edited(BEFORE, before)
    return start, edited(start, mine), edited(start, incoming)


STAGE_KEY: Edits = {"devices/pack-01/keys/A2": "stage"}
TO_LX: Edits = {"devices/pack-01/user": "lx-op"}


def kinds(*shows: Show) -> list[str]:
    return [conflict.kind for conflict in merge(*shows).conflicts]


def only(shows: tuple[Show, Show, Show]) -> Conflict:
    (conflict,) = merge(*shows).conflicts
    return conflict


def test_a_key_edited_here_and_the_pack_given_to_another_there_are_one_conflict_of_the_device() -> None:
    shows = three({"devices/pack-01/keys/A2": "snd", "devices/pack-01/keys/A1": GONE}, TO_LX)
    conflict = only(shows)
    assert conflict.kind == "both-changed"
    assert conflict.paths == ("/devices/pack-01/keys/A1", "/devices/pack-01/keys/A2", "/devices/pack-01/user")
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(conflict, side)]).show == show


def test_turned_round_it_is_the_same_conflict() -> None:
    before, mine, incoming = three(STAGE_KEY, TO_LX)
    assert only((before, mine, incoming)).key == only((before, incoming, mine)).key


def test_keys_drawn_for_the_new_wearer_go_with_him() -> None:
    shows = three(STAGE_KEY, {**TO_LX, "devices/pack-01/keys/A1": "lx"})
    conflict = only(shows)
    assert "/devices/pack-01/keys/A1" in conflict.paths
    assert merge(*shows, [settle(conflict, "mine")]).show == shows[1]


@pytest.mark.parametrize(
    ("mine", "incoming"),
    [
        ({"devices/pack-01/keys/A4": "alarm"}, TO_LX),  # a line is the same for everybody
        (STAGE_KEY, {**TO_LX, **STAGE_KEY}),  # drawn alike by both
        ({"devices/pack-01/keys/A1": "lx"}, {"devices/pack-01/user": "lx-op", "devices/pack-01/keys/A1": "lx"}),
        (STAGE_KEY, {"devices/pack-01/name": "Deck pack"}),  # who wears it is as before
        ({"devices/pack-01/place": "Dock"}, TO_LX),  # no key was edited
    ],
)
def test_no_conflict_where_the_key_is_the_new_wearers_anyway(mine: Edits, incoming: Edits) -> None:
    before = {"users/lx-op/channels/stage": {"number": 3}}
    assert "both-changed" not in kinds(*three(mine, incoming, before))


def test_no_conflict_where_another_pack_of_the_new_wearer_has_the_same_under_that_key() -> None:
    before: Edits = {
        "devices/pack-03": {"kind": "pack-4", "user": "lx-op", "keys": {"A2": "lx"}},
        "users/asm/channels/lx": {"number": 3},
    }
    assert kinds(*three({"devices/pack-01/keys/A2": "lx"}, TO_LX, before)) == []


# --- keys that follow


MOVED: Edits = {"devices/pack-01/user": "lx-op", "devices/pack-03/user": "asm", "devices/pack-03/keys": {"A1": "snd"}}


def test_keys_are_offered_to_follow_who_moved_to_another_pack() -> None:
    shows = three(STAGE_KEY, MOVED)
    conflict = only(shows)
    assert conflict.sides == ("mine", "incoming", "follow")
    merged = merge(*shows, [settle(conflict, "follow")])
    assert merged.clean
    assert merged.show == edited(shows[2], {"devices/pack-03/keys/A2": "stage"})


def test_they_follow_too_where_the_old_pack_is_nobodys_now() -> None:
    shows = three(STAGE_KEY, {**MOVED, "devices/pack-01/user": GONE})
    assert only(shows).sides == ("mine", "incoming", "follow")


def test_they_do_not_follow_onto_a_key_that_holds_something_else() -> None:
    shows = three(STAGE_KEY, {**MOVED, "devices/pack-03/keys": {"A2": "snd"}})
    assert only(shows).sides == ("mine", "incoming")


# --- what both had under a key


TWO: Edits = {"devices/pack-03": {"kind": "pack-4", "user": "sm", "keys": {"A1": "snd"}}}


def test_each_side_leaves_one_key_and_together_they_leave_none() -> None:
    shows = three({"devices/desk-01/keys/A3": GONE}, {"devices/pack-03/keys/A1": GONE}, TWO)
    conflict = only(shows)
    assert conflict.kind == "key-lost"
    assert conflict.paths == ("/devices/desk-01/keys/A3", "/devices/pack-03/keys/A1")
    assert "SM: SND is on no key; both sides had one" in conflict.message
    for side, show in (("mine", shows[1]), ("incoming", shows[2])):
        assert merge(*shows, [settle(conflict, side)]).show == show


def test_moved_to_two_keys_it_would_be_there_twice() -> None:
    shows = three(
        {"devices/desk-01/keys/A3": GONE, "devices/desk-01/keys/A4": "snd"},
        {"devices/desk-01/keys/A3": GONE, "devices/desk-01/keys/A5": "snd"},
    )
    conflict = only(shows)
    assert (conflict.kind, conflict.paths) == ("key-lost", ("/devices/desk-01/keys/A4", "/devices/desk-01/keys/A5"))
    assert merge(*shows, [settle(conflict, "incoming")]).show == shows[2]


def test_one_side_that_takes_it_off_its_keys_is_heeded() -> None:
    shows = three({"devices/desk-01/keys/A3": GONE}, {"devices/desk-01/keys/A4": "asm"})
    assert kinds(*shows) == []


def test_with_the_channel_goes_the_key() -> None:
    shows = three(
        {"devices/desk-01/keys/A3": GONE, "users/sm/channels/snd": GONE}, {"devices/pack-03/keys/A1": GONE}, TWO
    )
    assert "key-lost" not in kinds(*shows)
