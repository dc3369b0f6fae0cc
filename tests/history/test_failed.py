"""A command that the machine fails in the middle is taken back at once: nothing has happened. What that cannot reach,
and what a kill left, the next command takes back, and says whose it was."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from showvc.history import operations
from showvc.history.operations import current_view, log
from tests.cli.test_errors import bound, program
from tests.history.desk import FILES, Desk

SHOWVC = str(Path(sys.executable).with_name("showvc"))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    desk = Desk.begun(tmp_path / "show")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk.write("users/sm.yaml", FILES["users/sm.yaml"].replace("Stage Manager", "SM"))
    desk.record("Rigging")
    desk("draft", "open", "deck", "--at", "last-1")
    desk("draft", "go", "main")
    return desk


def _state(desk: Desk) -> dict[str, Any]:
    return {
        **current_view(desk.archive).plain(),
        "files": desk.files(),
        "done": [each.command for each in log(desk.archive)],
    }


COMMANDS = {
    "restore": ("restore", "last-1"),
    "draft go": ("draft", "go", "deck"),
    "undo": ("undo", "--to", "2"),
    "rollback": ("rollback", "last"),
    "record": ("record", "--note", "x"),
}


@pytest.fixture
def users_shut(desk: Desk) -> Iterator[Desk]:
    """The groups can be written, the users, which come after them, cannot."""
    (desk.folder / "users").chmod(0o555)
    yield desk
    (desk.folder / "users").chmod(0o755)


@pytest.mark.parametrize("name", ["restore", "draft go", "undo", "rollback"])
def test_a_folder_that_cannot_be_written_in_the_middle(users_shut: Desk, name: str) -> None:
    before = _state(users_shut)
    code, _, err = program(users_shut.folder, *COMMANDS[name], before=bound())
    assert code == 3
    assert "users/sm.yaml cannot be written" in err
    assert _state(users_shut) == before
    code, _, err = program(users_shut.folder, "now", before=bound())
    assert (code, err) == (0, "")


def _fails(error: BaseException, after: int) -> Callable[..., Any]:
    """Writes a few files as it should, then fails."""
    real, count = operations.write_atomically, 0

    def write(*arguments: Any) -> None:
        nonlocal count
        count += 1
        if count > after:
            raise error
        real(*arguments)

    return write


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyboardInterrupt()], ids=["full", "Ctrl-C"])
@pytest.mark.parametrize("name", COMMANDS)
def test_an_error_at_the_last_moment(
    desk: Desk, name: str, error: BaseException, monkeypatch: pytest.MonkeyPatch
) -> None:
    if name == "record":
        desk.write("groups/cue.yaml", "name: Cue\n")
    before = _state(desk)
    with monkeypatch.context() as patch:
        real, failed = operations.write_atomically, []

        def once(*arguments: Any) -> None:
            if not failed:
                failed.append(True)
                raise error
            real(*arguments)

        patch.setattr(operations, "write_atomically", once)
        answer = desk(*COMMANDS[name], code=130 if isinstance(error, KeyboardInterrupt) else 3)
    assert answer.err
    assert _state(desk) == before
    assert desk("now").err == ""
    assert desk.fsck() == []


def test_where_it_cannot_be_taken_back_either_the_next_command_does_and_says_so(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = _state(desk)
    with monkeypatch.context() as patch:
        patch.setattr(operations, "write_atomically", _fails(OSError(5, "Input/output error"), 0))
        patch.setattr(operations, "_give_back", lambda *_: None)
        desk("restore", "last-1", code=3)
    answer = desk("now")
    assert "taken back: restore last-1" in answer.err
    assert desk.files() == before["files"]


def test_a_killed_command_is_named_when_it_is_made_good(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    class Killed(BaseException):
        pass

    def dies(*_: Any) -> None:
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(operations, "share_index", dies)
        patch.setattr(operations, "_give_back", lambda *_: None)
        with pytest.raises(Killed):
            operations.undo(desk.archive, 3)
    answer = desk("now")
    assert "cut short, and is taken back: undo 3:" in answer.err
    assert desk("now").err == ""


def test_of_commands_that_merely_overlap_none_says_that_one_was_cut_short(desk: Desk) -> None:
    running = [
        subprocess.Popen(
            [SHOWVC, "mark", f"stop-{number}"],
            cwd=desk.folder,
            env={**os.environ, "SHOWVC_WHO": "Ada Rook"},
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            text=True,
        )
        for number in range(4)
    ]
    said = [process.communicate()[1] for process in running]
    assert [process.returncode for process in running] == [0] * 4
    assert not any("cut short" in each for each in said)


def _done(desk: Desk, before: dict[str, Any]) -> dict[str, Any]:
    """The state after the restoring: the files are those of the snapshot before, and the log has one more."""
    work = desk.archive.tree_of(desk.git("rev-parse", "main~1").strip())
    files = {path: desk.archive.blob(oid).decode() for path, oid in desk.archive.files(work).items()}
    return {**before, "work": work, "files": files, "done": ["restore last-1", *before["done"]]}


@pytest.mark.parametrize("after", [0.05, 0.2, 0.45])
def test_ctrl_c_at_any_time_is_one_line_and_130(desk: Desk, after: float) -> None:
    before = _state(desk)
    process = subprocess.Popen(
        [SHOWVC, "restore", "last-1"],
        cwd=desk.folder,
        env={**os.environ, "SHOWVC_WHO": "Ada Rook"},
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    time.sleep(after)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    if process.returncode == 130:
        assert err.startswith("showvc: stopped.")
        assert err.count("\n") == 1
        assert _state(desk) in (before, _done(desk, before))
    else:  # it was done before, or Python itself had not begun yet
        assert process.returncode in (0, 1, -signal.SIGINT), err
