"""What stood before: the show in which a path was still there."""

from __future__ import annotations

from collections.abc import Iterator

from showvc.document import Show, ShowError
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import snapshot
from showvc.paths import Paths, advance
from showvc.release.store import releases


def held_before(archive: Archive, shows: Shows, paths: Paths, pair: tuple[str, str], of: str | None) -> Show | None:
    """The show in which the pair still had its path: the last snapshot before `of`, else the last release.

    `of` is the snapshot that is looked at, None for the folder. None where neither had it.
    """
    for oid in _former(archive, of):
        try:
            show = shows.at(oid)
        except ShowError:  # what can't be read any more is no help, and no reason to tell nothing
            continue
        if advance(paths, show).surely.holds(*pair):
            return show
    return None


def _former(archive: Archive, of: str | None) -> Iterator[str]:
    start = of or archive.last
    if start is None:
        return
    if of is None:
        yield start
    yield from snapshot(archive, start).parents[:1]
    yield from (each.code for each in releases(archive)[-1:])
