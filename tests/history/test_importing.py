"""An import is one step: files and snapshot together, over the show that it was looked at with, or nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.document import Group, Show, ShowError
from showvc.history.importing import recorded_show, take_over
from tests.history.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def with_group(show: Show) -> Show:
    return show.with_section("groups", {"rig": Group(name="Rigging")})


def test_files_change_and_one_snapshot_is_taken_that_undo_takes_back(desk: Desk) -> None:
    file = desk.folder / "users" / "sm.yaml"
    file.write_text("# called from the corner\n" + file.read_text())
    desk.record("A comment")
    before, count = recorded_show(desk.archive, desk.shows), len(desk.json("history")["snapshots"])
    made = take_over(desk.archive, desk.shows, before, with_group(before), "plot.xlsx", "From the venue")
    assert made is not None
    newest = desk.json("history")["snapshots"][0]
    assert (newest["code"], newest["note"]) == (made.code, "From the venue")
    assert len(desk.json("history")["snapshots"]) == count + 1
    assert (desk.folder / "groups" / "rig.yaml").read_text() == "name: Rigging\n"
    assert file.read_text().startswith("# called from the corner\n")
    desk("undo")
    assert not (desk.folder / "groups" / "rig.yaml").exists()


def test_without_a_note_the_snapshot_names_the_file(desk: Desk) -> None:
    before = recorded_show(desk.archive, desk.shows)
    take_over(desk.archive, desk.shows, before, with_group(before), "plot.xlsx")
    assert desk.json("history")["snapshots"][0]["note"] == "Import of plot.xlsx"


def test_a_show_that_was_edited_meanwhile_is_left_alone(desk: Desk) -> None:
    before = recorded_show(desk.archive, desk.shows)
    desk("set", "users/sm/name", "Show Caller")
    with pytest.raises(ShowError, match="do the import again"):
        take_over(desk.archive, desk.shows, before, with_group(before), "plot.xlsx")
    assert not (desk.folder / "groups" / "rig.yaml").exists()
    assert "Show Caller" in (desk.folder / "users" / "sm.yaml").read_text()


def test_unrecorded_edits_are_recorded_first(desk: Desk) -> None:
    desk("set", "users/sm/name", "Show Caller")
    with pytest.raises(ShowError, match="record them first"):
        recorded_show(desk.archive, desk.shows)
