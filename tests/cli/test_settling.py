"""Merges, rollbacks and what settles them, in words: what is lost is said first, and every answer is asked for once."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.cli.terminal import INTERRUPT, ended
from tests.history.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def edited(desk: Desk, *edits: tuple[str, str], note: str = "An edit") -> str:
    for path, value in edits:
        desk("remove" if value == "" else "set", path, *[value] * (value != ""), code=None)
    return desk.record(note)


def on_draft(desk: Desk, *edits: tuple[str, str]) -> None:
    desk("draft", "open", "deck")
    edited(desk, *edits)
    desk("draft", "go", "main")


@pytest.fixture
def clashing(desk: Desk) -> Desk:
    """Two labels that clash, and channel 3 for two targets."""
    on_draft(
        desk,
        ("groups/fly/label", "RAIL"),
        ("groups/lx/label", "LAMP"),
        ("users/sm/channels/snd", "{number: 3}"),
    )
    edited(
        desk,
        ("groups/fly/label", "FLYS"),
        ("groups/lx/label", "LITE"),
        ("users/sm/channels/asm", "{number: 3}"),
    )
    return desk


# --- what it does is said first


@pytest.fixture
def required(desk: Desk) -> Desk:
    edited(desk, ("required/sm-asm", "{from: sm, to: asm, why: the deck is called here}"))
    return desk


def test_a_merge_that_loses_a_required_path_says_so_before_anything_else(required: Desk) -> None:
    on_draft(required, ("users/sm/channels/fly/talk", "none"))
    lines = required("merge", "deck", code=1).out.splitlines()
    assert lines[0] == "BLOCKED: 1 block, 1 required path lost (sm-asm). Details: showvc check"
    assert lines[1] == "Required paths lost:"
    assert lines[2].startswith("  LOST: SM -> Deck Manager (asm): lost, Deck Manager (asm) can't hear SM")
    assert next(place for place, line in enumerate(lines) if line.startswith("Lost on critical groups")) < next(
        place for place, line in enumerate(lines) if line.startswith("Recorded ")
    )
    assert "BLOCKED: 1 new block; can't be released. Details: showvc check" in lines


def test_a_rollback_that_loses_a_required_path_says_so_first(required: Desk) -> None:
    edited(required, ("users/asm/channels/fly/number", "2"))
    lost = edited(required, ("users/sm/channels/fly/talk", "none"))
    given = edited(required, ("users/sm/channels/fly/talk", "latch"), note="Talk back")
    lines = required("rollback", given, code=1).out.splitlines()
    assert lines[0].startswith("BLOCKED: 1 block, 1 required path lost (sm-asm)")
    assert lines[1] == "Required paths lost:"
    assert required("undo").code == 0
    lines = required("carry", lost, code=None).out.splitlines()
    assert "1 required path lost" in lines[0] or "conflict" in "".join(lines)


def test_restore_says_first_what_it_loses(required: Desk) -> None:
    edited(required, ("users/sm/channels/fly/talk", "none"))
    edited(required, ("users/sm/channels/fly/talk", "latch"))
    lines = required("restore", "last-1", code=1).out.splitlines()
    assert lines[0] == "Required paths lost:"
    assert lines[1].startswith("  LOST: SM -> Deck Manager (asm)")


def test_a_merge_that_brings_a_broken_reference_says_so(desk: Desk) -> None:
    on_draft(desk, ("users/board/channels/nowhere", "{number: 9}"))
    said = desk("merge", "deck", code=1).out
    assert "BLOCK    channel-to-nothing" in said
    assert said.index("BLOCK    channel-to-nothing") < said.index("Recorded ")


# --- what was wrong on a side


def test_a_rollback_does_not_list_what_it_puts_right(required: Desk) -> None:
    bad = edited(required, ("users/sm/channels/fly/talk", "none"))
    edited(required, ("groups/lx/name", "Lamps"))
    said = required("rollback", bad).out
    assert "required-lost" not in said
    assert "incoming" not in said


def test_what_is_wrong_still_is_told_as_what_it_was(desk: Desk) -> None:
    edited(desk, ("users/board/channels/nowhere", "{number: 9}"))
    code = edited(desk, ("groups/lx/name", "Lamps"))
    said = desk("rollback", code).out
    assert "Was so before, and still is:" in said
    assert "channel-to-nothing" in said
    assert "[incoming]" not in said


def test_the_sides_of_a_rollback_are_explained(desk: Desk) -> None:
    code = edited(desk, ("groups/lx/label", "LAMP"))
    edited(desk, ("groups/lx/label", "LITE"))
    said = desk("rollback", code, code=1).out + desk("settle", "1", code=1).out
    assert f"Here mine is the show as it is now, incoming is the show without {code}." in said
    assert "mine (now" in said
    assert f"incoming (without {code})" in said


# --- settling


def test_an_answer_says_how_many_are_left_and_does_not_draw_them_again(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    said = clashing("settle", "1", "--take", "mine", code=1).out
    assert said.startswith("Settled 1: mine is taken, /groups/fly/label = FLYS.\n\n")
    assert "2 conflicts left to settle: 2 (both-changed), 3 (double-booked). Shown by: showvc settle" in said
    assert "/groups/lx/label" not in said
    assert "group LX (Lights), label" in clashing("settle", code=1).out


def test_a_conflict_that_an_answer_brings_up_is_drawn(desk: Desk) -> None:
    on_draft(desk, ("groups/snd/name", "Sound Desk"), ("users/board/channels/snd", "{number: 2}"))
    edited(desk, ("groups/snd", ""))
    desk("merge", "deck", code=1)
    said = desk("settle", "1", "--take", "mine", code=1).out
    assert "That brings up:" in said
    assert "dangling" in said


def test_an_answer_for_no_conflict_asks_for_which(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    said = clashing("settle", "--take", "mine", code=2).err
    assert "--take mine: for which conflict? Open are: 1, 2, 3" in said
    assert "showvc settle ID --take mine, or for all of them: showvc settle --all --take mine" in said
    assert "for which conflict" in clashing("settle", "--value", "7", code=2).err


def test_what_a_conflict_is_settled_by_is_said_in_words(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    said = clashing("settle", "3", "--take", "both", code=2).err
    assert "a double-booked is settled by mine or incoming, not by 'both'" in said


def test_which_of_two_a_number_moves_is_said(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    said = clashing("settle", "3", code=1).out
    assert "--value V moves the incoming one: it goes to /users/sm/channels/snd/number" in said


def test_twins_are_told_until_they_are_one(desk: Desk) -> None:
    on_draft(desk, ("groups/radio-house", "{name: House Radio}"), ("groups/lx/label", "LAMP"))
    edited(desk, ("groups/house-radio", "{name: House radio}"), ("groups/lx/label", "LITE"))
    assert "twin" in desk("merge", "deck", code=1).out
    assert "twin" in desk("settle", code=1).out
    desk("settle", "--unify", "groups/house-radio=groups/radio-house", code=1)
    assert "twin" not in desk("settle", code=1).out
    assert desk.json("settle", code=1)["problems"] == []


def test_two_devices_of_one_address_that_are_made_one_are_no_conflict_any_more(desk: Desk) -> None:
    pack = "{kind: pack-2, hardware: 02-00-5E-10-00-08}"
    on_draft(desk, ("devices/pack-09", pack))
    edited(desk, ("devices/pack-08", pack))
    assert "look like the same thing" in desk("merge", "deck", code=1).out
    assert desk("settle", "--all", "--take", "mine", code=1)  # one or two is for a person to say
    said = desk("settle", "1", "--take", "mine").out
    assert "STOP" not in said
    assert not (desk.folder / "devices/pack-09.yaml").exists()
    assert desk.json("now")["merge"] is None


# --- asked on a terminal


def test_a_wrong_answer_is_asked_again(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    code, lines = ended(
        clashing.folder, 100, "settle", typed=("w", "m", "=", "LIGHT\n", "=", "0\n", "=", "\n", "=", "4\n")
    )
    said = "\n".join(lines)
    assert code == 0, said
    assert "'w' is no answer here" in said
    assert said.count("1  both-changed") == 1
    assert "name: Lights\nlabel: LIGHT" in clashing.read("groups/lx.yaml")


def test_ctrl_c_leaves_the_merge_open_and_says_so(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    code, lines = ended(clashing.folder, 100, "settle", typed=("m", INTERRUPT))
    said = "\n".join(lines)
    assert code == 1
    assert "Stopped. What you have settled is kept, and the merge stays open." in said
    assert "2 conflicts left to settle" in said
    assert "Abort" not in said
    assert clashing.json("now", code=1)["conflicts"] == 2


def test_one_conflict_is_drawn_with_its_choices_and_what_they_do(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    said = clashing("settle", "3", code=1).out
    assert "showvc settle 3 --take mine" in said
    assert "showvc settle 3 --value 4" in said  # the next free number
    assert "Ada Rook" in said  # who made the edits
    plain = clashing.json("settle", "3", code=1)
    assert [choice["take"] for choice in plain["choices"]] == ["mine", "incoming", "value"]
    assert all(choice["effect"] is not None for choice in plain["choices"])
    assert plain["sides"]["mine"]["who"] == "Ada Rook"


def test_the_overview_is_one_line_a_conflict(clashing: Desk) -> None:
    lines = clashing("merge", "deck", code=1).out.splitlines()
    assert [line[:20] for line in lines if line[2:3].isdigit()] == [
        "  1  both-changed   ", "  2  both-changed   ", "  3  double-booked  "
    ]  # fmt: skip


@pytest.mark.parametrize("columns", [60, 80])
def test_the_overview_fits_the_terminal(clashing: Desk, columns: int) -> None:
    lines = [line for line in ended(clashing.folder, columns, "merge", "deck")[1] if line[2:3].isdigit()]
    assert len(lines) == 3
    assert all(len(line) <= columns for line in lines), lines


def test_several_alike_are_answered_at_once_after_a_confirmation(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    code, lines = ended(clashing.folder, 100, "settle", typed=("I", "y", "q"))
    said = "\n".join(lines)
    assert "[M] or [I] for this and 1 like it" in said
    assert "Take incoming for 2 conflicts (1, 2)?" in said
    assert [each["id"] for each in clashing.json("settle", code=1)["conflicts"]] == ["3"]
    assert code == 1


def test_one_can_go_back_to_the_previous_conflict(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    ended(clashing.folder, 100, "settle", typed=("m", "p", "i", "q"))
    assert [each["id"] for each in clashing.json("settle", code=1)["conflicts"]] == ["2", "3"]
    clashing("settle", "--all", "--take", "mine")
    assert "label: RAIL" in clashing.read("groups/fly.yaml")


def test_back_goes_to_what_was_left_for_later_too_and_to_all_that_one_key_answered(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    ended(clashing.folder, 100, "settle", typed=("l", "p", "m", "q"))
    assert [each["id"] for each in clashing.json("settle", code=1)["conflicts"]] == ["2", "3"]
    clashing("undo")
    ended(clashing.folder, 100, "settle", typed=("M", "y", "p", "q"))
    assert [each["id"] for each in clashing.json("settle", code=1)["conflicts"]] == ["1", "2", "3"]


def test_any_key_but_y_is_a_no(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    ended(clashing.folder, 100, "settle", typed=("M", "x", "q"))
    assert clashing.json("now", code=1)["conflicts"] == 3


def test_the_choices_and_what_they_do_are_one_key_away_and_q_leaves(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    code, lines = ended(clashing.folder, 100, "settle", typed=("c", "q"))
    said = "\n".join(lines)
    assert code == 1
    assert "showvc settle 1 --take incoming   (Ada Rook, " in said
    assert clashing.json("now", code=1)["conflicts"] == 3


def test_the_engineers_are_named_with_the_time(clashing: Desk) -> None:
    said = clashing("merge", "deck", code=1).out
    assert re.search(r"  1  both-changed +Ada Rook, \d\d:\d\d / Ada Rook, \d\d:\d\d  ", said), said
    assert re.search(r"incoming \(Ada Rook, \d\d:\d\d\) ", clashing("settle", "1", code=1).out)


def test_rolling_a_merge_back_asks_whose_side_goes(desk: Desk) -> None:
    on_draft(desk, ("groups/lx/name", "Lamps"))
    edited(desk, ("groups/fly/name", "Flies"))
    code = desk.json("merge", "deck")["snapshot"]
    _, lines = ended(desk.folder, 100, "rollback", code, typed=("x", "q"))
    assert "name: Lamps" in desk.read("groups/lx.yaml"), lines
    _, lines = ended(desk.folder, 100, "rollback", code, typed=("i",))
    assert "Whose edits are taken back?" in "\n".join(lines)
    assert "name: Lights" in desk.read("groups/lx.yaml")
    assert "name: Flies" in desk.read("groups/fly.yaml")


# --- without a show


def test_outside_a_show_a_name_that_is_nothing_is_told_with_the_way_out(tmp_path: Path) -> None:
    outside = Desk(tmp_path)
    said = outside("merge", "x.show.yaml", "--before", "nothere", "--mine", "y", "--into", "o.show.yaml", code=2).err
    assert "'nothere' is no file or folder here" in said
    assert "--show DIR" in said


def test_what_was_wrong_on_one_side_for_one_cause_is_told_once(desk: Desk) -> None:
    units = [(f"devices/spare-{number}", "{kind: pack-4, on: [deck-switch]}") for number in range(6)]
    on_draft(desk, ("groups/fly/label", "RAIL"))
    edited(desk, *units, ("groups/lx/label", "LITE"))
    said = " ".join(desk("merge", "deck", code=None).out.split())
    assert said.count("deck-switch") == 1
    assert "carrier-unknown: 6 like this, e.g.: device spare-0: hangs on 'deck-switch', which is no carrier" in said
