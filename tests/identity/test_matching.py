"""Rows without ids find their thing: sure matches are taken, doubtful ones asked, and row order changes nothing."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError, check_id
from showvc.formats.tables.naming import new_id
from showvc.identity.matching import Facts, match, slips


def facts(name, on="", label="", hardware=None):
    return Facts(name, label, None, hardware, frozenset(on))


KNOWN = {
    "sm": facts("Stage Manager", "abcd", "SM"),
    "spot-1": facts("Follow Spot 1", "ab"),
    "spot-2": facts("Follow Spot 2", "abe"),
    "fly": facts("Fly Cue", "cf"),
}


def sure(*rows, known=KNOWN, answers=None):
    found = match("users", rows, known, answers or {})
    assert not found.doubts, found.doubts
    return {rows[row].name: name for row, name in found.sure.items()}


def doubts(*rows, known=KNOWN, answers=None):
    return {doubt.row: dict(doubt.candidates) for doubt in match("users", rows, known, answers or {}).doubts.values()}


def test_equal_names_are_the_same_thing_however_they_are_written():
    assert sure(facts("  follow-spot 1"), facts("FLY CUE", "zz")) == {"  follow-spot 1": "spot-1", "FLY CUE": "fly"}


def test_a_label_finds_its_thing_where_the_name_is_another():
    assert sure(facts("Show Caller", "abcd", "sm")) == {"Show Caller": "sm"}


def test_a_hardware_address_decides():
    known = {
        "pack-1": facts("Pack 1", hardware="02-00-5E-10-00-01"),
        "pack-2": facts("Pack 2", hardware="02-00-5E-10-00-02"),
    }
    row = facts("Pack 2", hardware="02-00-5E-10-00-01")
    assert match("devices", [row], known).sure == {0: "pack-1"}


def test_a_slip_of_the_pen_is_no_other_position():
    assert sure(facts("Folow Spot 1", "ab"), facts("Follow Spot 2", "abe")) == {
        "Folow Spot 1": "spot-1",
        "Follow Spot 2": "spot-2",
    }


def test_names_with_other_numbers_are_never_near():
    found = match("users", [facts("Follow Spot 3", "z")], KNOWN)
    assert not found.sure


def test_two_positions_with_nearly_the_same_name_are_asked():
    """The outcome: neither is guessed, both candidates are listed with their scores."""
    known = {"spot-left": facts("Spot left", "ab"), "spot-lift": facts("Spot lift", "ab")}
    asked = doubts(facts("Spot laft", "ab"), known=known)
    assert {*asked["Spot laft"]} == {"spot-left", "spot-lift"}
    assert all(0.8 < score < 1 for score in asked["Spot laft"].values())


def test_a_renamed_position_with_the_same_channels_is_a_rename():
    assert sure(facts("Truss Spot", "ab"), facts("Follow Spot 2", "abe")) == {
        "Truss Spot": "spot-1",
        "Follow Spot 2": "spot-2",
    }


def test_a_swapped_pair_of_names_is_asked():
    """The outcome: a file cannot say whether names or lists were traded, so both rows are listed as doubtful."""
    asked = doubts(facts("Follow Spot 1", "abe"), facts("Follow Spot 2", "ab"), facts("Stage Manager", "abcd"))
    assert {row: {*candidates} for row, candidates in asked.items()} == {
        "Follow Spot 1": {"spot-1", "spot-2"},
        "Follow Spot 2": {"spot-1", "spot-2"},
    }


def test_a_new_position_is_new():
    found = match("users", [facts("Whisperer", "xyz")], KNOWN)
    assert (found.sure, found.doubts) == ({}, {})


def test_answers_settle_doubts():
    rows = (facts("Follow Spot 1", "abe"), facts("Follow Spot 2", "ab"))
    answers = {"users": {"follow spot 1": "spot-2", "Follow Spot 2": "new"}}
    assert sure(*rows, answers=answers) == {"Follow Spot 1": "spot-2"}


def test_answers_that_name_one_thing_twice_are_refused():
    with pytest.raises(ShowError, match="spot-1"):
        match("users", [facts("A"), facts("B")], KNOWN, {"users": {"A": "spot-1", "B": "spot-1"}})


NAMES = st.sampled_from(
    ["Spot", "Spot 1", "Spot 2", "Spott 1", "Spot left", "Spot lift", "Fly", "Fly rail", "Sound", "Snd", "", "Truss"]
)
ROWS = st.lists(
    st.builds(
        facts, NAMES, st.sampled_from(["", "a", "ab", "abc", "cd", "xyz"]), st.sampled_from(["", "", "S1", "FLY"])
    ),
    max_size=8,
)


@given(
    ROWS,
    st.dictionaries(
        st.sampled_from(["a", "b", "c", "d", "e", "f"]), ROWS.map(lambda rows: rows[0] if rows else facts("x"))
    ),
    st.randoms(use_true_random=False),
)
def test_the_order_of_rows_changes_nothing(rows, known, chance):
    mixed = [*rows]
    chance.shuffle(mixed)

    def answer(of):
        found = match("users", of, known)
        taken = [(str(of[row]), name) for row, name in found.sure.items()]
        asked = [(doubt.row, doubt.candidates) for doubt in found.doubts.values()]
        return sorted(taken), sorted(asked)

    assert answer(rows) == answer(mixed)


@given(ROWS, st.dictionaries(st.sampled_from("abcdef"), ROWS.map(lambda rows: rows[0] if rows else facts("x"))))
def test_no_thing_is_taken_twice(rows, known):
    found = match("users", rows, known)
    assert len({*found.sure.values()}) == len(found.sure)
    assert not {*found.sure} & {*found.doubts}


def test_hundreds_of_rows_that_all_changed_their_names_are_matched_by_their_lists():
    chance = random.Random(5)
    lists = [frozenset(chance.sample([f"g{number}" for number in range(200)], 12)) for _ in range(600)]
    known = {f"u{number}": Facts(f"Position {number}", content=on) for number, on in enumerate(lists)}
    rows = [Facts(f"Renamed {chance.random()}", content=on) for on in lists]
    assert match("users", rows, known).sure == {number: f"u{number}" for number in range(600)}


@pytest.mark.parametrize(
    ("name", "made"),
    [
        ("Fly Rail", "fly-rail"),
        ("Répétiteur", "repetiteur"),
        ("2nd Assistant", "user-2nd-assistant"),
        ("Props & Wigs", "props-and-wigs"),
        ("舞台", "user"),
        ("Con", "con-2"),
        ("Alarm", "alarm"),
        ("x" * 60, "x" * 40),
        ("Taken", "taken-3"),
    ],
)
def test_new_ids_come_from_names(name, made):
    assert new_id(name, "users", {"taken", "taken-2"}) == made


@given(st.text(max_size=60), st.sets(st.text(st.sampled_from("ab-2"), max_size=3)))
def test_every_name_gives_an_id_that_is_free(name, taken):
    made = new_id(name, "users", taken)
    assert check_id(made) == made
    assert made not in taken
    assert new_id(name, "users", taken) == made


@pytest.mark.parametrize(
    ("new", "near"),
    [
        ("Stage Managr", "Stage Manager"),
        ("Deputy Stage Manager", None),
        ("Follow Spot 3", None),
        ("Spot booth line B", None),
        ("STAGE-MANAGER", None),
    ],
)
def test_a_new_name_that_may_be_a_slip_of_the_pen_is_named(new, near):
    names = ["Stage Manager", "Follow Spot 1", "Spot booth line A"]
    assert slips([new], [*names, new]) == ([(new, near)] if near else [])
