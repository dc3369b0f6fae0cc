"""Sources that were named on the command line, read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from showvc.cli.app import Session

if TYPE_CHECKING:
    from showvc.document import Show
    from showvc.history.sources import Source


def one_source(session: Session, name: str, current: Show | None = None) -> Source:
    """The source of this name; outside a show, files and folders still serve.

    `current` is the show in which the rows of another's tables are looked for; by default the last snapshot.
    """
    from showvc.history.sources import find, on_disk

    archive = session.archive_or_none
    if archive is None:
        if name != "working" and not on_disk(name):
            _ = session.archive  # which says what is missing for such a name to mean something
        name = str(session.folder) if name == "working" else name
        return find(None, name, None, current)
    return find(archive, name, session.shows, current)


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
