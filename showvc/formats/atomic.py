"""Writing that either happens or does not."""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from showvc.document import MachineError, ShowError


def write_atomically(path: Path, data: bytes | str | Iterable[bytes]) -> None:
    """Puts the whole content in place at once; a kill leaves the old file or the new one.

    Large contents may come piece by piece. MachineError when the folder cannot be written.
    """
    raw = data.encode("utf-8") if isinstance(data, str) else data
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=".~", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.writelines([raw] if isinstance(raw, bytes) else raw)
                stream.flush()
                os.fsync(stream.fileno())
            Path(name).chmod(_mode(path))
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise not_written(path, error) from None


def not_written(path: Path, error: OSError) -> MachineError:
    """That a file or folder cannot be written, and why; of a full disk, which one it is."""
    full = error.errno in (errno.ENOSPC, errno.EDQUOT)
    way_out = f"make room on {disk_of(path)}, then do it again" if full else "check the permissions and the disk"
    return MachineError(f"{path} cannot be written: {error.strerror or error}", way_out)


def full_disk(*places: Path | None) -> str | None:
    """The first disk of these places that has no room left for a file of the history; None where each has."""
    for place in places:
        with suppress(OSError):
            if place is not None and (free := os.statvfs(place)).f_bavail * free.f_frsize < _ROOM:
                return disk_of(place)
    return None


_ROOM = 1024 * 1024
"""With less free than this a disk counts as full; what git was about to write is not known."""


def disk_of(path: Path) -> str:
    """The disk that a path is on, as a person finds it: by the folder where it begins."""
    place = next((each for each in (path, *path.parents) if each.exists()), path).resolve()
    with suppress(OSError):
        device = place.stat().st_dev
        while place.parent != place and place.parent.stat().st_dev == device:
            place = place.parent
    return f"the disk at {place}"


def require_folder(path: Path) -> None:
    """ShowError where the folder that a person names for a file to stand in is not there.

    Made in passing, it would stand in place of a stick that is not plugged in, or of a name that was mistyped.
    """
    if not path.parent.is_dir():
        way_out = "make it, or see that the stick or share is there and the name is right"
        raise ShowError(f"the folder {path.parent} is not there, so {path.name} is not written", way_out)


def require_new(path: Path, replace: bool) -> None:
    """ShowError where something stands there already, and nobody said that it may be written over."""
    if path.exists() and not replace:
        raise ShowError(f"{path} is there already", "write over it with --replace, or give another name")


def _mode(path: Path) -> int:
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
