"""Ctrl-C waits for what takes milliseconds and shall be done whole."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def whole() -> Iterator[None]:
    """What is done within is not stopped from the keyboard; who asked for it meanwhile is heard right after it.

    Programs that were started hear of Ctrl-C all the same: their failing is an error like any other.
    """
    if threading.current_thread() is not threading.main_thread():
        yield  # the keyboard is heard in the main thread alone
        return
    asked: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: asked.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before if before is not None else signal.default_int_handler)
        if asked:
            signal.raise_signal(signal.SIGINT)
