"""Sources that were named on the command line, read."""

from __future__ import annotations

from typing import TYPE_CHECKING

from showvc.cli.app import Session

if TYPE_CHECKING:
    from showvc.history.sources import Source


def one_source(session: Session, name: str) -> Source:
    """The source of this name; outside a show, files and folders still serve."""
    from showvc.history.sources import find

    archive = session.archive_or_none
    if archive is None:
        name = str(session.folder) if name == "working" else name
        return find(None, name, None)
    return find(archive, name, session.shows)


def two_sources(session: Session, before: str | None, after: str | None) -> tuple[Source, Source]:
    """Two sources to compare; by default the last snapshot and the working folder."""
    return one_source(session, before or "last"), one_source(session, after or "working")
