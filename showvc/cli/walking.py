"""Through the open conflicts on a terminal, one at a time, by single keys; back again, too."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from showvc.cli.app import Session
from showvc.cli.choosing import alike, choice_lines
from showvc.cli.screen import confirmed, interruptible, pressed, wrapped
from showvc.cli.settling import agreed, conflict_lines, settle_as, sides_explained
from showvc.document import ShowError
from showvc.document.lining import counted
from showvc.history import joining
from showvc.history.answers import by_side, by_value, finish
from showvc.report.merge_words import head_words

if TYPE_CHECKING:
    from showvc.history.pending import Outcome
    from showvc.merging import Conflict, Settlement

_SIDES = {"m": "mine", "i": "incoming", "b": "both", "f": "follow"}


class _Walk:
    """Where somebody is among the conflicts: what was answered or left for later, the last step at the end."""

    def __init__(self, session: Session, outcome: Outcome) -> None:
        self.session, self.outcome = session, outcome
        self.steps: list[tuple[str, ...]] = []
        self.later: set[str] = set()
        self.next: str | None = None

    def conflict(self) -> Conflict | None:
        """The one that is asked now; None where none is left."""
        left = [each for each in self.outcome.merge.conflicts if each.key not in self.later]
        return next((each for each in left if each.key == self.next), left[0] if left else None)

    def leave(self, conflict: Conflict) -> None:
        """Leaves a conflict for later."""
        self.later.add(conflict.key)
        self.steps.append((conflict.key,))

    def answer(self, conflicts: list[Conflict], made: list[Settlement], key: str) -> None:
        names = ", ".join(map(self.outcome.id_of, conflicts))
        self.outcome = settle_as(self.session, lambda now: made, f"settle {names}: {key}")
        self.steps.append(tuple(each.key for each in conflicts))
        self.next = None

    def back(self) -> None:
        """Asks again what was asked last: an answer is taken back, one left for later comes up."""
        keys = self.steps.pop()
        for key in keys:
            if key in self.later:
                self.later.discard(key)
            else:
                self.outcome = joining.reopen(self.session.archive, key, self.session.shows)
        self.next = keys[0]


def ask_each(session: Session, outcome: Outcome) -> Outcome:
    """Asks for each conflict on a terminal; what was answered is kept when one stops half way."""
    walk = _Walk(session, outcome)
    for line in [head_words(outcome), *sides_explained(outcome)]:
        session.say(line)
    try:
        while conflict := walk.conflict():
            for line in conflict_lines(walk.outcome, conflict):
                session.say(line)
            if not _asked(walk, conflict):
                break
    except typer.Abort:
        session.say("\nStopped. What you have settled is kept, and the merge stays open.")
    return agreed(session, walk.outcome, lambda: finish(session.archive, session.shows))


def _asked(walk: _Walk, conflict: Conflict) -> bool:
    """Asks until there is an answer that can be taken; whether the walk goes on."""
    session = walk.session
    while True:
        key = pressed(f"     {_question(walk, conflict)}: ")
        if key == "q":
            return False
        if key in ("l", "\r", "\n"):
            walk.leave(conflict)
            return True
        if key == "p" and walk.steps:
            walk.back()
            return True
        if key == "c":
            for line in choice_lines(session, walk.outcome, conflict):
                session.say(line)
            continue
        if _accepted(walk, conflict, key):
            return True


def _accepted(walk: _Walk, conflict: Conflict, key: str) -> bool:
    """Whether a key settled it; says why where its answer cannot be taken."""
    try:
        return _answered(walk, conflict, key)
    except ShowError as error:
        for problem in error.problems:
            for line in wrapped(f"     {problem}"):
                walk.session.say(line)
    return False


def _question(walk: _Walk, conflict: Conflict) -> str:
    like = len(alike(walk.outcome, conflict))
    ways = ["[m]ine", "[i]ncoming", *(["[b]oth"] if "both" in conflict.sides else [])]
    ways += ["[f]ollow"] if "follow" in conflict.sides else []
    ways += ["[=] a value"] if conflict.takes_value else []
    ways += ["[r] as before"] if conflict.key in walk.outcome.offers else []
    ways += [f"[M] or [I] for this and {like} like it"] if like else []
    ways += ["[p]revious"] if walk.steps else []
    return ", ".join([*ways, "[c]hoices and what they do", "[l]ater", "[q]uit"])


def _answered(walk: _Walk, conflict: Conflict, key: str) -> bool:
    """Takes the answer of a key; whether there was one. ShowError where it cannot be taken."""
    archive = walk.session.archive
    if key in ("M", "I") and (like := alike(walk.outcome, conflict)):
        every, side = [conflict, *like], _SIDES[key.lower()]
        numbers = ", ".join(map(walk.outcome.id_of, every))
        if not confirmed(f"     Take {side} for {counted(len(every), 'conflict')} ({numbers})?"):
            return False
        walk.answer(every, [by_side(archive, each, side) for each in every], key)
        return True
    if key == "=" and conflict.takes_value:
        with interruptible():
            value = typer.prompt("     Value", default="", show_default=False).strip()
        if not value:
            return False
        made = by_value(archive, conflict, value)
    elif key == "r" and conflict.key in walk.outcome.offers:
        made = walk.outcome.offers[conflict.key]
    elif key in _SIDES:
        made = by_side(archive, conflict, _SIDES[key])
    else:
        raise ShowError(f"{key!r} is no answer here", "press one of the keys in brackets, or q to stop")
    walk.answer([conflict], [made], key)
    return True
