"""A command that is killed at any moment: the show opens again, nothing recorded is lost, nothing half-written stands.

The command runs in a process of its own that ends itself with SIGKILL just before the n-th thing it does to the
machine (a file opened for writing, a rename, a removal, a program started), for n from the first to the last. Python's
audit events say what it is about to do, so the product needs no hook for this.
"""

from __future__ import annotations

import os
import shutil
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from dataclasses import dataclass
from pathlib import Path
from threading import Timer

import pytest

from showvc.cli import app as frame
from showvc.formats import read
from showvc.history.operations import pending_of
from tests.history.desk import FILES, Desk, run, surroundings

# At the desk every command is killed at this many moments spread over its run, in CI at every single one.
MOMENTS = int(os.environ.get("SHOWVC_EXAMPLES", "60")) // 15

_DOING = {"os.rename", "os.remove", "os.mkdir", "os.link", "subprocess.Popen", "os.chmod"}
_WRITING = os.O_WRONLY | os.O_RDWR


def _does_something(event: str, arguments: tuple[object, ...]) -> bool:
    if event == "open":
        flags = arguments[2]
        return isinstance(flags, int) and bool(flags & _WRITING) and arguments[0] != os.devnull
    return event in _DOING


def in_own_process(folder: Path, command: tuple[str, ...], dies_at: int) -> tuple[bool, int]:
    """Runs a command in a process that kills itself before its n-th doing: whether it was killed, and how many
    doings it came to."""
    inlet, outlet = os.pipe()
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            _child(folder, command, dies_at, outlet)
        os._exit(99)
    os.close(outlet)
    with os.fdopen(inlet, "rb") as stream:
        count = len(stream.read())
    _, status = os.waitpid(child, 0)
    killed = os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGKILL
    assert killed or os.waitstatus_to_exitcode(status) in (0, 1), status
    return killed, count


def _child(folder: Path, command: tuple[str, ...], dies_at: int, outlet: int) -> None:
    frame.load_families()
    count = 0

    def hook(event: str, arguments: tuple[object, ...]) -> None:
        nonlocal count
        if _does_something(event, arguments):
            count += 1
            if count == dies_at:
                os.kill(os.getpid(), signal.SIGKILL)
            os.write(outlet, b".")

    with (
        Path(os.devnull).open("w") as nowhere,
        redirect_stdout(nowhere),
        redirect_stderr(nowhere),
        surroundings(folder, {"SHOWVC_WHO": "Ada Rook"}),
    ):
        sys.addaudithook(hook)
        try:
            frame.app(list(command), prog_name="showvc")
        except SystemExit as end:
            os._exit(int(end.code or 0))
    os._exit(0)


# --- what is killed ---


@dataclass(frozen=True)
class Case:
    """A command, and the folder in which it is killed."""

    command: tuple[str, ...]
    prepare: Callable[[Desk], None]


def _edit(desk: Desk) -> None:
    desk.write("users/sm.yaml", FILES["users/sm.yaml"].replace("talk: latch", "talk: dual"))
    desk.write("groups/rig.yaml", "name: Rigging\n")
    (desk.folder / "devices/pack-01.yaml").unlink(missing_ok=True)


def _two_drafts(desk: Desk) -> None:
    """A draft `deck` with edits of its own, and others on this one."""
    desk("draft", "open", "deck")
    _edit(desk)
    desk.record("Deck edits")
    desk("draft", "go", "main")
    desk.write("users/board.yaml", "name: Light Board 1\nchannels:\n  lx: {number: 1, talk: latch}\n")
    desk.write("groups/cue.yaml", "name: Cue Lights\n")
    desk.record("House edits")


def _clashing(desk: Desk) -> None:
    _two_drafts(desk)
    desk.write("users/sm.yaml", FILES["users/sm.yaml"].replace("talk: latch", "talk: open"))
    desk.record("Another talk mode")


