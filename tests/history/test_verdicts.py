"""Where a show stands comes first, and a snapshot is judged once."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest

from showvc.history.shows import Shows
from showvc.history.verdicts import MOST_AT_ONCE, verdict_here
from tests.history.desk import Desk

READY = {"ready": True, "blocks": 0, "required_lost": [], "conflicts": 0, "frozen": None}
LOST = {"ready": False, "blocks": 1, "required_lost": ["sm-asm"], "conflicts": 0, "frozen": None}
FIRST_LINE = "BLOCKED: 1 block, 1 required path lost (sm-asm). Details: showvc check"
REQUIRED = "{from: sm, to: asm, over: fly}"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A show with a required path, all of it ready."""
    made = Desk.begun(tmp_path / "show")
    made("set", "required/sm-asm", REQUIRED, code=None)
    made("record", "--note", "Cues are called on the fly group")
    return made


def lose(desk: Desk) -> None:
    desk("set", "users/asm/channels/fly/listen", "none", code=None)


def answer(desk: Desk, *words: str) -> Any:
    return desk.json(*words, code=None)


def first(desk: Desk, *words: str) -> str:
    return desk(*words, code=None).out.splitlines()[0]


def test_now_says_whether_the_folder_may_be_released(desk: Desk) -> None:
    assert first(desk, "now") == "Ready to release"
    assert answer(desk, "now")["verdict"] == READY
    lose(desk)
    assert first(desk, "now") == FIRST_LINE
    assert answer(desk, "now")["verdict"] == LOST


def test_record_and_undo_say_it_first(desk: Desk) -> None:
    lose(desk)
    assert first(desk, "record", "--note", "ASM listens elsewhere") == FIRST_LINE
    assert answer(desk, "record", "--note", "again")["verdict"] == LOST
    desk("undo")
    assert answer(desk, "undo")["verdict"]["ready"] is False  # the edit is in the folder as before
    assert first(desk, "check") == FIRST_LINE


def test_each_row_of_history_has_its_own(desk: Desk) -> None:
    lose(desk)
    desk.record("ASM listens elsewhere")
    rows = answer(desk, "history")["snapshots"]
    assert [row["verdict"] for row in rows[:2]] == [LOST, READY]
    assert desk("history").out.splitlines()[1].split()[1:3] == ["1", "block,"]


def test_a_history_that_nobody_judged_is_listed_without_judging_all_of_it(desk: Desk) -> None:
    for turn in range(MOST_AT_ONCE + 2):
        desk("set", "title", f"Turn {turn}")
        desk("record", "--note", f"turn {turn}")
    cache = next(desk.folder.rglob("bodies.sqlite"))
    table = sqlite3.connect(cache)
    table.execute("DELETE FROM verdicts")
    table.commit()
    table.close()
    rows = answer(desk, "history")["snapshots"]
    assert [row["verdict"] for row in rows[: MOST_AT_ONCE + 1]] == [READY] * MOST_AT_ONCE + [None]
    assert "not checked" in desk("history").out


def test_what_cannot_be_read_is_unknown_and_not_ready(desk: Desk) -> None:
    (desk.folder / "users" / "asm.yaml").write_text("name: [")
    assert answer(desk, "now")["verdict"] is None
    assert first(desk, "now") == "UNKNOWN: not every file can be read, so nothing was checked"


@pytest.mark.parametrize("words", ["", "ready", "[0]", '["0", []]'])
def test_a_verdict_that_was_spoilt_is_worked_out_again(desk: Desk, words: str) -> None:
    lose(desk)
    desk("now", code=None)
    table = sqlite3.connect(next(desk.folder.rglob("bodies.sqlite")))
    table.execute("UPDATE verdicts SET words = ?", (words,))
    table.commit()
    table.close()
    assert answer(desk, "now")["verdict"] == LOST


def test_other_rules_judge_again(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    from showvc.history import verdicts

    assert answer(desk, "now")["verdict"] == READY
    monkeypatch.setattr(verdicts, "rules_version", lambda: "of another day")
    monkeypatch.setattr(verdicts, "judge", lambda show: verdicts.Verdict(7))
    archive = desk.archive
    found = verdict_here(archive, Shows(archive))
    assert found is not None
    assert found.blocks == 7
