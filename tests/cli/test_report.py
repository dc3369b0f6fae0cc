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
    assert [key["key"] for key in keys] == [f"A{number}" for number in range(1, 16)]
