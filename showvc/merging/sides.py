"""A value on the three sides of a merge, whatever it is: a show, a list, a single field."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final, Generic, TypeVar

from showvc.document import Show, same
from showvc.document.editing import ABSENT, as_written, get
from showvc.document.pointers import parse

T = TypeVar("T")
U = TypeVar("U")


class Open(Enum):
    """What a merge of one value gives where a person must decide."""

    OPEN = "open"


OPEN: Final = Open.OPEN


@dataclass(frozen=True, slots=True)
class Sides(Generic[T]):
    """One value before, and what each side made of it."""

    before: T
    mine: T
    incoming: T

    def map(self, make: Callable[[T], U]) -> Sides[U]:
        """The same of each side."""
        return Sides(make(self.before), make(self.mine), make(self.incoming))

    def resolved(self, alike: Callable[[T, T], bool] = same) -> T | Open:
        """What stands without a person: equal on both sides, or changed on one alone; else `OPEN`."""
        if alike(self.mine, self.incoming) or alike(self.incoming, self.before):
            return self.mine
        return self.incoming if alike(self.mine, self.before) else OPEN

    def turned(self) -> Sides[T]:
        """The same, seen by the other engineer."""
        return Sides(self.before, self.incoming, self.mine)

    @property
    def apart(self) -> tuple[T, T]:
        """What both engineers have now."""
        return self.mine, self.incoming


def values_at(sides: Sides[Show], pointer: str) -> Sides[Any]:
    """What stands at a place on each side, defaults left out; ABSENT where nothing does."""
    steps = parse(pointer)
    return sides.map(lambda show: as_written(steps, get(show, steps)))


def values_of(sides: Sides[Show], pointers: tuple[str, ...]) -> Sides[tuple[Any, ...]]:
    """The same of several places, in their order."""
    found = [values_at(sides, pointer) for pointer in pointers]
    return Sides(*(tuple(getattr(each, name) for each in found) for name in ("before", "mine", "incoming")))


def kept(values: Sides[Any]) -> Any:
    """What stands where nothing stood before, until it is settled: the same, whichever side looks."""
    return min((side for side in values.apart if side is not ABSENT), key=lambda side: json.dumps(side, sort_keys=True))


def standing(values: Sides[Any]) -> Any:
    """What stands at a place until it is settled: what stood before, else what was added there."""
    if values.mine is ABSENT and values.incoming is ABSENT:
        return ABSENT
    return values.before if values.before is not ABSENT or ABSENT in values.apart else kept(values)
