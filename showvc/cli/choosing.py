"""One conflict at a time: its sides, each choice with what would stand there, and what it does to people."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from showvc.cli.app import Session
from showvc.cli.screen import prose, shortened, wrapped
from showvc.document.lining import columns, counted, printable
from showvc.merging import choices
from showvc.merging.words import shown
from showvc.report.merge_words import engineers_of

if TYPE_CHECKING:
    from showvc.changes import Comparison
    from showvc.history.pending import Outcome
    from showvc.merging import Choice, Conflict

_MOST_TOLD = 3
_LEAST_TOLD = 20
"""Columns of what a conflict is about, which come before who settled it once."""


def overview_line(outcome: Outcome, conflict: Conflict) -> str:
    """A conflict in one line: its number, its kind, who and when, what it is about; on a terminal cut to its width."""
    offer = outcome.offers.get(conflict.key)
    before = f" (settled before by {offer.who or 'somebody'})" if offer else ""
    who = " / ".join(engineers_of(outcome, conflict).values())
    head = f"  {outcome.id_of(conflict)}  {conflict.kind:<19}  " + (f"{who}  " if who else "")
    told = shortened(conflict.message, max(_LEAST_TOLD, prose() - columns(head) - columns(before)))
    return shortened(head + told + before, prose())


def alike(outcome: Outcome, conflict: Conflict) -> list[Conflict]:
    """The other open conflicts that are of the same kind and about the same fields; a twin is like no other."""
    if conflict.kind == "twin":
        return []
    return [each for each in outcome.merge.conflicts if each.key != conflict.key and _about(each) == _about(conflict)]


def _about(conflict: Conflict) -> tuple[str, tuple[tuple[str, str], ...]]:
    ends = sorted({(path.split("/")[1], path.rpartition("/")[2]) for path in conflict.paths})
    return conflict.kind, tuple(ends if len(conflict.paths) == 1 else sorted({(section, "") for section, _ in ends}))


def choice_lines(session: Session, outcome: Outcome, conflict: Conflict) -> list[str]:
    """Every way to settle a conflict: the command, what would stand there, what it does to people."""
    lines: list[str] = []
    who = engineers_of(outcome, conflict)
    for choice in choices(conflict, outcome.merge):
        way = f"--value {choice.value}" if choice.take == "value" else f"--take {choice.take}"
        whose = f"   ({who[choice.take]})" if choice.take in who else ""
        lines.append(f"     showvc settle {outcome.id_of(conflict)} {way}{whose}")
        lines += [f"       {printable(path)} = {shown(value)}" for path, value in choice.result.items()]
        lines += [f"       {line}" for line in _effect_lines(session, outcome, conflict, choice)]
    return [part for line in lines for part in wrapped(line)]


def _effect_lines(session: Session, outcome: Outcome, conflict: Conflict, choice: Choice) -> Iterator[str]:
    from showvc.history.joining import effect_of

    found = effect_of(session.archive, outcome, conflict, choice, session.shows)
    against = "keeping both" if conflict.kind == "twin" else "mine"
    if choice.take == ("both" if conflict.kind == "twin" else "mine"):
        return
    said = list(_told(outcome, found))
    yield from said or [f"Nobody hears more or less than with {against}."]


def _told(outcome: Outcome, found: Comparison) -> Iterator[str]:
    label = outcome.merge.show.label
    effect = found.effect
    if effect is None:
        return
    for pairs, verb in ((effect.lost, "can no longer hear"), (effect.gained, "hears")):
        first = [pair for pair, _ in zip(pairs, range(_MOST_TOLD), strict=False)]
        yield from (f"{label(listener)} {verb} {label(talker)}." for talker, listener in first)
        if len(pairs) > _MOST_TOLD:
            yield f"and {counted(len(pairs) - _MOST_TOLD, 'more pair')}"
    if effect.strips:
        yield f"New label strips: {', '.join(effect.strips)}"
