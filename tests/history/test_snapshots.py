"""Snapshots: what they say of themselves, and what recording does and refuses."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from showvc.document import ShowError
from showvc.history.archive import DRAFTS, Person
from showvc.history.snapshots import history, record
from tests.history.desk import FILES, Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def test_a_snapshot_tells_who_when_why_and_what(desk: Desk) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk("set", "groups/snd/name", "Sound Desk")
    desk("set", "users/sm/channels/lx/number", "5")
    desk("record", "--note", "Rigging joins", "--who", "Bo Lind", SHOWVC_WHO=None)
    newest = desk.json("history")["snapshots"][0]
    assert newest["who"] == "Bo Lind"
    assert newest["note"] == "Rigging joins"
    assert newest["changes"] == {"added": 1, "renamed": 1, "moved": 1}
    assert newest["marks"] == []
    assert re.fullmatch(r"[0-9a-f]{7}", newest["code"])
    when = datetime.fromisoformat(newest["when"])
    assert when.tzinfo is not None
    assert abs((datetime.now().astimezone() - when).total_seconds()) < 120


def test_nothing_new_makes_no_snapshot(desk: Desk) -> None:
    assert desk.json("record", "--note", "Nothing")["snapshot"] is None
    assert len(desk.json("history")["snapshots"]) == 2


def test_a_comment_alone_is_worth_a_snapshot(desk: Desk) -> None:
    desk.write("groups/lx.yaml", "# the old desk\n" + FILES["groups/lx.yaml"])
    answer = desk("record", "--note", "A remark")
    assert "comments and order only" in answer.out
    assert desk.git("show", "main:groups/lx.yaml") == desk.read("groups/lx.yaml")


def test_what_cannot_be_read_is_not_recorded_and_every_problem_is_told(desk: Desk) -> None:
    desk.write("groups/lx.yaml", "name: Lights\nlable: LX\n")
    desk.write("users/sm.yaml", "name: SM\nchannels:\n  lx: {number: ninety}\n")
    answer = desk("record", "--note", "Broken", code=2)
    assert "groups/lx.yaml:2:1" in answer.err
    assert "users/sm.yaml:3" in answer.err
    assert len(desk.json("history")["snapshots"]) == 2


def test_a_note_is_needed(desk: Desk) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    with pytest.raises(ShowError, match="needs a note"):
        record(desk.archive, "  ")


@pytest.mark.parametrize(
    "note",
    [
        "Ä note with – dashes",
        "two\nlines",
        "Changes: {}",
        "  spaces  ",
        "'quotes\" and $(things)",
        "# hash first",
        "x" * 3000,
    ],
)
def test_any_note_comes_back_as_it_was_given(desk: Desk, note: str) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk("record", "--note", note)
    newest = desk.json("history")["snapshots"][0]
    assert newest["note"] == note.strip()
    assert newest["changes"] == {"added": 1}


@pytest.mark.parametrize("who", ["Zoë Ångström", "A <b@c>", "-dash", 'O\'Neil, "Red"'])
def test_any_name_makes_a_sound_snapshot(desk: Desk, who: str) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk("record", "--note", "x", SHOWVC_WHO=who)
    assert desk.fsck() == []
    assert desk.json("history")["snapshots"][0]["who"].startswith(who[:1])


def test_history_lists_one_line_or_thing(desk: Desk) -> None:
    desk("set", "groups/lx/name", "Lamps")
    desk.record("Lamps")
    desk("mark", "opening-night")
    assert [each["note"] for each in desk.json("history", "groups/lx")["snapshots"]] == ["Lamps", "First plot"]
    assert [each["note"] for each in desk.json("history", "--most", "1")["snapshots"]] == ["Lamps"]
    assert desk.json("history")["snapshots"][0]["marks"] == ["opening-night"]
    assert [each["note"] for each in desk.json("history", "--of", "last-1")["snapshots"]] == [
        "First plot",
        "The show begins",
    ]


def test_files_that_are_no_part_of_a_show_stay_out(desk: Desk) -> None:
    desk.write("plot.pdf", "not ours")
    desk.write("users/.hidden", "not ours")
    assert desk.json("record", "--note", "x")["snapshot"] is None
    desk.write("users/notes.txt", "looks like ours")
    assert "users/notes.txt" in desk("record", "--note", "x", code=2).err


def test_the_order_of_two_snapshots_of_one_second_is_theirs(desk: Desk) -> None:
    archive = desk.archive
    moment = datetime.now().astimezone()
    last = archive.last
    assert last is not None
    tree = archive.tree_of(last)
    for name in ("one", "two", "three"):
        last = archive.write_commit(tree, [last], Person("Bo", "b@showvc.invalid"), moment, name)
    assert [each.note for each in history(archive, last, most=3)] == ["three", "two", "one"]


# --- trace ---


def test_trace_tells_each_value_and_who_set_it(desk: Desk) -> None:
    for who, talk in (("Ada Rook", "dual"), ("Bo Lind", "open"), ("Cy Tarn", "dual")):
        desk("set", "users/sm/channels/fly/talk", talk)
        desk("record", "--note", f"{talk} it is", SHOWVC_WHO=who)
        desk("set", "users/sm/name", f"Stage Manager {who[0]}")
        desk("record", "--note", "another field", SHOWVC_WHO=who)
    found = desk.json("trace", "users/sm/channels/fly/talk")
    assert found["path"] == "users/sm/channels/fly/talk"
    assert [(each["value"], each["who"]) for each in found["values"]] == [
        ("dual", "Cy Tarn"),
        ("open", "Bo Lind"),
        ("dual", "Ada Rook"),
        ("momentary", "Ada Rook"),
    ]
    assert set(found["values"][0]) == {"value", "code", "who", "when", "note", "marks", "changes"}


def test_trace_of_what_was_taken_away_says_so(desk: Desk) -> None:
    desk("remove", "groups/snd")
    desk.record("No sound")
    values = [each["value"] for each in desk.json("trace", "groups/snd")["values"]]
    assert values == [None, {"name": "Sound", "label": "SND"}]
    assert [each["value"] for each in desk.json("trace", "groups/snd/label")["values"]] == [None, "SND"]


def test_trace_goes_through_a_merge_to_the_one_who_set_it(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk("set", "users/sm/channels/fly/talk", "dual")
    desk("record", "--note", "Deck wants dual", SHOWVC_WHO="Bo Lind")
    desk("draft", "go", "main")
    desk("set", "users/sm/channels/lx/level", "-3")
    desk.record("Quieter")
    desk("merge", "deck")
    assert desk.json("trace", "users/sm/channels/fly/talk")["values"][0]["who"] == "Bo Lind"


def test_trace_of_what_never_was_is_an_error(desk: Desk) -> None:
    assert "nothing was ever recorded" in desk("trace", "users/nobody", code=2).err
    assert "whole section" in desk("trace", "users", code=2).err
    assert desk("trace", "users/sm/colour", code=2).err


def test_an_edit_outlives_another_program_that_throws_away_what_no_snapshot_holds(desk: Desk) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk("now")
    desk.git("gc", "-q", "--prune=now")
    assert desk.json("now")["unrecorded"] == {"added": 1}
    desk.record()
    assert desk.git("show", "main:groups/rig.yaml") == "name: Rigging\n"


# --- clocks ---


def _from_the_future(desk: Desk, ahead: timedelta) -> None:
    """A snapshot by somebody whose clock is ahead of this machine's."""
    archive = desk.archive
    last = archive.last or ""
    when = datetime.now().astimezone() + ahead
    oid = archive.write_commit(archive.tree_of(last), [last], Person("Bo Lind", "bo@showvc.invalid"), when, "Ahead\n")
    archive.change_refs({DRAFTS + "main": oid})


def test_a_clock_that_was_set_back_is_said_by_now_and_record(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    assert "Clock:" not in desk("now").out
    _from_the_future(desk, timedelta(days=2))
    now = desk("now")
    assert "Clock:" in now.out
    assert "clock" in now.out
    assert desk.json("now")["clock"]
    desk.write("groups/rig.yaml", "name: Rigging\n")
    assert "behind the last snapshot" in desk("record", "--note", "Earlier, it seems").out
    desk.write("groups/rig.yaml", "name: Rig\n")
    assert "behind the last snapshot" not in desk("record", "--note", "And on").out
    notes = [each["note"] for each in desk.json("history")["snapshots"]]
    assert notes == ["And on", "Earlier, it seems", "Ahead", "First plot", "The show begins"], (
        "whatever the clocks said"
    )


def test_clocks_a_minute_apart_are_nothing_to_speak_of(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    _from_the_future(desk, timedelta(seconds=60))
    assert desk.json("now")["clock"] is None
