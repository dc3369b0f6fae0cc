"""A merge that waits for a person, and how it stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from showvc.changes import Comparison
from showvc.document import Show
from showvc.history.engineers import Engineers
from showvc.history.snapshots import Snapshot
from showvc.merging import Conflict, Merge, Settlement, plain_merge

_TEXTS = ("what", "source", "incoming", "note", "joins", "base_words", "undoes", "side")


@dataclass(frozen=True, slots=True)
class Pending:
    """A merge that waits for a person: enough to make it again from the history at any time."""

    what: str
    source: str
    bases: tuple[str, ...]
    incoming: str
    note: str
    joins: bool = True
    """Whether the recorded snapshot has the incoming one as its second parent."""
    settlements: tuple[Settlement, ...] = ()
    ids: Mapping[str, str] = field(default_factory=dict)
    base_words: str = ""
    undoes: str = ""
    """The snapshot that is taken back, of a merge only its `side`."""
    side: str = ""

    def plain(self) -> dict[str, Any]:
        plain = {name: getattr(self, name) for name in _TEXTS}
        settled = [each.plain() for each in self.settlements]
        return {
            **plain,
            "bases": list(self.bases),
            "settlements": settled,
            "ids": dict(self.ids),
        }

    @staticmethod
    def from_plain(plain: Mapping[str, Any]) -> Pending:
        known = {name: plain[name] for name in _TEXTS if name in plain}
        settlements = tuple(Settlement.from_plain(each) for each in plain["settlements"])
        bases = tuple(plain["bases"])
        return Pending(**known, bases=bases, settlements=settlements, ids=plain["ids"])


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a merge stands: recorded as `snapshot`, or open with conflicts; `nothing` where all was there already."""

    pending: Pending
    merge: Merge
    snapshot: Snapshot | None = None
    nothing: bool = False
    held: bool = False
    """Whether it was not recorded since only the two together lose something, and nobody has said yes to that."""
    offers: Mapping[str, Settlement] = field(default_factory=dict)
    """Settlements of open conflicts that were made before, by key."""
    gained: Comparison = field(default_factory=Comparison)
    """What the merge changes for this side."""
    mine: Show = field(default_factory=Show)
    fresh: frozenset[str] = frozenset()
    """Numbers of the conflicts that have only come up now."""
    taken_back: Snapshot | None = None
    """The snapshot that took back what is here already."""
    engineers: Engineers = field(default_factory=dict)
    """Whose edits clash, by the key of a conflict."""
    reused: tuple[Settlement, ...] = ()
    """Settlements made before that were taken without asking again."""

    @property
    def waits(self) -> bool:
        """Whether nothing is left to settle, and only the word to record it is missing."""
        return self.merge.clean and self.snapshot is None and not self.nothing

    @property
    def recorded(self) -> bool:
        """Whether nothing of it waits for a person: it is recorded, or was there already."""
        return self.merge.clean and not self.waits

    def id_of(self, conflict: Conflict) -> str:
        return self.pending.ids[conflict.key]

    @property
    def open_ids(self) -> str:
        """The numbers of the open conflicts, as a sentence lists them."""
        return ", ".join(map(self.id_of, self.merge.conflicts))

    def plain(self) -> dict[str, Any]:
        plain = plain_merge(self.merge, self.snapshot.code if self.snapshot else None, self.pending.ids)
        for conflict, told in zip(self.merge.conflicts, plain["conflicts"], strict=True):
            sides = self.engineers.get(conflict.key, (None, None))
            told["sides"] = {name: _who(side) for name, side in zip(("mine", "incoming"), sides, strict=True)}
        return plain


def _who(snapshot: Snapshot | None) -> dict[str, str | None]:
    if snapshot is None:
        return {"who": None, "when": None, "code": None}
    return {"who": snapshot.who, "when": snapshot.when, "code": snapshot.code}
