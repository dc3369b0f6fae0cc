"""The working folder: what stands in it, and writing into it without losing anything."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path

from showvc.document import SECTIONS, MachineError, ShowError
from showvc.formats.atomic import write_atomically
from showvc.formats.folder import places
from showvc.formats.nodes import MAX_BYTES
from showvc.history.archive import Archive, GitFailed, blob_id

# What a write that was cut short leaves beside its file: `write_atomically` names it so.
_LEFT = re.compile(r"\.~[a-z0-9_]{8}")


def is_left(name: str) -> bool:
    """Whether a file of this name is what a killed write left."""
    return _LEFT.fullmatch(name) is not None


def sweep(archive: Archive) -> None:
    """Takes away what a killed write left. Only under the lock: else it could be a write of this moment."""
    inside = (archive.git_dir, archive.git_dir / "info", archive.own)
    for folder in (archive.folder, *(archive.folder / section for section in SECTIONS), *inside):
        if folder.is_dir() and not folder.is_symlink():
            for left in [path for path in folder.iterdir() if is_left(path.name)]:
                left.unlink(missing_ok=True)


def work_tree(archive: Archive) -> str:
    """The tree of what stands in the folder now. Costs a look at each file's time, not its content.

    Files that are no part of a show are left out. ShowError for what cannot be a part but looks like one.
    """
    found, problems = places(archive.folder)
    if problems:
        raise ShowError(problems)
    index = archive.own / "index"
    known = _indexed(archive, index)
    paths = known | {place.path for place in found}
    _refuse_large(archive.folder, [place.path for place in found])
    listed = "".join(f"{path}\0" for path in sorted(paths)).encode()
    try:
        return _tree_of(archive, index, listed)
    except GitFailed:
        # Another program threw away what no snapshot leads to: edits that only our index knew. The files have them.
        index.unlink(missing_ok=True)
        return _tree_of(archive, index, listed)


def _tree_of(archive: Archive, index: Path, listed: bytes) -> str:
    if listed:
        archive.git("update-index", "-z", "--add", "--remove", "--stdin", data=listed, index=index)
    return archive.git("write-tree", index=index).strip()


def _indexed(archive: Archive, index: Path) -> set[str]:
    """The paths of our index, which a damaged disk may have spoiled: it is only a memory, and made anew then."""
    try:
        found = archive.git("ls-files", "-z", index=index)
    except GitFailed:
        index.unlink(missing_ok=True)
        found = ""
    return set(found.split("\0")) - {""}


def _refuse_large(folder: Path, paths: list[str]) -> None:
    """A file beyond what is read never enters the history."""
    large = [path for path in paths if os.stat(f"{folder}/{path}").st_size > MAX_BYTES]  # noqa: PTH116 - thousands
    if large:
        from showvc.formats.files import place_of, read_file
        from showvc.formats.folder import read_bytes

        for path in large:
            place = place_of(path)
            assert place is not None, "only files of the show are looked at"
            read_file(place, read_bytes(folder, place))


def share_index(archive: Archive) -> None:
    """Lets any git client see the folder as we do, right after a snapshot."""
    own = archive.own / "index"
    if own.exists():
        write_atomically(archive.git_dir / "index", own.read_bytes())


def touched(archive: Archive, before: str, after: str) -> list[str]:
    """The files that differ between two trees and stand in the folder as neither has them: somebody edited them."""
    old, new = archive.files(before), archive.files(after)
    differing = [path for path in sorted({*old, *new}) if old.get(path) != new.get(path)]
    return [path for path in differing if _blob_id(archive.folder / path) not in (old.get(path), new.get(path))]


def _blob_id(path: Path) -> str | None:
    """The id that git would give to this file's content; None where there is no plain file."""
    if path.is_symlink() or not path.is_file():
        return None
    return blob_id(path.read_bytes())


def write_work(archive: Archive, before: str, after: str) -> list[str]:
    """Makes the folder what `after` is, where it is still what `before` was, and gives the paths written.

    Both are trees. A file that is neither is somebody's edit of this moment, and stays.
    """
    old, new = archive.files(before), archive.files(after)
    changed = [path for path in sorted({*old, *new}) if old.get(path) != new.get(path)]
    contents: Mapping[str, bytes] = dict(
        archive.blobs(oid for path in changed for oid in (old.get(path), new.get(path)) if oid)
    )
    return [
        path for path in changed if _write(archive.folder / path, _of(contents, old, path), _of(contents, new, path))
    ]


def _of(contents: Mapping[str, bytes], files: Mapping[str, str], path: str) -> bytes | None:
    return contents[files[path]] if path in files else None


def _write(path: Path, before: bytes | None, after: bytes | None) -> bool:
    now = path.read_bytes() if path.is_file() and not path.is_symlink() else None
    if now != before or now == after:
        return False
    try:
        if after is None:
            path.unlink()
        else:
            write_atomically(path, after)
    except OSError as error:
        raise MachineError(f"{path} cannot be written: {error.strerror}", "check the permissions") from None
    return True
