"""Room on the disk for taking a command back, held from before it changes anything until it is done."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from showvc.formats.atomic import not_written

_BLOCK = 4096
_SLACK = 64 * 1024
"""For the names, the pending merge and the notes of git's own that taking back writes."""


@contextmanager
def held_room(own: Path, rewritten: Iterable[Path]) -> Iterator[Callable[[], None]]:
    """Holds as much of the disk as writing these files once more takes; what is given lets go of it before the end.

    `own` is the folder in which it is held, in a file without a name: a kill lets go too. MachineError where there
    is not so much: nothing has begun then.
    """
    with ExitStack() as open_files:
        try:
            held = open_files.enter_context(tempfile.TemporaryFile(prefix=".~", dir=own))
            _fill(held.fileno(), _SLACK + sum(map(_blocks, rewritten)))
        except OSError as error:
            raise not_written(own, error) from None
        yield open_files.close


def _fill(handle: int, size: int) -> None:
    if hasattr(os, "posix_fallocate"):
        try:
            os.posix_fallocate(handle, 0, size)
        except OSError as error:
            if error.errno not in (errno.EOPNOTSUPP, errno.EINVAL):
                raise
        else:
            return
    left = size
    while left > 0:
        left -= os.write(handle, bytes(min(left, 1 << 20)))


def _blocks(path: Path) -> int:
    try:
        size = path.lstat().st_size
    except OSError:
        return _BLOCK
    return (size // _BLOCK + 2) * _BLOCK
