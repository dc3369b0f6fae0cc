"""A release where a source is wanted: its stamp as it was read aloud, or the file that was handed on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import showvc.cli.app as frame
from showvc.cli.app import CLEAN, WRONG_INPUT, app
from showvc.release.stamp import stamp_of
from tests.release.desk import Desk, desk
from tests.release.salt import edited, salt

__all__ = ["desk"]

STAMP = stamp_of(salt())
STAGE = edited(salt(), "users", "sm", label="STAGE")


@pytest.fixture
def packed(desk: Desk, tmp_path: Path) -> Path:
    """The file of the first release; an edit came after it."""
    frame.load_families()
    run(desk, "release", "--into", str(tmp_path))
    desk.record(STAGE)
    (found,) = tmp_path.glob("*.release.zip")
    return found


def run(desk: Desk, *words: str, code: int = CLEAN) -> str:
    result = CliRunner().invoke(app, [*words, "--show", str(desk.folder)])
    assert result.exit_code == code, result.output
    return result.output


def data(desk: Desk, *words: str, code: int = CLEAN) -> Any:
    return json.loads(run(desk, *words, "--json", code=code))


@pytest.mark.parametrize(
    "spelled",
    [STAMP, STAMP.lower(), STAMP.replace("-", ""), STAMP.replace("-", " "), STAMP.replace("-", ".").lower()],
)
def test_a_stamp_is_a_source_in_any_spelling(desk: Desk, packed: Path, spelled: str) -> None:
    (change,) = data(desk, "compare", spelled, "last")["changes"]
    assert (change["path"], change["before"], change["after"]) == ("/users/sm/label", "SM", "STAGE")


def test_a_stamp_that_was_misread_says_so(desk: Desk, packed: Path) -> None:
    wrong = STAMP[:-1] + ("2" if STAMP[-1] != "2" else "3")
    assert "a character was misread" in run(desk, "compare", wrong, "last", code=WRONG_INPUT)
    assert "8 may be 3" in run(desk, "compare", "8" + STAMP[1:], "last", code=WRONG_INPUT)


def test_a_name_that_is_no_stamp_is_told_as_any_other(desk: Desk, packed: Path) -> None:
    assert "is no source" in run(desk, "compare", "act-one-last", "last", code=WRONG_INPUT)


def test_a_mark_that_reads_like_a_stamp_of_another_snapshot_is_taken_and_said(desk: Desk, packed: Path) -> None:
    run(desk, "mark", STAMP.lower(), "last")
    assert run(desk, "compare", STAMP.lower(), "last").count("at once; the mark is meant, not the release") == 1


def test_a_release_file_is_a_source(desk: Desk, packed: Path) -> None:
    assert not data(desk, "compare", STAMP, str(packed))["changes"]
    assert [each["path"] for each in data(desk, "compare", str(packed), "last")["changes"]] == ["/users/sm/label"]


def test_a_release_file_is_merged_from_the_snapshot_that_it_names(desk: Desk, packed: Path) -> None:
    last = desk.last
    told = run(desk, "merge", str(packed))
    assert "the snapshot that the file names" in told
    assert desk.shows.at(desk.last) == desk.shows.at(last), "a release of ours brings nothing new"


def test_the_folder_is_put_back_to_a_release(desk: Desk, packed: Path) -> None:
    run(desk, "restore", str(packed))
    assert (desk.folder / "users" / "sm.yaml").read_text().count("label: SM\n") == 1


def test_a_release_file_that_was_changed_is_no_source(desk: Desk, packed: Path) -> None:
    packed.write_bytes(packed.read_bytes().replace(b"Lighting", b"Lightinq"))
    assert "do not load it" in run(desk, "compare", str(packed), "last", code=WRONG_INPUT)


def test_now_tells_the_last_release_and_not_the_first(desk: Desk, packed: Path, tmp_path: Path) -> None:
    run(desk, "release", "--into", str(tmp_path))
    assert data(desk, "now")["release"]["stamp"] == stamp_of(STAGE)


def test_a_release_makes_no_folder_in_place_of_a_stick_that_is_not_there(desk: Desk, tmp_path: Path) -> None:
    frame.load_families()
    assert "is not there" in run(desk, "release", "--into", str(tmp_path / "stick"), code=WRONG_INPUT)
    assert not (tmp_path / "stick").exists()
    assert "Nothing was released yet." in run(desk, "release", "--list")
