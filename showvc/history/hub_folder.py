"""A hub in a folder, on a stick or a share: git is never pointed at it.

What is known of it is taken out: its names are read and checked, and its files of objects and packs are lent to a
repository of our own beside the show. Git fetches from that, and sends to that; what it received there is then copied
into the hub, and the hub's names are moved by ourselves, each only where it is still what it was. So nothing that
stands in the hub, in whatever spelling, is ever git's configuration, hook, attribute, or way to another place.
"""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from showvc.history.archive import Archive
from showvc.store.calling import GitFailed
from showvc.store.making import borrow, lent, make
from showvc.store.names import Moved, Names

_HERE = "hub"


def copied_out(apart: Archive, folder: Path, prefixes: tuple[str, ...]) -> tuple[Path, tuple[str, ...]]:
    """A repository in the quarantine with the hub's names and objects, and the names that are passed over.

    The names are read before the objects, so that all that they lead to is there.
    """
    names = Names(folder).listed(*prefixes)
    number = len(list(apart.folder.glob(f"{_HERE}-*")))
    place = make(apart.folder / f"{_HERE}-{number}", names.refs)
    borrow(place, lent(place / "lent", folder / "objects"))
    return place, (*names.odd, *names.broken)


def brought_in(place: Path, folder: Path, changes: Mapping[str, str | None], was: Mapping[str, str | None]) -> None:
    """Puts what git received in our repository into the hub, and moves its names. Moved where somebody was faster.

    GitFailed where the hub cannot be written.
    """
    try:
        _copied(place / "objects", folder / "objects")
    except OSError as error:
        raise GitFailed("receive-pack", f"{error.filename}: {error.strerror}") from None
    Names(folder, patience=0).change(changes, was)


def _copied(source: Path, target: Path) -> None:
    shared = bool(target.stat().st_mode & stat.S_IWGRP)
    found = [path for path in source.rglob("*") if path.is_file() and path.parent.name != "info"]
    # A pack counts as there once its index is: the index goes last.
    for path in sorted(found, key=lambda path: (path.suffix == ".idx", path.name)):
        if path.suffix in (".keep", ".lock", ".rev") or path.name.startswith("tmp_"):
            continue
        place = target / path.parent.name / path.name
        if not place.parent.is_dir():
            place.parent.mkdir(exist_ok=True)
            if shared:
                place.parent.chmod(place.parent.stat().st_mode | 0o2070)
        if not place.exists():
            _copy(path, place)


def _copy(source: Path, target: Path) -> None:
    """Copies a file whole or not at all; one of an object is never written again."""
    handle, name = tempfile.mkstemp(prefix="tmp_obj_", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream, source.open("rb") as given:
            while part := given.read(1024 * 1024):
                stream.write(part)
            stream.flush()
            os.fsync(stream.fileno())
        with suppress(OSError):  # a stick may know no permissions
            Path(name).chmod(0o444)
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


__all__ = ["Moved", "brought_in", "copied_out"]
