"""A command that the machine fails at any of its writes: told in our words with 3 it never happens, not even later;
else it has happened whole.

The command runs in a process of its own in which the n-th thing that it does to the machine (a file opened for writing,
a rename, a removal, a writing command of git's) fails, for n from the first to the last: that one alone, or all from
then on, as on a disk that is full and stays full. Python's audit events say what it is about to do, and an error raised
there is the machine's; a git that is to fail is started with arguments that make it say what it says on a full disk.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from showvc.cli import app as frame
from showvc.history.operations import current_view
from tests.history.desk import Desk, surroundings
from tests.history.test_kill import CASES as KILLED
from tests.history.test_kill import Case

# At the desk each command fails at few moments spread over its run, in CI at every single one, with each error.
MOMENTS = int(os.environ.get("SHOWVC_EXAMPLES", "40")) // 20
ERRORS = (errno.ENOSPC, errno.EACCES, errno.EIO)

_DOING = {"os.rename", "os.remove", "os.mkdir", "os.link", "os.chmod", "os.rmdir"}
_WRITING = os.O_WRONLY | os.O_RDWR
_GIT_WRITES = {"update-ref", "update-index", "write-tree", "config", "init", "fetch", "push", "send-pack", "repack"}


def _does_something(event: str, arguments: tuple[Any, ...]) -> bool:
    if event == "open":
        path, _, flags = arguments
        return isinstance(path, str) and isinstance(flags, int) and bool(flags & _WRITING) and path != os.devnull
    if event == "subprocess.Popen":
        words = list(map(str, arguments[1]))
        return bool(_GIT_WRITES & set(words)) and not {"--get", "--list", "--get-regexp"} & set(words)
    return event in _DOING


def _fail(event: str, arguments: tuple[Any, ...], number: int) -> None:
    """The machine's error, or a git that will meet it."""
    if event in ("os.remove", "os.rmdir") and number == errno.ENOSPC:
        return  # that is how room is made
    if event != "subprocess.Popen":
        raise OSError(number, os.strerror(number), arguments[0] if isinstance(arguments[0], str) else None)
    said = f"fatal: unable to write: {os.strerror(number)}"
    arguments[1][1:] = ["-c", f"alias.fails=!echo '{said}' >&2; exit 128", "fails"]


@dataclass(frozen=True)
class Ended:
    """How a command ended: its exit code, what it wrote on stderr, and how many doings it came to."""

    code: int
    err: str
    doings: int


