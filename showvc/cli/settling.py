"""Conflicts drawn in a terminal, and the answers taken."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, cast

import typer

from showvc.changes.words import printable
from showvc.cli.app import Session, styled
from showvc.cli.texts import change_lines, counts_words, effect_lines, when_words
from showvc.document import ShowError
from showvc.document.editing import shape_at
from showvc.document.pointers import parse
from showvc.formats.typed import value_of as typed_value
from showvc.merging import value_place
from showvc.merging.words import shown

if TYPE_CHECKING:
    from showvc.history.joining import Outcome
    from showvc.merging import Conflict, Settlement, Side


def outcome_lines(outcome: Outcome, with_problems: bool = True) -> list[str]:
    """How a merge stands, in lines; what was wrong on a side already is told when the merge begins."""
    pending, merged = outcome.pending, outcome.merge
    if outcome.nothing:
        return ["All of that is here already; nothing changes."]
    lines = [f"{pending.what} of {pending.source}: {pending.base_words}."]
    if merged.problems and with_problems:
        lines += ["Was so on one side already, or looks odd:", *(f"  {_problem(each)}" for each in merged.problems)]
    if not merged.clean:
        lines += [f"{conflicts_words(len(merged.conflicts))} to settle; no file is changed until then:"]
        for conflict in merged.conflicts:
            lines += conflict_lines(outcome, conflict)
        return [
            *lines,
            "",
            "Settle: showvc settle ID --take mine|incoming, or --value V; all: --all --take SIDE; drop: --drop",
        ]
    counts = counts_words(outcome.gained.counts())
    lines.append(
        f"Recorded {outcome.snapshot.code}: {counts or 'no change for this draft'}." if outcome.snapshot else ""
    )
    return [*lines, *_gain(outcome)]


def conflicts_words(count: int) -> str:
    return f"{count} conflict{'' if count == 1 else 's'}"


def _gain(outcome: Outcome) -> list[str]:
    """What the merge brought, its effect first."""
    from showvc.changes import effect_of

    if not outcome.gained:
        return []
    effect = effect_lines(outcome.mine, outcome.merge.show, effect_of(outcome.mine, outcome.merge.show))
    return ["", *effect, *change_lines(outcome.gained)]


def _problem(problem: Any) -> str:
    side = {"mine": "mine", "incoming": "incoming", "both": "both sides"}[problem.side]
    said = f"[{side}] {problem.code}: {problem.message}"
    if problem.code == "twin":
        keep, other = (path.removeprefix("/") for path in problem.paths)
        said += f". Make them one with: showvc settle --unify {keep}={other}"
    return said


def conflict_lines(outcome: Outcome, conflict: Conflict) -> list[str]:
    """One conflict with its three values side by side."""
    lines = ["", styled(f"  {outcome.id_of(conflict)}  {conflict.kind}", bold=True), f"     {conflict.message}"]
    for number, path in enumerate(conflict.paths):
        lines.append(f"     {printable(path)}")
        for side in ("before", "mine", "incoming"):
            lines.append(f"       {side:<9} {shown(getattr(conflict, side)[number])}")
    offer = outcome.offers.get(conflict.key)
    if offer is not None:
        lines.append(
            f"     settled before by {offer.who or 'somebody'}, {when_words(offer.when)}: {_offer(conflict, offer)}"
        )
        lines.append("     (showvc settle --remembered takes it)")
    return lines


def _offer(conflict: Conflict, offer: Settlement) -> str:
    """What was decided then, in the words of today's sides."""
    for side in ("mine", "incoming"):
        if dict(offer.values) == conflict.values_of(side):
            return side
    return ", ".join(f"{path} = {shown(value)}" for path, value in offer.values.items()) or "left as it is"


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

    def choose(outcome: Outcome) -> Sequence[Settlement]:
        conflict = _named(outcome, name)
        return [_by_value(session, conflict, value) if value is not None else _by_side(session, conflict, take)]

    return _settle(session, choose, f"settle {name} {f'--take {take}' if take else f'--value {value}'}")


def settle_all(session: Session, take: str | None) -> Outcome:
    """Settles every open conflict for one side, those that only come up then included."""
    if take not in ("mine", "incoming"):
        raise ShowError(f"{take!r} is no side", "take mine or incoming: --take mine")
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
        *outcome_lines(done, with_problems=False),
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
    while remaining := [each for each in outcome.merge.conflicts if each.key not in later]:
        conflict = remaining[0]
        for line in conflict_lines(outcome, conflict):
            session.say(line)
        answer = typer.prompt(f"     {_question(outcome, conflict)}", default="later").strip()
        if answer in ("q", "quit"):
            break
        if answer in ("l", "later"):
            later.add(conflict.key)
            continue
        settlement = _answered(session, outcome, conflict, answer)
        if settlement is None:
            continue
        outcome = _settle(session, lambda now, made=settlement: [made], f"settle {outcome.id_of(conflict)}: {answer}")
    return outcome


def _question(outcome: Outcome, conflict: Conflict) -> str:
    ways = ["m mine", "i incoming", *(["b both"] if "both" in conflict.sides else [])]
    ways += ["=VALUE a value"] if conflict.takes_value else []
    ways += ["r as before"] if conflict.key in outcome.offers else []
    return f"Take {', '.join(ways)}, l later, q stop"


def _answered(session: Session, outcome: Outcome, conflict: Conflict, answer: str) -> Settlement | None:
    sides = {"m": "mine", "i": "incoming", "b": "both", "mine": "mine", "incoming": "incoming", "both": "both"}
    try:
        if answer in sides:
            return _by_side(session, conflict, sides[answer])
        if answer.startswith("="):
            return _by_value(session, conflict, answer[1:])
    except ShowError as error:
        session.say(f"     {error}")
        return None
    if answer == "r" and conflict.key in outcome.offers:
        return outcome.offers[conflict.key]
    session.say(f"     {answer!r} is no answer here")
    return None


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
