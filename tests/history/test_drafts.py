"""Drafts and marks."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.history.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def test_a_draft_begins_at_the_last_snapshot_with_the_edits_coming_along(desk: Desk) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk("draft", "open", "deck")
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"
    assert desk.json("now")["draft"] == "deck"
    assert desk.json("now")["unrecorded"] == {"added": 1}


def test_a_draft_may_begin_anywhere(desk: Desk) -> None:
    desk("draft", "open", "bare", "--at", "last-1")
    assert set(desk.files()) == {"show.yaml"}
    assert desk.json("draft", "list")["drafts"][0]["name"] == "bare"


def test_the_list_tells_where_one_stands(desk: Desk) -> None:
    desk("draft", "open", "deck")
    listed = desk.json("draft", "list")["drafts"]
    assert [(each["name"], each["here"], each["last"]["note"]) for each in listed] == [
        ("deck", True, "First plot"),
        ("main", False, "First plot"),
    ]
    assert any(line.split()[:2] == ["deck", "here"] for line in desk("draft", "list").out.splitlines())


def test_going_to_a_draft_puts_its_files_into_the_folder(desk: Desk) -> None:
    before = desk.files()
    desk("draft", "open", "deck")
    desk("remove", "groups/snd")
    desk.record("No sound")
    desk("draft", "go", "main")
    assert desk.files() == before
    desk("draft", "go", "deck")
    assert "groups/snd.yaml" not in desk.files()
    assert desk("draft", "go", "deck").code == 0


def test_what_cannot_be_is_refused_with_the_way_out(desk: Desk) -> None:
    desk("draft", "open", "deck")
    assert "showvc draft go deck" in desk("draft", "open", "deck", code=2).err
    assert "did you mean deck?" in desk("draft", "go", "dekc", code=2).err
    assert "stands on" in desk("draft", "close", "deck", code=2).err
    assert "there is no draft" in desk("draft", "close", "rig", code=2).err


def test_closing_tells_of_snapshots_that_no_other_draft_has(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk("draft", "go", "main")
    assert desk.json("draft", "close", "deck") == {"closed": "deck", "unmerged": False}
    desk("draft", "open", "rig")
    desk("set", "groups/fly/name", "Flies")
    code = desk.record("Rig")
    desk("draft", "go", "main")
    assert desk.json("draft", "close", "rig") == {"closed": "rig", "unmerged": True}
    desk("compare", code, "last")  # still a source


@pytest.mark.parametrize(
    "name", ["Opening", "a b", "../x", "x..y", "x.lock", ".x", "-x", "x/y", "", "a" * 61, "naïve", "x\n", "@", "refs~1"]
)
def test_a_name_that_git_or_a_shell_would_trip_over_is_refused(desk: Desk, name: str) -> None:
    assert desk("mark", "--", name, code=2).err
    assert desk("draft", "open", "--", name, code=2).err


@pytest.mark.parametrize("name", ["last", "last-3", "working", "2026-11-25", "abcd", "0123456789"])
def test_a_name_that_reads_as_another_source_is_refused(desk: Desk, name: str) -> None:
    assert "reads as another source" in desk("mark", name, code=2).err
    assert "reads as another source" in desk("draft", "open", name, code=2).err


def test_a_mark_moves_only_when_asked_to(desk: Desk) -> None:
    first = desk.json("mark", "opening-night", "last-1")
    assert first["mark"] == "opening-night"
    assert "stands on" in desk("mark", "opening-night", code=2).err
    desk("mark", "opening-night", "last-1")  # where it stands already
    assert desk.json("mark", "opening-night", "--move")["snapshot"] != first["snapshot"]
    desk("mark", "opening-night", "--remove")
    assert "there is no mark" in desk("mark", "opening-night", "--remove", code=2).err


def test_json_of_a_mark_that_is_taken_away(desk: Desk) -> None:
    desk("mark", "opening-night")
    assert desk.json("mark", "opening-night", "--remove") == {"mark": "opening-night", "snapshot": None}
