"""A machine that lacks something: told in our words, with the way out, and never as the hub's fault."""

from __future__ import annotations

import errno
import os
import resource
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from showvc.document import MachineError, ShowError
from showvc.history import hub, hub_exchange, hub_folder
from showvc.history.hub import name_hub
from showvc.history.hub_join import join_hub
from tests.history.desk import Desk
from tests.history.hubs import PLAIN, first, git, joined, pair

ROOT = Path(__file__).parents[2]
PROGRAM = [sys.executable, "-c", "from showvc.cli import main; main()"]


def program(folder: Path, *command: str, files: int | None = None, **extra: str) -> tuple[int, str]:
    """Runs the real program: exit code, and all it said."""

    def bound() -> None:
        if files is not None:
            resource.setrlimit(resource.RLIMIT_NOFILE, (files, files))

    done = subprocess.run(
        [*PROGRAM, *command, "--show", str(folder)], capture_output=True, text=True, check=False, preexec_fn=bound,
        env={**PLAIN, "SHOWVC_WHO": "Ann Rigg", "PYTHONPATH": str(ROOT), **extra},
    )  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    assert "unforeseen" not in done.stderr, done.stderr
    return done.returncode, done.stdout + done.stderr


COMMANDS = (("now",), ("history",), ("record", "--note", "x"), ("sync",), ("verify",), ("set", "users/sm/name", "X"))


@pytest.mark.parametrize("command", COMMANDS, ids=lambda words: words[0])
def test_no_git(tmp_path: Path, command: tuple[str, ...]) -> None:
    ann, _, _ = pair(tmp_path)
    code, said = program(ann.folder, *command, PATH=str(tmp_path))
    assert code == 3, said
    assert "git is not on this machine (install git" in said


@pytest.mark.parametrize("files", [5, 6, 7, 8, 9, 10, 12, 14])
@pytest.mark.parametrize("command", [("now",), ("record", "--note", "x"), ("sync",)], ids=lambda words: words[0])
def test_few_open_files(tmp_path: Path, command: tuple[str, ...], files: int) -> None:
    ann, _, _ = pair(tmp_path)
    (ann.folder / "groups" / "snd.yaml").write_text("label: SND\n")
    code, said = program(ann.folder, *command, files=files)
    assert code in (0, 3), said
    if code:
        assert "open files" in said
        assert "ulimit" in said
    git(ann.folder, "fsck", "--strict")


def test_a_broken_configuration_of_git_is_no_matter_to_a_show(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    home = tmp_path / "home"
    home.mkdir()
    (home / ".gitconfig").write_text("[core\nnonsense = = \x00\n")
    env = {"HOME": str(home), "GIT_CONFIG_GLOBAL": str(home / ".gitconfig"), "SHOWVC_WHO": ""}
    (ann.folder / "groups" / "snd.yaml").write_text("label: SND\n")
    for command in (("now",), ("record", "--note", "x"), ("sync",), ("verify",)):
        code, said = program(ann.folder, *command, **env)
        assert code == 0, said


def test_a_broken_configuration_of_git_is_told_where_it_is_needed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A server is called with the engineer's own credentials and proxies, which stand there."""
    ann, _, hub = pair(tmp_path)
    (tmp_path / "broken").write_text("[core\nnonsense\n")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "broken"))
    name_hub(ann.archive, f"ssh://hub.example{hub}")
    with pytest.raises(MachineError, match=r"git's own configuration on this machine cannot be read .*put that file"):
        ann.sync()


