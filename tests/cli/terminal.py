"""A terminal on which a command is run, as wide as wished, with somebody who types."""

from __future__ import annotations

import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
from fcntl import ioctl
from pathlib import Path

SHOWVC = str(Path(sys.executable).with_name("showvc"))
INTERRUPT = "\x03"
_PATIENCE = 90
"""Seconds; the machine may be slow, but a test that hangs says nothing."""
_QUESTIONS = re.compile(rb"\[q\]uit: |\[y/N\]: |Value: ")
_OWNS_TERMINAL = (
    "import fcntl, os, sys, termios; fcntl.ioctl(0, termios.TIOCSCTTY, 0); os.execv(sys.argv[1], sys.argv[1:])"
)
"""So that Ctrl-C reaches the command."""


def on_terminal(folder: Path, columns: int, *arguments: str, typed: tuple[str, ...] = ()) -> list[str]:
    """What a command prints on a terminal so many columns wide; each question gets the next of what is typed."""
    return ended(folder, columns, *arguments, typed=typed)[1]


def ended(folder: Path, columns: int, *arguments: str, typed: tuple[str, ...] = ()) -> tuple[int, list[str]]:
    """The exit code with it."""
    master, slave = pty.openpty()
    ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
    env = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    env |= {"NO_COLOR": "1", "SHOWVC_WHO": "Ada Rook", "TERM": "xterm"}
    lines, said = list(typed), b""
    command = [sys.executable, "-c", _OWNS_TERMINAL, SHOWVC, *arguments]
    with subprocess.Popen(
        command, cwd=folder, env=env, stdin=slave, stdout=slave, stderr=slave, start_new_session=True
    ) as run:
        os.close(slave)
        while part := _read(master):
            said += part
            answered = len(typed) - len(lines)
            if (
                lines and len(_QUESTIONS.findall(said)) > answered
            ):  # a question may come in pieces: each is answered once
                os.write(master, lines[0].encode())
                del lines[0]
        if run.poll() is None and _waiting(run):
            run.kill()
        code = run.wait()
    os.close(master)
    return code, said.decode().replace("\r\n", "\n").splitlines()


def _waiting(run: subprocess.Popen[bytes]) -> bool:
    """Whether a command still runs when nothing more is said: it waits for something that nobody types."""
    try:
        run.wait(5)
    except subprocess.TimeoutExpired:
        return True
    return False


def _read(terminal: int) -> bytes:
    if not select.select([terminal], [], [], _PATIENCE)[0]:
        return b""
    try:
        return os.read(terminal, 65536)
    except OSError:
        return b""
