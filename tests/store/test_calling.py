"""Every call of git goes through one place, GitPython's reader included."""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

import showvc
from showvc.document import MachineError, ShowError
from showvc.store import calling
from showvc.store.calling import GitFailed, Place, environment, outcome, reader, run_git
from showvc.store.making import front, make

HOME = Path(showvc.__file__).parent
THE_PLACE = HOME / "store" / "calling.py"
STARTING = {
    "subprocess", "pty", "multiprocessing", "concurrent.futures", "asyncio", "sh", "pexpect", "plumbum", "dulwich",
    "pygit2", "git", "_posixsubprocess",
}  # fmt: skip
OF_OS = ("system", "popen", "spawn", "exec", "posix_spawn", "fork", "startfile")
SPARED = {HOME / "history" / "hub_exchange.py": {"subprocess"}}
"""It watches what `start` gave it, and names the kinds of its streams."""


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{name.name}" for name in node.names)


@pytest.mark.parametrize("path", sorted(HOME.rglob("*.py")), ids=lambda path: str(path.relative_to(HOME)))
def test_no_program_is_started_anywhere_else(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    called = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
    assert not {name for name in called if name.startswith(tuple(f"os.{word}" for word in OF_OS))}
    if path == THE_PLACE:
        return
    roots = {name for name in imported(tree) if name in STARTING or name.split(".")[0] in STARTING}
    assert not {name.split(".")[0] for name in roots} - SPARED.get(path, set())
    assert not {name for name in called if name.rpartition(".")[2] in ("Popen", "check_output", "check_call")}
    assert not {name for name in called if name.startswith("subprocess.")}


def test_the_test_above_finds_another_call(tmp_path: Path) -> None:
    for text in ("import git\n", "from git import Repo\n", "import subprocess\n", "from subprocess import run\n"):
        assert set(imported(ast.parse(text))) & STARTING


def test_gitpython_reads_through_the_same_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = make(tmp_path / "r")
    oid = run_git(Place(made), ["hash-object", "-w", "--stdin"], b"words").strip()
    started: list[list[str]] = []
    real = calling.start

    def counted(place: Place, arguments: list[str], *more: object, **streams: object) -> subprocess.Popen[bytes]:
        started.append(arguments)
        return real(place, arguments, *more, **streams)  # type: ignore[arg-type]

    monkeypatch.setattr(calling, "start", counted)
    assert reader(Place(made)).stream(bytes.fromhex(oid)).read() == b"words"
    assert started == [["cat-file", "--batch"]]


def test_git_never_looks_for_a_repository_itself(tmp_path: Path) -> None:
    """It is told where one of our own is, whatever lies in the folder it works in."""
    found = environment(Place(front(), folder=tmp_path))
    assert found["GIT_DIR"] == str(front())
    assert found["GIT_CONFIG_NOSYSTEM"] == "1"
    assert run_git(Place(front()), ["config", "--list", "--show-origin"]).count("file:") == run_git(
        Place(front()), ["config", "--list", "--show-origin"]
    ).count(f"file:{front()}")


def test_an_endless_answer_is_cut_off(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made = make(tmp_path / "r")
    monkeypatch.setattr(calling, "MOST_BYTES", 1000)
    oid = run_git(Place(made), ["hash-object", "-w", "--stdin"], b"x" * 100_000).strip()
    with pytest.raises(ShowError, match="more files than any show has"):
        run_git(Place(made), ["cat-file", "blob", oid])


def test_what_is_fed_and_not_read_hangs_nobody(tmp_path: Path) -> None:
    made = make(tmp_path / "r")
    with pytest.raises(GitFailed):
        run_git(Place(made), ["no-such-command"], b"x" * 10_000_000)
    assert outcome(Place(made), ["cat-file", "--batch-check"], b"HEAD\n" * 200_000)[0] == 0


def test_a_folder_that_went_away_is_told(tmp_path: Path) -> None:
    with pytest.raises(MachineError, match="is not there any more"):
        run_git(Place(front(), folder=tmp_path / "gone"), ["ls-files"])
