"""Conflicts drawn in a terminal, and the answers taken."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, cast

import typer

from showvc.cli.app import Session, styled
from showvc.cli.screen import interruptible, wrapped
from showvc.cli.texts import brought_lines, change_lines, counts_words, when_words
from showvc.document import ShowError
from showvc.document.editing import shape_at
from showvc.document.lining import printable
from showvc.document.pointers import parse
from showvc.formats.typed import value_of as typed_value
from showvc.merging import value_place
from showvc.merging.words import shown

if TYPE_CHECKING:
    from showvc.history.joining import Outcome
    from showvc.merging import Conflict, Settlement, Side, SideProblem


def outcome_lines(outcome: Outcome, whole: bool = True) -> list[str]:
    """How a merge stands, in lines. Not `whole`: of an open one only what has come up, and what is left."""
    if outcome.nothing:
        return [_head(outcome), "All of that is here already; nothing changes."]
    return _recorded_lines(outcome) if outcome.merge.clean else _open_lines(outcome, whole)


def _recorded_lines(outcome: Outcome) -> list[str]:
    """What came of a merge that is recorded: what it does to those on headset, before anything else."""
    lines = brought_lines(outcome.mine, outcome.merge.show, outcome.merge.stops) if outcome.gained else []
    lines += [_head(outcome), *_reused_lines(outcome)]
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
        lines += [_head(outcome), *_reused_lines(outcome), *_sides_explained(outcome)]
        lines += _problem_lines(outcome, "Is so on one side already, or looks odd:", ("mine", "incoming", "both"))
        lines.append(f"{conflicts_words(len(conflicts))} to settle; no file is changed until then:")
    elif shown:
        lines.append("That brings up:")
    for conflict in shown:
        lines += conflict_lines(outcome, conflict)
    lines += [""] * bool(shown)
    if not whole:
        left = ", ".join(f"{outcome.id_of(each)} ({each.kind})" for each in conflicts)
        return [*lines, *wrapped(f"{conflicts_words(len(conflicts))} left to settle: {left}. Shown by: showvc settle")]
    return [
        *lines,
        *wrapped("Settle: showvc settle ID --take mine|incoming, or --value V; all: --all --take SIDE; drop: --drop"),
    ]


def _head(outcome: Outcome) -> str:
    pending = outcome.pending
    return f"{pending.what} of {pending.source}: {pending.base_words}."


def _reused_lines(outcome: Outcome) -> list[str]:
    """What was settled without asking, as somebody had settled it before."""
    lines = [
        f"Settled as {each.who or 'somebody'} did, {when_words(each.when)}: {_values(each) or 'left as it is'}."
        for each in outcome.reused
    ]
    return [part for line in lines for part in wrapped(line)]


def conflicts_words(count: int) -> str:
    return f"{count} conflict{'' if count == 1 else 's'}"


# --- the sides ---


def side_words(outcome: Outcome) -> dict[str, str]:
    """What each side is, where the words alone do not say it: in a rollback, and where an edit is carried over."""
    source = outcome.pending.source
    known = {
        "rollback": {"before": f"with {source}", "mine": "now", "incoming": f"without {source}"},
        "carry": {"before": f"ahead of {source}", "mine": "now", "incoming": f"with {source}"},
    }
    return known.get(outcome.pending.what, {})


def _sides_explained(outcome: Outcome) -> list[str]:
    words = side_words(outcome)
    if not words:
        return []
    return [f"Here mine is the show as it is now, incoming is the show {words['incoming']}."]


def _problem_lines(outcome: Outcome, title: str, sides: Sequence[str]) -> list[str]:
    """What was wrong on these sides and is so still in the merged show, and twins."""
    found = [each for each in outcome.merge.problems if each.side in sides and each.stays]
    return [title, *(line for each in found for line in wrapped(f"  {_problem(outcome, each)}"))] if found else []


def _problem(outcome: Outcome, problem: SideProblem) -> str:
    side = side_words(outcome).get(problem.side, "both sides" if problem.side == "both" else problem.side)
    said = f"[{side}] {problem.code}: {problem.message}"
    if problem.code == "twin":
        keep, other = (path.removeprefix("/") for path in problem.paths)
        said += f". Make them one with: showvc settle --unify {keep}={other}"
    return said


def conflict_lines(outcome: Outcome, conflict: Conflict) -> list[str]:
    """One conflict with its three values side by side."""
    words = side_words(outcome)
    names = {side: f"{side} ({words[side]})" if side in words else side for side in ("before", "mine", "incoming")}
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
        lines.append(f"     settled before by {offer.who or 'somebody'}, {when}: {_offer(conflict, offer)}")
        lines.append("     (showvc settle --remembered takes it)")
    head = styled(f"  {outcome.id_of(conflict)}  {conflict.kind}", bold=True)
    return ["", head, *(part for line in lines for part in wrapped(line))]


def _offer(conflict: Conflict, offer: Settlement) -> str:
    """What was decided then, in the words of today's sides."""
    for side in ("mine", "incoming"):
        if dict(offer.values) == conflict.values_of(side):
            return side
    return _values(offer) or "left as it is"


