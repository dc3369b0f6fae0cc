"""Turns at a hub in a folder: those who share it go one after the other, so that fewer work in vain."""

from __future__ import annotations

import os
import random
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_LONGEST_TURN = 60.0


@contextmanager
def in_turn(folder: Path | None) -> Iterator[None]:
    """Lets those who share a hub in a folder go one after the other, so that fewer work in vain.

    A courtesy, and no more: whoever waited long, or cannot ask, goes on, and is told by git if somebody was faster.
    The folder itself is what is locked, so nothing is left behind, and a killed process lets go.
    """
    handle = _opened(folder)
    if handle is None:
        yield
        return
    try:
        until = time.monotonic() + _LONGEST_TURN
        while not _mine(handle) and time.monotonic() < until:
            time.sleep(random.uniform(0.02, 0.1))
        yield
    finally:
        os.close(handle)


def _opened(folder: Path | None) -> int | None:
    if folder is None or os.name != "posix":
        return None
    try:
        return os.open(folder, os.O_RDONLY)
    except OSError:
        return None  # the exchange itself tells what is wrong with it


def _mine(handle: int) -> bool:
    """Whether it is our turn, or turns cannot be had on this disk."""
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:
        return True
    return True
