"""How good a path is: how the talker comes to it first, then how sure the ear is, then the page of the key.

The order is that of the states of a required path: what is sure and on a key or always open is best; then what is
unsure; then what is in the menu alone. Within each of these a sure ear is better than an unsure one, and page A better
than another.
"""

from __future__ import annotations

from typing import NamedTuple

from showvc.paths.hands import Hand
from showvc.paths.reading import ANY, AT_LEVEL_0, SURE, Reading


class Grade(NamedTuple):
    """Smaller is better."""

    menu: bool
    unsure: bool
    paged: bool


BEST = Grade(False, False, False)
GRADES = tuple(sorted(Grade(menu, unsure, paged) for menu in (0, 1) for unsure in (0, 1) for paged in (0, 1)))  # type: ignore[arg-type]


def grade_of(hand: Hand, tier: int) -> Grade:
    """The grade of a path with this hand and tier."""
    return Grade(hand == "menu", tier < SURE, hand == "page")


EVERYBODY = -1


def graded(
    reading: Reading, talker: str, over: str | None = None, sure: int = SURE, only: int = EVERYBODY
) -> dict[Grade, int]:
    """For each grade the bits of those for whom it is the best, over any target but a line, or over this one.

    With `sure` AT_LEVEL_0, an ear counts as sure that would be so were all levels 0. `only` are the bits asked for.
    """
    found: dict[Grade, int] = dict.fromkeys(GRADES, 0)
    hands, surely = reading.hands(talker), reading.sure_hands(talker)
    targets = hands.keys() - reading.line_names if over is None else hands.keys() & {over}
    if only != EVERYBODY and reading.is_usual(talker):
        reach = reading.reach(ANY)
        targets = {target for target in targets if reach.get(target, 0) & only}
    for target in targets:
        if target in surely:
            found[grade_of(surely[target], SURE)] |= reading.over(talker, target, sure) & only
        found[grade_of(hands[target], ANY)] |= reading.over(talker, target, ANY) & only
    known = 0
    for grade in GRADES:
        found[grade] &= ~known
        known |= found[grade]
    return found


def best_grade(reading: Reading, talker: str, listener: str, over: str | None = None) -> Grade | None:
    """The best grade of a pair; None where there is no path."""
    slot = reading.lists.place.get(listener)
    if slot is None or talker not in reading.lists.place:
        return None
    found = graded(reading, talker, over, only=1 << slot)
    return next((grade for grade, bits in found.items() if bits), None)


__all__ = ["ANY", "AT_LEVEL_0", "BEST", "GRADES", "SURE", "Grade", "best_grade", "grade_of", "graded"]
