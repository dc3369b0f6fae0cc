"""A show folder that may only be looked at: looking works, nothing in it is written, and editing says why not."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvc.document import MachineError
from showvc.history import closed, operations
from showvc.history.archive import Archive
from tests.cli.test_errors import bound, program
from tests.history.desk import Desk

LOOKING = [
    ("now",), ("check",), ("paths", "sm"), ("compare",), ("compare", "last-1", "last"), ("history",), ("verify",),
    ("trace", "users/sm/name"), ("draft", "list"), ("undo", "--list"), ("now", "--json"),
]  # fmt: skip
EDITING = [
    ("record", "--note", "x"), ("set", "groups/fly/name", "F"), ("restore", "last-1"), ("draft", "open", "x"), ("undo",),
    ("mark", "x"), ("now", "--who", "Bo Lind"), ("hub", "elsewhere"), ("hub", "--forget"),
]  # fmt: skip


@pytest.fixture(autouse=True)
def _temporary(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """What stands in for a folder goes when the program ends, which this one does not here."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path_factory.mktemp("temporary")))


def _all(folder: Path) -> dict[str, tuple[int, bytes]]:
    """Everything in the folder, the history included: the mode and content of each file.

    Not when it changed: git freshens the time of an object that it meets again, where the owner is at work.
    """
    return {
        str(path): (path.lstat().st_mode, path.read_bytes()) for path in sorted(folder.rglob("*")) if path.is_file()
    }


@pytest.fixture(scope="module")
def shut(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A show on a write-protected stick, with an edit that is not recorded."""
    desk = Desk.begun(tmp_path_factory.mktemp("stick") / "show")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    places = [desk.folder, *desk.folder.rglob("*")]
    modes = {path: path.stat().st_mode for path in places}
    for path in places:
        path.chmod(0o555 if path.is_dir() else 0o444)
    yield desk
    for path, mode in modes.items():
        path.chmod(mode)


@pytest.mark.parametrize("command", LOOKING, ids=" ".join)
def test_looking_works_and_writes_nothing(shut: Desk, command: tuple[str, ...], tmp_path: Path) -> None:
    before = _all(shut.folder)
    code, out, err = program(shut.folder, *command, before=bound(), TMPDIR=str(tmp_path))
    assert (code, err) == (0, "")
    assert out
    assert _all(shut.folder) == before
    assert list(tmp_path.iterdir()) == [], "what stood in for the folder is gone again"


def test_verify_counts_what_stands_in_the_folder(shut: Desk) -> None:
    objects = sum(path.is_file() for path in shut.folder.glob(".git/objects/??/*"))
    _, out, _ = program(shut.folder, "verify", before=bound())
    assert f"whole: {objects} objects" in out


def test_the_edits_are_seen_and_that_it_is_closed_is_said_by_now(shut: Desk) -> None:
    _, out, _ = program(shut.folder, "now", before=bound())
    assert "1 added, not recorded yet" in out
    assert "cannot be written, and can only be looked at" in " ".join(out.split())


@pytest.mark.parametrize("command", EDITING, ids=" ".join)
def test_editing_says_why_not(shut: Desk, command: tuple[str, ...]) -> None:
    before = _all(shut.folder)
    code, out, err = program(shut.folder, *command, before=bound())
    assert code == 3, (out, err)
    assert f"{shut.folder} cannot be written" in err
    assert "work on a copy" in err
    assert _all(shut.folder) == before


def test_an_exported_file_leaves_it(shut: Desk, tmp_path: Path) -> None:
    assert program(shut.folder, "export", str(tmp_path / "x.show.yaml"), before=bound())[0] == 0
    assert "Rigging" in (tmp_path / "x.show.yaml").read_text()


def test_a_file_system_that_cannot_be_written_at_all(tmp_path: Path) -> None:
    if os.geteuid() != 0 or shutil.which("unshare") is None:
        pytest.skip("only root mounts")
    desk = Desk.begun(tmp_path / "show")
    mounted = 'mount --bind . . && mount -o remount,ro,bind . && cd "$PWD" && showvc now && showvc set users/sm/name X'
    path = f"{Path(os.sys.executable).parent}:{os.environ['PATH']}"  # type: ignore[attr-defined]
    done = subprocess.run(
        ["unshare", "-m", "bash", "-c", mounted],
        cwd=desk.folder,
        env={**os.environ, "PATH": path},
        capture_output=True,
        text=True,
        check=False,
    )
    if "unshare" in done.stderr or "mount" in done.stderr:
        pytest.skip(f"no mounts here: {done.stderr}")
    assert "The Salt Road" in done.stdout
    assert done.returncode == 3
    assert "cannot be written" in done.stderr


def test_a_folder_of_somebody_else_is_looked_at_without_heeding_its_configuration(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk = Desk.begun(tmp_path / "show")
    ran = tmp_path / "ran"
    desk.git("config", "filter.x.clean", f"touch {ran}; cat")
    desk.git("config", "core.fsmonitor", f"touch {ran}")
    (desk.folder / ".git/info/attributes").write_text("*.yaml filter=x\n")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    monkeypatch.setattr(closed, "_foreign", lambda folder: True)
    assert "1 added, not recorded yet" in desk("now").out
    assert "belongs to somebody else" in " ".join(desk("now").out.split())
    assert "safe.directory" in desk("record", "--note", "x", code=3).err
    assert not ran.exists()


def test_who_is_working_is_known_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk("now", "--who", "Bo Lind")
    monkeypatch.setattr(closed, "_foreign", lambda folder: True)
    assert Archive.open(desk.folder).setting("who") == "Bo Lind"


def test_no_link_of_the_folder_is_followed_into_the_stand_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk.begun(tmp_path / "show")
    secret = tmp_path / "secret.sqlite"
    secret.write_bytes(b"secret")
    cache = desk.folder / ".git/showvc/bodies.sqlite"
    cache.unlink(missing_ok=True)
    cache.symlink_to(secret)
    monkeypatch.setattr(closed, "_foreign", lambda folder: True)
    desk("check")
    assert secret.read_bytes() == b"secret"


def test_no_room_for_the_stand_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk.begun(tmp_path / "show")

    def full(*_: object, **__: object) -> str:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tempfile, "mkdtemp", full)
    with pytest.raises(MachineError, match="No space left"):
        closed.stand_in(desk.folder)


def test_a_command_cut_short_there_is_told_and_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk.begun(tmp_path / "show")
    with monkeypatch.context() as patch:
        patch.setattr(operations, "_apply", lambda *_, **__: None)
        desk("mark", "velmoor")
    monkeypatch.setattr(closed, "_foreign", lambda folder: True)
    answer = desk("now")
    assert "cut short here, and is not taken back yet" in answer.err
    monkeypatch.undo()
    assert "is taken back: mark velmoor" in desk("now").err
