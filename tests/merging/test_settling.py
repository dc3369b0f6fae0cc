"""Settling: by a side, by a value of its own, by keeping both; and what is remembered of it."""

from __future__ import annotations

import json

import pytest

from showvc.document import Show, ShowError
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from showvc.merging import Conflict, Settlement, merge, settle, settle_by_value, value_place
from tests.merging.cases import CLASHING, SMALL, Case, edited


def case(name: str) -> Case:
    return next(found for found in CLASHING if found.name == name)


def only_conflict(name: str) -> tuple[tuple[Show, Show, Show], Conflict]:
    shows = case(name).shows
    (conflict,) = merge(*shows).conflicts
    return shows, conflict


def at(show: Show, pointer: str) -> object:
    return get(show, parse(pointer))


def number_of(show: Show, channel: str) -> int:
    return show.users["sm"].channels[channel].number


# --- by a value of its own


def test_a_leaf_takes_a_value_that_neither_side_had() -> None:
    shows, conflict = only_conflict("both rename a group differently")
    merged = merge(*shows, [settle_by_value(conflict, "Lamps")])
    assert merged.clean
    assert merged.show.groups["lx"].name == "Lamps"


@pytest.mark.parametrize(
    ("name", "moved", "kept"),
    [
        ("both take one number", "lx-op", "stage"),
        ("one moves a channel to a number, the other plots a new one there", "stage", "lx"),
        ("both move a channel to one number", "snd", "lx"),
    ],
)
def test_of_a_number_taken_twice_the_incoming_channel_moves(name: str, moved: str, kept: str) -> None:
    shows, conflict = only_conflict(name)
    assert value_place(conflict) == f"/users/sm/channels/{moved}/number"
    merged = merge(*shows, [settle_by_value(conflict, 6)])
    assert merged.clean
    assert (number_of(merged.show, moved), number_of(merged.show, kept)) == (6, 5)


@pytest.mark.parametrize(
    ("name", "moved", "kept"),
    [("one port for two new bridges", "town", "tape"), ("both move a bridge to one port", "party-line", "radio")],
)
def test_of_a_port_taken_twice_the_incoming_bridge_moves(name: str, moved: str, kept: str) -> None:
    shows, conflict = only_conflict(name)
    assert value_place(conflict) == f"/bridges/{moved}/port"
    merged = merge(*shows, [settle_by_value(conflict, 4)])
    assert merged.clean
    assert (merged.show.bridges[moved].port, merged.show.bridges[kept].port) == (4, 3)


def test_of_a_hardware_address_given_twice_the_incoming_device_takes_the_value() -> None:
    shows, conflict = only_conflict("one hardware address, in two spellings, for two devices")
    merged = merge(*shows, [settle_by_value(conflict, "02 00 5e 10 00 08")])
    assert merged.clean
    assert merged.show.devices["pack-01"].hardware == "02-00-5E-10-00-07"
    assert merged.show.devices["pack-02"].hardware == "02-00-5E-10-00-08"


def test_a_key_given_to_two_targets_takes_a_third() -> None:
    shows, conflict = only_conflict("an empty key given to two targets")
    merged = merge(*shows, [settle_by_value(conflict, "snd")])
    assert merged.clean
    assert merged.show.devices["desk-01"].keys["A4"] == "snd"


def test_a_value_that_breaks_something_else_brings_up_the_next_conflict() -> None:
    shows, conflict = only_conflict("both take one number")
    answers = [settle_by_value(conflict, 4)]  # 4 is ASM's
    merged = merge(*shows, answers)
    assert [found.kind for found in merged.conflicts] == ["double-booked"]
    assert "channel 4 is both ASM and LX OP" in merged.conflicts[0].message
    merged = merge(*shows, [*answers, settle_by_value(merged.conflicts[0], 6)])
    assert merged.clean
    assert number_of(merged.show, "lx-op") == 6


