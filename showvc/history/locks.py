"""Locks: ours, by which two showvc wait for each other, and those of git, which a killed process leaves behind."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from showvc.document import MachineError
from showvc.formats.atomic import not_written

_HELD = re.compile(r"Unable to create '(.+\.lock)': File exists|could not lock config file (.+): File exists")
STALE = 10.0
"""Seconds. What we and git do under such a lock takes milliseconds; source: common practice."""

PATIENCE = 600.0
"""Seconds that one showvc waits for another: longer than any exchange or merge takes."""


@contextmanager
def alone(lock_file: Path, busy: str, waiting: Callable[[], None] | None = None) -> Iterator[None]:
    """Waits until no other showvc holds this lock, and holds it; a killed process lets go.

    `waiting` says that another is at work. MachineError when that one has been `busy` for all of our patience.
    """
    from filelock import FileLock, Timeout

    lock = FileLock(str(lock_file))
    try:
        try:
            lock.acquire(timeout=1)
        except Timeout:
            if waiting:
                waiting()
            lock.acquire(timeout=PATIENCE)
    except Timeout:
        raise MachineError(f"another showvc has {busy} for ten minutes", "end it, then try again") from None
    except OSError as error:
        raise not_written(lock_file.parent, error) from None
    try:
        yield
    finally:
        lock.release()


def let_go(said: str, git_dir: Path) -> bool:
    """Whether a command that ended with these words may be tried again, since the lock in its way is gone.

    Waits for a lock that is in use, and takes away one that a killed process left.
    """
    found = _HELD.search(said)
    if found is None:
        return False
    lock = Path(found[1] or f"{found[2]}.lock")
    if not lock.resolve().is_relative_to(git_dir.resolve()):
        return False
    while (age := _age(lock)) is not None and age < STALE:
        time.sleep(0.05)
    lock.unlink(missing_ok=True)
    return True


def _age(lock: Path) -> float | None:
    """How long it has stood, in seconds; None where it is gone. One from the future counts as old."""
    try:
        age = time.time() - lock.stat().st_mtime
    except FileNotFoundError:
        return None
    return age if age >= -STALE else STALE
