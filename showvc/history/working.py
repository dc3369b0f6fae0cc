"""The working folder: what stands in it, and writing into it without losing anything."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from showvc.document import FORMAT, SECTIONS, MachineError, Problem, ShowError
from showvc.formats.atomic import not_written, write_atomically
from showvc.formats.files import HEAD
from showvc.formats.folder import places, read_bytes
from showvc.formats.nodes import MAX_BYTES, refuse_size
from showvc.history.archive import Archive
from showvc.store.calling import GitFailed
from showvc.store.commits import blob_id

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


@dataclass(frozen=True, slots=True)
class Work:
    """What stands in the folder: a tree of all that can be part of a history, and what is left out of it.

    `odd` looks like a part of the show and can be none; `shut` is what the machine does not let us read.
    """

    tree: str
    odd: tuple[Problem, ...] = ()
    shut: tuple[Problem, ...] = ()

    @property
    def problems(self) -> tuple[Problem, ...]:
        return (*self.odd, *self.shut)

    @property
    def left_out(self) -> frozenset[str]:
        return frozenset(problem.file for problem in self.problems if problem.file)

    def require_whole(self) -> str:
        """The tree. ShowError where something odd is left out of it, MachineError where something is shut."""
        if self.odd:
            raise ShowError(self.problems)
        if self.shut:
            raise MachineError("\n".join(str(problem) for problem in self.shut))
        return self.tree


def work_tree(archive: Archive) -> str:
    """The tree of what stands in the folder now. ShowError for what cannot be a part of it but looks like one."""
    return look(archive).require_whole()


def look(archive: Archive) -> Work:
    """What stands in the folder now. Costs a look at each file's time, not its content.

    Files that are no part of a show are left out.
    """
    found, odd = places(archive.folder)
    paths = [place.path for place in found]
    if HEAD not in {*paths, *(problem.file for problem in odd)}:
        odd.append(Problem(_MISSING, HEAD, way_out=_way_to_a_head(archive)))
    large = [path for path in paths if _size(archive.folder, path) > MAX_BYTES]
    odd += [_too_large(archive.folder, path) for path in large]
    return _taken_in(archive, set(paths) - set(large), _with_way_back(archive, odd))


def _with_way_back(archive: Archive, odd: list[Problem]) -> list[Problem]:
    """For what stands in place of a file that is recorded there is a shorter way out."""
    if not odd or archive.last is None:
        return odd
    recorded = archive.files(archive.tree_of(archive.last))
    sections = {path.partition("/")[0] for path in recorded}
    return [
        replace(problem, way_out=f"{problem.way_out}, {_OR_RESTORE}")
        if problem.file in {*recorded, *sections} and problem.message != _MISSING
        else problem
        for problem in odd
    ]


def _way_to_a_head(archive: Archive) -> str:
    if archive.last is None:
        return f"write one with the lines 'format: {FORMAT}' and 'title: NAME'"
    return "bring it back with: showvc restore last"


def _taken_in(archive: Archive, paths: set[str], odd: list[Problem]) -> Work:
    index = archive.own / "index"
    known = _indexed(archive, index)
    try:
        return Work(_tree_of(archive, index, paths, known - paths), tuple(odd))
    except GitFailed:
        shut = [problem for path in sorted(paths) if (problem := _unreadable(archive.folder, path))]
    if shut:
        readable = paths - {problem.file or "" for problem in shut}
        return Work(_tree_of(archive, index, readable, known - readable), tuple(odd), tuple(shut))
    # Another program threw away what no snapshot leads to: edits that only our index knew. The files have them.
    index.unlink(missing_ok=True)
    return Work(_tree_of(archive, index, paths, set()), tuple(odd))


def _unreadable(folder: Path, path: str) -> Problem | None:
    try:
        (folder / path).open("rb").close()
    except FileNotFoundError:
        return None
    except OSError as error:
        return Problem(f"cannot be read: {error.strerror}", path, way_out=f"check its permissions, {_OR_RESTORE}")
    return None


def _tree_of(archive: Archive, index: Path, paths: set[str], gone: set[str]) -> str:
    for how, listed in (("--add", paths), ("--force-remove", gone)):
        if listed:
            data = "".join(f"{path}\0" for path in sorted(listed)).encode()
            archive.git("update-index", "-z", how, "--remove", "--stdin", data=data, index=index)
    return archive.git("write-tree", index=index).strip()


def _indexed(archive: Archive, index: Path) -> set[str]:
    """The paths of our index, which a damaged disk may have spoiled: it is only a memory, and made anew then."""
    try:
        found = archive.git("ls-files", "-z", index=index)
    except GitFailed:
        index.unlink(missing_ok=True)
        found = ""
    return set(found.split("\0")) - {""}


_MISSING = "is missing"
_OR_RESTORE = "or bring it back with: showvc restore last, which keeps beside it what stands there now"


def _size(folder: Path, path: str) -> int:
    try:
        return os.stat(f"{folder}/{path}").st_size  # noqa: PTH116 - thousands
    except OSError:
        return 0


def _too_large(folder: Path, path: str) -> Problem:
    """A file beyond what is read never enters the history."""
    try:
        refuse_size(_size(folder, path), path)
    except ShowError as error:
        return error.problems[0]
    return Problem("changes at this very moment", path, way_out="do it again")


def share_index(archive: Archive) -> None:
    """Lets any git client see the folder as we do, right after a snapshot."""
    own = archive.own / "index"
    if own.exists():
        write_atomically(archive.git_dir / "index", own.read_bytes())


def changed_paths(archive: Archive, before: str, after: str) -> list[str]:
    """The files that differ between two trees."""
    old, new = archive.files(before), archive.files(after)
    return [path for path in sorted({*old, *new}) if old.get(path) != new.get(path)]


def touched(archive: Archive, before: str, after: str) -> list[str]:
    """The files that differ between two trees and stand in the folder as neither has them: somebody edited them."""
    old, new = archive.files(before), archive.files(after)
    differing = changed_paths(archive, before, after)
    return [path for path in differing if _blob_id(archive, path) not in (old.get(path), new.get(path))]


def _blob_id(archive: Archive, path: str) -> str | None:
    content = _content(archive.folder, path)
    return None if content is None else blob_id(content)


def _content(folder: Path, path: str) -> bytes | None:
    """The bytes of a file as a history may hold it; None where no plain, readable file of a sane size stands."""
    if _in_the_way(folder, path) is not None:
        return None
    try:
        return read_bytes(folder, path)
    except (ShowError, MachineError):
        return None


def _in_the_way(folder: Path, path: str) -> Path | None:
    """What stands where a folder above this file is wanted: a link, a file."""
    above = [folder / part for part in Path(path).parents if part.name]
    return next((place for place in reversed(above) if place.is_symlink() or place.is_file()), None)


def write_work(archive: Archive, before: str, after: str) -> None:
    """Makes the folder what `after` is, where it is still what `before` was.

    Both are trees. A file that is neither is somebody's edit of this moment, and stays. What is no plain file that
    can be read (a link, a folder) and stands where one is to be written is kept beside it.
    """
    old, new = archive.files(before), archive.files(after)
    changed = changed_paths(archive, before, after)
    contents: Mapping[str, bytes] = dict(
        archive.blobs(oid for path in changed for oid in (old.get(path), new.get(path)) if oid)
    )
    for path in changed:
        _write(archive, path, _of(contents, old, path), _of(contents, new, path))


def _of(contents: Mapping[str, bytes], files: Mapping[str, str], path: str) -> bytes | None:
    return contents[files[path]] if path in files else None


def _write(archive: Archive, path: str, before: bytes | None, after: bytes | None) -> None:
    now = _content(archive.folder, path)
    if now != before or now == after:
        return
    place = archive.folder / path
    try:
        if after is None:
            place.unlink()
            return
        if (above := _in_the_way(archive.folder, path)) is not None:
            _set_aside(archive, above)
        if now is None and os.path.lexists(place):
            _set_aside(archive, place)
        write_atomically(place, after)
    except OSError as error:
        raise not_written(place, error) from None


def _set_aside(archive: Archive, place: Path) -> None:
    """Renames what stands in the way to a name that no show has: `sm.yaml~`, else `sm.yaml.2~`."""
    names = [f"{place.name}~", *(f"{place.name}.{number}~" for number in range(2, 1000))]
    free = next(name for name in names if not os.path.lexists(place.with_name(name)))
    place.rename(place.with_name(free))
    shown, beside = (one.relative_to(archive.folder).as_posix() for one in (place, place.with_name(free)))
    archive.remark(f"What stood at {shown} and could not be read is kept beside it as {beside}.")
