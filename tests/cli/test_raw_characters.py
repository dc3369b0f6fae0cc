"""Nothing that a terminal would act on leaves the program, wherever it came from: on neither stream, in text or JSON."""

from __future__ import annotations

import io
import json
import os
import pty
import re
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from showvc.cli import app as frame
from showvc.cli import speech
from tests.cli.terminal import SHOWVC
from tests.history.desk import ENGINEER, Desk, surroundings

C0 = "".join(map(chr, range(1, 32)))  # no argument and no file name holds a NUL
C1 = "".join(map(chr, range(0x7F, 0xA0)))
BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
BREAKS = "\u2028\u2029"
HIDDEN = "\u200b\u2060\ufeff\u00ad\U000e0041"
HALVES = "\udc9b\udcff"
"""What Python makes of bytes that are no UTF-8; the first is U+009B in Latin-1."""
HOSTILE = (f"a{C0}{C1}{BIDI}{BREAKS}{HIDDEN}b", f"a{HALVES}b")
ALL = "".join(HOSTILE)
REFUSED = re.compile(f"[{re.escape(C0 + C1)}{BIDI}{BREAKS}{HIDDEN}\ud800-\udfff]")


def raw(printed: bytes) -> list[str]:
    """What of it a terminal would act on, or not show; ends of lines and tabs are free."""
    text = printed.decode("utf-8", "surrogateescape")
    return [f"U+{ord(char):04X}" for char in REFUSED.findall(text) if char not in "\n\t"]


class Spoke:
    """The exit code, and the bytes on both streams."""

    def __init__(self, code: int, out: bytes, err: bytes) -> None:
        self.code, self.out, self.err = code, out, err


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


@pytest.fixture
def say(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Spoke]:
    """Runs a command as the program does, with the streams that the program has."""
    frame.load_families()

    def run(*arguments: str) -> Spoke:
        out, err = io.BytesIO(), io.BytesIO()
        with monkeypatch.context() as patched, surroundings(desk.folder, {"SHOWVC_WHO": ENGINEER}):
            patched.setattr(sys, "stdout", io.TextIOWrapper(out, encoding="utf-8"))
            patched.setattr(sys, "stderr", io.TextIOWrapper(err, encoding="utf-8"))
            speech.prepare()
            try:
                frame.app(list(arguments), prog_name="showvc")
                code = 0
            except SystemExit as end:
                code = int(end.code or 0)
            sys.stdout.flush()
            sys.stderr.flush()
            return Spoke(code, out.getvalue(), err.getvalue())

    return run


# Each kind of argument, with `{}` for what is hostile.
ARGUMENTS = (
    # fields and values
    ("set", "{}", "x"), ("set", "users/{}/label", "x"), ("set", "users/sm/label", "{}"), ("set", "users/sm", "{{label: '{}'}}"),
    ("set", "users/sm/department", "{}"), ("set", "extra/{}", "1"), ("set", "extra/x", "{}"), ("set", "notes", "{}"),
    ("remove", "{}"), ("trace", "{}"), ("history", "{}"),
    # sources
    ("compare", "{}"), ("compare", "last", "{}"), ("check", "{}"), ("restore", "{}"), ("rollback", "{}"), ("carry", "{}"),
    ("merge", "{}"), ("release", "{}"), ("paths", "--of", "{}"), ("report", "{}", "last"), ("export", "out.show.yaml", "{}"),
    # names
    ("draft", "open", "{}"), ("draft", "go", "{}"), ("draft", "close", "{}"), ("mark", "{}"), ("mark", "{}", "last"),
    ("paths", "{}"), ("paths", "sm", "{}"), ("settle", "{}"), ("settle", "1", "--take", "{}"),
    # texts
    ("record", "--note", "{}"), ("record", "--note", "x", "--{}", "y"),
    # files and folders
    ("import", "{}.xlsx"), ("import", "{}.show.yaml"), ("import", "{}.csv", "--mapping", "{}"), ("merge", "{}", "--before", "{}", "--mine", "{}", "--into", "{}"),
    ("compare", "./{}.show.json"), ("export", "{}/x.show.yaml"), ("export", "{}"), ("keysheets", "--html", "{}/x.html"), ("report", "last-1", "last", "--html", "{}/x"),
    ("now", "--show", "{}"), ("start", "{}/x"), ("join", "{}", "elsewhere"), ("join", "hub", "{}"), ("hub", "{}"), ("fleet", "{}.csv"), ("demo", "show.yaml/{}"),
    # what is no argument at all
    ("{}",), ("now", "{}"), ("now", "--{}"), ("draft", "{}"), ("--{}",), ("review", "--port", "{}"), ("history", "--most", "{}"),
)  # fmt: skip


@pytest.mark.parametrize("how", [(), ("--json",)], ids=["text", "json"])
@pytest.mark.parametrize("arguments", ARGUMENTS, ids=" ".join)
def test_no_argument_comes_out_raw(say: Callable[..., Spoke], arguments: Sequence[str], how: Sequence[str]) -> None:
    for text in HOSTILE:
        given = [each.format(text) for each in arguments]
        spoke = say(*given, *how)
        assert raw(spoke.out) == raw(spoke.err) == [], given
        assert b"unforeseen" not in spoke.err
        if how and spoke.out:
            json.loads(spoke.out)


