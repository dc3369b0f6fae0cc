"""Trees that name more files than any memory holds: read within bounds, and refused in our words."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import pytest

from showvc.document import ShowError
from tests.history.desk import Desk
from tests.history.hubs import PLAIN, git, pair

_ROOM = 1024 * 1024 * 1024


def bomb(folder: Path, levels: int = 9, width: int = 600) -> str:
    """A snapshot of `levels` + 2 objects whose tree names width ** levels files."""
    oid = git(folder, "hash-object", "-w", "--stdin", data=b"label: X\n")
    kind = "100644 blob"
    for _ in range(levels):
        listed = "".join(f"{kind} {oid}\tf{number:04}\n" for number in range(width))
        oid, kind = git(folder, "mktree", data=listed.encode()), "040000 tree"
    top = git(folder, "ls-tree", "HEAD" if (folder / ".git").exists() else "refs/heads/main")
    oid = git(folder, "mktree", data=f"{top}\n040000 tree {oid}\tzone\n".encode())
    return git(folder, "commit-tree", oid, "-p", "refs/heads/main", data=b"boom\n")


def within(folder: Path, *command: str) -> tuple[int, str]:
    """Runs a command with a gibibyte of memory: exit code, and all it said."""

    def bound() -> None:
        resource.setrlimit(resource.RLIMIT_AS, (_ROOM, _ROOM))

    program = [sys.executable, "-c", "from showvc.cli import main; main()", *command, "--show", str(folder)]
    done = subprocess.run(
        program,
        env={**PLAIN, "SHOWVC_WHO": "Ann Rigg", "PYTHONPATH": str(Path(__file__).parents[2]), "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True, text=True, check=False, preexec_fn=bound, timeout=120,
    )  # fmt: skip
    return done.returncode, done.stdout + done.stderr


COMMANDS: Sequence[tuple[str, ...]] = (
    ("compare", "last-1", "last"), ("check", "last"), ("export", "x.show.yaml", "last"), ("verify",), ("history",),
    ("now",), ("trace", "users/sm/name"), ("paths", "sm", "asm", "--history"),
)  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_a_bomb_in_a_show_folder_is_not_read(tmp_path: Path, command: tuple[str, ...]) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk.git("update-ref", "refs/heads/main", bomb(desk.folder))
    began = time.monotonic()
    code, said = within(desk.folder, *command)
    assert "unforeseen" not in said
    assert "too large for the memory" not in said
    if code:
        assert "more files than any show has" in said, said
    assert code in (0, 1, 2)
    assert time.monotonic() - began < 60


def test_a_bomb_at_the_hub_is_refused(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    git(hub, "update-ref", "refs/heads/boom", bomb(hub))
    before = ann.last
    code, said = within(ann.folder, "sync")
    assert code in (1, 2), said
    assert "is not taken" in said or "more files than any show has" in said, said
    assert ann.last == before


def test_a_tree_that_is_too_deep_is_refused(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk.git("update-ref", "refs/heads/main", bomb(desk.folder, levels=20, width=1))
    with pytest.raises(ShowError, match="more files than any show has"):
        desk.archive.files(desk.archive.last or "")
