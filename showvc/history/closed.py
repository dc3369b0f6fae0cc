"""A show folder that may only be looked at: a write-protected stick, a share, a folder of somebody else's.

Git keeps notes of its own while it looks, and trusts the configuration that it finds. So we look through a git folder
of our own, in the machine's place for temporary things, which borrows the objects and has copies of the names: nothing
in the show folder is written, and nothing that stands in its configuration is heeded.
"""

from __future__ import annotations

import os
import shutil
from contextlib import suppress
from pathlib import Path

from showvc.document import MachineError
from showvc.store.calling import GitFailed, Place, run_git
from showvc.store.making import borrow, front, lent, make, temporary

_COPIED = ("HEAD", "packed-refs", "refs", "showvc")


def why_closed(folder: Path) -> MachineError | None:
    """Why this show folder may not be written; None where it may."""
    git_dir = folder / ".git"
    if _foreign(folder):
        words = f"{folder} belongs to somebody else on this machine, and can only be looked at"
        way_out = f"copy it, or say that you trust it: git config --global --add safe.directory {folder}"
        return MachineError(words, way_out)
    written = [git_dir, git_dir / "objects", git_dir / "refs", git_dir / "showvc"]
    if all(os.access(place, os.W_OK | os.X_OK) for place in written if place.exists()):
        return None
    words = f"{folder} cannot be written, and can only be looked at"
    return MachineError(words, "check the permissions and the write protection, or work on a copy of the folder")


def _foreign(folder: Path) -> bool:
    """Somebody has to say of a folder of another owner that it is trusted, in the way in which git is told."""
    if not hasattr(os, "getuid") or (folder / ".git").stat().st_uid == os.getuid():
        return False
    try:
        listed = run_git(Place(front(), trusting=True), ["config", "--null", "--get-all", "safe.directory"])
    except GitFailed:
        return True
    trusted: set[str] = set()
    for entry in listed.split("\0"):
        trusted = trusted | {entry} if entry else set()  # git takes back what stands before an empty one
    return not trusted & {"*", str(folder), str(folder.resolve()), str(folder.resolve() / ".git")}


def stand_in(folder: Path) -> Path:
    """A git folder that shows the history of this one; it goes when the program ends. MachineError for no room."""
    theirs = folder / ".git"
    try:
        made = make(temporary("showvc-look-"))
        borrow(made, lent(made / "lent", theirs / "objects"))
        for name in _COPIED:
            _copy(theirs / name, made / name)
        with suppress(GitFailed):
            _copy_settings(theirs / "config", made)
    except OSError as error:
        raise MachineError(
            f"{folder} cannot be looked at: {error.strerror}", "check the permissions and the free space"
        ) from None
    return made


def _copy(source: Path, target: Path) -> None:
    """A copy of what a file or folder holds, without links and without locks that somebody holds."""
    if source.is_symlink() or source.suffix == ".lock":
        return
    if source.is_dir():
        target.mkdir(exist_ok=True)  # not with its permissions: the copy is to be written
        for inner in source.iterdir():
            _copy(inner, target / inner.name)
    elif source.is_file():
        shutil.copyfile(source, target)


def _copy_settings(config: Path, made: Path) -> None:
    """Our own settings alone; includes are not followed."""
    place = Place(front())
    listed = run_git(place, ["config", "--file", str(config), "--no-includes", "--null", "--get-regexp", r"^showvc\."])
    for entry in filter(None, listed.split("\0")):
        name, _, value = entry.partition("\n")
        run_git(place, ["config", "--file", str(made / "config"), name, value])
