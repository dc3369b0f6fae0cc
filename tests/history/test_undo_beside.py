"""Another git program works in the same folder: `undo` puts back what its command changed, and nothing of the other's."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.history import operations
from tests.history.desk import FILES, Desk

_AS_SOMEBODY = ("-c", "user.name=x", "-c", "user.email=x@x.invalid")


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def elsewhere(desk: Desk, path: str = "groups/rig.yaml", text: str = "name: Rigging\n") -> str:
    """Another program records an edit where the folder stands; gives its snapshot."""
    desk.write(path, text)
    desk.git("add", "-A")
    desk.git(*_AS_SOMEBODY, "commit", "-qm", "made elsewhere")
    return desk.git("rev-parse", "HEAD").strip()


def names(desk: Desk) -> str:
    return desk.git("for-each-ref", "--format=%(refname) %(objectname)", "refs/heads", "refs/tags")


def test_a_draft_and_a_mark_that_another_program_made_since_stay(desk: Desk) -> None:
    desk("set", "users/sm/label", "Q1")
    desk.git("checkout", "-q", "-b", "feature")
    made = elsewhere(desk)
    desk.git("checkout", "-q", "main")
    desk.git(*_AS_SOMEBODY, "tag", "-a", "-m", "x", "velmoor")
    before = names(desk)
    desk("undo")
    assert names(desk) == before
    assert f"refs/heads/feature {made}" in before
    assert "label: SM" in desk.read("users/sm.yaml")


def test_snapshots_that_another_program_put_on_this_draft_stay_on_it_and_in_the_folder(desk: Desk) -> None:
    desk("set", "users/sm/label", "Q1")
    made = elsewhere(desk)
    desk("undo")
    assert desk.git("rev-parse", "main").strip() == made
    assert desk.read("users/sm.yaml") == FILES["users/sm.yaml"]
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"
    desk("undo")
    assert desk.git("status", "--porcelain") == ""


@pytest.mark.parametrize("command", [("undo",), ("undo", "--to", "3")], ids=" ".join)
def test_a_draft_that_moved_on_since_is_named_and_nothing_is_undone(desk: Desk, command: tuple[str, ...]) -> None:
    desk("set", "users/sm/label", "Q1")
    desk.record()
    made = elsewhere(desk)
    answer = desk(*command, code=2)
    assert f"the draft 'main' was moved to {made[:7]} by another program since" in answer.err
    assert "showvc rollback CODE" in answer.err
    assert desk.git("rev-parse", "main").strip() == made
    assert "label: Q1" in desk.read("users/sm.yaml")


def test_a_mark_that_was_moved_or_taken_away_since_is_named(desk: Desk) -> None:
    desk("mark", "velmoor")
    desk.git("tag", "-f", "velmoor", "main~1")
    assert "the mark 'velmoor' was moved" in desk("undo", code=2).err
    desk.git("tag", "-d", "velmoor")
    desk("undo")
    assert names(desk).count("\n") == 1, "it is gone already, as it was before"


def test_stepping_over_what_another_program_recorded_in_between_is_refused(desk: Desk) -> None:
    desk("set", "users/sm/label", "Q1")
    elsewhere(desk)
    desk("set", "users/sm/label", "Q2")
    answer = desk("undo", "--to", "3", code=2)
    assert "another program went on with this show between operation 3 and 4" in answer.err
    assert "showvc undo --to 4" in answer.err
    desk("undo", "--to", "4")
    assert "label: Q1" in desk.read("users/sm.yaml")
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"


def test_on_a_draft_that_another_program_went_to_only_a_mark_is_undone(desk: Desk) -> None:
    desk("mark", "velmoor")
    desk("set", "users/sm/label", "Q1")
    desk.git("checkout", "-q", "-b", "feature")
    answer = desk("undo", code=2)
    assert "another program put the folder on the draft 'feature'" in answer.err
    assert "given on 'main'" in answer.err
    desk("mark", "tryout")
    desk("undo")
    assert "tryout" not in names(desk)
    assert desk.git("symbolic-ref", "HEAD").strip() == "refs/heads/feature"


def test_going_back_to_a_draft_that_another_program_took_away_is_refused(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk.git("branch", "-D", "main")
    answer = desk("undo", code=2)
    assert "the draft 'main', which is not there" in answer.err
    assert desk.json("now")["draft"] == "deck"


def test_the_beginning_is_not_undone_under_drafts_of_another_program(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show", {})
    desk.git("branch", "feature")
    assert "nothing is undone" in desk("undo", code=2).err
    assert desk("now").code == 0


def test_a_killed_command_is_not_finished_over_what_another_program_recorded_since(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk("set", "users/sm/label", "Q1")
    with monkeypatch.context() as patch:
        patch.setattr(operations, "_apply", lambda *_, **__: None)
        desk("record", "--note", "Cut short")
    made = elsewhere(desk)
    assert "taken back (what another program did since stays): record: Cut short" in desk("now").err
    assert desk.git("rev-parse", "main").strip() == made
    desk("undo", "--to", "3")
    assert desk.git("rev-parse", "main").strip() == made
    assert desk.read("users/sm.yaml") == FILES["users/sm.yaml"]
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"


def test_a_command_does_not_move_what_another_program_moves_at_this_very_moment(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk("set", "users/sm/label", "Q1")
    real = operations.touched
    monkeypatch.setattr(operations, "touched", lambda *each: elsewhere(desk) and real(*each))
    assert "at this very moment" in desk("record", "--note", "x", code=2).err
    assert desk.git("log", "-1", "--format=%s", "main").strip() == "made elsewhere"