def _values(settlement: Settlement) -> str:
    return ", ".join(f"{path} = {shown(value)}" for path, value in settlement.values.items())


# --- answers ---


def open_merge(session: Session) -> Outcome:
    """The open merge. ShowError where none is open."""
    from showvc.history.joining import pending_merge

    found = pending_merge(session.archive, session.shows)
    if found is None:
        raise ShowError("no merge is open", "begin one with: showvc merge SOURCE")
    return found


def _settle(session: Session, choose: Any, said: str) -> Outcome:
    from showvc.history.joining import settle_open

    return settle_open(session.archive, choose, session.shows, said)


def settle_one(session: Session, name: str, take: str | None, value: str | None) -> Outcome:
    """Settles one conflict for a side or by a value."""
    if (take is None) == (value is None):
        raise ShowError(f"conflict {name}: say how", "with --take mine, --take incoming, or --value V")
    made: list[Settlement] = []

    def choose(outcome: Outcome) -> Sequence[Settlement]:
        conflict = _named(outcome, name)
        made.append(_by_value(session, conflict, value) if value is not None else _by_side(session, conflict, take))
        return made

    outcome = _settle(session, choose, f"settle {name} {f'--take {take}' if take else f'--value {value}'}")
    for line in wrapped(f"Settled {name}: {_said(made[0])}."):
        session.say(line)
    session.say()
    return outcome


def _said(settlement: Settlement) -> str:
    """A decision in a few words; of several places of one side, the values are known to who took it."""
    values = _values(settlement)
    if settlement.how == "value":
        return values
    return f"{settlement.how} is taken" + (f", {values}" if len(settlement.values) == 1 else "")


def which_one(outcome: Outcome, said: str) -> ShowError:
    """An answer without a conflict that it is meant for."""
    numbers = ", ".join(outcome.id_of(conflict) for conflict in outcome.merge.conflicts)
    every = f", or for all of them: showvc settle --all {said}" if said.startswith("--take") else ""
    return ShowError(f"{said}: for which conflict? Open are: {numbers}", f"showvc settle ID {said}{every}")


def settle_all(session: Session, take: str | None) -> Outcome:
    """Settles every open conflict for one side, those that only come up then included."""
    if take is None:
        raise ShowError("all conflicts: for which side?", "say it with: --all --take mine, or --all --take incoming")
    if take not in ("mine", "incoming"):
        raise ShowError(f"{take!r} is no side that can be taken for all", "take mine or incoming: --all --take mine")
    outcome, asked = open_merge(session), set[str]()
    while keys := {conflict.key for conflict in outcome.merge.conflicts} - asked:
        asked |= keys

        def choose(now: Outcome) -> Sequence[Settlement]:
            return [_by_side(session, conflict, take) for conflict in now.merge.conflicts]

        outcome = _settle(session, choose, f"settle --all --take {take}")
    return outcome


def settle_remembered(session: Session) -> Outcome:
    """Settles what was settled before in the same way."""
    if not open_merge(session).offers:
        raise ShowError("none of the open conflicts was settled before", "settle them one by one: showvc settle")
    return _settle(session, lambda now: list(now.offers.values()), "settle --remembered")


