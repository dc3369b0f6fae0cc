"""Beginning a show."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from showvc.document import Head, Problem, ShowError
from showvc.formats.atomic import write_atomically
from showvc.formats.files import HEAD, canonical
from showvc.formats.folder import is_show, read_folder
from showvc.formats.reading import validate
from showvc.history.archive import Archive, has_history
from showvc.history.operations import BEGINNING, operation
from showvc.history.people import identity, introduce, person
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, record_work
from showvc.history.whole import whole
from showvc.history.working import is_left, sweep


def begin(folder: Path, title: str | None, who: str | None) -> Snapshot:
    """Begins a show in this folder and records its first snapshot; files of a show that stand there are taken in.

    `title` is by default the folder's name. ShowError where a show has begun already there or in a folder above, the
    files there cannot be read or have another title, the title is none, or nobody has said who is working.
    Whatever goes wrong, nothing is left of the beginning.
    """
    if _has_history(folder):
        raise ShowError([Problem("has a history already", str(folder), way_out="look at it with: showvc now")])
    refuse_inside(folder)
    head: str | None = None
    if is_show(folder):
        _refuse_other_title(read_folder(folder).title, title)
    elif folder.is_dir() and not all(_of_a_beginning(path.name) for path in folder.iterdir()):
        raise ShowError([Problem("is not empty and holds no show.yaml", str(folder), way_out="choose an empty folder")])
    else:
        head = canonical(_head(folder.name if title is None else title))
    if who is not None:
        person(who)
    with whole(), _nothing_left_behind(folder):
        archive = Archive.create(folder)
        if who is not None:
            introduce(archive, who)
        identity(archive, 'say it: showvc start DIR --who "Your name"')
        sweep(archive)
        if head is not None:
            write_atomically(folder / HEAD, head)
        shows = Shows(archive)
        with operation(archive, BEGINNING) as step:
            made = record_work(step, "The show begins", shows)
    assert made is not None, "a first snapshot always holds something"
    return made.snapshot


def refuse_inside(folder: Path) -> None:
    """ShowError for a folder inside of a show: commands given there would be taken for one of either."""
    above = next((each for each in folder.resolve().parents if is_show(each) or has_history(each)), None)
    if above is not None:
        raise ShowError(
            [Problem(f"is inside of the show in {above}", str(folder), way_out="choose a folder elsewhere")]
        )


def _refuse_other_title(there: str, wanted: str | None) -> None:
    if wanted and wanted != there:
        way_out = "begin without --title, then change it with: showvc set title TEXT"
        raise ShowError([Problem(f"says the title {there!r}, not {wanted!r}", HEAD, way_out=way_out)])


def _head(title: str) -> Head:
    found, problems = validate(Head, {"title": title})
    if found is None:
        raise ShowError(problem for problem, _ in problems)
    return found


@contextmanager
def _nothing_left_behind(folder: Path) -> Iterator[None]:
    """Takes away again what a beginning that fails has made: the history, its show.yaml, the folder itself."""
    above = [place for place in (folder, *folder.parents) if not place.exists()]
    new = [place for place in (folder / HEAD, folder / ".git") if not os.path.lexists(place)]
    try:
        yield
    except BaseException:
        with suppress(OSError):
            for place in new:
                shutil.rmtree(place) if place.is_dir() else place.unlink(missing_ok=True)
            for place in above:
                place.rmdir()
        raise


def _has_history(folder: Path) -> bool:
    """Whether anything was ever recorded here. A beginning that broke off has left no ref, and may be done again."""
    git_dir = folder / ".git"
    if not git_dir.is_dir():
        return git_dir.exists()
    return (git_dir / "packed-refs").exists() or any(path.is_file() for path in (git_dir / "refs").rglob("*"))


def _of_a_beginning(name: str) -> bool:
    return name == ".git" or is_left(name)
