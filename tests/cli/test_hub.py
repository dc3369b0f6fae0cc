"""What a tired engineer sees of the hub: words, exit codes, JSON; and that a loop ends cleanly."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.history.hubs import PLAIN, Engineer, git, pair

ROOT = Path(__file__).parents[2]
PROGRAM = [sys.executable, "-c", "from showvc.cli import main; main()"]
# Words of the tool underneath, which no engineer needs to know.
FOREIGN = re.compile(
    r"\b(git|push|pull|fetch|remote|branch|commit|repository|refs?|HEAD|clone|upstream|checkout)\b", re.I
)


def run(*arguments: str, show: Path | None = None) -> tuple[int, str, str]:
    """Exit code, what stands on stdout, and what on stderr."""
    where = ["--show", str(show)] if show else []
    environment = {**PLAIN, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "SHOWVC_WHO": show.name if show else "Ann Rigg"}
    done = subprocess.run(
        [*PROGRAM, *arguments, *where], env=environment, capture_output=True, text=True, check=False, timeout=120
    )
    told = (done.stdout + done.stderr).replace(str(show or "-"), "")
    assert "Traceback" not in told
    assert not FOREIGN.search(told), told
    return done.returncode, done.stdout, done.stderr


def test_two_engineers_exchange_from_the_first_word_to_the_last(tmp_path: Path) -> None:
    ann, ben, hub = tmp_path / "ann", tmp_path / "ben", tmp_path / "hub"
    assert run("start", str(ann))[0] == 0
    code, out, _ = run("hub", show=ann)
    assert (code, out) == (0, "No hub is named yet. Name or make one: showvc hub FOLDER-OR-URL\n")
    code, out, _ = run("hub", str(hub), show=ann)
    assert code == 0
    assert f"{hub} is a new hub, and the hub of this show now." in out
    code, out, _ = run("sync", show=ann)
    assert (code, out) == (0, "Ready to release\nSent:  1 snapshot (draft main).\n")
    code, out, _ = run("sync", show=ann)
    assert (code, out) == (0, f"Ready to release\n{hub} and this folder hold the same snapshots.\n")
    code, out, _ = run("join", str(hub), str(ben), "--who", "Ben Spot")
    assert code == 0
    assert f"{ben} takes part in the show at {hub}." in out
    assert run("set", "groups/fly", "{label: FLY}", show=ben)[0] == 0
    assert run("record", "--note", "fly rail", show=ben)[0] == 0
    code, out, _ = run("hub", show=ben)
    assert "1 of yours not there yet" in out
    assert run("sync", show=ben)[0] == 0
    code, out, _ = run("sync", show=ann)
    assert code == 0
    assert "Taken: 1 snapshot." in out
    assert "group FLY is new" in out
    code, out, _ = run("verify", show=ann)
    assert code == 0
    assert [line.split()[0] for line in out.splitlines() if not line.startswith(" ")] == ["ok"] * 5


def test_what_did_not_go_along_is_said(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    assert run("set", "groups/fly/label", "RAIL", show=ann.folder)[0] == 0
    code, out, _ = run("sync", show=ann.folder)
    assert (code, out) == (
        0,
        "BLOCKED: 2 blocks. Details: showvc check\n"
        f"{hub} and this folder hold the same snapshots.\n"
        "- 1 edit is not recorded: not sent. Record it: showvc record --note TEXT, then sync again.\n",
    )


def test_what_was_refused_stays_in_sight(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    ann.sync()
    git(hub, "update-ref", "refs/heads/odd", git(hub, "commit-tree", git(hub, "mktree", data=b""), "-m", "odd"))
    code, out, _ = run("sync", show=ann.folder)
    assert code == 1
    for told in ("now", "hub"):
        _, out, _ = run(told, show=ann.folder)
        assert "hold the same" not in out
        assert "! The hub's draft odd is not taken: snapshot" in out


@pytest.mark.parametrize("words", [("hub", "--forget", "/tmp/x"), ("sync", "--every", "5", "--anyway")])
def test_options_that_do_not_go_together_are_refused(tmp_path: Path, words: tuple[str, ...]) -> None:
    ann, _, _ = pair(tmp_path)
    code, _, err = run(*words, show=ann.folder)
    assert code == 2
    assert err.startswith("showvc: --")


def test_a_conflict_ends_with_1_and_says_how_to_go_on(tmp_path: Path) -> None:
    ann, ben, _ = pair(tmp_path)
    ann.label("fly", "A")
    ann.sync()
    ben.label("fly", "B")
    code, out, _ = run("sync", show=ben.folder)
    assert code == 1
    assert "showvc settle" in out
    code, out, _ = run("sync", show=ben.folder)
    assert code == 1
    assert "is still open: settle it with showvc settle, then sync again" in out
    assert run("settle", "--all", "--take", "mine", show=ben.folder)[0] == 0
    code, out, _ = run("sync", "--json", show=ben.folder)
    found = json.loads(out)
    assert code == 0
    exchanged = {"hub", "sent", "taken", "names", "snapshot", "conflicts", "combined", "notices", "tries"}
    assert set(found) == {*exchanged, "verdict"}
    assert (found["sent"], found["conflicts"], found["tries"]) == (2, [], 1)


def test_a_hub_away_ends_with_3_and_everything_else_goes_on(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    shutil.move(hub, tmp_path / "away")
    ann.label("fly", "A")
    code, out, err = run("sync", show=ann.folder)
    assert (code, out) == (3, "")
    assert err == (
        f"showvc: the hub {hub} is not in reach: the folder is not there (all else works without it, and nothing is "
        "lost; go on, and run showvc sync when it is there again)\n"
    )
    code, out, _ = run("now", show=ann.folder)
    assert code == 0
    assert "1 of yours not there yet" in " ".join(out.split())
    code, out, _ = run("verify", show=ann.folder)
    assert code == 3
    assert "away   hub" in out


def test_an_unsafe_hub_ends_with_2(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    git(hub, "config", "--file", "config", "core.fsmonitor", "/bin/true")
    for arguments in (["sync"], ["hub", str(hub)], ["hub", "ext::sh"], ["hub", "http://hub.example/x"]):
        code, _, err = run(*arguments, show=ann.folder)
        assert code == 2
        assert err.startswith("showvc: ")


def test_a_hub_put_back_ends_with_1_and_the_way_out_works(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    ann.label("fly", "A")
    ann.sync()
    git(hub, "update-ref", "refs/heads/main", "refs/heads/main~1")
    code, out, _ = run("sync", show=ann.folder)
    assert code == 1
    assert "it was put back or rewritten" in out
    assert "all of yours is safe" in out
    assert run("verify", show=ann.folder)[0] == 1
    assert run("sync", "--anyway", show=ann.folder)[0] == 0
    assert git(hub, "rev-parse", "refs/heads/main") == ann.last


def test_damage_is_found_with_1_and_the_way_out_is_said(tmp_path: Path) -> None:
    ann, _, _ = pair(tmp_path)
    oid = git(ann.folder, "rev-parse", "HEAD:show.yaml")
    path = ann.folder / ".git" / "objects" / oid[:2] / oid[2:]
    if path.exists():
        path.unlink()
    else:
        shutil.rmtree(ann.folder / ".git" / "objects" / "pack")
    environment = {**PLAIN, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [*PROGRAM, "verify", "--show", str(ann.folder)], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "WRONG  history" in done.stdout
    assert "A sound one comes from the hub: showvc join" in done.stdout
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("away", [False, True])
def test_syncing_every_few_minutes_goes_on_and_ends_cleanly(tmp_path: Path, away: bool) -> None:
    ann, ben, hub = pair(tmp_path)
    environment = {**PLAIN, "PYTHONPATH": str(ROOT), "PYTHONUNBUFFERED": "1"}
    running = subprocess.Popen(
        [*PROGRAM, "sync", "--every", "0.01", "--show", str(ann.folder)],
        env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        if away:
            shutil.move(hub, tmp_path / "away")
            time.sleep(2)
            shutil.move(tmp_path / "away", hub)
        ben.label("lx", "B")
        ben.sync()
        assert _until(lambda: ann.archive.last == ben.last), "what others send comes in by itself"
    finally:
        os.kill(running.pid, signal.SIGINT)
    out, err = running.communicate(timeout=60)
    assert running.returncode in (0, 3)
    assert "Stopped; what was recorded is safe." in err
    assert "Traceback" not in err
    assert err.count("is not in reach") <= 1, "said once, not every minute"
    assert out.startswith("Syncing every 0.01 minutes. Ctrl-C ends it.\n")
    assert out.count("hold the same") <= 3, "silent while nothing is new"
    assert isinstance(ann, Engineer)


def _until(true: object, seconds: float = 60) -> bool:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():  # type: ignore[operator]
            return True
        time.sleep(0.1)
    return False
