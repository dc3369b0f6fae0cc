"""`keysheets` and `report` as they are typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.history.desk import Desk, run

FIXTURES = Path(__file__).parents[2] / "fixtures"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


# --- key sheets


def test_key_sheets_are_told_on_the_terminal_with_the_snapshot_they_are_of(desk: Desk) -> None:
    said = desk("keysheets").out.splitlines()
    assert said[0] == "KEY SHEETS · The Salt Road"
    assert said[1].endswith(", Ada Rook: First plot")
    assert "== desk-01 · Prompt desk ==" in said and "== pack-01 ==" in said


def test_edits_that_are_not_recorded_are_told_as_such(desk: Desk) -> None:
    desk("set", "groups/lx/label", "LIGHT")
    assert desk("keysheets").out.splitlines()[1] == "working: edits that are not recorded"


def test_some_devices_only(desk: Desk) -> None:
    said = desk("keysheets", "--device", "pack-01").out
    assert "== pack-01 ==" in said and "desk-01" not in said
    assert "there is no device pack-1 (did you mean pack-01" in desk("keysheets", "--device", "pack-1", code=2).err


def test_strips_to_reprint_since_a_snapshot(desk: Desk) -> None:
    assert desk("keysheets", "--since", "last").out == "No label under a key is another than in last.\n"
    desk("set", "groups/lx/label", "LIGHT")
    found = desk.json("keysheets", "--since", "last")
    assert [device["id"] for device in found["devices"]] == ["desk-01"]
    assert "New label strips since" in desk("keysheets", "--since", "last").out


def test_one_page_to_print_is_written_and_never_over_another_unasked(desk: Desk) -> None:
    file = desk.folder.parent / "sheets.html"
    said = desk("keysheets", "--html", str(file)).out
    assert said == f"Written: {file}, 2 devices.\n"
    first = file.read_text()
    assert first.startswith("<!doctype html>")
    refused = desk("keysheets", "--html", str(file), code=2).err
    assert refused == f"showvc: {file} is there already (write over it with --replace, or give another name)\n"
    desk("keysheets", "--html", str(file), "--device", "pack-01", "--replace")
    assert "desk-01" not in file.read_text()
    assert "is a folder (name a file in it)" in desk("keysheets", "--html", str(desk.folder), code=2).err


def test_key_sheets_of_a_file_need_no_history(tmp_path: Path) -> None:
    answer = run(tmp_path, "keysheets", str(FIXTURES / "salt-road.show.json"), "--device", "unit-sm", "--json")
    assert answer.code == 0, answer
    keys = answer.data["devices"][0]["pages"][0]["keys"]
    assert [key["key"] for key in keys] == [f"A{number}" for number in range(1, 13)]


# --- the report


@pytest.fixture
def toured(desk: Desk) -> Desk:
    desk("mark", "tarnhollow")
    desk("set", "users/sm/channels/fly/talk", "none")
    desk("record", "--note", "Fly cues go by light")
    desk("mark", "velmoor")
    return desk


def test_a_report_is_written_where_one_stands_under_a_name_that_says_of_what(toured: Desk) -> None:
    answer = toured("report", "tarnhollow", "velmoor")
    assert answer.out == "Written: report-tarnhollow-velmoor.html: 1 edit, 1 panel.\n"
    assert answer.err.startswith("Critical groups affected: FLY. Intercom is not an emergency stop.")
    assert (toured.folder / "report-tarnhollow-velmoor.html").read_text().startswith("<!doctype html>")
    assert "all recorded" in toured("now").out


def test_a_report_is_never_written_over_another_unasked(toured: Desk) -> None:
    file = toured.folder.parent / "tonight.html"
    toured("report", "tarnhollow", "velmoor", "--into", str(file))
    before = file.read_text()
    refused = toured("report", "velmoor", "tarnhollow", "--into", str(file), code=2).err
    assert "tonight.html is there already (write over it with --replace, or give another name)" in refused
    assert file.read_text() == before
    toured("report", "velmoor", "tarnhollow", "--into", str(file), "--replace")
    assert file.read_text() != before


def test_with_json_the_data_is_printed_and_nothing_is_written_unasked(toured: Desk) -> None:
    assert toured.json("report", "tarnhollow", "velmoor")["written"] is None
    assert not list(toured.folder.glob("*.html"))


def test_a_report_of_two_files_needs_no_history(tmp_path: Path) -> None:
    answer = run(tmp_path, "report", str(FIXTURES / "salt-road"), str(FIXTURES / "salt-road.show.json"))
    assert answer.code == 0, answer
    assert [path.name for path in tmp_path.iterdir()] == ["report-salt-road-salt-road.html"]


def test_what_is_no_source_is_told(toured: Desk) -> None:
    assert "did you mean velmoor" in toured("report", "tarnhollow", "velmor", code=2).err
