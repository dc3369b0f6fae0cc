"""Many real processes at one hub, and processes that are killed in the middle."""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from showvc.history.hub_sync import MOST_TRIES
from tests.history.hubs import PLAIN, Engineer, everything_reachable, git, left_locks, pair

ROOT = Path(__file__).parents[2]
CROWD = int(os.environ.get("SHOWVC_CROWD", "32"))


def _command(folder: Path, *arguments: str, **extra: str) -> subprocess.Popen[str]:
    """A real process that runs a command in a show folder."""
    environment = {**PLAIN, "PYTHONPATH": str(ROOT), "SHOWVC_WHO": folder.name, **extra}
    program = [sys.executable, "-c", "from showvc.cli import main; main()", *arguments, "--show", str(folder)]
    return subprocess.Popen(
        program, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )


def _crowd(place: Path, count: int) -> tuple[list[Engineer], Path]:
    """So many engineers at one hub, each with an edit of his own that is recorded."""
    ann, ben, hub = pair(place)
    shutil.rmtree(ann.folder)
    crowd = []
    for number in range(count):
        shutil.copytree(ben.folder, place / f"e{number:02}")
        crowd.append(Engineer(place / f"e{number:02}"))
        crowd[-1].label(f"crew-{number:02}", f"C{number:02}")
    return crowd, hub


def _fake_ssh(place: Path) -> dict[str, str]:
    """An `ssh` that leads to this machine: there the hub is a server, which git alone serves."""
    program = place / "bin" / "ssh"
    program.parent.mkdir(exist_ok=True)
    program.write_text('#!/bin/sh\nwhile [ "$1" != hub.example ]; do shift; done\nshift\nexec sh -c "$*"\n')
    program.chmod(0o755)
    return {"GIT_SSH_COMMAND": str(program)}


@pytest.mark.parametrize("way", ["folder", "ssh"])
def test_a_crowd_of_real_processes_syncs_at_once(tmp_path: Path, way: str) -> None:
    crowd, hub = _crowd(tmp_path, CROWD if way == "folder" else max(2, CROWD // 4))
    extra: dict[str, str] = {}
    if way == "ssh":
        extra = _fake_ssh(tmp_path)
        for engineer in crowd:
            (engineer.archive.own / "hub.json").write_text(json.dumps({"hub": f"ssh://hub.example{hub}", "when": None}))
    began = time.monotonic()
    running = [_command(engineer.folder, "sync", "--json", **extra) for engineer in crowd]
    answers = []
    for process in running:
        out, err = process.communicate(timeout=600)
        assert process.returncode == 0, err
        answers.append(json.loads(out))
    tries = [answer["tries"] for answer in answers]
    print(f"{len(crowd)} processes, {way}: {time.monotonic() - began:.1f} s, tries {sorted(tries)}")
    assert all(1 <= count <= MOST_TRIES for count in tries)
    git(hub, "fsck", "--strict")
    held = git(hub, "ls-tree", "-r", "--name-only", "refs/heads/main").splitlines()
    assert {f"groups/crew-{number:02}.yaml" for number in range(len(crowd))} <= {*held}
    assert left_locks(hub, *(engineer.archive.own for engineer in crowd[:3])) == []
    newest = git(hub, "rev-parse", "refs/heads/main")
    for engineer in crowd[:3]:
        engineer.sync() if way == "folder" else _command(engineer.folder, "sync", **extra).communicate()
        assert engineer.last == newest


# --- killed in the middle ---

_KILLED_AT = """
import os, signal, sys
from showvc.history import archive, hub_exchange
calls = [0]
def counted(real):
    def call(*given, **more):
        calls[0] += 1
        if calls[0] == int(os.environ["KILL_AT"]):
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*given, **more)
    return call
archive.run_git_bytes = counted(archive.run_git_bytes)
hub_exchange.run_watched = counted(hub_exchange.run_watched)
from showvc.cli import main
try:
    main()
finally:
    print("calls", calls[0], file=sys.stderr)
"""


def _killed_at(folder: Path, call: int) -> tuple[int, str]:
    environment = {**PLAIN, "PYTHONPATH": str(ROOT), "SHOWVC_WHO": folder.name, "KILL_AT": str(call)}
    done = subprocess.run(
        [sys.executable, "-c", _KILLED_AT, "sync", "--show", str(folder)],
        env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.returncode, done.stderr


def _apart(place: Path) -> tuple[Engineer, Engineer, Path, set[str]]:
    """Both have recorded something of their own, with a mark, and one has edits that are not recorded."""
    ann, ben, hub = pair(place)
    made = {ann.label("fly", "FLY"), ben.label("lx", "LX")}
    ann.sync()
    (ben.folder / "groups" / "snd.yaml").write_text("label: SND\n")
    return ann, ben, hub, made


def _all_there(ann: Engineer, ben: Engineer, hub: Path, made: set[str]) -> None:
    for engineer in (ben, ann, ben):
        assert not engineer.sync().needs_person
    assert ann.last == ben.last == git(hub, "rev-parse", "refs/heads/main")
    for group in ("fly", "lx", "snd"):
        assert (ann.folder / "groups" / f"{group}.yaml").read_text() == f"label: {group.upper()}\n"
    assert made <= everything_reachable(ben) | everything_reachable(ann)
    assert left_locks(hub, ann.archive.own, ben.archive.own) == []
    git(hub, "fsck", "--strict")
    git(ben.folder, "fsck", "--strict")


def _moments() -> list[int]:
    """At which of its calls a sync is killed: a few of them at the desk, all of them in CI."""
    every = range(1, 60)
    return list(every) if int(os.environ.get("SHOWVC_EXAMPLES", "0")) > 100 else list(every)[4::10]


@pytest.mark.parametrize("call", _moments())
def test_a_sync_killed_at_any_call_is_made_good_by_the_next(tmp_path: Path, call: int) -> None:
    ann, ben, hub, made = _apart(tmp_path)
    code, said = _killed_at(ben.folder, call)
    assert code == -signal.SIGKILL or int(said.split()[-1]) < call, said
    _all_there(ann, ben, hub, made)


def test_processes_killed_at_random_moments_lose_nothing(tmp_path: Path) -> None:
    """The whole group is killed, git and all, wherever it stands."""
    ann, ben, hub, made = _apart(tmp_path)
    for number in range(6):
        made.add(ben.label(f"crew-{number}", f"C{number}"))
        process = _command(ben.folder, "sync")
        time.sleep(random.uniform(0.1, 1.5))
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        for lock in hub.rglob("*.lock"):
            os.utime(lock, (0, 0))  # as if two minutes had passed
    _all_there(ann, ben, hub, made)


def test_a_lock_that_a_killed_exchange_left_in_the_hub_is_cleared_after_a_while_and_told(tmp_path: Path) -> None:
    ann, _, hub, _ = _apart(tmp_path)
    lock = hub / "refs" / "heads" / "main.lock"
    lock.touch()
    os.utime(lock, (0, 0))
    ann.label("fly", "FLY2")
    done = ann.sync()
    assert not lock.exists()
    assert [notice.kind for notice in done.notices] == ["lock"]
    assert git(hub, "rev-parse", "refs/heads/main") == ann.last
