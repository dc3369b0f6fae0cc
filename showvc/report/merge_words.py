"""An open merge in sentences, for the terminal and the review page."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from showvc.document.lining import clock_words, printable
from showvc.merging.words import shown
from showvc.report.effect_words import Section, effect_sections
from showvc.report.words import MANY

if TYPE_CHECKING:
    from showvc.history.pending import Outcome
    from showvc.merging import Conflict, Merge, Settlement, SideProblem


def head_words(outcome: Outcome) -> str:
    """What is put together, and on what base."""
    pending = outcome.pending
    return f"{pending.what} of {pending.source}: {pending.base_words}."


def side_words(outcome: Outcome) -> dict[str, str]:
    """What each side is, where the words alone do not say it: in a rollback, and where an edit is carried over."""
    source = outcome.pending.source
    known = {
        "rollback": {"before": f"with {source}", "mine": "now", "incoming": f"without {source}"},
        "carry": {"before": f"ahead of {source}", "mine": "now", "incoming": f"with {source}"},
    }
    return known.get(outcome.pending.what, {})


def engineers_of(outcome: Outcome, conflict: Conflict) -> dict[str, str]:
    """Who made each side of a conflict, and when: `Kim, 06:28`; a side that did nothing there has none."""
    sides = outcome.engineers.get(conflict.key, (None, None))
    known = {name: side for name, side in zip(("mine", "incoming"), sides, strict=True) if side is not None}
    return {name: f"{printable(side.who)}, {clock_words(side.when)}" for name, side in known.items()}


def sides_by_engineer(outcome: Outcome, conflict: Conflict) -> dict[str, str]:
    """The three sides by name, each with what it is and who made it: `mine (Kim, 06:28)`."""
    words, who = side_words(outcome), engineers_of(outcome, conflict)
    said = {side: "; ".join(filter(None, (words.get(side), who.get(side)))) for side in ("before", "mine", "incoming")}
    return {side: f"{side} ({more})" if more else side for side, more in said.items()}


def problem_lines(outcome: Outcome, problems: Iterable[SideProblem]) -> list[str]:
    """What was wrong on a side already, or looks like a twin; many of one cause in one line."""
    causes: dict[tuple[object, ...], list[SideProblem]] = {}
    for problem in problems:
        causes.setdefault((problem.side, problem.code, problem.paths[1:] or problem.path), []).append(problem)
    lines: list[str] = []
    for alike in causes.values():
        if len(alike) >= MANY:
            lines.append(_problem(outcome, alike[0], f"{len(alike)} like this, e.g.: "))
        else:
            lines += [_problem(outcome, each) for each in alike]
    return lines


def _problem(outcome: Outcome, problem: SideProblem, head: str = "") -> str:
    side = side_words(outcome).get(problem.side, "both sides" if problem.side == "both" else problem.side)
    return f"[{side}] {problem.code}: {head}{problem.message}"


def offer_words(conflict: Conflict, offer: Settlement) -> str:
    """What was decided then, in the words of today's sides."""
    for side in ("mine", "incoming"):
        if dict(offer.values) == conflict.values_of(side):
            return side
    return settlement_words(offer) or "left as it is"


def settlement_words(settlement: Settlement) -> str:
    """The values that a decision puts in place."""
    return ", ".join(f"{path} = {shown(value)}" for path, value in settlement.values.items())


_NOT_LOST = ("Gained", "New label strips")


def combined_sections(merged: Merge) -> list[Section]:
    """What only the two sides together lose: both had it, and no conflict tells it. Each loss with both edits."""
    found = merged.combined
    if found is None or not found.holds:
        return []
    return [each for each in effect_sections(found.before, found.after, found) if each.title not in _NOT_LOST]


HELD = "Only the two sides together lose this; nothing is recorded yet:"
