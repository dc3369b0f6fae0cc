"""Another program left the folder on no draft: it is said in our words, and every way out leads back, with all kept."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from showvc.history import operations
from tests.history.desk import FILES, Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def _head(text: str) -> Callable[[Desk], None]:
    return lambda desk: (desk.folder / ".git/HEAD").write_text(text) and None


ASTRAY: dict[str, tuple[Callable[[Desk], object], str]] = {
    "at a snapshot": (lambda desk: desk.git("checkout", "-q", "--detach", "main~1"), "on the snapshot"),
    "a draft that is not there": (_head("ref: refs/heads/nowhere\n"), "there is no such draft"),
    "garbage": (_head("garbage \x00\n"), "is damaged"),
    "nothing": (lambda desk: (desk.folder / ".git/HEAD").unlink(), "is damaged"),
}
WAYS_OUT = {
    "draft go": ("draft", "go", "main"),
    "restore": ("restore", "last"),
    "draft open": ("draft", "open", "deck"),
}


@pytest.mark.parametrize("way_out", WAYS_OUT)
@pytest.mark.parametrize("name", ASTRAY)
def test_it_is_said_and_there_is_a_way_out(desk: Desk, name: str, way_out: str) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    ASTRAY[name][0](desk)
    now = desk("now", code=1)
    said = " ".join(now.out.split())
    assert "stands on no draft" in said
    assert "Draft: none (" in said
    assert ASTRAY[name][1] in said
    assert "showvc draft go NAME" in said
    kept = desk.json(*WAYS_OUT[way_out])["kept"]
    if kept:
        desk("restore", kept)
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"
    desk.write("groups/cue.yaml", "name: Cue\n")
    desk.record()
    assert [each["note"] for each in desk.json("history")["snapshots"]] == ["An edit", "First plot", "The show begins"]
    assert desk.fsck() == []


@pytest.mark.parametrize("name", ASTRAY)
def test_undo_leads_back_too(desk: Desk, name: str) -> None:
    desk("set", "users/asm/name", "ASM")
    ASTRAY[name][0](desk) if name != "at a snapshot" else _head(desk.git("rev-parse", "main~1"))(desk)
    desk("undo")
    assert desk.json("now")["draft"] == "main"
    assert desk.read("users/asm.yaml") == FILES["users/asm.yaml"]


@pytest.mark.parametrize("command", [("record", "--note", "x"), ("set", "users/sm/name", "X"), ("mark", "velmoor")])
def test_nothing_is_recorded_on_a_draft_that_the_files_are_not_of(desk: Desk, command: tuple[str, ...]) -> None:
    desk.git("checkout", "-q", "--detach", "main~1")
    assert "stands on no draft" in desk(*command, code=2).err
    assert desk.git("rev-parse", "HEAD") == desk.git("rev-parse", "main~1")


def test_a_snapshot_that_another_program_made_there_is_kept(desk: Desk) -> None:
    desk.git("checkout", "-q", "--detach", "main")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk.git("add", "-A")
    desk.git("-c", "user.name=x", "-c", "user.email=x@x.invalid", "commit", "-qm", "made elsewhere")
    made = desk.git("rev-parse", "HEAD").strip()
    desk("draft", "go", "main")
    assert "groups/rig.yaml" not in desk.files()
    assert made in desk.reachable()
    desk("restore", made[:10])
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"


def test_the_folder_comes_back_to_the_draft_that_it_stood_on(desk: Desk) -> None:
    desk("draft", "open", "deck")
    _head("garbage\n")(desk)
    assert desk.json("now", code=1)["draft"] == "deck"
    desk("restore", "last")
    assert desk.json("now")["draft"] == "deck"


def test_a_show_in_which_nothing_is_recorded_is_not_astray(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show", {})
    answer = desk("undo")
    assert "Nothing is recorded now. The files stay" in answer.out
    now = desk("now")
    assert "none yet; take a first snapshot with: showvc record --note TEXT" in now.out
    assert "nothing is recorded yet" in now.out
    desk("undo")
    assert "The show begins" in desk("now").out


def test_a_way_out_that_fails_leaves_the_folder_where_it_was(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    desk.git("checkout", "-q", "--detach", "main~1")
    before, head = desk.files(), desk.git("rev-parse", "HEAD")
    with monkeypatch.context() as patch:
        patch.setattr(operations, "share_index", lambda _: None)
        real, failed = operations.write_atomically, []

        def once(*arguments: Any) -> None:
            if not failed:
                failed.append(True)
                raise OSError(28, "No space left on device")
            real(*arguments)

        patch.setattr(operations, "write_atomically", once)
        desk("draft", "go", "main", code=3)
    assert desk.files() == before
    assert (desk.folder / ".git/HEAD").read_text() == head
    assert "stands on no draft" in desk("now", code=1).out


def test_finishing_a_killed_command_takes_no_other_program_off_its_snapshot(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What another program made there would be in nobody's hands then."""
    with monkeypatch.context() as patch:
        patch.setattr(operations, "_apply", lambda *_, **__: None)
        desk("mark", "velmoor")
    desk.git("checkout", "-q", "--detach", "main")
    head = desk.git("rev-parse", "HEAD")
    assert "mark velmoor" in desk("now", code=1).err
    assert (desk.folder / ".git/HEAD").read_text() == head
