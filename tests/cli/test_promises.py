"""What section 13 of the design promises: the shapes of JSON, the exit codes, and what goes to which stream."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonpatch
import pytest

from showvc.formats import read
from tests.history.desk import FILES, Desk

SHOWVC = str(Path(sys.executable).with_name("showvc"))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


@pytest.fixture
def edited(desk: Desk) -> Desk:
    """A channel moved, a group renamed, a user added, a device gone, a channel added and one taken away."""
    desk("set", "users/sm/channels/lx/number", "7")
    desk("set", "groups/snd/name", "Sound Desk")
    desk("set", "users/caller", "{name: Caller, channels: {fly: {number: 1, talk: latch}}}")
    desk("remove", "devices/pack-01", code=1)  # the deck manager was the last who talked back on FLY
    desk("remove", "users/board/channels/lx")
    return desk


# --- compare ---


def test_compare(edited: Desk) -> None:
    found = edited.json("compare")
    assert set(found) == {"changes", "effect"}
    assert all(list(each) == ["path", "change", "before", "after"] for each in found["changes"])
    assert {(each["path"], each["change"]) for each in found["changes"]} == {
        ("/groups/snd/name", "renamed"),
        ("/users/sm/channels/lx/number", "moved"),
        ("/users/caller", "added"),
        ("/devices/pack-01", "removed"),
        ("/users/board/channels/lx", "removed"),
    }
    by_path = {each["path"]: each for each in found["changes"]}
    assert (by_path["/users/caller"]["before"], by_path["/users/caller"]["after"]["name"]) == (None, "Caller")
    assert by_path["/devices/pack-01"]["after"] is None
    assert (by_path["/users/sm/channels/lx/number"]["before"], by_path["/users/sm/channels/lx/number"]["after"]) == (
        1,
        7,
    )
    effect = found["effect"]
    assert {"lost", "gained", "strips"} <= set(effect)
    assert effect["off_headset"] == ["asm"] and ["asm", "sm"] in effect["lost"]
    assert {"loss": ["asm"], "edits": ["/devices/pack-01"], "remains": []} in effect["because"]
    assert all(isinstance(each, str) for each in effect["strips"])


def test_compare_of_equal_shows(desk: Desk) -> None:
    found = desk.json("compare", "--fail-on-change")
    assert found["changes"] == []
    assert (found["effect"]["lost"], found["effect"]["gained"], found["effect"]["strips"]) == ([], [], [])


def test_compare_edits_only_has_no_effect(edited: Desk) -> None:
    assert edited.json("compare", "--edits")["effect"] is None


def test_fail_on_change_ends_with_one(edited: Desk) -> None:
    assert edited("compare").code == 0
    edited("compare", "--fail-on-change", code=1)
    edited("compare", "--fail-on-change", "--json", code=1)
    edited("compare", "--fail-on-change", "--patch", code=1)
    edited.record()
    edited("compare", "--fail-on-change")


def test_compare_tells_the_effect_first_and_critical_ones_on_top(edited: Desk) -> None:
    edited("remove", "users/sm/channels/fly", code=1)
    lines = edited("compare").out.splitlines()
    assert lines.index("Off headset:") < next(
        place for place, line in enumerate(lines) if "renamed" in line or "~" in line
    )
    assert any("Intercom is not an emergency stop" in line for line in lines)


def test_patch_leads_from_before_to_after(edited: Desk) -> None:
    """RFC 6902, applied by the library jsonpatch to the single document of before."""
    before = _tree(edited, "last")
    patch = json.loads(edited("compare", "--patch").out)
    assert jsonpatch.apply_patch(before, patch) == _tree(edited, "working")


def _tree(desk: Desk, source: str) -> Any:
    from showvc.history.sources import find

    return find(desk.archive, source, desk.shows).show.tree()


def test_compare_of_two_files_needs_no_show(desk: Desk, tmp_path: Path) -> None:
    paths = []
    for title in ("One", "Two"):
        paths.append(str(tmp_path / f"{title}.show.json"))
        Path(paths[-1]).write_text(json.dumps({"format": 2, "title": title}))
    outside = Desk(tmp_path)
    assert [each["path"] for each in outside.json("compare", *paths)["changes"]] == ["/title"]
    assert outside("check", paths[0]).code == 0


# --- merge and settle ---


def _clash(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk("set", "groups/fly/label", "RAIL")
    desk("set", "users/sm/channels/snd", "{number: 3}")
    desk.record()
    desk("draft", "go", "main")
    desk("set", "groups/fly/label", "FLYS")
    desk("set", "users/sm/channels/asm", "{number: 3}")
    desk.record()


def test_merge(desk: Desk) -> None:
    _clash(desk)
    found = desk.json("merge", "deck", code=1)
    assert found["verdict"]["conflicts"] == len(found["conflicts"])
    assert list(found["verdict"]) == ["ready", "blocks", "required_lost", "conflicts", "frozen"]
    assert found["verdict"]["ready"] is False
    assert list(found) == ["clean", "conflicts", "problems", "snapshot", "combined", "verdict"]
    assert (found["clean"], found["snapshot"]) == (False, None)
    for each in found["conflicts"]:
        told = ["id", "kind", "paths", "before", "mine", "incoming", "message"]
        assert list(each) == [*told, "choices", "sides"]
    by_kind = {each["kind"]: each for each in found["conflicts"]}
    label = by_kind["both-changed"]
    assert (label["paths"], label["before"], label["mine"], label["incoming"]) == (
        ["/groups/fly/label"],
        "FLY",
        "FLYS",
        "RAIL",
    )
    booked = by_kind["double-booked"]
    assert len(booked["paths"]) == len(booked["before"]) == len(booked["mine"]) == len(booked["incoming"]) > 1
    assert desk.json("settle", code=1) == found
    settled = desk.json("settle", "--all", "--take", "incoming")
    assert (settled["clean"], settled["conflicts"]) == (True, [])
    assert settled["snapshot"] == desk.json("history")["snapshots"][0]["code"]
    assert all(set(each) == {"side", "code", "path", "message"} for each in found["problems"])


def test_a_conflict_in_text_shows_all_three_values_and_every_way_to_settle(desk: Desk) -> None:
    _clash(desk)
    overview = desk("merge", "deck", code=1).out
    assert "no file is changed until then" in overview
    assert "showvc settle ID" in overview
    assert "showvc settle --all --take mine|incoming" in overview
    said = desk("settle", "1", code=1).out
    lines = [line.split() for line in said.splitlines()]
    place = lines.index(["/groups/fly/label"])
    values = [(line[0], line[-1]) for line in lines[place + 1 : place + 4]]
    assert values == [("before", "FLY"), ("mine", "FLYS"), ("incoming", "RAIL")]
    for way in ("settle 1 --take mine", "settle 1 --take incoming"):
        assert way in said
    assert "settle 2 --value 4" in desk("settle", "2", code=1).out, "the next free number"
    for way in ("--take", "--value", "--all", "--drop"):
        assert way in desk("settle", "--help").out


# --- check, history, now ---


def test_check(desk: Desk) -> None:
    found = desk.json("check", code=None)
    assert set(found) == {"findings"}
    assert found["findings"]
    for each in found["findings"]:
        assert list(each) == ["code", "severity", "path", "message", "facts"]
        assert each["severity"] in ("block", "warning", "note")
        assert each["path"].startswith("/")


def test_check_ends_with_one_for_a_block_and_only_then(desk: Desk) -> None:
    assert desk("check").code == 0
    desk.write("users/sm.yaml", FILES["users/sm.yaml"].replace("fly:", "flyy:"))
    answer = desk("check", code=1)
    assert answer.out.startswith("BLOCKED: ")
    blocks = [each["path"] for each in desk.json("check", code=1)["findings"] if each["severity"] == "block"]
    assert f"{len(blocks)} block" in answer.out.splitlines()[-1]
    assert any(path.startswith("/users/sm") for path in blocks)


def test_an_edit_that_breaks_something_ends_with_one_and_says_what(desk: Desk) -> None:
    answer = desk("remove", "groups/fly", code=1)
    assert "BLOCK" in answer.out
    assert "undo" in desk("undo", "--help").out


def test_history(desk: Desk) -> None:
    desk("mark", "opening-night")
    found = desk.json("history")
    assert set(found) == {"snapshots"}
    assert all(
        list(each) == ["code", "who", "when", "note", "marks", "changes", "verdict"] for each in found["snapshots"]
    )
    assert found["snapshots"][0]["marks"] == ["opening-night"]
    first = desk("history").out.splitlines()
    assert first[0].split() == ["CODE", "VERDICT", "WHEN", "WHO", "MARKS", "NOTE", "CHANGES"]


def test_paths_of_one_user(desk: Desk) -> None:
    found = desk.json("paths", "sm")
    assert {"heard_by", "hears"} <= set(found)


def test_now_ends_with_one_while_conflicts_are_open(desk: Desk) -> None:
    _clash(desk)
    assert desk("now").code == 0
    desk("merge", "deck", code=1)
    found = desk.json("now", code=1)
    assert (found["conflicts"], found["draft"]) == (2, "main")
    assert {"title", "last", "unrecorded", "merge", "hub", "release"} <= set(found)


def test_now_tells_of_a_file_that_cannot_be_read(desk: Desk) -> None:
    desk.write("groups/fly.yaml", "nmae: Fly\n")
    desk.write("users/sm.yaml", "lable: x\n")
    said = desk("now", code=1).out
    assert "groups/fly.yaml:1:1" in said
    assert "users/sm.yaml:1:1" in said
    assert "all recorded" not in said
    assert "The Salt Road" in said, "the title is read where it can be"


@pytest.mark.parametrize(
    "command",
    [
        ("now",), ("compare",), ("check",), ("history",), ("trace", "users/sm"), ("set", "groups/fly/name", "F"), ("paths",),
        ("remove", "groups/snd/label"), ("record", "--note", "n"), ("draft", "list"), ("draft", "open", "x"), ("mark", "m"),
        ("restore", "last-1"), ("undo",), ("undo", "--list"), ("merge", "main"), ("carry", "last"), ("rollback", "last"),
    ],
    ids=" ".join,
)  # fmt: skip
def test_json_is_json_and_nothing_else(desk: Desk, command: tuple[str, ...]) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")
    answer = desk(*command, "--json", code=None)
    assert answer.code in (0, 1), answer
    json.loads(answer.out)
    assert answer.err == ""


# --- streams and terminals ---


def program(folder: Path, *arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "SHOWVC_WHO": "Ada Rook", **environment}
    return subprocess.run(
        [SHOWVC, *arguments], cwd=folder, env=env, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
    )


def test_in_a_pipe_nothing_is_coloured_and_no_progress_is_shown(edited: Desk) -> None:
    for arguments in (("compare",), ("check",), ("history",), ("now",)):
        done = program(edited.folder, *arguments, FORCE_COLOR="", TERM="xterm-256color")
        assert "\x1b" not in done.stdout
        assert done.stderr == ""


ALPHABETS = ("ascii", "cp850", "cp1252", "latin-1")


@pytest.mark.parametrize("alphabet", ALPHABETS)
@pytest.mark.parametrize(
    "command", [("compare",), ("now",), ("history",), ("set", "groups/lx/name", "→ ✓ Ω")], ids=" ".join
)
def test_letters_that_an_output_does_not_take_change_no_exit_code(
    desk: Desk, command: tuple[str, ...], alphabet: str
) -> None:
    desk("set", "groups/snd/name", "Größe · ✓ … Ω 声")
    desk.record("Größe · ✓ …")
    desk("set", "groups/snd/name", "Länge ✓")
    done = subprocess.run(
        [SHOWVC, *command],
        cwd=desk.folder,
        env={**os.environ, "PYTHONIOENCODING": alphabet},
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.decode(alphabet)


def test_json_loses_no_letter_whatever_the_output_takes(desk: Desk) -> None:
    name = "Größe · ✓ … Ω 声"
    desk("set", "groups/snd/name", name)
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    for command in (("compare", "--json"), ("compare", "--patch")):
        done = subprocess.run([SHOWVC, *command], cwd=desk.folder, env=environment, capture_output=True, check=False)
        assert name in str(json.loads(done.stdout))


def test_an_error_is_told_whatever_letters_it_holds(desk: Desk) -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(
        [SHOWVC, "compare", "Größe ✓"], cwd=desk.folder, env=environment, capture_output=True, check=False
    )
    assert done.returncode == 2
    assert b"no source that this show knows" in done.stderr


def test_the_version_is_the_packages_and_is_told_at_once(tmp_path: Path) -> None:
    from importlib.metadata import version

    code = "import sys; from showvc.cli import main; sys.argv = ['showvc', '--version']; main(); print('typer' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["showvc", version("showvc"), "False"]
    assert "--version" in Desk(tmp_path)("--help").out


def test_no_color_is_honoured_on_a_terminal(edited: Desk) -> None:
    import pty

    def shown(**environment: str) -> bytes:
        master, slave = pty.openpty()
        env = {**os.environ, "TERM": "xterm-256color", **environment}
        with subprocess.Popen(
            [SHOWVC, "compare"], cwd=edited.folder, env=env, stdin=slave, stdout=slave, stderr=slave
        ) as process:
            os.close(slave)
            said = b""
            while True:
                try:
                    part = os.read(master, 65536)
                except OSError:
                    break
                if not part:
                    break
                said += part
            process.wait()
        os.close(master)
        return said

    assert b"\x1b[" in shown()
    plain = shown(NO_COLOR="1")
    assert b"\x1b[" not in plain
    assert b"Off headset" in plain


def test_a_reader_that_goes_away_is_no_error(edited: Desk) -> None:
    command = f"{SHOWVC} compare --json | head -c 1"
    done = subprocess.run(["bash", "-c", command], cwd=edited.folder, capture_output=True, text=True, check=False)
    assert done.stderr == ""


def test_the_folder_is_found_from_below_and_by_name(desk: Desk, tmp_path: Path) -> None:
    assert Desk(desk.folder / "users").json("now")["title"] == "The Salt Road"
    assert Desk(tmp_path).json("now", "--show", str(desk.folder))["title"] == "The Salt Road"
    assert read(desk.folder).title == "The Salt Road"
