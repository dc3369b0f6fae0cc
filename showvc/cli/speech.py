"""The last word of a stopped program, and words on a stream that does not take every letter.

Such are an old terminal, a Windows code page, `LC_ALL=C`.
"""

from __future__ import annotations

import atexit
import codecs
import io
import os
import signal
import sys
from typing import TextIO

# One column for one column, so that tables stay lined up.
_PLAIN = {"…": ".", "·": "-", "✓": "x", "–": "-", "—": "-", "→": ">", "’": "'", "‘": "'", "“": '"', "”": '"', "•": "*"}
_NAME = "showvc-plain"


def prepare() -> None:
    """Lets no letter that a stream does not take end a command: a plain one stands for it, else `?`."""
    codecs.register_error(_NAME, _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_NAME)


def _plainly(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_PLAIN.get(char, "?") for char in error.object[error.start : error.end]), error.end


def takes_all(stream: TextIO) -> bool:
    """Whether a stream takes every letter, as UTF-8 does. One that has no encoding keeps text as it is."""
    encoding = getattr(stream, "encoding", None)
    return encoding is None or codecs.lookup(encoding).name.startswith("utf")


STOPPED = 130
"""What a shell gives for a program that was stopped by Ctrl-C: 128 and the number of SIGINT."""


_LAST_WORD = "showvc: stopped. A command is done whole or not at all; see: showvc now"


def stopped() -> int:
    """Says in a line how things stand after Ctrl-C, and gives the exit code."""
    after_the_echo = "\n" if sys.stderr.isatty() else ""
    print(f"{after_the_echo}{_LAST_WORD}", file=sys.stderr)
    return STOPPED


def stop_at_once() -> None:
    """From now on Ctrl-C ends the program where it stands, as a kill does, which every command survives.

    An exception could come up anywhere, and libraries pass over one that comes up within them.
    """
    signal.signal(signal.SIGINT, _end)


def _end(number: int, frame: object) -> None:
    atexit._run_exitfuncs()
    after_the_echo = "\n" if os.isatty(2) else ""
    os.write(2, f"{after_the_echo}{_LAST_WORD}\n".encode())
    os._exit(STOPPED)
