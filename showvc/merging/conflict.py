"""Conflicts and merges as plain values, which every surface draws the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from showvc.changes import Loss
from showvc.document import Show, ShowError
from showvc.document.editing import ABSENT
from showvc.identity.renames import Rename
from showvc.merging.combined import Combined
from showvc.merging.sides import Sides
from showvc.rules import Finding

Side = Literal["mine", "incoming", "both", "follow"]
ConflictKind = Literal[
    "both-changed",
    "removed-and-changed",
    "dangling",
    "double-booked",
    "same-id",
    "over-limit",
    "path-lost",
    "off-headset",
    "fragile",
    "key-lost",
    "overheard",
    "audio-loop",
    "twin",
]


One = Literal["mine", "incoming"]
_NUMBERS = ("number", "port")
_MAY_STAND = ("path-lost", "off-headset", "fragile", "key-lost", "overheard", "audio-loop", "twin")


RENAMED = "renamed"
"""The fact of a conflict about a thing that one side gave another id, and the other removed."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """What a person must decide.

    `paths` are the places that differ between the sides; the values stand in the same order, ABSENT where
    a side has nothing. Taking a side means taking all its values.
    """

    kind: ConflictKind
    paths: tuple[str, ...]
    values: Sides[tuple[Any, ...]]
    message: str = field(compare=False)
    facts: tuple[str, ...] = ()
    together: bool = False
    """Whether the places are one edit, which is taken whole or not at all."""
    more: tuple[tuple[Side, Mapping[str, Any]], ...] = field(default=(), compare=False)
    """Choices besides the sides: what each is called, and the values that it puts in place."""
    losses: tuple[Loss, ...] = field(default=(), compare=False)
    """Who is off headset, and what is lost over something critical, by it."""

    @property
    def before(self) -> tuple[Any, ...]:
        return self.values.before

    @property
    def mine(self) -> tuple[Any, ...]:
        return self.values.mine

    @property
    def incoming(self) -> tuple[Any, ...]:
        return self.values.incoming

    @property
    def key(self) -> str:
        """Names the same conflict wherever it comes up: its kind, places and three values, sides swapped or not."""
        sides = sorted(map(_canonical, self.values.apart))
        known = "\n".join((self.kind, *self.paths, *self.facts, _canonical(self.before), *sides))
        return hashlib.sha256(known.encode()).hexdigest()

    @property
    def takes_value(self) -> bool:
        """Whether one new value at one place can settle it."""
        return self.kind != "twin" and (len(self.paths) == 1 or self.kind == "double-booked")

    @property
    def sides(self) -> tuple[Side, ...]:
        """The sides that may be taken: `both` keeps the result knowingly, where that breaks nothing."""
        both: tuple[Side, ...] = ("both",) if self.kind in _MAY_STAND else ()
        return ("mine", "incoming", *both, *(name for name, _ in self.more))

    def values_of(self, side: Side) -> dict[str, Any]:
        """What this side has at each place."""
        return dict(zip(self.paths, self.mine if side == "mine" else self.incoming, strict=True))

    def plain(self, name: str) -> dict[str, Any]:
        """The conflict as the JSON of `merge` has it: one value for one path, a list of several, a map of a unit."""
        return {
            "id": name,
            "kind": self.kind,
            "paths": list(self.paths),
            "before": self._shown(self.before),
            "mine": self._shown(self.mine),
            "incoming": self._shown(self.incoming),
            "message": self.message,
        }

    def _shown(self, values: tuple[Any, ...]) -> Any:
        plain = [plain_value(value) for value in values]
        if self.together:
            return dict(zip(self.paths, plain, strict=True))
        return plain[0] if len(plain) == 1 else plain


def plain_value(value: Any) -> Any:
    """A value for JSON: what is absent is null."""
    return None if value is ABSENT else value


def _canonical(values: tuple[Any, ...]) -> str:
    return json.dumps([[] if value is ABSENT else [value] for value in values], sort_keys=True)


@dataclass(frozen=True, slots=True)
class Settlement:
    """A decision about the conflict with this key: the value for each of its places, ABSENT for none.

    `how` is the side that was taken or `value`; `who` and `when` (RFC 3339) say whose decision it was.
    """

    key: str
    values: Mapping[str, Any]
    how: Literal["mine", "incoming", "both", "follow", "value"]
    who: str = ""
    when: str = ""
    at: tuple[str, ...] = ()
    """The snapshots that were put together when it was made."""

    def plain(self) -> dict[str, Any]:
        kept = {path: [] if value is ABSENT else [value] for path, value in self.values.items()}
        plain = {"key": self.key, "values": kept, "how": self.how, "who": self.who, "when": self.when}
        return {**plain, "at": list(self.at)} if self.at else plain

    @staticmethod
    def from_plain(plain: Mapping[str, Any]) -> Settlement:
        values = {path: value[0] if value else ABSENT for path, value in plain["values"].items()}
        at = tuple(str(code) for code in plain.get("at", ()))
        return Settlement(plain["key"], values, plain["how"], plain.get("who", ""), plain.get("when", ""), at)


def settle(conflict: Conflict, side: Side, who: str = "", when: str = "") -> Settlement:
    """Takes one side's values; `both` leaves the result as it is, knowingly.

    ShowError for what is no choice of this conflict.
    """
    if side not in conflict.sides:
        why = f"a {conflict.kind} is settled by {' or '.join(conflict.sides)}, not by {side!r}"
        raise ShowError(why, f"take one of: {', '.join(conflict.sides)}")
    more = dict(conflict.more)
    values = {} if side == "both" else more[side] if side in more else conflict.values_of(side)
    return Settlement(conflict.key, values, side, who, when)


def value_place(conflict: Conflict) -> str:
    """The place that takes a value of its own; of a double booking it is the number or port of the thing that moves.

    That is the incoming one, or mine where incoming moved several that belong together.
    """
    _, index, field = _mover(conflict)
    return conflict.paths[index] + (f"/{field}" if field else "")


def settle_by_value(conflict: Conflict, value: Any, who: str = "", when: str = "") -> Settlement:
    """Puts a value of its own at the conflict's place; of a double booking the thing there moves, the rest stays as
    the other side has it. ShowError where no one value settles it.
    """
    if not conflict.takes_value:
        raise ShowError(f"a {conflict.kind} is not settled by one value", f"take one of: {', '.join(conflict.sides)}")
    side, index, field = _mover(conflict)
    own, other = conflict.values_of(side), conflict.values_of("mine" if side == "incoming" else "incoming")
    path = conflict.paths[index]
    placed = {**own[path], field: value} if field else value
    thing = path.rpartition("/")[0]
    values = {place: (own if place.rpartition("/")[0] == thing and not field else other)[place] for place in own}
    return Settlement(conflict.key, {**values, path: placed}, "value", who, when)


def _mover(conflict: Conflict) -> tuple[One, int, str | None]:
    """The side whose thing a value moves, its place, and the field of it."""
    ours, theirs = _moved(conflict, "mine"), _moved(conflict, "incoming")
    side: One = "mine" if conflict.together and len(ours) == 1 < len(theirs) else "incoming"
    moved = (ours if side == "mine" else theirs) if len(conflict.paths) > 1 else [0]
    if conflict.kind == "double-booked":
        for index in reversed(moved):
            value = conflict.values_of(side)[conflict.paths[index]]
            field = next((name for name in _NUMBERS if isinstance(value, Mapping) and name in value), None)
            if field or conflict.paths[index].rpartition("/")[2] in _NUMBERS:
                return side, index, field
    return side, moved[-1] if moved else 0, None


def _moved(conflict: Conflict, side: One) -> list[int]:
    pairs = zip(conflict.before, conflict.values_of(side).values(), strict=True)
    return [index for index, (before, after) in enumerate(pairs) if before != after and after is not ABSENT]


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

    overridden: tuple[tuple[Conflict, Settlement], ...] = ()
    """Answers of which a later one put something else in place."""
    combined: Combined | None = field(default=None, compare=False)
    """What only the two together do to people, but for what is a conflict, or was and was let stand."""

    renamed: tuple[Rename, ...] = ()
    """The ids that a thing had on a side or before, each with the one that it has in `show`."""

    @property
    def clean(self) -> bool:
        return not self.conflicts

    @property
    def held(self) -> bool:
        """Whether nothing is left to settle, and a person has to see what only the two together lose."""
        return self.clean and self.combined is not None and self.combined.holds

    def plain(self, snapshot: str | None = None, names: Mapping[str, str] | None = None) -> dict[str, Any]:
        """The merge as its JSON has it; `names` gives the ids of conflicts by their keys."""
        ids = names or {conflict.key: str(number) for number, conflict in enumerate(self.conflicts, 1)}
        return {
            "clean": self.clean,
            "conflicts": [conflict.plain(ids[conflict.key]) for conflict in self.conflicts],
            "problems": [problem.plain() for problem in self.problems],
            "snapshot": snapshot,
            "combined": self.combined.plain() if self.combined is not None else None,
        }
