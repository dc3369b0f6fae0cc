"""Conflicts and merges as plain values, which every surface draws the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from showvc.document import Show
from showvc.document.editing import ABSENT, as_written, get
from showvc.document.pointers import parse
from showvc.rules import Finding

Side = Literal["mine", "incoming", "both"]
ConflictKind = Literal[
    "both-changed",
    "removed-and-changed",
    "dangling",
    "double-booked",
    "same-id",
    "over-limit",
    "path-lost",
    "overheard",
    "audio-loop",
]


_NUMBERS = ("number", "port")


@dataclass(frozen=True, slots=True)
class Conflict:
    """What a person must decide.

    `paths` are the places that differ between the sides; the values stand in the same order, ABSENT where
    a side has nothing. Taking a side means taking all its values.
    """

    kind: ConflictKind
    paths: tuple[str, ...]
    before: tuple[Any, ...]
    mine: tuple[Any, ...]
    incoming: tuple[Any, ...]
    message: str = field(compare=False)
    facts: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """Names the same conflict wherever it comes up: its kind, places and three values, sides swapped or not."""
        sides = sorted(_canonical(values) for values in (self.mine, self.incoming))
        known = "\n".join((self.kind, *self.paths, *self.facts, _canonical(self.before), *sides))
        return hashlib.sha256(known.encode()).hexdigest()

    @property
    def takes_value(self) -> bool:
        """Whether one new value at one place can settle it."""
        return len(self.paths) == 1 or self.kind == "double-booked"

    @property
    def sides(self) -> tuple[Side, ...]:
        """The sides that may be taken: `both` keeps the result knowingly, where that breaks nothing."""
        return (
            ("mine", "incoming", "both")
            if self.kind in ("path-lost", "overheard", "audio-loop")
            else ("mine", "incoming")
        )

    def values_of(self, side: Literal["mine", "incoming"]) -> dict[str, Any]:
        return dict(zip(self.paths, self.mine if side == "mine" else self.incoming, strict=True))

    def plain(self, name: str) -> dict[str, Any]:
        """The conflict as the JSON of `merge` has it: one value for one path, else a list of them."""
        values = {side: _shown(getattr(self, side)) for side in ("before", "mine", "incoming")}
        return {"id": name, "kind": self.kind, "paths": list(self.paths), **values, "message": self.message}


def plain_value(value: Any) -> Any:
    """A value for JSON: what is absent is null."""
    return None if value is ABSENT else value


def _shown(values: tuple[Any, ...]) -> Any:
    plain = [plain_value(value) for value in values]
    return plain[0] if len(plain) == 1 else plain


def _canonical(values: tuple[Any, ...]) -> str:
    return json.dumps([[] if value is ABSENT else [value] for value in values], sort_keys=True)


@dataclass(frozen=True, slots=True)
class Settlement:
    """A decision about the conflict with this key: the value for each of its places, ABSENT for none.

    `how` is the side that was taken or `value`; `who` and `when` (RFC 3339) say whose decision it was.
    """

    key: str
    values: Mapping[str, Any]
    how: Literal["mine", "incoming", "both", "value"]
    who: str = ""
    when: str = ""

    def plain(self) -> dict[str, Any]:
        kept = {path: [] if value is ABSENT else [value] for path, value in self.values.items()}
        return {"key": self.key, "values": kept, "how": self.how, "who": self.who, "when": self.when}

    @staticmethod
    def from_plain(plain: Mapping[str, Any]) -> Settlement:
        values = {path: value[0] if value else ABSENT for path, value in plain["values"].items()}
        return Settlement(plain["key"], values, plain["how"], plain.get("who", ""), plain.get("when", ""))


def settle(conflict: Conflict, side: Side, who: str = "", when: str = "") -> Settlement:
    """Takes one side's values; `both` leaves the result as it is, knowingly."""
    values = {} if side == "both" else conflict.values_of(side)
    return Settlement(conflict.key, values, side, who, when)


def value_place(conflict: Conflict) -> str:
    """The place that takes a value of its own; of a double booking it is the number or port of the incoming thing."""
    index, field = _value_at(conflict)
    return conflict.paths[index] + (f"/{field}" if field else "")


def settle_by_value(conflict: Conflict, value: Any, who: str = "", when: str = "") -> Settlement:
    """Puts a value of its own at the conflict's place; of a double booking the incoming thing moves there."""
    index, field = _value_at(conflict)
    placed = {**conflict.incoming[index], field: value} if field else value
    mine, incoming, path = conflict.values_of("mine"), conflict.values_of("incoming"), conflict.paths[index]
    thing = path.rpartition("/")[0]
    values = {other: (incoming if other.rpartition("/")[0] == thing and not field else mine)[other] for other in mine}
    return Settlement(conflict.key, {**values, path: placed}, "value", who, when)


def _value_at(conflict: Conflict) -> tuple[int, str | None]:
    pairs = zip(conflict.before, conflict.incoming, strict=True)
    moved = [index for index, (before, incoming) in enumerate(pairs) if before != incoming and incoming is not ABSENT]
    if len(conflict.paths) == 1 or not moved:
        moved = [0]
    if conflict.kind != "double-booked":
        return moved[-1], None
    for index in reversed(moved):
        value = conflict.incoming[index]
        field = next((name for name in _NUMBERS if isinstance(value, Mapping) and name in value), None)
        if field or conflict.paths[index].rpartition("/")[2] in _NUMBERS:
            return index, field
    return moved[-1], None


@dataclass(frozen=True, slots=True)
class SideProblem:
    """What was wrong on one side already, or looks like a twin: told, but no conflict."""

    side: Side
    code: str
    path: str
    message: str
    paths: tuple[str, ...] = ()
    stays: bool = True
    """Whether the merged show still has it; what one side has put right is of no concern."""

    def plain(self) -> dict[str, Any]:
        return {"side": self.side, "code": self.code, "path": self.path, "message": self.message}


@dataclass(frozen=True, slots=True)
class Merge:
    """The outcome of a merge.

    `show` is the merged show; while `conflicts` are open it stands on the value from before at their
    places, and is good for looking only.
    """

    show: Show
    conflicts: tuple[Conflict, ...] = ()
    problems: tuple[SideProblem, ...] = ()
    settled: tuple[tuple[Conflict, Settlement], ...] = ()
    stops: tuple[Finding, ...] = ()
    """What may not be released in the merged show, and was not in mine: incoming brought it, or it was let stand."""

    @property
    def clean(self) -> bool:
        return not self.conflicts

    def plain(self, snapshot: str | None = None, names: Mapping[str, str] | None = None) -> dict[str, Any]:
        """The merge as its JSON has it; `names` gives the ids of conflicts by their keys."""
        ids = names or {conflict.key: str(number) for number, conflict in enumerate(self.conflicts, 1)}
        return {
            "clean": self.clean,
            "conflicts": [conflict.plain(ids[conflict.key]) for conflict in self.conflicts],
            "problems": [problem.plain() for problem in self.problems],
            "snapshot": snapshot,
        }


@dataclass(frozen=True, slots=True)
class Sides:
    """The three shows of a merge."""

    before: Show
    mine: Show
    incoming: Show

    def values(self, pointer: str) -> tuple[Any, Any, Any]:
        """What stands at a place on each side, defaults left out."""
        steps = parse(pointer)
        old, one, other = (as_written(steps, get(show, steps)) for show in (self.before, self.mine, self.incoming))
        return old, one, other

    def turned(self) -> Sides:
        return Sides(self.before, self.incoming, self.mine)