def test_a_value_that_the_field_does_not_take_is_refused_with_its_place() -> None:
    shows, conflict = only_conflict("both change a talk mode")
    with pytest.raises(ShowError, match="/users/sm/channels/lx/talk"):
        merge(*shows, [settle_by_value(conflict, "shouting")])


def test_a_text_is_settled_by_the_whole_text() -> None:
    shows, conflict = only_conflict("one line of the notes rewritten twice")
    merged = merge(*shows, [settle_by_value(conflict, "Load-in at half past nine.\n")])
    assert merged.clean
    assert merged.show.head.notes == "Load-in at half past nine.\n"
    assert merged.show.groups["lx"].name == "Lights"


@pytest.mark.parametrize("found", CLASHING, ids=lambda found: found.name)
def test_what_takes_a_value_is_one_place_or_a_double_booking(found: Case) -> None:
    for conflict in merge(*found.shows).conflicts:
        assert conflict.takes_value == (len(conflict.paths) == 1 or conflict.kind == "double-booked")
        if conflict.takes_value:
            assert value_place(conflict).startswith(conflict.paths)


# --- by keeping both


@pytest.mark.parametrize(
    "name", ["a required path that loses one way on each side", "two bridges that close a ring only together"]
)
def test_a_lost_path_and_a_ring_may_be_kept_knowingly(name: str) -> None:
    shows, conflict = only_conflict(name)
    assert conflict.sides == ("mine", "incoming", "both")
    merged = merge(*shows, [settle(conflict, "both")])
    assert merged.clean
    assert merged.show == case(name).wanted
    assert [(found.kind, answer.how) for found, answer in merged.settled] == [(conflict.kind, "both")]


@pytest.mark.parametrize("found", CLASHING, ids=lambda found: found.name)
def test_nothing_else_may_be_kept_as_it_is(found: Case) -> None:
    for conflict in merge(*found.shows).conflicts:
        assert ("both" in conflict.sides) == (conflict.kind in ("path-lost", "key-lost", "audio-loop", "twin"))


# --- one after the other


def test_conflicts_are_settled_one_by_one_in_any_order() -> None:
    shows = case("a number taken twice and a group renamed twice, and an edit that nobody disputes").shows
    first, second = merge(*shows).conflicts
    for order in ((first, second), (second, first)):
        answers: list[Settlement] = []
        for left, conflict in zip((1, 0), order, strict=True):
            answers.append(settle(conflict, "mine"))
            assert len(merge(*shows, answers).conflicts) == left
        assert merge(*shows, answers).show.groups["lx"].name == "Lights"


def test_a_later_answer_replaces_an_earlier_one() -> None:
    shows, conflict = only_conflict("both rename a group differently")
    merged = merge(*shows, [settle(conflict, "mine"), settle(conflict, "incoming")])
    assert merged.show.groups["lx"].name == "Electrics"


def test_an_answer_may_bring_up_the_next_question() -> None:
    shows = case("a user removed with his pack here, the pack renamed there: he comes back with it").shows
    (first,) = merge(*shows).conflicts
    assert first.paths == ("/devices/pack-01",)
    (second,) = merge(*shows, [settle(first, "incoming")]).conflicts
    assert second.kind == "dangling", "his key and his name are given back by one answer, and asked as one"
    assert "user 'asm' is no user" in second.message
    assert "Mine removed device pack-01 and removed user ASM" in second.message


# --- remembered


def test_a_settlement_survives_a_file() -> None:
    for found in CLASHING:
        for conflict in merge(*found.shows).conflicts:
            for side in ("mine", "incoming"):
                answer = settle(conflict, side, "the deck engineer", "2026-11-25T19:30:00+01:00")
                assert Settlement.from_plain(json.loads(json.dumps(answer.plain()))) == answer


def test_the_same_conflict_in_a_later_merge_is_known_by_its_key() -> None:
    shows, conflict = only_conflict("both rename a group differently")
    later = tuple(edited(show, {"groups/stage/name": "Deck"}) for show in shows)
    (again,) = merge(*later).conflicts
    assert again.key == conflict.key


