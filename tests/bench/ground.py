"""Show folders with a history, for the benches that run whole commands."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from showvc.formats.files import Place, canonical, read_file
from showvc.history.archive import DRAFTS, Archive, Person
from showvc.history.beginning import begin
from tests.bench.largest import copied, largest_folder

ENGINEER = "Ada Rook"
SHOWVC = [str(Path(sys.executable).with_name("showvc"))]
# An installed program is compiled once; `python -B` in the surroundings would have it compiled on every run.
ENVIRONMENT = {
    **{name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"},
    "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / f"showvc-bench-{os.getuid()}" / "compiled"),
    "SHOWVC_WHO": ENGINEER,
    "GIT_AUTHOR_NAME": ENGINEER,
    "GIT_AUTHOR_EMAIL": "ada@example.invalid",
    "GIT_COMMITTER_NAME": ENGINEER,
    "GIT_COMMITTER_EMAIL": "ada@example.invalid",
}


@dataclass(frozen=True)
class Took:
    """Seconds by the clock on the wall, and of the processor, children included."""

    wall: float
    cpu: float

    def __mul__(self, times: float) -> Took:
        return Took(self.wall * times, self.cpu * times)


def best(work: Callable[[], Any], rounds: int = 5, before: Callable[[], Any] = lambda: None) -> Took:
    """The best times of some rounds; `before` is done ahead of each and not counted."""
    found = []
    for _ in range(rounds):
        before()
        start, used = time.perf_counter(), _used()
        work()
        found.append(Took(time.perf_counter() - start, _used() - used))
    return Took(min(each.wall for each in found), min(each.cpu for each in found))


def _used() -> float:
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def run(folder: Path, *command: str, codes: Iterable[int] = (0,)) -> str:
    """Runs a program in a folder, and gives what it prints."""
    done = subprocess.run(command, cwd=folder, env=ENVIRONMENT, capture_output=True, text=True, check=False)
    assert done.returncode in codes, (command, done.returncode, done.stderr)
    return done.stdout


def showvc(folder: Path, *arguments: str, codes: Iterable[int] = (0,)) -> str:
    return run(folder, *SHOWVC, *arguments, codes=codes)


def begun(home: Path, times: int = 1) -> Path:
    """The largest show, or one so many times as large, with its first snapshot."""
    os.environ["SHOWVC_WHO"] = ENGINEER
    folder = copied(largest_folder(times=times), home / f"show-{times}")
    begin(folder, None, ENGINEER)
    return folder


def users(folder: Path) -> list[Path]:
    return sorted((folder / "users").glob("*.yaml"))


def edit(files: Iterable[Path], level: int) -> None:
    """Sets the level of the first channel of each of these users."""
    for path in files:
        place = Place("users", path.stem)
        body: Any = read_file(place, path.read_bytes())
        name = next(iter(body.channels))
        channel = body.channels[name].model_copy(update={"level": level})
        path.write_text(canonical(body.model_copy(update={"channels": {**body.channels, name: channel}})))


def forget(folder: Path) -> None:
    """Throws away the bodies that are kept parsed."""
    for path in (folder / ".git/showvc").glob("bodies*"):
        path.unlink()


def many_snapshots(folder: Path, count: int) -> Path:
    """Puts so many snapshots on the show, each an edit of one of the first ten users. Gives the file of the first."""
    archive = Archive.open(folder)
    files, last = archive.files(archive.last or ""), archive.last or ""
    chosen = users(folder)[:10]
    when = datetime.now(UTC) - timedelta(minutes=count)
    for number in range(count):
        path = chosen[number % len(chosen)]
        edit([path], level=number // len(chosen) % 60 - 50)
        files[f"users/{path.name}"] = archive.store("blob", path.read_bytes())
        message = f'Edit {number}\n\nChanges: {{"changed": 1}}\n'
        moment = when + timedelta(minutes=number)
        last = archive.write_commit(archive.write_tree(files), [last], Person(ENGINEER, "a@b.invalid"), moment, message)
    archive.change_refs({DRAFTS + archive.draft: last})
    return chosen[0]


def plain_git(folder: Path, to: Path) -> Path:
    """A copy of the files in a repository of plain git, everything recorded."""
    shutil.copytree(folder, to, ignore=shutil.ignore_patterns(".git"))
    run(to, "git", "init", "-q")
    run(to, "git", "add", "-A")
    run(to, "git", "commit", "-q", "-m", "all")
    return to
