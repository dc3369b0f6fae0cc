"""The ways to settle a conflict, each with what would stand there, and what it does to people."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from showvc.changes import Comparison, compare
from showvc.document.editing import ABSENT
from showvc.merging.conflict import Conflict, Merge, Settlement, Side, plain_value, settle, settle_by_value, value_place
from showvc.merging.places import free_value


@dataclass(frozen=True, slots=True)
class Choice:
    """A way to settle a conflict, and what would then stand at its places; ABSENT where nothing would."""

    take: Side | Literal["value"]
    result: Mapping[str, Any]
    value: Any = ABSENT
    """What to answer with, where `take` is `value`: the next free number."""

    def plain(self, effect: Comparison | None = None) -> dict[str, Any]:
        """The choice as its JSON has it; `effect` where it was worked out."""
        result = {path: plain_value(value) for path, value in self.result.items()}
        found = effect.effect.plain() if effect is not None and effect.effect is not None else None
        return {"take": self.take, "result": result, "effect": found}

    def settlement(self, conflict: Conflict, who: str = "", when: str = "") -> Settlement:
        """The decision for this choice."""
        if self.take == "value":
            return settle_by_value(conflict, self.value, who, when)
        return settle(conflict, self.take, who, when)


def choices(conflict: Conflict, merged: Merge) -> tuple[Choice, ...]:
    """Every way to settle a conflict but for values of one's own: the sides, and what else is offered."""
    return tuple(_choices(conflict, merged))


def _choices(conflict: Conflict, merged: Merge) -> Iterator[Choice]:
    more = dict(conflict.more)
    for side in conflict.sides:
        result = more[side] if side in more else _both(conflict) if side == "both" else conflict.values_of(side)
        yield Choice(side, result)
    if conflict.kind == "double-booked" and conflict.takes_value:
        free = free_value(merged.show, value_place(conflict), conflict)
        if free is not None:
            yield Choice("value", settle_by_value(conflict, free).values, free)


def plain_merge(merged: Merge, snapshot: str | None = None, names: Mapping[str, str] | None = None) -> dict[str, Any]:
    """The merge as its JSON has it, each conflict with its choices."""
    plain = merged.plain(snapshot, names)
    for conflict, told in zip(merged.conflicts, plain["conflicts"], strict=True):
        told["choices"] = [choice.plain() for choice in choices(conflict, merged)]
        told["sides"] = {side: {"who": None, "when": None, "code": None} for side in ("mine", "incoming")}
    return plain


def _both(conflict: Conflict) -> dict[str, Any]:
    """What each side did, all of it."""
    values = zip(conflict.before, conflict.mine, conflict.incoming, strict=True)
    done = [incoming if mine == before else mine for before, mine, incoming in values]
    return dict(zip(conflict.paths, done, strict=True))


Again = Callable[[Iterable[Settlement]], Merge]
"""Makes a merge again with these decisions besides those that were taken."""


def effect_of_choice(again: Again, conflict: Conflict, choice: Choice) -> Comparison:
    """What a choice changes, and what that does to people, against taking mine, which leaves all as it is here.

    Of a twin it is told against keeping both.
    """
    kept = settle(conflict, "both" if conflict.kind == "twin" else "mine")
    before, after = (again([answer]).show for answer in (kept, choice.settlement(conflict)))
    return compare(before, after)
