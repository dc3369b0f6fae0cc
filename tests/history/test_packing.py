"""Small objects are packed where they pile up, and not one is ever lost by it, killed at any moment or not."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from showvc.history import packing
from showvc.history.archive import Archive
from showvc.history.drafts import mark
from showvc.history.operations import log, undo
from showvc.history.packing import due, pack, pack_folder
from showvc.history.shows import Shows
from showvc.store.calling import GitFailed
from tests.history.hubs import PLAIN, Engineer, first, git, pair

ROOT = Path(__file__).parents[2]


@pytest.fixture
def ann(tmp_path: Path) -> Engineer:
    """An engineer with some edits behind her, and edits that no name leads to any more."""
    ann = first(tmp_path / "ann")
    for number in range(6):
        ann.label("fly", f"FLY {number}")
    ann.archive.store("blob", b"nobody leads here")
    return ann


@pytest.fixture
def often(monkeypatch: pytest.MonkeyPatch) -> None:
    """Packs from the first small object on."""
    monkeypatch.setattr(packing, "MOST_LOOSE", -1)


def objects(folder: Path) -> set[str]:
    """Every object, read whole."""
    listed = git(folder, "cat-file", "--batch-all-objects", "--batch-check=%(objectname) %(objecttype) %(objectsize)")
    git(folder, "fsck", "--strict", "--no-dangling")
    return set(listed.splitlines())


def loose(archive: Archive) -> int:
    return int(archive.git("count-objects").split()[0])


def test_few_small_objects_are_left_alone(ann: Engineer) -> None:
    assert not due(ann.archive.git_dir)
    assert not pack(ann.archive)
    assert loose(ann.archive) > 20


def test_many_are_told_from_a_few_folders(ann: Engineer) -> None:
    for name in ("17", "4b", "9c", "e0"):
        (ann.archive.git_dir / "objects" / name).mkdir(exist_ok=True)
        for number in range(24):
            (ann.archive.git_dir / "objects" / name / f"{number:038x}").touch()
    assert due(ann.archive.git_dir)


def test_packing_loses_no_object_and_changes_nothing_else(ann: Engineer, often: None) -> None:
    before, history = objects(ann.folder), log(ann.archive)
    assert pack(ann.archive)
    assert objects(ann.folder) == before
    assert loose(ann.archive) == 1, "what no name leads to stays a file of its own"
    assert log(ann.archive) == history
    last = ann.last
    assert undo(ann.archive)[0].after.last == last
    assert ann.last != last


def test_recording_packs_by_itself(ann: Engineer, often: None) -> None:
    ann.label("fly", "RAIL")
    assert loose(ann.archive) <= 1
    assert ann.show == Shows(ann.archive).at(ann.last)


def test_too_many_packs_become_one_with_all_that_they_hold(
    ann: Engineer, often: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(3):
        ann.label("fly", f"RAIL {number}")
    packs = ann.archive.git_dir / "objects" / "pack"
    assert len(list(packs.glob("*.pack"))) == 3
    mark(ann.archive, "gone", ann.last)
    before = objects(ann.folder)
    monkeypatch.setattr(packing, "MOST_PACKS", 2)
    assert pack(ann.archive)
    assert len(list(packs.glob("*.pack"))) == 1
    assert objects(ann.folder) == before


def test_that_it_cannot_be_done_is_no_reason_to_fail(
    ann: Engineer, often: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> str:
        raise GitFailed("repack", "fatal: No space left on device")

    monkeypatch.setattr(packing, "run_git", full)
    made = ann.label("fly", "RAIL")
    assert ann.last == made


def test_what_a_killed_packing_left_is_taken_away_a_day_later(ann: Engineer, often: None) -> None:
    packs = ann.archive.git_dir / "objects" / "pack"
    packs.mkdir(exist_ok=True)
    old, new = packs / "tmp_pack_old", packs / ".tmp-12-pack-new.pack.part"
    for path in (old, new):
        path.write_bytes(b"half")
    os.utime(old, (time.time() - 90_000, time.time() - 90_000))
    pack(ann.archive)
    assert not old.exists()
    assert new.exists(), "somebody may be writing it"


def test_a_hub_in_a_folder_is_packed_by_those_who_exchange(
    tmp_path: Path, often: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    ann, ben, hub = pair(tmp_path)
    for number in range(3):
        ann.label("fly", f"FLY {number}")
    before = objects(hub)
    ann.sync()
    assert int(git(hub, "count-objects").split()[0]) == 0
    assert before < objects(hub)
    ben.sync()
    assert ben.last == ann.last
    monkeypatch.setattr(packing, "MOST_PACKS", 0)
    ben.label("fly", "RAIL")
    ben.sync()
    assert len(list((hub / "objects" / "pack").glob("*.pack"))) == 1
    git(hub, "fsck", "--strict")


def test_a_hubs_own_settings_run_nothing_while_it_is_packed(tmp_path: Path, often: None) -> None:
    _, _, hub = pair(tmp_path)
    canary = tmp_path / "sang"
    for setting in ("core.fsmonitor", "core.alternateRefsCommand", "gpg.program", "core.hooksPath"):
        git(hub, "config", setting, f"touch {canary} #")
    (hub / "hooks").mkdir(exist_ok=True)
    for name in ("pre-auto-gc", "post-rewrite", "reference-transaction", "post-index-change"):
        hook = hub / "hooks" / name
        hook.write_text(f"#!/bin/sh\ntouch {canary}\n")
        hook.chmod(0o755)
    from showvc.history.hub_safety import pack_hub

    pack_hub(hub)
    assert int(git(hub, "count-objects").split()[0]) == 0
    assert not canary.exists()


# --- killed, and all at once ---

_PACKING = (
    "import sys; from pathlib import Path; from showvc.history import packing; packing.MOST_LOOSE = -1; "
    "packing.MOST_PACKS = int(sys.argv[2]); packing.pack_folder(Path(sys.argv[1]))"
)
_SHOWVC = (
    "from showvc.history import packing; packing.MOST_LOOSE = -1; packing.MOST_PACKS = 1; "
    "from showvc.cli import main; main()"
)


def process(program: str, *words: str) -> subprocess.Popen[bytes]:
    environment = {**PLAIN, "PYTHONPATH": str(ROOT), "SHOWVC_WHO": "Ann Rigg"}
    return subprocess.Popen(
        [sys.executable, "-c", program, *words], env=environment, stdout=subprocess.PIPE, start_new_session=True
    )


def until_it_writes(archive: Archive) -> None:
    """Waits until something comes or goes among the packs: git is in the middle of it."""
    packs = archive.git_dir / "objects" / "pack"
    before, until = set(packs.glob(".*")) | set(packs.glob("*")), time.monotonic() + 5
    while set(packs.glob(".*")) | set(packs.glob("*")) == before and time.monotonic() < until:
        time.sleep(0.0005)


def test_killed_at_random_moments_it_loses_nothing(ann: Engineer) -> None:
    """The whole group of processes is killed, as when the machine goes off."""
    random.seed(11)
    for turn in range(14):
        ann.label("fly", f"TURN {turn}")
        ann.archive.store("blob", b"nobody leads here %d" % turn)
        before = objects(ann.folder)
        running = process(_PACKING, str(ann.archive.git_dir), str(turn % 2 * 100))
        if turn % 2:
            time.sleep(random.uniform(0.25, 0.6))
        else:
            until_it_writes(ann.archive)
        if running.poll() is None:
            os.killpg(running.pid, signal.SIGKILL)
        running.communicate()
        assert objects(ann.folder) >= before
    pack_folder(ann.archive.git_dir)
    assert ann.show.groups["fly"].label == "TURN 13"


def test_engineers_who_exchange_while_the_hub_is_packed_all_get_through(tmp_path: Path) -> None:
    ann, ben, hub = pair(tmp_path)
    crowd = [ann, ben]
    for turn in range(3):
        for number, engineer in enumerate(crowd):
            engineer.label(f"crew-{number}", f"C{number}{turn}")
        running = [process(_SHOWVC, "sync", "--show", str(engineer.folder)) for engineer in crowd]
        assert [each.wait(120) for each in running] == [0, 0]
    git(hub, "fsck", "--strict")
    for engineer in crowd:
        engineer.sync()
        objects(engineer.folder)
    assert ann.last == ben.last