def _nearly_settled(desk: Desk) -> None:
    _clashing(desk)
    desk("merge", "deck", code=1)


def _drafts_and_edits(desk: Desk) -> None:
    _two_drafts(desk)
    desk.write("users/asm.yaml", FILES["users/asm.yaml"].replace("talk: momentary", "talk: open"))


def _three_snapshots(desk: Desk) -> None:
    _edit(desk)
    desk.record("To take back")
    desk.write("groups/cue.yaml", "name: Cue Lights\n")
    desk.record("A good one")


def _three_snapshots_and_edits(desk: Desk) -> None:
    _three_snapshots(desk)
    desk.write("users/sm.yaml", FILES["users/sm.yaml"].replace("talk: latch", "talk: open"))


def _gone_to_deck(desk: Desk) -> None:
    _drafts_and_edits(desk)
    desk("draft", "go", "deck")


def _restored(desk: Desk) -> None:
    _three_snapshots(desk)
    desk("restore", "last-2")


CASES = {
    "record": Case(("record", "--note", "killed"), _edit),
    "set": Case(("set", "users/sm/channels/fly/level", "-3"), _edit),
    "merge": Case(("merge", "deck"), _two_drafts),
    "merge with edits not recorded": Case(("merge", "deck"), _drafts_and_edits),
    "merge with a conflict": Case(("merge", "deck"), _clashing),
    "settle": Case(("settle", "1", "--take", "incoming"), _nearly_settled),
    "settle --drop": Case(("settle", "--drop"), _nearly_settled),
    "restore": Case(("restore", "last-1"), _three_snapshots_and_edits),
    "undo": Case(("undo",), _gone_to_deck),
    "undo of a restore": Case(("undo",), _restored),
    "draft go": Case(("draft", "go", "deck"), _drafts_and_edits),
    "draft open": Case(("draft", "open", "rig", "--at", "last-1"), _drafts_and_edits),
    "rollback": Case(("rollback", "last-1"), _three_snapshots),
    "mark": Case(("mark", "opening-night"), _edit),
}


@pytest.fixture(scope="module", params=CASES)
def prepared(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Case, Path, Path]:
    """A folder before the command, and one after it."""
    case = CASES[request.param]
    home = tmp_path_factory.mktemp("killed")
    desk = Desk.begun(home / "before")
    case.prepare(desk)
    _copy(home / "before", home / "after")
    return case, home / "before", home / "after"


def _copy(folder: Path, to: Path) -> Path:
    shutil.copytree(folder, to, symlinks=True)
    return to


