"""Every error: its exit code, the file and line where there is one, the way out, and never a traceback."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.history.desk import FILES, Desk

SHOWVC = str(Path(sys.executable).with_name("showvc"))
BROKEN = Path(__file__).parents[2] / "fixtures" / "broken"


def program(
    folder: Path, *arguments: str, before: tuple[str, ...] = (), **environment: str | None
) -> tuple[int, str, str]:
    """Runs the real program: exit code, stdout, stderr."""
    env = {
        name: value
        for name, value in {**os.environ, "SHOWVC_WHO": "Ada Rook", **environment}.items()
        if value is not None
    }
    done = subprocess.run(
        [*before, SHOWVC, *arguments],
        cwd=folder,
        env=env,
        capture_output=True,
        text=True,
        check=False,
        stdin=subprocess.DEVNULL,
    )
    assert "Traceback" not in done.stderr + done.stdout, done.stderr
    return done.returncode, done.stdout, done.stderr


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


# --- files that cannot be read: 2, with file, line and column ---

# What is written, into which file; where the error is; a word of it; a word of the way out.
FILE_ERRORS = {
    "unknown field": ("users/sm.yaml", "name: SM\nlable: SM\n", ":2:1", "unknown field 'lable'", "did you mean label?"),
    "wrong type": ("groups/lx.yaml", "name: LX\ncritical: perhaps\n", ":2:11", "true or false is wanted", ""),
    "duplicate key": ("groups/lx.yaml", "name: LX\nlabel: A\nlabel: B\n", ":3:1", "stands here twice, first in line 2", "keep one"),
    "YAML tag": ("groups/lx.yaml", "name: !!python/object/apply:os.system [ls]\n", ":1:7", "YAML tag", "take the tag out"),
    "bad id": ("users/Stage_Manager.yaml", "name: SM\n", "", "is not an id", "rename the file"),
    "reserved file name": ("users/aux.yaml", "name: SM\n", "", "file systems reserve this name", "rename the file"),
    "newer format": ("show.yaml", "format: 3\ntitle: X\n", ":1:9", "this showvc reads format 2", "update showvc"),
    "not UTF-8": ("groups/lx.yaml", "name: L\udce9\n", ":1", "is not UTF-8", "save it as UTF-8"),
    "not YAML": ("groups/lx.yaml", "name: [a\nlabel: B\n", ":2", "not readable as YAML", "look at this line"),
}  # fmt: skip


@pytest.mark.parametrize("name", FILE_ERRORS)
@pytest.mark.parametrize("command", [("check",), ("compare",), ("record", "--note", "x")], ids=" ".join)
def test_a_file_that_cannot_be_read(desk: Desk, name: str, command: tuple[str, ...]) -> None:
    path, text, place, said, way_out = FILE_ERRORS[name]
    (desk.folder / path).write_bytes(text.encode("utf-8", "surrogateescape"))
    answer = desk(*command, code=2)
    assert f"{path}{place}" in answer.err
    assert said in answer.err
    assert way_out in answer.err
    assert answer.out == ""
    assert len(desk.json("history")["snapshots"]) == 2


def test_an_alias_bomb_is_refused_at_once(desk: Desk) -> None:
    shutil.copy(BROKEN / "alias-bomb/groups/lx.yaml", desk.folder / "groups/lx.yaml")
    answer = desk("check", code=2)
    assert "groups/lx.yaml:6" in answer.err
    assert "anchors beyond measure" in answer.err


@pytest.mark.parametrize("command", [("check",), ("record", "--note", "x"), ("compare",)], ids=" ".join)
def test_a_file_of_five_mebibytes_is_refused_before_it_is_read(desk: Desk, command: tuple[str, ...]) -> None:
    desk.write("users/sm.yaml", "name: SM\nextra: {x: '" + "x" * (5 * 1024 * 1024) + "'}\n")
    answer = desk(*command, code=2)
    assert "users/sm.yaml" in answer.err
    assert "4 MiB" in answer.err


def test_a_dangling_reference_can_be_read_and_is_a_stop(desk: Desk) -> None:
    desk.write("devices/pack-01.yaml", "kind: pack-2\nuser: nobody\n")
    answer = desk("check", code=1)
    assert "nobody" in answer.out
    assert "At /devices/pack-01" in answer.out


def test_a_link_is_never_followed(desk: Desk, tmp_path: Path) -> None:
    secret = tmp_path / "secret.yaml"
    secret.write_text("name: Secret\n")
    (desk.folder / "users/mole.yaml").symlink_to(secret)
    answer = desk("record", "--note", "x", code=2)
    assert "users/mole.yaml" in answer.err
    assert "link" in answer.err


@pytest.mark.parametrize("name", sorted(path.name for path in BROKEN.iterdir()))
def test_no_broken_input_ends_in_a_traceback(name: str, tmp_path: Path) -> None:
    for command in ("check", "compare"):
        arguments = [command, str(BROKEN / name), *([str(BROKEN / name)] if command == "compare" else [])]
        assert Desk(tmp_path)(*arguments, code=None).code in (0, 1, 2)


# --- calls that are wrong: 2 ---


def test_a_folder_that_is_no_show(tmp_path: Path) -> None:
    for command in (("now",), ("record", "--note", "x"), ("compare",), ("history",), ("check",), ("undo",)):
        code, out, err = program(tmp_path, *command)
        assert (code, out) == (2, "")
        assert "is no show" in err
        assert "--show DIR" in err


def test_a_show_without_a_history_says_how_one_begins(tmp_path: Path) -> None:
    (tmp_path / "show.yaml").write_text("format: 2\ntitle: X\n")
    assert Desk(tmp_path)("check").code == 0
    answer = Desk(tmp_path)("record", "--note", "x", code=2)
    assert "has no history" in answer.err
    assert "showvc start" in answer.err


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    assert "is not a folder" in Desk(tmp_path)("now", "--show", "nowhere", code=2).err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("compare", "openning"), "no source that this show knows"),
        (("compare", "nowhere.show.yaml"), "is not there"),
        (("restore", "last-99"), "before the first snapshot"),
        (("compare", "0000000"), "no source"),
        (("merge", "nobody"), "no source"),
        (
            ("set", "users/sm/channels/fly/talk", "lach"),
            "/users/sm/channels/fly/talk: found 'lach', allowed: none, momentary, latch, dual, open",
        ),
        (("set", "users/sm/channels/fly", "{number: 2, tlak: latch}"), "unknown field 'tlak' (did you mean talk?)"),
        (("set", "users/sm/colour", "red"), "allowed: name"),
        (("set", "users/nobody/name", "X"), "there is no /users/nobody"),
        (("set", "users/sm/channels/rig/talk", "latch"), "there is no /users/sm/channels/rig"),
        (("set", "groups/Bad_Id", "{name: X}"), "is not an id"),
        (("set", "groups/aux", "{name: X}"), "reserve"),
        (("set", "groups/alarm", "{name: X}"), "name of a line"),
        (("set", "", "x"), "nothing can stand"),
        (("remove", "users/nobody"), "there is nothing at"),
        (("remove", "users"), ""),
        (("set", "devices/desk-01/hardware", "00:11:22"), "hardware"),
        (("set", "users/sm/channels/lx/level", "99"), "-60"),
        (("record", "--note", " "), "needs a note"),
        (("trace", ""), ""),
        (("rollback", "nothing"), "no source"),
        (("carry", "nothing"), "no source"),
        (("settle",), "no merge is open"),
        (("merge", "main", "--before", "last"), "--before, --mine and --into"),
        (("start", "."), "has a history already"),
    ],
)  # fmt: skip
def test_a_wrong_call(desk: Desk, arguments: tuple[str, ...], said: str) -> None:
    before = desk.files()
    answer = desk(*arguments, code=2)
    assert answer.err.startswith("showvc: ")
    assert said in answer.err
    assert answer.out == ""
    assert desk.files() == before


@pytest.mark.parametrize("path", ["users/sm/name", "users/sm/label", "users/sm/department", "groups/fly/tags", "title"])
def test_a_text_longer_than_a_line_can_be_is_refused(desk: Desk, path: str) -> None:
    answer = desk("set", path, "x" * 100_000, code=2)
    assert "holds 100,000 characters; at most 500 are allowed in one line" in answer.err
    assert len(answer.err) < 300
    desk("set", path, "x" * 500)


@pytest.mark.parametrize(
    "arguments",
    [("cmpare",), ("compare", "--nonsense"), ("record",), ("history", "--most", "x"), ("undo", "--to", "x")],
)
def test_a_call_that_cannot_be_understood(desk: Desk, arguments: tuple[str, ...]) -> None:
    code, out, err = program(desk.folder, *arguments)
    assert (code, out) == (2, "")
    assert "--help" in err


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("users/nobody", "did you mean board"),
        ("users/bord", "did you mean board?"),
        ("userz/sm", "did you mean users?"),
        ("users/sm/lable", "did you mean label?"),
        ("groups/9", "there never was a /groups/9"),
    ],
)
def test_the_history_of_what_never_was(desk: Desk, path: str, said: str) -> None:
    answer = desk("history", path, code=2)
    assert said in answer.err or "there never was" in answer.err
    assert answer.out == ""


def test_the_history_of_what_is_gone_or_not_recorded_yet_is_no_error(desk: Desk) -> None:
    desk("remove", "groups/snd")
    desk("record", "--note", "Sound goes")
    assert [each["note"] for each in desk.json("history", "groups/snd")["snapshots"]] == ["Sound goes", "First plot"]
    assert "First plot" in desk("history", "users").out
    assert "First plot" in desk("history", "users/sm/channels/fly").out
    assert "The show begins" in desk("history", "title").out
    desk.write("groups/rig.yaml", "name: Rigging\n")
    assert "not recorded yet" in desk("history", "groups/rig", code=2).err
    assert desk.json("history", "bridges")["snapshots"] == []


def test_a_near_word_is_offered(desk: Desk) -> None:
    assert "did you mean board?" in desk("set", "users/bord/name", "X", code=2).err
    assert "did you mean talk?" in desk("set", "users/sm/channels/fly/tlak", "latch", code=2).err
    assert "Did you mean 'compare'" in program(desk.folder, "cmpare")[2]


def test_nobody_has_said_who_is_working(desk: Desk, tmp_path: Path) -> None:
    nowhere: dict[str, str | None] = {
        "SHOWVC_WHO": None,
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path),
        "GIT_CONFIG_NOSYSTEM": "1",
    }
    desk.write("groups/rig.yaml", "name: Rigging\n")
    code, _, err = program(desk.folder, "record", "--note", "x", **nowhere)
    assert code == 2
    assert 'showvc now --who "Your name"' in err
    assert program(desk.folder, "record", "--note", "x", "--who", "Bo Lind", **nowhere)[0] == 0
    desk.write("groups/cue.yaml", "name: Cue\n")
    assert program(desk.folder, "record", "--note", "asked for once", **nowhere)[0] == 0
    assert desk.json("history")["snapshots"][0]["who"] == "Bo Lind"


def test_a_start_that_nobody_signed_says_how_and_can_be_done_again(tmp_path: Path) -> None:
    nowhere: dict[str, str | None] = {
        "SHOWVC_WHO": None,
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path),
        "GIT_CONFIG_NOSYSTEM": "1",
    }
    code, _, err = program(tmp_path, "start", "new", **nowhere)
    assert code == 2
    assert 'showvc start DIR --who "Your name"' in err
    assert not (tmp_path / "new").exists()
    assert program(tmp_path, "start", "new", "--who", "Bo Lind", **nowhere)[0] == 0


@pytest.mark.parametrize("title", ["a\tb", "a\u202eb", "x" * 501])
@pytest.mark.parametrize("there", [True, False])
def test_a_start_that_is_refused_leaves_nothing(title: str, there: bool, tmp_path: Path) -> None:
    folder = tmp_path / "new" / "show"
    if there:
        folder.mkdir(parents=True)
    assert "title: " in Desk(tmp_path)("start", str(folder), "--title", title, code=2).err
    assert (list(folder.iterdir()) == []) if there else not (tmp_path / "new").exists()


def test_start_in_a_folder_with_other_things_in_it(tmp_path: Path) -> None:
    (tmp_path / "holiday.jpg").write_bytes(b"x")
    assert "is not empty" in Desk(tmp_path)("start", ".", code=2).err
    assert not (tmp_path / ".git").exists()


def test_start_takes_in_the_files_of_a_show(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.write("show.yaml", "# as it came\ntitle: The Salt Road\nformat: 1\n")
    desk.write("groups/fly.yaml", FILES["groups/fly.yaml"])
    desk("start", ".")
    assert desk.read("show.yaml").startswith("# as it came")
    assert desk.json("now")["unrecorded"] == {}


def test_start_over_broken_files_changes_nothing(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.write("show.yaml", "titel: The Salt Road\n")
    assert "show.yaml:1:1" in desk("start", ".", code=2).err
    assert not (tmp_path / ".git").exists()


def test_no_show_is_begun_or_joined_inside_of_another(desk: Desk) -> None:
    before = desk.files()
    for command in (("start", "users/inner"), ("start", "inner"), ("join", str(desk.folder / ".git"), "inner")):
        assert f"is inside of the show in {desk.folder}" in desk(*command, code=2).err
    assert desk.files() == before
    assert not (desk.folder / "inner").exists()


def test_joining_a_hub_that_is_away_does_not_tell_to_go_on_without(tmp_path: Path) -> None:
    said = Desk(tmp_path)("join", str(tmp_path / "nowhere"), "new", code=3).err
    assert "is not in reach" in said
    assert "then join; nothing was made" in said
    assert "sync" not in said


def test_a_clock_that_is_behind_is_told_as_times_are_elsewhere(desk: Desk) -> None:
    desk.git("-c", "user.name=x", "-c", "user.email=x@x.invalid", "commit", "-q", "--allow-empty", "-m", "x",
             "--date", "2090-01-01T12:00:00Z")  # fmt: skip
    said = " ".join(desk("now").out.split())
    assert re.search(r"clock \(\d{4}-\d\d-\d\d \d\d:\d\d\) is behind the last snapshot \(2090-01-01 \d\d:\d\d\)", said)


def test_a_title_other_than_the_one_that_stands_there_is_not_passed_over(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    desk.write("show.yaml", "format: 2\ntitle: The Salt Road\n")
    said = desk("start", ".", "--title", "Another", code=2).err
    assert "show.yaml: says the title 'The Salt Road', not 'Another'" in said
    assert "showvc set title TEXT" in said
    assert not (tmp_path / ".git").exists()
    desk("start", ".", "--title", "The Salt Road")


@pytest.mark.parametrize(
    "command",
    [
        ("paths", "--csv", "stick/x.csv"),
        ("keysheets", "--html", "stick/x.html"),
        ("report", "last-1", "last", "--into", "stick/x.html"),
        ("export", "stick/x.xlsx"),
        ("export", "stick/x.show.yaml"),
    ],
    ids=" ".join,
)
def test_a_folder_that_is_not_there_is_no_stick_and_is_not_made(desk: Desk, command: tuple[str, ...]) -> None:
    folder = desk.folder.parent / "stick"
    said = desk(*command[:-1], str(folder.parent / command[-1]), code=2).err
    assert f"the folder {folder} is not there" in said
    assert not folder.exists()


# --- the machine: 3 ---


def test_git_is_not_there(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    for command in (("now",), ("record", "--note", "x"), ("compare",)):
        code, _, err = program(desk.folder, *command, PATH=str(tmp_path / "empty"))
        assert code == 3
        assert "git is not on this machine" in err
        assert "install git" in err
    single = tmp_path / "x.show.yaml"
    single.write_text("format: 2\ntitle: X\n")
    code, _, _ = program(tmp_path, "check", str(single), PATH=str(tmp_path / "empty"))
    assert code == 0, "what needs no history needs no git"


def bound() -> tuple[str, ...]:
    """For root, a way to run a program that is bound by permissions like everybody else."""
    if os.geteuid() != 0:
        return ()
    if shutil.which("setpriv") is None:
        pytest.skip("run by root, and setpriv is not there to be bound by permissions")
    gone = "-dac_override,-dac_read_search,-fowner"
    return ("setpriv", f"--bounding-set={gone}", f"--inh-caps={gone}")


@pytest.fixture
def closed(desk: Desk) -> Iterator[Desk]:
    """A show whose folder may be read and not written."""
    places = [desk.folder, *(path for path in desk.folder.rglob("*") if path.is_dir())]
    desk.write("groups/rig.yaml", "name: Rigging\n")
    for place in places:
        place.chmod(0o555)
    yield desk
    for place in places:
        place.chmod(0o755)


@pytest.mark.parametrize(
    "command",
    [
        ("record", "--note", "x"),
        ("set", "groups/fly/name", "F"),
        ("restore", "last-1"),
        ("draft", "open", "x"),
        ("undo",),
    ],
    ids=" ".join,
)
def test_no_permission_to_write(closed: Desk, command: tuple[str, ...]) -> None:
    before = closed.files()
    code, _, err = program(closed.folder, *command, before=bound())
    assert code == 3, err
    assert str(closed.folder) in err or "Permission denied" in err or "insufficient permission" in err
    assert err.count("\n") <= 2
    assert closed.files() == before


def test_no_permission_to_make_the_show(tmp_path: Path) -> None:
    (tmp_path / "shut").mkdir(mode=0o555)
    code, _, err = program(tmp_path, "start", "shut/new", before=bound())
    assert code == 3
    assert "cannot be made" in err


def test_a_file_that_may_not_be_read(desk: Desk) -> None:
    (desk.folder / "users/sm.yaml").chmod(0o000)
    os.utime(desk.folder / "users/sm.yaml", (1, 1))
    code, _, err = program(desk.folder, "record", "--note", "x", before=bound())
    assert code == 3
    assert "users/sm.yaml" in err


def test_a_damaged_history_says_so(desk: Desk) -> None:
    oid = desk.git("rev-parse", "main:users/sm.yaml").strip()
    (desk.folder / ".git/objects" / oid[:2] / oid[2:]).unlink()
    shutil.rmtree(desk.folder / ".git/showvc")
    answer = desk("check", "last", code=3)
    assert oid[:12] in answer.err
    assert "showvc verify" in answer.err
