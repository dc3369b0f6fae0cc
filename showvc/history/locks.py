"""Lock files of git: waited for while their owner is at work, taken away when he was killed."""

from __future__ import annotations

import re
import time
from pathlib import Path

_HELD = re.compile(r"Unable to create '(.+\.lock)': File exists|could not lock config file (.+): File exists")
STALE = 10.0
"""Seconds. What we and git do under such a lock takes milliseconds; source: common practice."""


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