def _moments(total: int) -> Iterator[int]:
    if total <= MOMENTS:
        yield from range(1, total + 1)
    else:
        yield from sorted({1 + (total - 1) * place // (MOMENTS - 1) for place in range(MOMENTS)})


def test_a_killed_command_has_happened_whole_or_not_at_all(prepared: tuple[Case, Path, Path], tmp_path: Path) -> None:
    case, before, after = prepared
    killed, total = in_own_process(after, case.command, dies_at=0)
    assert not killed
    assert total > 5, "the command does something that can be cut short"
    old, new = Desk(before), Desk(after)
    for moment in _moments(total):
        desk = Desk(_copy(before, tmp_path / str(moment)))
        killed, _ = in_own_process(desk.folder, case.command, moment)
        assert killed
        # What comes next may be killed as well.
        in_own_process(desk.folder, ("now",), 1 + moment % 9)
        _stands(desk, old, new, f"killed before doing {moment} of {total}")
        shutil.rmtree(desk.folder)


def _stands(desk: Desk, old: Desk, new: Desk, moment: str) -> None:
    said = desk("now", code=None)
    assert said.code in (0, 1), (moment, said)
    assert "cannot be read" not in said.out, (moment, said)
    assert desk.files() in (old.files(), new.files()), moment
    read(desk.folder)  # every file parses
    assert desk.fsck() == [], moment
    assert old.reachable() <= desk.reachable(), f"{moment}: something recorded is lost"
    assert _work(old) <= desk.reachable() or desk.files() == old.files(), f"{moment}: an unrecorded edit is lost"
    _goes_on(desk, moment)


def _work(desk: Desk) -> set[str]:
    """The files of the folder as git would name them."""
    paths = [path for path in desk.files() if path.endswith(".yaml")]
    return set(desk.git("hash-object", "--no-filters", *paths).split())


def _goes_on(desk: Desk, moment: str) -> None:
    """The next command works, and git sees nothing odd after it."""
    if pending_of(desk.archive) is not None:
        desk("settle", "--drop")
    desk.write("groups/after.yaml", "name: After\n")
    assert desk("record", "--note", "and on", code=None).code in (0, 1), moment  # 1: recorded, with a block
    assert desk.git("status", "--porcelain") == "", moment


def test_start_that_was_killed_can_be_done_again(tmp_path: Path) -> None:
    killed, total = in_own_process(tmp_path, ("start", "whole", "--title", "The Salt Road"), dies_at=0)
    assert not killed
    assert (tmp_path / "whole/show.yaml").is_file()
    for moment in _moments(total):
        folder = tmp_path / str(moment)
        killed, _ = in_own_process(tmp_path, ("start", str(folder), "--title", "The Salt Road"), moment)
        assert killed
        again = run(tmp_path, "start", str(folder), "--title", "The Salt Road")
        if again.code != 0:  # it had begun already, and only the last word was not said
            assert "has a history already" in again.err, (moment, again)
        desk = Desk(folder)
        assert desk("now").code == 0
        assert read(folder).title == "The Salt Road"
        assert len(desk.json("history")["snapshots"]) == 1, moment
        assert desk.fsck() == []


# --- git itself killed while it held a lock of its own ---

LOCKS = {
    "refs/showvc/operations.lock": ("record", "--note", "after the power came back"),
    "refs/heads/main.lock": ("record", "--note", "after the power came back"),
    "showvc/index.lock": ("record", "--note", "after the power came back"),
    "packed-refs.lock": ("mark", "opening-night", "--remove"),
    "config.lock": ("now", "--who", "Bo Lind"),
}


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_that_a_killed_git_left_does_not_keep_the_show_shut(lock: str, tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk("mark", "opening-night")
    _edit(desk)
    _lock(desk, lock, age=3600)
    assert desk(*LOCKS[lock], code=None).code in (0, 1)  # 1: recorded, with a block
    assert not (desk.folder / ".git" / lock).exists()
    assert desk.fsck() == []


def _lock(desk: Desk, lock: str, age: float) -> Path:
    left = desk.folder / ".git" / lock
    left.touch()
    since = left.stat().st_mtime - age
    os.utime(left, (since, since))
    return left


def test_a_lock_that_is_in_use_is_waited_for(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    _edit(desk)
    lock = _lock(desk, "refs/heads/main.lock", age=0)
    owner = Timer(0.4, lock.unlink)
    owner.start()
    desk.record("when he is ready")
    owner.join()
    assert desk.json("history")["snapshots"][0]["note"] == "when he is ready"


def test_a_damaged_index_of_ours_is_made_anew(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    _edit(desk)
    (desk.folder / ".git/showvc/index").write_bytes(b"DIRC nothing of the kind")
    desk.record("all the same")
    assert desk.git("status", "--porcelain") == ""


def test_what_a_killed_write_left_is_swept_away(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    before = desk.files()
    killed, total = in_own_process(desk.folder, ("restore", "last-1"), dies_at=10_000)
    desk("undo")
    assert not killed
    for moment in range(total // 2, total + 1):
        in_own_process(desk.folder, ("restore", "last-1"), moment)
        desk("now")
        desk("undo", code=None)
        desk("restore", "last")
        assert desk.files() == before, moment
    assert not list((desk.folder / ".git/showvc").glob(".~*"))
