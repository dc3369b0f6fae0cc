"""Writing that either happens or does not."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from showvc.document import MachineError


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
        raise MachineError(
            f"{path} cannot be written: {error.strerror}", "check the permissions and the free space"
        ) from None


def _mode(path: Path) -> int:
    if path.exists():
        return path.stat().st_mode & 0o777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