def unify(session: Session, pair: str) -> int:
    """Makes one thing of two that both sides added."""
    from showvc.changes import Comparison
    from showvc.history.joining import unify_twins

    keep, equals, other = pair.partition("=")
    if not (keep and equals and other):
        raise ShowError(f"{pair!r} names no two things", "write them so: groups/house-radio=groups/radio-house")
    done = unify_twins(session.archive, keep, other, session.shows)
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
    return 0 if done.merge.clean else 1


def drop(session: Session) -> int:
    from showvc.history.joining import drop as let_go

    pending = let_go(session.archive)
    session.data({"dropped": pending.source})
    session.say(f"The {pending.what} of {pending.source} is dropped; the folder is as it was.")
    return 0


def ask_each(session: Session, outcome: Outcome) -> Outcome:
    """Asks for each conflict on a terminal; what was answered is kept when one stops half way."""
    later: set[str] = set()
    for line in [_head(outcome), *_sides_explained(outcome)]:
        session.say(line)
    while remaining := [each for each in outcome.merge.conflicts if each.key not in later]:
        conflict = remaining[0]
        for line in conflict_lines(outcome, conflict):
            session.say(line)
        try:
            settled = _asked(session, outcome, conflict)
        except typer.Abort:
            session.say("\nStopped. What you have settled is kept, and the merge stays open.")
            break
        if settled is None:
            break
        later |= {conflict.key} if settled is outcome else set()
        outcome = settled
    return outcome


def _asked(session: Session, outcome: Outcome, conflict: Conflict) -> Outcome | None:
    """How the merge stands after an answer that can be taken: the same for later, None for stopping here."""
    while True:
        with interruptible():
            answer = typer.prompt(f"     {_question(outcome, conflict)}", default="later").strip()
        if answer in ("q", "quit"):
            return None
        if answer in ("l", "later"):
            return outcome
        try:
            made = _answered(session, outcome, conflict, answer)
            return _settle(session, lambda now, made=made: [made], f"settle {outcome.id_of(conflict)}: {answer}")
        except ShowError as error:
            for problem in error.problems:
                for line in wrapped(f"     {problem}"):
                    session.say(line)


def _question(outcome: Outcome, conflict: Conflict) -> str:
    ways = ["m mine", "i incoming", *(["b both"] if "both" in conflict.sides else [])]
    ways += ["=VALUE a value"] if conflict.takes_value else []
    ways += ["r as before"] if conflict.key in outcome.offers else []
    return f"Take {', '.join(ways)}, l later, q stop"


def _answered(session: Session, outcome: Outcome, conflict: Conflict, answer: str) -> Settlement:
    """ShowError where the answer is none, or its value cannot stand there."""
    sides = {"m": "mine", "i": "incoming", "b": "both", "mine": "mine", "incoming": "incoming", "both": "both"}
    if answer in sides:
        return _by_side(session, conflict, sides[answer])
    if answer.startswith("="):
        return _by_value(session, conflict, answer[1:])
    if answer == "r" and conflict.key in outcome.offers:
        return outcome.offers[conflict.key]
    raise ShowError(f"{answer!r} is no answer here", "type one of the letters, = and a value, or q to stop")


def _by_side(session: Session, conflict: Conflict, take: str | None) -> Settlement:
    from showvc.history.joining import side_of

    return side_of(session.archive, conflict, cast("Side", take))


def _by_value(session: Session, conflict: Conflict, text: str) -> Settlement:
    from showvc.history.joining import value_of

    place = value_place(conflict)
    shape = shape_at(parse(place))
    assert shape is not None, "a conflict stands at a place of the document"
    return value_of(session.archive, conflict, typed_value(text, shape, place))


def _named(outcome: Outcome, name: str) -> Conflict:
    for conflict in outcome.merge.conflicts:
        if outcome.id_of(conflict) == name:
            return conflict
    known = ", ".join(outcome.id_of(conflict) for conflict in outcome.merge.conflicts)
    raise ShowError(f"there is no open conflict {name}", f"open are: {known}" if known else "all are settled")
