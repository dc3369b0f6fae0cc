"""Beginning a show."""

from __future__ import annotations

from pathlib import Path

from showvc.document import Head, Problem, ShowError
from showvc.formats.atomic import write_atomically
from showvc.formats.files import HEAD, canonical
from showvc.formats.folder import is_show, read_folder
from showvc.history.archive import Archive
from showvc.history.people import identity, introduce, person
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, record
from showvc.history.working import is_left, sweep


def begin(folder: Path, title: str, who: str | None) -> Snapshot:
    """Begins a show in this folder and records its first snapshot; files of a show that stand there are taken in.

    ShowError where a show has begun already, or the files there cannot be read: nothing is changed then.
    """
    if _has_history(folder):
        raise ShowError([Problem("has a history already", str(folder), way_out="look at it with: showvc now")])
    if is_show(folder):
        read_folder(folder)
    elif folder.is_dir() and not all(_of_a_beginning(path.name) for path in folder.iterdir()):
        raise ShowError([Problem("is not empty and holds no show.yaml", str(folder), way_out="choose an empty folder")])
    if who is not None:
        person(who)
    archive = Archive.create(folder)
    if who is not None:
        introduce(archive, who)
    identity(archive)
    sweep(archive)
    if not is_show(folder):
        write_atomically(folder / HEAD, canonical(Head(title=title)))
    made = record(archive, "The show begins", Shows(archive))
    assert made is not None, "a first snapshot always holds something"
    return made.snapshot


def _has_history(folder: Path) -> bool:
    """Whether anything was ever recorded here. A beginning that broke off has left no ref, and may be done again."""
    git_dir = folder / ".git"
    if not git_dir.is_dir():
        return git_dir.exists()
    return (git_dir / "packed-refs").exists() or any(path.is_file() for path in (git_dir / "refs").rglob("*"))


def _of_a_beginning(name: str) -> bool:
    return name == ".git" or is_left(name)