def in_own_process(folder: Path, command: tuple[str, ...], fails_at: int, number: int, lasting: bool) -> Ended:
    """Runs a command in a process in which its n-th doing fails, and if `lasting` all that follow."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            _child(folder, command, fails_at, number, lasting, outlet)
        os._exit(99)
    os.close(outlet)
    with os.fdopen(inlet, "rb") as stream:
        said = stream.read().decode()
    os.waitpid(child, 0)
    return Ended(**json.loads(said))


def _child(folder: Path, command: tuple[str, ...], fails_at: int, number: int, lasting: bool, outlet: int) -> None:
    import io

    frame.load_families()
    count, active = 0, True

    def hook(event: str, arguments: tuple[Any, ...]) -> None:
        nonlocal count
        if active and _does_something(event, arguments):
            count += 1
            if fails_at and (count == fails_at or (lasting and count > fails_at)):
                _fail(event, arguments, number)

    err, code = io.StringIO(), 0
    with redirect_stdout(io.StringIO()), redirect_stderr(err), surroundings(folder, {"SHOWVC_WHO": "Ada Rook"}):
        sys.addaudithook(hook)
        try:
            frame.app(list(command), prog_name="showvc")
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0
        active = False
    os.write(outlet, json.dumps({"code": code, "err": err.getvalue(), "doings": count}).encode())
    os._exit(0)


# --- what fails ---


def _plain(_: Desk) -> None:
    pass


def _edited(desk: Desk) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")


def _hub(desk: Desk) -> None:
    (desk.folder.parent / "hub").mkdir()
    desk("hub", str(desk.folder.parent / "hub"))
    desk("sync")
    _edited(desk)
    desk.record("To send")


def _sheet(desk: Desk) -> None:
    desk("export", "table.xlsx")
    desk("set", "users/sm/label", "STAGE")
    desk.record()


MORE = {
    "rollback of the last": Case(("rollback", "last"), KILLED["rollback"].prepare),
    "import": Case(("import", "table.xlsx", "--yes"), _sheet),
    "release": Case(("release", "--over", "a rehearsal"), _plain),
    "mark --remove": Case(("mark", "velmoor", "--remove"), lambda desk: desk("mark", "velmoor") and None),
    "draft close": Case(("draft", "close", "deck"), KILLED["restore"].prepare),
    "who": Case(("now", "--who", "Bo Lind"), _plain),
    "sync": Case(("sync",), _hub),
}
CASES: dict[str, Case] = {**KILLED, **MORE}
CASES["draft close"] = Case(("draft", "close", "deck"), KILLED["draft go"].prepare)


@pytest.fixture(scope="module", params=CASES)
def prepared(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Case, Path]:
    """A folder before the command."""
    case: Case = CASES[request.param]
    home = tmp_path_factory.mktemp("failed")
    case.prepare(Desk.begun(home / "before"))
    return request.param, case, home / "before"


def _state(desk: Desk) -> dict[str, Any]:
    """All that a command can change, so that two runs of one command give the same."""
    archive = desk.archive
    view = current_view(archive)
    names = {name: oid for name, oid in archive.refs().items() if not name.startswith("refs/hub/")}
    for name in ("refs/showvc/settled", "refs/hub/tables/releases"):
        if (oid := archive.ref(name)) is not None:
            names[name] = oid
    tables = ("refs/showvc/", "refs/hub/tables/")
    pending = dict(view.pending or {})
    return {
        "draft": view.draft,
        "astray": archive.astray and archive.astray.head,
        "refs": {
            name: len(archive.files(oid)) if name.startswith(tables) else archive.tree_of(oid)
            for name, oid in names.items()
        },
        "pending": {name: pending.get(name) for name in ("what", "source", "ids")},
        "settled": [(each["key"], each["how"]) for each in pending.get("settlements", ())],
        "files": _files(desk.folder),
        "hub": _files(desk.folder.parent / "hub" / "refs" / "heads"),
    }


def _files(folder: Path) -> dict[str, bytes]:
    """All that stands in a folder, but for the history. What was packed holds the time of packing, and is left out."""
    found = (path for path in sorted(folder.rglob("*")) if path.is_file() and ".git" not in path.parts)
    return {str(path.relative_to(folder)): path.read_bytes() if path.suffix != ".zip" else b"" for path in found}


def _exact(desk: Desk) -> dict[str, Any]:
    view = current_view(desk.archive)
    return {**_state(desk), "refs": view.refs, "pending": view.pending}


def _fresh(before: Path, home: Path) -> Desk:
    """A copy of the folder, and of its hub, to which it then sends."""
    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(before.parent, home, symlinks=True)
    named = home / before.name / ".git" / "showvc" / "hub.json"
    if named.exists():
        named.write_text(named.read_text().replace(str(before.parent), str(home)))
    return Desk(home / before.name)


def _moments(name: str, total: int) -> Iterator[tuple[int, int, bool]]:
    """Which doing fails, with which error, and whether all that follow fail too."""
    if total <= MOMENTS:
        for at in range(1, total + 1):
            yield from ((at, number, lasting) for number in ERRORS for lasting in (False, True))
        return
    first = sum(map(ord, name))
    for turn in range(MOMENTS):
        yield 1 + (first + turn * total // MOMENTS) % total, ERRORS[(first + turn) % 3], turn % 3 != 2


def test_what_was_told_as_failed_never_happens(prepared: tuple[str, Case, Path], tmp_path: Path) -> None:
    name, case, before = prepared
    after = _fresh(before, tmp_path / "home")
    whole = in_own_process(after.folder, case.command, 0, 0, False)
    assert whole.code in (0, 1), whole
    assert whole.doings > 1
    new = _state(after)
    old = _exact(_fresh(before, tmp_path / "home"))
    for at, number, lasting in _moments(name, whole.doings):
        desk = _fresh(before, tmp_path / "home")
        ended = in_own_process(desk.folder, case.command, at, number, lasting)
        moment = f"doing {at} of {whole.doings}: {os.strerror(number)}{', and all after it' if lasting else ''}"
        _holds(desk, ended, old, new, moment)


def _holds(desk: Desk, ended: Ended, old: dict[str, Any], new: dict[str, Any], moment: str) -> None:
    assert ended.code in (0, 1, 3), (moment, ended)
    assert "unforeseen" not in ended.err, (moment, ended)
    if ended.code == 3:
        last = ended.err.splitlines()[-1]
        assert last.startswith("showvc: "), (moment, ended)
        assert last.endswith(")"), (moment, ended)
    then = desk("now", code=None)
    assert then.code in (0, 1), (moment, ended, then)
    if ended.code == 3:
        for left in desk.folder.glob("*.zip") if "is of no release" in ended.err else ():
            left.unlink()
        assert _exact(desk) == old, (moment, ended, then)
    else:
        assert then.err == "", (moment, ended, then)
        assert _state(desk) == new, (moment, ended, then)
    assert desk.fsck() == [], (moment, ended)


# --- a disk that is really full ---


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of four megabytes, in memory; only root may have one."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(place)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no disk of our own can be had here")
    yield place
    subprocess.run(["umount", "--lazy", str(place)], check=True)  # a cache may still be open


@pytest.mark.parametrize("free", [0, 20, 72, 88, 100] if MOMENTS <= 3 else range(0, 240, 4))
@pytest.mark.parametrize("command", [("set", "users/sm/label", "STAGE"), ("rollback", "last")])
def test_on_a_disk_that_is_nearly_full(small_disk: Path, tmp_path: Path, command: tuple[str, ...], free: int) -> None:
    Desk.begun(tmp_path / "made")
    desk = Desk(Path(shutil.copytree(tmp_path / "made", small_disk / "show", symlinks=True)))
    desk.write("groups/rig.yaml", "name: Rigging\n")
    desk.record()
    before, disk = _exact(desk), os.statvfs(small_disk)
    filling = small_disk / "filling"
    filling.write_bytes(bytes(max(0, disk.f_bavail * disk.f_frsize - free * 1024)))
    ended = desk(*command, code=None)
    filling.unlink()
    assert desk("now").code == 0
    assert ended.code == 0 or (ended.code == 3 and str(small_disk) in ended.err), ended
    assert (_exact(desk) == before) == (ended.code == 3), ended
