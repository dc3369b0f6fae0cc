"""The room that a terminal has, and text that fits into it."""

from __future__ import annotations

import os
import re
import shutil
import signal
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager

from showvc.document.lining import columns, cut, lined_up

PROSE = 116
"""Columns of a sentence at the most: longer lines are hard to read, and a pipe has no width of its own."""
_NARROWEST = 40
_BESIDE = 26
"""Columns that a text needs beside its head; with fewer it stands below."""
_BELOW = 4
_MORE = "    "


def on_terminal() -> bool:
    return sys.stdout.isatty()


def room() -> int:
    """Columns of the terminal."""
    return max(_NARROWEST, shutil.get_terminal_size().columns)


def prose() -> int:
    """Columns that a sentence may take."""
    return min(PROSE, room()) if on_terminal() else PROSE


def shortened(text: str, width: int) -> str:
    """A value for a column of a table: on a terminal cut to `width` columns, else whole."""
    return cut(text, width) if on_terminal() else text


def left_beside(cells: Iterable[Sequence[str]]) -> int:
    """Columns of the terminal that these first cells of a table leave to the next; never fewer than a word needs."""
    return max(_BESIDE, room() - sum(max(map(columns, column)) + 2 for column in zip(*cells, strict=True)))


def broken(text: str, width: int) -> list[str]:
    """A text broken between words into lines of `width` columns; a word that is longer stays whole."""
    lines, taken = [""], 0
    for piece in re.findall(r"\s*\S+", text):
        if lines[-1] and taken + columns(piece) > max(width, 20):
            lines.append("")
            taken = 0
        said = piece if lines[-1] else piece.lstrip()
        lines[-1] += said
        taken += columns(said)
    return lines


def wrapped(line: str, width: int | None = None) -> list[str]:
    """A long line broken between words, its rest set in. Default: as wide as a sentence may be here."""
    indent = line[: len(line) - len(line.lstrip())]
    first, *rest = broken(line.strip(), (width or prose()) - len(indent))
    if not rest:
        return [indent + first]
    again = broken(" ".join(rest), (width or prose()) - len(indent) - len(_MORE))
    return [indent + first, *(indent + _MORE + text for text in again)]


def hanging(head: str, *texts: str) -> list[str]:
    """Texts beside a head, each broken into lines below its first; all below the head where there is no room beside."""
    beside = columns(head)
    if prose() - beside < _BESIDE:
        return [head.rstrip(), *(" " * _BELOW + line for text in texts for line in broken(text, prose() - _BELOW))]
    first, *rest = (line for text in texts for line in broken(text, prose() - beside))
    return [(head + first).rstrip(), *(" " * beside + line for line in rest)]


def fitted(head: Sequence[str], rows: Iterable[Sequence[str]], below: int = 1) -> Iterator[str]:
    """A table under its head. On a terminal too narrow for it, the last `below` cells or more stand under their row."""
    table = [head, *rows]
    lines = lined_up(table)
    if not on_terminal() or _widest(lines) <= room():
        yield from lines
        return
    while _widest(lines := lined_up([row[:-below] for row in table])) > room() and below < len(head) - 1:
        below += 1
    for row, line in zip(table, lines, strict=True):
        yield line
        under = "  ".join(filter(None, row[-below:]))
        yield from (" " * _BELOW + part for part in broken(under, room() - _BELOW) if under)


def _widest(lines: Iterable[str]) -> int:
    return max(map(columns, lines))


@contextmanager
def interruptible() -> Iterator[None]:
    """While a question waits for its answer, Ctrl-C takes back the question; elsewhere it ends the program."""
    known = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, known)


def pressed(question: str) -> str:
    """One key that is pressed at a question, without Enter: a special key by its escape sequence.

    What was typed before the question stood there is dropped, so that nothing is answered unread. typer.Abort for
    Ctrl-C and the end of the input.
    """
    import termios
    import tty

    import typer

    terminal = sys.stdin.fileno()
    known = termios.tcgetattr(terminal)
    try:
        tty.setraw(terminal)  # drops what was typed so far; Ctrl-C comes as a key, and ends no process beside this one
        typer.echo(question, nl=False)
        sys.stdout.flush()
        key = os.read(terminal, 64).decode(errors="replace")
    finally:
        termios.tcsetattr(terminal, termios.TCSADRAIN, known)
    if key[:1] in ("", "\x03", "\x04"):
        raise typer.Abort
    key = key if key.startswith("\x1b") else key[:1]
    typer.echo(key if key.isprintable() else "")
    return key


def confirmed(question: str) -> bool:
    """Whether `y` is pressed at a question; any other key is a no."""
    return pressed(f"{question} [y/N]: ") in ("y", "Y")
