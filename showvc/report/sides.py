"""What a page says of the shows it is about: which snapshot, of whom and when, or which file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from showvc.document.lining import when_words
from showvc.history.archive import Archive
from showvc.history.snapshots import snapshot
from showvc.history.sources import Source
from showvc.release.fleet import Released
from showvc.release.store import releases
from showvc.report.words import first_line


@dataclass(frozen=True, slots=True)
class Side:
    """A source in facts. `code`, `when`, `who`, `note` are its snapshot's; `stamp` is that of its release."""

    name: str
    code: str | None = None
    marks: tuple[str, ...] = ()
    when: str | None = None
    who: str | None = None
    note: str | None = None
    stamp: str | None = None
    recorded: bool = True

    @property
    def words(self) -> str:
        """The side in a line: `255f605 [velmoor], 2026-11-25 17:00, deck engineer: Rolled back`."""
        if self.code is None:
            return self.name if self.recorded else f"{self.name}: edits that are not recorded"
        marks = f" [{', '.join(self.marks)}]" if self.marks else ""
        stamp = f", release {self.stamp}" if self.stamp else ""
        note = f": {first_line(self.note)}" if self.note else ""
        return f"{self.code}{marks}{stamp}, {when_words(self.when or '')}, {self.who}{note}"

    def plain(self) -> dict[str, Any]:
        return {**asdict(self), "marks": list(self.marks)}


def side_of(archive: Archive | None, source: Source, known: Sequence[Released] | None = None) -> Side:
    """The facts of a source; of the folder they are its last snapshot's where nothing is edited since.

    `known` are the releases, where they are read already.
    """
    commit = source.commit
    if archive is not None and commit is None and source.file is None:
        last = archive.last
        if last is None or archive.tree_of(last) != source.tree:
            return Side(source.name, recorded=False)
        commit = last
    if archive is None or commit is None:
        return Side(source.file.name if source.file is not None else source.name)
    found = snapshot(archive, commit)
    stamp = next(
        (each.stamp for each in reversed(releases(archive) if known is None else known) if each.code == commit), None
    )
    return Side(source.name, found.code, found.marks, found.when, found.who, found.note, stamp)