def test_a_history_with_names_of_another_kind(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    shutil.rmtree(desk.folder / ".git")
    git(desk.folder, "init", "--quiet", "--object-format=sha256", ".")
    (desk.folder / ".git" / "showvc").mkdir()
    for command in (("now",), ("record", "--note", "x"), ("history",), ("verify",), ("start", ".")):
        answer = desk(*command, code=2)
        assert "SHA-256" in answer.err or "has a history already" in answer.err
        assert "unforeseen" not in answer.err


def test_a_hub_with_names_of_another_kind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ann, _, _ = pair(tmp_path)
    other = tmp_path / "other"
    git(tmp_path, "init", "--quiet", "--bare", "--object-format=sha256", str(other))
    with pytest.raises(ShowError, match=r"SHA-256"):
        name_hub(ann.archive, str(other))
    ssh = tmp_path / "ssh"
    ssh.write_text('#!/bin/sh\nwhile [ "$1" != hub.example ]; do shift; done\nshift\nexec sh -c "$*"\n')
    ssh.chmod(0o755)
    monkeypatch.setenv("GIT_SSH_COMMAND", str(ssh))
    name_hub(ann.archive, f"ssh://hub.example{other}")
    with pytest.raises((ShowError, MachineError)) as found:
        ann.sync()
    assert "unforeseen" not in str(found.value)


# --- a disk that is full ---

FULL = "error: file write error: No space left on device\nfatal: unable to write\nfatal: index-pack failed\n"


def test_a_full_disk_of_ones_own_is_not_the_hubs_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ann, ben, hub = pair(tmp_path)
    ben.label("fly", "FLY")
    ben.sync()
    with monkeypatch.context() as patch:
        patch.setattr(hub_exchange, "run_watched", lambda *_: (128, FULL))
        for call in (ann.sync, lambda: joined(hub, tmp_path / "cleo", "Cleo Deck")):
            with pytest.raises(MachineError, match="this machine's disk is full") as found:
                call()
            assert "new one" not in str(found.value)
            assert str(hub) not in str(found.value)
    assert not list(tmp_path.glob(".~cleo*"))
    assert not (tmp_path / "cleo").exists()
    ann.sync()
    assert ann.last == ben.last


def test_a_full_disk_of_the_hub_is_told_as_the_hubs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ann, _, hub = pair(tmp_path)
    ann.label("fly", "FLY")
    real = hub_folder._copy

    def full(source: Path, target: Path) -> None:
        if target.is_relative_to(hub):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(target))
        real(source, target)

    with monkeypatch.context() as patch:
        patch.setattr(hub_folder, "_copy", full)
        with pytest.raises(MachineError, match=f"the hub {hub} is not in reach: its disk is full"):
            ann.sync()
    assert ann.sync().sent == 1
    git(hub, "fsck", "--strict")


@pytest.mark.parametrize("there", [False, True])
def test_a_hub_that_cannot_be_made_leaves_nothing(tmp_path: Path, there: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    ann = first(tmp_path / "ann")
    place = tmp_path / "hub"
    if there:
        place.mkdir()
    real = hub.make_hub

    def full(folder: Path, shared: bool) -> None:
        real(folder, shared)
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(folder))

    with monkeypatch.context() as patch:
        patch.setattr(hub, "make_hub", full)
        with pytest.raises(MachineError, match=r"cannot become a hub: No space left .*make room"):
            name_hub(ann.archive, str(place))
    assert place.exists() == there
    assert not there or not list(place.iterdir())
    assert name_hub(ann.archive, str(place)).made


@pytest.mark.parametrize("left", [("objects",), ("objects", "refs"), ("objects", "refs", "config")])
def test_a_hub_whose_making_was_killed_is_finished_by_the_next_command(tmp_path: Path, left: tuple[str, ...]) -> None:
    ann = first(tmp_path / "ann")
    place = tmp_path / "hub"
    name_hub(ann.archive, str(place))
    for path in list(place.iterdir()):
        if path.name not in left:
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    assert name_hub(ann.archive, str(place)).made
    assert ann.sync().sent == 1
    git(place, "fsck", "--strict")


def test_what_a_killed_joining_left_is_taken_away_by_the_next(tmp_path: Path) -> None:
    _, _, hub = pair(tmp_path)
    done = subprocess.Popen([sys.executable, "-c", "pass"])
    done.wait()
    left, other = tmp_path / f".~cleo-{done.pid}-abc", tmp_path / f".~cleo-{os.getpid()}-abc"
    for path in (left, other):
        (path / ".git").mkdir(parents=True)
    join_hub(str(hub), tmp_path / "cleo", "Cleo Deck")
    assert not left.exists()
    assert other.exists(), "somebody is at it"
