"""What one request works with: the show's history, opened for it alone."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from showvc.document import ShowError
from showvc.history.archive import DRAFTS, MARKS, Archive
from showvc.history.operations import needs_recovery, recover
from showvc.history.shows import Shows
from showvc.history.sources import Source, find, find_commit, unknown_source
from showvc.history.verdicts import verdict_here
from showvc.rules import verdict_words

Facts = Callable[[Archive, Shows], Sequence[tuple[str, str]]]
"""Where the folder stands: a word and a sentence for each fact."""

MOST_TEXT = 500
"""Characters of a field: no name, path or code is longer."""


class Busy(ShowError):
    """Another showvc is at work in the folder at this moment."""


@dataclass(slots=True)
class Desk:
    """The history of a folder, and what was asked for. Made for each request: nothing old is ever shown."""

    archive: Archive
    shows: Shows
    asked: Mapping[str, str]
    facts: Facts
    remarks: list[str] = field(default_factory=list)

    @staticmethod
    def open(folder: Path, asked: Mapping[str, str], facts: Facts) -> Desk:
        """Opens the show folder. ShowError for too long a field, Busy where another showvc is at work."""
        for name, value in asked.items():
            if len(value) > MOST_TEXT:
                raise ShowError(f"what was given for {name[:20]!r} is too long", f"at most {MOST_TEXT} characters")
        archive = Archive.open(folder)
        desk = Desk(archive, Shows(archive), asked, facts)
        archive.waiting, archive.remark = _busy, desk.remarks.append
        if archive.closed is None and needs_recovery(archive):
            with archive.locked():
                recover(archive)
        return desk

    def text(self, name: str, otherwise: str = "") -> str:
        return self.asked.get(name, "").strip() or otherwise

    def source(self, name: str) -> Source:
        """A source of this history, or the folder. Never a file: no request leads to the disk."""
        if name != "working" and find_commit(self.archive, name) is None:
            raise unknown_source(self.archive, name, files=False)
        return find(self.archive, name, self.shows)

    @property
    def verdict(self) -> tuple[str, str]:
        """Whether the folder may be released, or what stands in the way: a word for its look, and the sentence."""
        found = verdict_here(self.archive, self.shows)
        return "unknown" if found is None else "ready" if found.ready else "blocked", verdict_words(found)

    @property
    def names(self) -> list[str]:
        """What may be typed as a source: the folder, the last snapshot, marks and drafts."""
        refs = self.archive.refs()
        named = [ref.removeprefix(prefix) for prefix in (MARKS, DRAFTS) for ref in refs if ref.startswith(prefix)]
        return ["working", "last", *dict.fromkeys(named)]


def _busy() -> None:
    raise Busy("another showvc is at work in this folder, so nothing was done", "wait a moment, then do it again")