@pytest.fixture
def littered(desk: Desk) -> Iterator[Desk]:
    """A show with drafts, marks, notes and names of people from another git client, and odd files about."""
    odd = C1 + BIDI + BREAKS + HIDDEN
    desk.git("update-ref", f"refs/heads/d{odd[1:]}", "HEAD")
    desk.git("update-ref", f"refs/tags/m{odd[1:]}", "HEAD")
    desk.git(
        "-c", f"user.name=Ada{odd}", "-c", "user.email=a@example.org", "commit", "-q", "--allow-empty", "-m", f"n{odd}"
    )
    (desk.folder / f"stray{ALL.replace(HALVES, '')}").write_text("x")
    (desk.folder / "users" / f"u{C0}{C1}{BIDI}.yaml").write_text("label: X\n")
    yield desk


@pytest.mark.parametrize("how", [(), ("--json",)], ids=["text", "json"])
@pytest.mark.parametrize(
    "arguments",
    [("now",), ("history",), ("draft", "list"), ("check",), ("compare",), ("verify",), ("undo", "--list"), ("restore", "last")],
    ids=" ".join,
)  # fmt: skip
def test_nothing_that_lies_in_the_folder_comes_out_raw(
    littered: Desk, say: Callable[..., Spoke], arguments: Sequence[str], how: Sequence[str]
) -> None:
    spoke = say(*arguments, *how)
    assert raw(spoke.out) == raw(spoke.err) == []
    assert spoke.out or spoke.err


def test_json_has_every_value_exactly(desk: Desk, say: Callable[..., Spoke]) -> None:
    odd = C1[1:].replace("\x85", "") + BIDI
    desk.git("branch", f"x{odd}")
    desk.git("tag", f"y{odd}")
    assert rb"x\u0080" in say("draft", "list").out and rb"y\u0080" in say("history").out
    assert f"x{odd}" in {each["name"] for each in json.loads(say("draft", "list", "--json").out)["drafts"]}
    assert json.loads(say("history", "--json").out)["snapshots"][0]["marks"] == [f"y{odd}"]
    desk("set", "extra/note", json.dumps({"x": f"{C0}{C1}\0"}))
    desk.record()
    changes = json.loads(say("compare", "last-1", "last", "--json").out)["changes"]
    assert [change["after"] for change in changes] == [{"x": f"{C0}{C1}\0"}]


def test_a_line_of_an_argument_cannot_speak_for_the_program(say: Callable[..., Spoke]) -> None:
    spoke = say("now", "--show", "x\nshowvc: all is well")
    assert spoke.code == 2 and len(spoke.err.splitlines()) == 1


def test_what_we_tell_a_terminal_ourselves_passes_and_a_table_keeps_its_mark_and_ends_of_lines(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    streams = {name: io.BytesIO() for name in ("stdout", "stderr")}
    for name, stream in streams.items():
        monkeypatch.setattr(sys, name, io.TextIOWrapper(stream, encoding="utf-8", newline=""))
    speech.prepare()
    print(f"{speech.line_again()}Reading 50 of 200\r", end="", file=sys.stderr, flush=True)
    print(speech.styled_with("\x1b[1m", "Released\x1b[2m", "\x1b[0m"), end="", flush=True)
    speech.print_table("\ufeffDEVICE,\u200bNAME\r\ndesk-01,\x9bx\r\n".encode())
    sys.stdout.flush()
    assert streams["stderr"].getvalue() == rb"\rReading 50 of 200\r".replace(rb"\r", b"\r", 1)
    styled, table = streams["stdout"].getvalue().split(b"\xef\xbb\xbf")
    assert styled == b"\x1b[1mReleased" + rb"\u001b[2m" + b"\x1b[0m"
    assert table == rb"DEVICE,\u200bNAME" + b"\r\n" + rb"desk-01,\u009bx" + b"\r\n"
    assert not hasattr(sys.stdout, "buffer"), "no bytes get around it"


# --- the real program


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "latin-1", "cp1252"])
@pytest.mark.parametrize("arguments", [("compare", ALL), (ALL,), ("now", f"--{ALL}"), ("draft", "open", f"x{ALL}")])
def test_the_program_prints_nothing_raw_in_any_encoding(desk: Desk, encoding: str, arguments: Sequence[str]) -> None:
    """In Latin-1 a byte 0x9B is an order to the terminal by itself."""
    given = [os.fsencode(each) for each in arguments]
    done = subprocess.run(
        [SHOWVC, *given],
        cwd=desk.folder,
        env={**os.environ, "SHOWVC_WHO": ENGINEER, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "1"},
        capture_output=True,
        check=False,
        stdin=subprocess.DEVNULL,
    )
    assert done.returncode == 2 and done.stderr
    text = (done.stdout + done.stderr).decode(encoding)
    assert REFUSED.sub("", text.replace("\n", "")) == text.replace("\n", "")


def test_styles_of_ours_reach_a_terminal_and_those_of_a_name_do_not(desk: Desk) -> None:
    desk("set", "groups/lx/name", "Lights [31m")
    desk.git("update-ref", "refs/heads/red\x9b31m", "HEAD")
    reader, writer = pty.openpty()
    with subprocess.Popen(
        [SHOWVC, "compare"], cwd=desk.folder, stdout=writer, stderr=writer, stdin=writer,
        env={**os.environ, "TERM": "xterm", "NO_COLOR": ""},
    ) as run:  # fmt: skip
        os.close(writer)
        said = b""
        while part := _read(reader):
            said += part
        run.wait()
    os.close(reader)
    assert b"\x1b[1m" in said and raw(re.sub(rb"\x1b\[(1|0)m|\r\n", b"", said)) == []


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 65536)
    except OSError:
        return b""
