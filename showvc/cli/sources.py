"""Sources that were named on the command line, read."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from showvc.cli.app import Session

if TYPE_CHECKING:
    from showvc.document import Show, ShowError
    from showvc.history.archive import Archive
    from showvc.history.sources import Source

_PACKED = ".release.zip"
_MISREAD = re.compile(r"[^\W_]{3}[\W_][^\W_]{3}[\W_][^\W_]{4}")


def one_source(session: Session, name: str, current: Show | None = None) -> Source:
    """The source of this name; outside a show, files and folders still serve.

    `current` is the show in which the rows of another's tables are looked for; by default the last snapshot.
    """
    from showvc.history.sources import find, on_disk

    if name.lower().endswith(_PACKED) and Path(name).is_file():
        return _packed(name)
    archive = session.archive_or_none
    if archive is None:
        if name != "working" and not on_disk(name):
            raise _nothing_of_this_name(name)
        name = str(session.folder) if name == "working" else name
        return find(None, name, None, current)
    _refuse_misread(archive, name)
    return find(archive, name, session.shows, current)


def _nothing_of_this_name(name: str) -> ShowError:
    from showvc.document import ShowError

    return ShowError(
        f"{name!r} is no file or folder here, and here is no show that could have such a snapshot",
        "name a file such as NAME.show.yaml, or a show folder; or say where the show is: --show DIR",
    )


def _packed(name: str) -> Source:
    """The show of a release file. ShowError where the file is not what its stamp says."""
    from showvc.document import ShowError
    from showvc.formats.sources import file_bytes
    from showvc.history.sources import Source
    from showvc.release.pack import MOST_BYTES, verify

    found = verify(file_bytes(Path(name), MOST_BYTES), name)
    if found.show is None or found.facts is None or not found.holds:
        raise ShowError(found.problems)
    return Source(name, found.show, file=Path(name), stamp=found.facts["snapshot"]["code"])


def _refuse_misread(archive: Archive, name: str) -> None:
    """ShowError for what is laid out as a stamp and is none, with what may have been misread."""
    if not _MISREAD.fullmatch(name):
        return
    from showvc.history.sources import find_commit, on_disk
    from showvc.release.stamp import ALPHABET
    from showvc.release.store import find_release

    mostly = sum(char in ALPHABET for char in name.upper()) >= 8
    if mostly and not on_disk(name) and find_commit(archive, name) is None:
        find_release(archive, name)


T = TypeVar("T")


def of_field(session: Session, path: str, look_up: Callable[[str], T]) -> T:
    """What is looked up of a path; where nothing has these ids, of what the folder calls so by label or name."""
    from showvc.document import ShowError
    from showvc.document.pointers import join, parse
    from showvc.history.working import look
    from showvc.identity.calling import resolved

    try:
        return look_up(path)
    except ShowError:
        try:
            show = session.shows.of_work(look(session.archive).tree, session.archive.last)
        except ShowError:
            show = None  # not all of the folder can be read
        meant = path if show is None else join(*resolved(show, parse(path)))
        if meant.removeprefix("/") == path.removeprefix("/"):
            raise
        return look_up(meant)


def two_sources(session: Session, before: str | None, after: str | None) -> tuple[Source, Source]:
    """Two sources to compare; by default the last snapshot and the working folder.

    Tables are read over the other source: what they say nothing of is no difference.
    """
    from showvc.formats.sources import is_table

    before, after = before or "last", after or "working"
    if is_table(Path(before)):
        second = one_source(session, after)
        return one_source(session, before, second.show), second
    first = one_source(session, before)
    return first, one_source(session, after, first.show)
