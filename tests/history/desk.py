"""An engineer at a show folder: commands run in this process, exactly as the program runs them."""

from __future__ import annotations

import atexit
import io
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from showvc.cli import app as frame
from showvc.history.archive import Archive
from showvc.history.shows import Shows

ENGINEER = "Ada Rook"

# A small plot of The Salt Road: enough for a clash of every sort, small enough to read at once.
FILES = {
    "groups/fly.yaml": "name: Fly Rail\nlabel: FLY\ncritical: true\n",
    "groups/lx.yaml": "name: Lights\nlabel: LX\n",
    "groups/snd.yaml": "name: Sound\nlabel: SND\n",
    "users/sm.yaml": (
        "name: Stage Manager\nlabel: SM\ndepartment: stage\nchannels:\n"
        "  lx: {number: 1, talk: latch}\n  fly: {number: 2, talk: momentary}\n"
    ),
    "users/asm.yaml": "name: Deck Manager\ndepartment: stage\nchannels:\n  fly: {number: 1, talk: momentary}\n",
    "users/board.yaml": "name: Light Board\nchannels:\n  lx: {number: 1, talk: latch}\n",
    "devices/desk-01.yaml": "name: Prompt desk\nkind: desk-8\nuser: sm\nkeys: {A1: lx, A2: fly}\n",
    "devices/pack-01.yaml": "kind: pack-2\nuser: asm\nkeys: {A1: fly}\n",
}


@dataclass(frozen=True)
class Answer:
    """What a command said and how it ended."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        return json.loads(self.out)


@contextmanager
def surroundings(folder: Path, changes: Mapping[str, str | None]) -> Iterator[None]:
    """The working directory and environment of a command."""
    here, known = Path.cwd(), dict(os.environ)
    os.chdir(folder)
    for name, value in changes.items():
        if value is None:
            os.environ.pop(name, None)
        else:
            os.environ[name] = value
    try:
        yield
    finally:
        os.chdir(here)
        os.environ.clear()
        os.environ.update(known)


def run(folder: Path, *arguments: str, who: str | None = ENGINEER, **environment: str | None) -> Answer:
    """Runs a command of showvc in a folder."""
    frame.load_families()
    out, err = io.StringIO(), io.StringIO()
    with surroundings(folder, {"SHOWVC_WHO": who, **environment}), redirect_stdout(out), redirect_stderr(err):
        try:
            frame.app(list(arguments), prog_name="showvc")
            code = 0
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0 if end.code is None else 1
    assert "Traceback" not in err.getvalue()
    return Answer(code, out.getvalue(), err.getvalue())


class Desk:
    """A show folder and what is done in it."""

    def __init__(self, folder: Path, who: str = ENGINEER) -> None:
        self.folder, self.who = folder, who

    @staticmethod
    def begun(folder: Path, files: Mapping[str, str] = FILES, title: str = "The Salt Road") -> Desk:
        """A new show in this folder with these files recorded as its second snapshot."""
        shutil.copytree(_begun(tuple(files.items()), title), folder)
        return Desk(folder)

    def __call__(self, *arguments: str, code: int | None = 0, **environment: str | None) -> Answer:
        """Runs a command; anything but the expected exit code fails the test (None: whatever comes)."""
        answer = run(self.folder, *arguments, **{"who": self.who, **environment})
        assert code is None or answer.code == code, (arguments, answer)
        return answer

    def json(self, *arguments: str, code: int | None = 0) -> Any:
        return self(*arguments, "--json", code=code).data

    def write(self, path: str, text: str) -> None:
        place = self.folder / path
        place.parent.mkdir(exist_ok=True)
        place.write_bytes(text.encode())

    def read(self, path: str) -> str:
        return (self.folder / path).read_bytes().decode()

    def files(self) -> dict[str, str]:
        """All that stands in the folder, but for the history."""
        found = (path for path in sorted(self.folder.rglob("*")) if path.is_file())
        names = {path.relative_to(self.folder): path for path in found}
        return {str(name): path.read_bytes().decode() for name, path in names.items() if name.parts[0] != ".git"}

    def record(self, note: str = "An edit") -> str:
        """Records, and gives the snapshot's code. The command ends with 1 where that brings a new block."""
        answer = self("record", "--note", note, "--json", code=None)
        assert answer.code == (1 if answer.data["new_blocks"] else 0), answer
        return str(answer.data["snapshot"]["code"])

    @property
    def archive(self) -> Archive:
        return Archive.open(self.folder)

    @property
    def shows(self) -> Shows:
        return Shows(self.archive)

    def git(self, *arguments: str) -> str:
        """What a plain git client says of this folder."""
        done = subprocess.run(
            ["git", "-C", str(self.folder), *arguments], capture_output=True, text=True, check=False, timeout=120
        )
        assert done.returncode == 0, (arguments, done.stdout, done.stderr)
        return done.stdout

    def fsck(self) -> list[str]:
        """What git finds wrong with the objects; unreachable ones are no fault."""
        done = subprocess.run(
            ["git", "-C", str(self.folder), "fsck", "--strict", "--full", "--no-dangling"],
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
        )
        said = [*done.stdout.splitlines(), *done.stderr.splitlines()]
        return [line for line in said if not line.startswith(("Checking", "notice"))] + ["failed"] * bool(
            done.returncode
        )

    def reachable(self) -> set[str]:
        """Every object that a ref leads to: drafts, marks, the log of operations."""
        return {line.split(" ")[0] for line in self.git("rev-list", "--objects", "--all").splitlines()}

    def commits(self) -> set[str]:
        return set(self.git("rev-list", "--all").split())


@cache
def _begun(files: tuple[tuple[str, str], ...], title: str) -> Path:
    """Made once, since many tests begin with it."""
    home = Path(tempfile.mkdtemp(prefix="showvc-desk-"))
    atexit.register(shutil.rmtree, home, ignore_errors=True)
    desk = Desk(home / "show")
    answer = run(home, "start", "show", "--title", title)
    assert answer.code == 0, answer
    for path, text in files:
        desk.write(path, text)
    if files:
        desk.record("First plot")
    return desk.folder
