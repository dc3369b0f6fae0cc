"""Conflicts drawn in a terminal, and the answers taken."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from showvc.changes import Comparison
from showvc.cli.app import Session, styled
from showvc.cli.choosing import choice_lines, overview_line
from showvc.cli.screen import confirmed, wrapped
from showvc.cli.texts import brought_lines, change_lines, counts_words
from showvc.document import ShowError
from showvc.document.lining import counted, printable, when_words
from showvc.history import joining
from showvc.history.answers import HOW_TO_FINISH, by_side, by_value, conflict_named, open_merge
from showvc.merging import choices, value_place
from showvc.merging.words import shown
from showvc.report.merge_words import (
    combined_sections,
    head_words,
    offer_words,
    problem_lines,
    settlement_words,
    side_words,
    sides_by_engineer,
)

if TYPE_CHECKING:
    from showvc.history.pending import Outcome
    from showvc.merging import Conflict, Merge, Settlement


def outcome_lines(outcome: Outcome, whole: bool = True) -> list[str]:
    """How a merge stands, in lines. Not `whole`: of an open one only what has come up, and what is left."""
    if outcome.nothing:
        return [head_words(outcome), *_nothing_lines(outcome)]
    if outcome.held:
        return held_lines(outcome)
    if outcome.waits:
        return [head_words(outcome), *waiting_lines()]
    return _recorded_lines(outcome) if outcome.merge.clean else _open_lines(outcome, whole)


def _nothing_lines(outcome: Outcome) -> list[str]:
    """That all was merged before; where it was taken back since, by whom, and how it is brought again."""
    back = outcome.taken_back
    if back is None:
        return ["All of that is here already; nothing changes."]
    said = f"All of that was merged before, and {back.who} took it back in {back.code}, {when_words(back.when)}."
    return [*wrapped(said), f"Bring it again: showvc rollback {back.code}"]


def held_lines(outcome: Outcome) -> list[str]:
    """What only the two sides together lose, and how it is recorded all the same."""
    lines = [head_words(outcome), *_reused_lines(outcome), *combined_lines(outcome.merge), ""]
    lines += brought_lines(outcome.mine, outcome.merge.show, outcome.merge.stops)
    return [*lines, *wrapped("Nothing is recorded until you say yes: the same command with --yes")]


def combined_lines(merged: Merge) -> list[str]:
    """What only the two sides together lose."""
    sections = combined_sections(merged)
    lines = [styled("Lost only by the two sides together:", bold=True)] if sections else []
    for section in sections:
        lines += [f"  {section.title}:", *(part for line in section.lines for part in wrapped(f"    {line}"))]
    return lines


def agreed(session: Session, outcome: Outcome, again: Callable[[], Outcome]) -> Outcome:
    """Asks, at a terminal, whether what is held is to be recorded; `again` does it."""
    if not (outcome.held and session.asks()):
        return outcome
    for line in held_lines(outcome)[:-1]:
        session.say(line)
    return again() if confirmed("Record it all the same?") else outcome


def waiting_lines() -> list[str]:
    """That edits in the folder have left nothing to settle, and how the merge is closed."""
    said = "Nothing is left to settle: with the edits in the folder the sides clash no more; nothing is recorded yet."
    return [*wrapped(said), "Record it with: showvc settle --finish; or drop it: showvc settle --drop"]


def _recorded_lines(outcome: Outcome) -> list[str]:
    """What came of a merge that is recorded: what it does to those on headset, before anything else."""
    lines = brought_lines(outcome.mine, outcome.merge.show, outcome.merge.stops) if outcome.gained else []
    lines += [head_words(outcome), *_reused_lines(outcome)]
    lines += _problem_lines(outcome, "Was so before, and still is:", ("mine", "both"))
    if outcome.snapshot:
        lines.append(f"Recorded {outcome.snapshot.code}: {_counted(outcome) or 'no change for this draft'}.")
    return [*lines, *change_lines(outcome.gained)]


def _counted(outcome: Outcome) -> str:
    return counts_words(outcome.gained.counts())


def _open_lines(outcome: Outcome, whole: bool) -> list[str]:
    conflicts = outcome.merge.conflicts
    shown = [each for each in conflicts if whole or outcome.id_of(each) in outcome.fresh]
    lines: list[str] = []
    if whole:
        lines += [head_words(outcome), *_reused_lines(outcome), *sides_explained(outcome)]
        lines += _problem_lines(outcome, "Is so on one side already, or looks odd:", ("mine", "incoming", "both"))
        lines.append(f"{counted(len(conflicts), 'conflict')} to settle; no file is changed until then:")
    elif shown:
        lines.append("That brings up:")
    for conflict in shown:
        lines += [overview_line(outcome, conflict)] if whole else conflict_lines(outcome, conflict)
    lines += [""] * bool(shown)
    if not whole:
        left = ", ".join(f"{outcome.id_of(each)} ({each.kind})" for each in conflicts)
        return [
            *lines,
            *wrapped(f"{counted(len(conflicts), 'conflict')} left to settle: {left}. Shown by: showvc settle"),
        ]
    return [
        *lines,
        *wrapped("One with its choices: showvc settle ID. All for one side: showvc settle --all --take mine|incoming"),
    ]


def _reused_lines(outcome: Outcome) -> list[str]:
    """What was settled without asking, as somebody had settled it before."""
    lines: list[str] = []
    for each in outcome.reused:
        said = settlement_words(each) or "left as it is"
        lines += wrapped(f"Settled as {each.who or 'somebody'} did, {when_words(each.when)}: {said}.")
    return lines


# --- the sides ---


def sides_explained(outcome: Outcome) -> list[str]:
    words = side_words(outcome)
    if not words:
        return []
    return [f"Here mine is the show as it is now, incoming is the show {words['incoming']}."]


def _problem_lines(outcome: Outcome, title: str, sides: Sequence[str]) -> list[str]:
    """What was wrong on these sides and is so still in the merged show, and twins."""
    found = [each for each in outcome.merge.problems if each.side in sides and each.stays]
    return [title, *(line for each in problem_lines(outcome, found) for line in wrapped(f"  {each}"))] if found else []


def conflict_lines(outcome: Outcome, conflict: Conflict) -> list[str]:
    """One conflict with its three values side by side."""
    names = sides_by_engineer(outcome, conflict)
    room = max(9, *map(len, names.values()))
    lines = [f"     {conflict.message}"]
    for number, path in enumerate(conflict.paths):
        lines.append(f"     {printable(path)}")
        lines += [f"       {name:<{room}} {shown(getattr(conflict, side)[number])}" for side, name in names.items()]
    if conflict.takes_value and value_place(conflict) not in conflict.paths:
        lines.append(f"     --value V moves the incoming one: it goes to {printable(value_place(conflict))}")
    offer = outcome.offers.get(conflict.key)
    if offer is not None:
        when = when_words(offer.when)
        lines.append(f"     settled before by {offer.who or 'somebody'}, {when}: {offer_words(conflict, offer)}")
        lines.append("     (showvc settle --remembered takes it)")
    head = styled(f"  {outcome.id_of(conflict)}  {conflict.kind}", bold=True)
    return ["", head, *(part for line in lines for part in wrapped(line))]


# --- answers ---


def settle_as(session: Session, choose: Any, said: str, yes: bool = False) -> Outcome:
    return joining.settle_open(session.archive, choose, session.shows, said, yes=yes)


def settle_one(session: Session, name: str, take: str | None, value: str | None) -> Outcome:
    """Settles one conflict for a side or by a value."""
    if (take is None) == (value is None):
        raise ShowError(f"conflict {name}: say how", "with --take, or with --value, not both")
    made: list[Settlement] = []

    def choose(outcome: Outcome) -> Sequence[Settlement]:
        conflict = conflict_named(outcome, name)
        chosen = by_value(session.archive, conflict, value) if value is not None else None
        made.append(chosen or by_side(session.archive, conflict, take or ""))
        return made

    said = f"settle {name} {f'--take {take}' if take else f'--value {value}'}"
    outcome = settle_as(session, choose, said, yes=True)
    lines = [f"Settled {name}: {_said(made[0])}."]
    lines += [f"That overrides the answer to {outcome.id_of(each)}." for each, _ in outcome.merge.overridden]
    for line in lines:
        for part in wrapped(line):
            session.say(part)
    session.say()
    return outcome


def show_one(session: Session, name: str) -> int:
    """Draws one conflict with its sides and choices, and what each choice does."""
    outcome = open_merge(session.archive, session.shows)
    conflict = conflict_named(outcome, name)
    effects = {
        choice.take: joining.effect_of(session.archive, outcome, conflict, choice, session.shows)
        for choice in (choices(conflict, outcome.merge) if session.as_json else ())
    }
    plain = next(each for each in outcome.plain()["conflicts"] if each["id"] == name)
    plain["choices"] = [choice.plain(effects[choice.take]) for choice in choices(conflict, outcome.merge) if effects]
    session.data(plain)
    for line in (
        [] if session.as_json else [*conflict_lines(outcome, conflict), *choice_lines(session, outcome, conflict)]
    ):
        session.say(line)
    return 1


def _said(settlement: Settlement) -> str:
    """A decision in a few words; of several places of one side, the values are known to who took it."""
    values = settlement_words(settlement)
    if settlement.how == "value":
        return values
    return f"{settlement.how} is taken" + (f", {values}" if len(settlement.values) == 1 else "")


def which_one(outcome: Outcome, said: str) -> ShowError:
    """An answer without a conflict that it is meant for."""
    if outcome.waits:
        return ShowError(f"{said}: no conflict is open", HOW_TO_FINISH)
    every = f", or for all of them: showvc settle --all {said}" if said.startswith("--take") else ""
    return ShowError(f"{said}: for which conflict? Open are: {outcome.open_ids}", f"showvc settle ID {said}{every}")


def unify(session: Session, pair: str) -> int:
    """Makes one thing of two that both sides added."""
    keep, equals, other = pair.partition("=")
    if not (keep and equals and other):
        raise ShowError(f"{pair!r} names no two things", "write them so: groups/house-radio=groups/radio-house")
    done = joining.unify_twins(session.archive, keep, other, session.shows)
    if isinstance(done, Comparison):
        session.data({"changes": [change.plain() for change in done.changes]})
        for line in change_lines(done):
            session.say(line)
        session.say("Record it with: showvc record --note TEXT")
        return 0
    session.data(done.plain())
    for line in [
        f"{other} will be one with {keep} when the merge is recorded.",
        *outcome_lines(done, whole=False),
    ]:
        session.say(line)
    return 0 if done.recorded else 1


def drop(session: Session) -> int:
    pending = joining.drop(session.archive)
    session.data({"dropped": pending.source})
    session.say(f"The {pending.what} of {pending.source} is dropped; the folder is as it was.")
    return 0
