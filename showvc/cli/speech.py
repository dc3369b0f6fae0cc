"""The one way out for all that is printed, and the last word of a stopped program.

Names, notes and arguments come from others. Whatever in them a terminal would act on, or would hide, is written as an
escape, on both streams, whoever prints: a command, an error, the help. Letters that a stream does not take (an old
terminal, a Windows code page, `LC_ALL=C`) do not end a command either.
"""

from __future__ import annotations

import atexit
import codecs
import io
import os
import re
import signal
import sys
from typing import TextIO

# One column for one column, so that tables stay lined up.
_PLAIN = {"…": ".", "·": "-", "✓": "x", "–": "-", "—": "-", "→": ">", "’": "'", "‘": "'", "“": '"', "”": '"', "•": "*"}
_NAME = "showvc-plain"


# What we ourselves tell a terminal goes in disguise as far as the stream: nobody can put these into a name, for they
# are drawn by chance for each run. They take no columns.
_ESCAPE, _RETURN = ("".join(chr(0xE0100 + byte % 240) for byte in os.urandom(10)) for _ in "er")
_HARMLESS = re.compile(r"[\n -~\u00a1-\u00ac\u00ae-\u02ff\u2010-\u2027\u2030-\u205e\u2100-\u27ff]*")
"""Texts that need no closer look: nearly all. For the others the document is imported, which help has no time for."""


class Spoken(io.TextIOBase):
    """A stream that shows what it would be unwise to print. It has no `buffer`: bytes find no way around it."""

    def __init__(self, stream: io.TextIOWrapper) -> None:
        self.inner = stream

    @property
    def encoding(self) -> str:  # type: ignore[override]
        return self.inner.encoding

    @property
    def errors(self) -> str | None:  # type: ignore[override]
        return self.inner.errors

    def write(self, text: str) -> int:
        self.inner.write(text if _HARMLESS.fullmatch(text) else _shown(text))
        return len(text)

    def flush(self) -> None:
        self.inner.flush()

    def fileno(self) -> int:
        return self.inner.fileno()

    def isatty(self) -> bool:
        return self.inner.isatty()

    def writable(self) -> bool:
        return True


def _shown(text: str) -> str:
    from showvc.document.visible import visible

    return "\x1b".join("\r".join(map(visible, part.split(_RETURN))) for part in text.split(_ESCAPE))


def prepare() -> None:
    """Makes both streams of the program show what they must not print; a letter that one does not take becomes `?`."""
    codecs.register_error(_NAME, _plainly)
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_NAME)
            setattr(sys, name, Spoken(stream))


def styled_with(before: str, text: str, after: str) -> str:
    """Text between orders of ours to the terminal, such as `ESC [1m`, for stdout."""
    if isinstance(sys.stdout, Spoken):
        before, after = (order.replace("\x1b", _ESCAPE) for order in (before, after))
    return before + text + after


def unstyled(text: str) -> str:
    """Text without the styles that it was given."""
    return re.sub(rf"(\x1b|{_ESCAPE})\[[0-9;]*m", "", text)


def line_again() -> str:
    """What takes stderr back to the begin of its line."""
    return _RETURN if isinstance(sys.stderr, Spoken) else "\r"


def print_table(table: bytes) -> None:
    """A table in UTF-8 to stdout, its byte order mark and its ends of lines as they are."""
    from showvc.document.visible import visible

    stream = sys.stdout.inner if isinstance(sys.stdout, Spoken) else sys.stdout
    mark = codecs.BOM_UTF8 if table.startswith(codecs.BOM_UTF8) else b""
    stream.flush()
    stream.buffer.write(mark + visible(table.removeprefix(mark).decode()).encode())


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
