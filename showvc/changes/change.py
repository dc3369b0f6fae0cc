"""What differs between two shows, as plain values."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from showvc.changes.effect import Effect

Edit = Literal["added", "removed", "changed", "renamed", "moved", "swapped"]
EDITS: tuple[Edit, ...] = ("added", "removed", "renamed", "moved", "swapped", "changed")


@dataclass(frozen=True, slots=True)
class Change:
    """One edit: where it is, what kind it is, both values (None where absent), and a sentence."""

    path: str
    change: Edit
    before: Any
    after: Any
    text: str = ""

    def plain(self) -> dict[str, Any]:
        """The change as the JSON of `compare` has it."""
        return {"path": self.path, "change": self.change, "before": self.before, "after": self.after}


@dataclass(frozen=True, slots=True)
class Subject:
    """What a change is about: the section and id of a thing, and how the trade calls it."""

    section: str
    id: str
    name: str
    department: str = ""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Every edit from one show to the next, in the order of the document."""

    changes: tuple[Change, ...] = ()
    subjects: dict[str, Subject] = field(default_factory=dict)
    """The subject of each change's path up to the thing: `/users/sm` → Subject."""
    effect: Effect | None = None
    """None where only the edits were asked for."""

    def __bool__(self) -> bool:
        return bool(self.changes)

    def counts(self) -> dict[str, int]:
        """How many changes of each kind there are; kinds without any left out."""
        counted = Counter(change.change for change in self.changes)
        return {kind: counted[kind] for kind in EDITS if counted[kind]}

    def plain(self) -> dict[str, Any]:
        """The comparison as its JSON has it."""
        effect = self.effect.plain() if self.effect is not None else None
        return {"changes": [change.plain() for change in self.changes], "effect": effect}
