"""A show folder on disk: one file for each thing."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from showvc.document import SECTIONS, Body, Entries, Head, MachineError, Problem, Show, ShowError, near
from showvc.formats.files import HEAD, Place, canonical, place_of, read_file
from showvc.formats.nodes import MAX_BYTES, refuse_size
from showvc.formats.single import read_older
from showvc.formats.upgrading import NewerShow, OlderShow

Progress = Callable[[int, int], None]


def is_show(path: Path) -> bool:
    return (path / HEAD).is_file()


def places(folder: Path) -> tuple[list[Place], list[Problem]]:
    """Every file of the show in this folder, sorted, and what stands there but cannot be read."""
    found: list[Place] = []
    problems = [*_misspelt(folder), *_sections_not_looked_into(folder)]
    for path, odd in _paths(folder):
        try:
            place = place_of(path)
        except ShowError as error:
            problems += error.problems
            continue
        if place is None:
            continue
        if odd:
            problems.append(Problem(odd, path, way_out="put a plain file there"))
        else:
            found.append(place)
    return found, problems


def _paths(folder: Path) -> Iterator[tuple[str, str | None]]:
    """The paths that may be of the show, and what keeps one from being a plain file."""
    if (folder / HEAD).exists() or (folder / HEAD).is_symlink():
        yield HEAD, _not_plain(folder / HEAD)
    for section in SECTIONS:
        if (folder / section).exists() and _closed_section(folder, section) is None:
            with os.scandir(folder / section) as entries:
                yield from sorted((f"{section}/{entry.name}", _odd(entry)) for entry in entries)


def _sections_not_looked_into(folder: Path) -> Iterator[Problem]:
    return filter(None, (_closed_section(folder, section) for section in SECTIONS))


def _closed_section(folder: Path, section: str) -> Problem | None:
    """What keeps the folder of a section from being looked into."""
    place = folder / section
    if place.is_symlink():
        return Problem("is a link, not a folder", section, way_out="put the folder itself there")
    if place.exists() and not place.is_dir():
        return Problem("is a file where a folder is wanted", section, way_out="rename or remove it")
    if place.is_dir() and not os.access(place, os.R_OK | os.X_OK):
        return Problem("cannot be looked into: Permission denied", section, way_out="check its permissions")
    return None


def _misspelt(folder: Path) -> Iterator[Problem]:
    """Folders beside those of the show that are called almost like one, and whose files would be passed over."""
    with os.scandir(folder) as entries:
        folders = {entry.name for entry in entries if entry.is_dir(follow_symlinks=False)}
    for name in sorted(folders - SECTIONS.keys()):
        hint = near(name, SECTIONS, alike=0.8)
        if hint and not _is_section(folder / name) and any((folder / name).glob("*.y*ml")):
            way_out = f"{hint} Else move it out of the show folder"
            yield Problem("holds YAML files, but is no folder of a show", name, way_out=way_out)


def _is_section(folder: Path) -> bool:
    """Whether a file system that knows no capitals takes this for a folder of the show."""
    usual = folder.with_name(folder.name.lower())
    return usual.name in SECTIONS and usual.exists() and usual.samefile(folder)


def _odd(entry: os.DirEntry[str]) -> str | None:
    """What keeps an entry from being a plain file; costs no look at the file itself."""
    return None if entry.is_file(follow_symlinks=False) else _not_plain(Path(entry.path))


_LINK = "is a link, which a show never follows"
# Neither follows a link nor waits for a pipe; what a system does not know, it does not need.
_PLAINLY = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NOFOLLOW", "O_NONBLOCK", "O_BINARY", "O_CLOEXEC"))


def _not_plain(path: Path) -> str | None:
    mode = path.lstat().st_mode
    if stat.S_ISLNK(mode):
        return _LINK
    return None if stat.S_ISREG(mode) else "is not a plain file"


def read_bytes(folder: Path, inside: str) -> bytes:
    """The bytes of a file; ShowError when it is too large or no plain file, MachineError when it cannot be read."""
    path = folder / inside
    try:
        with os.fdopen(os.open(path, _PLAINLY), "rb") as stream:
            found = os.fstat(stream.fileno())
            if not stat.S_ISREG(found.st_mode):
                raise ShowError([Problem("is not a plain file", inside, way_out="put a plain file there")])
            refuse_size(found.st_size, inside)
            return stream.read(MAX_BYTES + 1)
    except OSError as error:
        if error.errno == errno.ELOOP:
            raise ShowError([Problem(_LINK, inside, way_out="put a plain file there")]) from None
        raise MachineError(f"{path} cannot be read: {error.strerror}", "check the permissions and the disk") from None


def read_folder(folder: Path, progress: Progress | None = None) -> Show:
    """The show in this folder. ShowError with all problems of all its files."""
    if not folder.is_dir():
        raise ShowError([Problem("is not a folder", str(folder), way_out="check the spelling of the path")])
    if not is_show(folder):
        raise ShowError(
            [Problem("is not a show: it holds no show.yaml", str(folder), way_out="begin one with: showvc start DIR")]
        )
    found, problems = places(folder)
    bodies: dict[str | None, dict[str, Body]] = {name: {} for name in (None, *SECTIONS)}
    for number, place in enumerate(found):
        try:
            bodies[place.section][place.id] = read_file(place, read_bytes(folder, place.path))
        except OlderShow as error:
            return read_older({place.path: read_bytes(folder, place.path) for place in found}, error.format)
        except NewerShow as error:
            problems = list(error.problems)
            break
        except ShowError as error:
            problems += error.problems
        if progress:
            progress(number + 1, len(found))
    if problems:
        raise ShowError(problem.in_file(str(folder / (problem.file or ""))) for problem in problems)
    return assemble(bodies)


def assemble(bodies: dict[str | None, dict[str, Any]]) -> Show:
    """A show from its bodies by section; the head stands under None and ''."""
    head = bodies.get(None, {}).get("", Head())
    return Show(head, **{name: Entries(bodies.get(name, {})) for name in SECTIONS})


def folder_texts(show: Show) -> dict[str, str]:
    """The canonical files of a show: path relative to its folder → text."""
    texts = {HEAD: canonical(show.head)}
    for section in SECTIONS:
        texts.update({Place(section, name).path: canonical(body) for name, body in show.section(section).items()})
    return texts