@pytest.mark.parametrize("changed", ["before", "mine", "incoming"])
def test_another_value_makes_it_another_conflict(changed: str) -> None:
    shows, conflict = only_conflict("both rename a group differently")
    place = ("before", "mine", "incoming").index(changed)
    other = [edited(show, {"groups/lx/name": "Lamps"}) if at == place else show for at, show in enumerate(shows)]
    (again,) = merge(*other).conflicts
    assert again.key != conflict.key


def test_a_settlement_with_the_sides_turned_keeps_its_value_and_not_its_name() -> None:
    (before, mine, incoming), conflict = only_conflict("both rename a group differently")
    turned = merge(before, incoming, mine, [settle(conflict, "mine")])
    assert turned.show.groups["lx"].name == "Lights"


# --- as data


def test_a_conflict_as_json() -> None:
    _, conflict = only_conflict("both rename a group differently")
    assert conflict.plain("1") == {
        "id": "1",
        "kind": "both-changed",
        "paths": ["/groups/lx/name"],
        "before": "Lighting",
        "mine": "Lights",
        "incoming": "Electrics",
        "message": "group LX (Lighting), name: mine says 'Lights', incoming says 'Electrics'; it was 'Lighting'",
    }


def test_absent_values_are_null_in_json_and_several_places_are_a_list() -> None:
    _, conflict = only_conflict("both take one number")
    plain = conflict.plain("2")
    assert plain["before"] == [None, None]
    assert plain["mine"] == [None, {"number": 5}]
    assert plain["incoming"] == [{"number": 5, "talk": "latch"}, None]
    assert json.loads(json.dumps(plain)) == plain


def test_a_merge_as_json() -> None:
    shows, _ = only_conflict("both rename a group differently")
    plain = merge(*shows).plain()
    assert (plain["clean"], plain["snapshot"], plain["problems"]) == (False, None, [])
    assert [found["id"] for found in plain["conflicts"]] == ["1"]


# --- while it is open


def test_an_open_conflict_stands_on_the_value_from_before() -> None:
    shows, _ = only_conflict("both rename a group differently")
    assert merge(*shows).show.groups["lx"].name == SMALL.groups["lx"].name


def test_what_one_side_removed_stands_until_it_is_settled() -> None:
    shows, _ = only_conflict("a group removed here, renamed there")
    assert "snd" in merge(*shows).show.groups


def test_taking_the_removal_takes_the_thing() -> None:
    shows, conflict = only_conflict("a group removed here, renamed there")
    assert at(merge(*shows, [settle(conflict, "mine")]).show, "/groups/snd") is ABSENT


def test_a_message_moves_no_terminals_cursor() -> None:
    one, other = (edited(SMALL, {"groups/lx/extra": {"a\nb": value}}) for value in ("\x1b[2J", "\x9b2J"))
    (conflict,) = merge(SMALL, one, other).conflicts
    assert conflict.message.isprintable()
    assert conflict.mine == ("\x1b[2J",)


def test_a_side_that_names_a_channel_brings_no_removed_user_back_unasked() -> None:
    """The user comes back only where the question itself names him, and then as that side had him."""
    gone = {"users/asm": ABSENT, "users/sm/channels/asm": ABSENT, "devices/pack-01": ABSENT}
    mine, incoming = edited(SMALL, gone), edited(SMALL, {"users/lx-op/channels/asm": {"number": 2}})
    answers: list[Settlement] = []
    while conflicts := merge(SMALL, mine, incoming, answers).conflicts:
        named = {path for conflict in conflicts for path in conflict.paths}
        answers += [settle(conflict, "incoming") for conflict in conflicts]
        if "asm" in merge(SMALL, mine, incoming, answers).show.users:
            assert "/users/asm" in named
    merged = merge(SMALL, mine, incoming, answers)
    assert merged.show.users["asm"] == SMALL.users["asm"]
    assert "asm" not in merged.show.users["sm"].channels  # what nobody disputed stays as mine left it
