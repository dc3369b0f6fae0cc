"""Two showvc at once on one folder wait for each other: real processes, and nothing is lost."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from showvc.formats import read
from tests.history.desk import Desk

SHOWVC = str(Path(sys.executable).with_name("showvc"))


def begin(desk: Desk, *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [SHOWVC, *arguments, "--show", str(desk.folder)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        text=True,
    )


def test_edits_of_many_processes_all_arrive(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    fields = [f"users/sm/channels/{name}/level" for name in ("lx", "fly")]
    fields += [f"groups/{name}/name" for name in ("lx", "fly", "snd")] + ["users/asm/name", "users/board/name"]
    running = [begin(desk, "set", field, "-7" if field.endswith("level") else "New") for field in fields]
    for process in running:
        _, said = process.communicate(timeout=120)
        assert process.returncode == 0, said
    show = read(desk.folder)
    assert [show.users["sm"].channels[name].level for name in ("lx", "fly")] == [-7, -7]
    assert {show.groups[name].name for name in show.groups} == {"New"}
    assert (show.users["asm"].name, show.users["board"].name) == ("New", "New")
    numbers = [each["number"] for each in desk.json("undo", "--list")["operations"]]
    assert numbers == list(range(len(numbers), 0, -1))
    assert desk.fsck() == []


def test_recording_and_looking_at_once_disturb_each_other_in_nothing(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    running = [
        begin(desk, *words) for words in (("record", "--note", "a"), ("now",), ("compare",), ("record", "--note", "b"))
    ]
    for process in running:
        _, said = process.communicate(timeout=120)
        assert process.returncode == 0, said
    notes = [each["note"] for each in desk.json("history")["snapshots"]]
    assert len(notes) == 3
    assert notes[0] in "ab"


def test_who_waits_says_so_and_goes_on_when_the_other_is_ready(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    with desk.archive.locked():
        process = begin(desk, "record", "--note", "patient")
        assert process.stderr is not None
        assert "Another showvc is at work in this folder" in process.stderr.readline()
        assert process.poll() is None, "it waits"
    process.communicate(timeout=120)
    assert process.returncode == 0
    assert desk.json("history")["snapshots"][0]["note"] == "patient"


def test_a_killed_owner_lets_go(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    code = f"from pathlib import Path; from showvc.history.archive import Archive\nwith Archive.open(Path({str(desk.folder)!r})).locked():\n print('held', flush=True); import time; time.sleep(600)"
    owner = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert owner.stdout is not None
    assert owner.stdout.readline() == "held\n"
    owner.kill()
    owner.wait()
    owner.stdout.close()
    desk("set", "groups/fly/name", "Flies")
