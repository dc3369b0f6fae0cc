"""Putting edits together, taking one back, taking one over, and settling what clashes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command

if TYPE_CHECKING:
    from showvc.history.pending import Outcome

Yes = Annotated[bool, typer.Option("--yes", help="Record it though only the two sides together lose something.")]
Code = Annotated[str, typer.Argument(metavar="CODE", help="The snapshot: its code, a mark, last-1, …")]


@command("merge", signs=True)
def merge(
    session: Session,
    source: Annotated[str, typer.Argument(metavar="SOURCE", help="A draft, snapshot, mark, show folder or file.")],
    before: Annotated[
        str | None, typer.Option("--before", metavar="B", help="Without a history: the common base.")
    ] = None,
    mine: Annotated[str | None, typer.Option("--mine", metavar="M", help="Without a history: my side.")] = None,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="OUT", help="Without a history: the result, .yaml or .json.")
    ] = None,
    take: Annotated[
        str | None, typer.Option("--take", metavar="SIDE", help="Settle every conflict for mine or incoming.")
    ] = None,
    remembered: Annotated[
        bool, typer.Option("--remembered", help="Settle conflicts as they were settled before.")
    ] = False,
    yes: Yes = False,
) -> int:
    """Put the edits of a source together with this draft.

    Nothing is loaded or overwritten while a conflict is open. Conflicts are settled with: showvc settle
    Where only the two sides together lose a path that both had, it is shown, and recorded with --yes.

    Without a history, any three sources: showvc merge INCOMING --before B --mine M --into OUT
    """
    if before or mine or into:
        from showvc.cli.merging_files import merge_three

        return merge_three(session, source, before, mine, into, take, yes)
    from showvc.cli.settling import agreed
    from showvc.cli.sources import one_source
    from showvc.history.joining import merge_source

    found = one_source(session, source)

    def begun(said: bool) -> Outcome:
        return merge_source(session.archive, found, session.shows, remembered, yes=said)

    outcome = agreed(session, begun(yes or take is not None), lambda: begun(True))
    if take and not outcome.merge.clean:
        from showvc.history.answers import settle_every

        outcome = settle_every(session.archive, session.shows, take, yes=True)
    return told(session, outcome)


@command("settle", signs=True)
def settle(
    session: Session,
    conflict: Annotated[
        str | None, typer.Argument(metavar="[ID]", help="The conflict's number; none: list or ask.")
    ] = None,
    take: Annotated[
        str | None, typer.Option("--take", metavar="SIDE", help="mine, incoming, or both where that may stand.")
    ] = None,
    value: Annotated[str | None, typer.Option("--value", metavar="V", help="A value of its own.")] = None,
    every: Annotated[bool, typer.Option("--all", help="Settle every open conflict for the side taken.")] = False,
    remembered: Annotated[
        bool, typer.Option("--remembered", help="Settle conflicts as they were settled before.")
    ] = False,
    pair: Annotated[
        str | None, typer.Option("--unify", metavar="KEEP=OTHER", help="Make one thing of two that both sides added.")
    ] = None,
    done: Annotated[
        bool, typer.Option("--finish", help="Record the merge where edits in the folder left nothing to settle.")
    ] = False,
    yes: Annotated[bool, typer.Option("--yes", help="The same as --finish.")] = False,
    let_go: Annotated[bool, typer.Option("--drop", help="Drop the open merge; nothing of it stays.")] = False,
) -> int:
    """Settle conflicts: one by one, by value, or all for one side.

    With no option: on a terminal each conflict is asked, in a pipe they are listed. With a number alone: that
    conflict, each choice with what would stand there and what it does.

    Edits in the show folder while a merge is open (set, remove, an editor) count as mine. The folder is put back
    whole (restore) to the last snapshot only, until the merge is recorded or dropped.
    """
    from showvc.cli import settling
    from showvc.history import answers

    archive, shows = session.archive, session.shows
    if let_go:
        return settling.drop(session)
    if pair is not None:
        return settling.unify(session, pair)
    if done or (yes and conflict is None and not every):
        return told(session, answers.finish(archive, shows), False)
    if remembered:
        return told(session, answers.settle_remembered(archive, shows), False)
    if every:
        return told(session, answers.settle_every(archive, shows, take, yes=True), False)
    if conflict is not None and take is None and value is None:
        return settling.show_one(session, conflict)
    if conflict is not None:
        return told(session, settling.settle_one(session, conflict, take, value), False)
    outcome = answers.open_merge(archive, shows)
    if take is not None or value is not None:
        raise settling.which_one(outcome, f"--take {take}" if take is not None else f"--value {value}")
    if session.asks() and not outcome.merge.clean:
        from showvc.cli.walking import ask_each

        return told(session, ask_each(session, outcome), False)
    return told(session, outcome)


@command("rollback", signs=True)
def rollback(
    session: Session,
    code: Code,
    only: Annotated[
        str | None, typer.Option("--only", metavar="PATH", help="Take back only what it changed at this path.")
    ] = None,
    side: Annotated[
        str | None,
        typer.Option("--side", metavar="SIDE", help="Of a merge: whose edits go, mine or incoming."),
    ] = None,
    yes: Yes = False,
) -> int:
    """Roll back one snapshot. What was recorded after it is kept.

    Of a merge, one side is rolled back: --side says which; a terminal asks.
    """
    from showvc.cli.settling import agreed
    from showvc.history.taking import roll_back
    from showvc.history.tracing import require_commit

    commit = require_commit(session.archive, code)
    side = side or (_asked_side(session, commit) if session.asks() else None)

    def begun(said: bool) -> Outcome:
        return roll_back(session.archive, commit, session.shows, only, side, said)

    return told(session, agreed(session, begun(yes), lambda: begun(True)), effect=True)


def _asked_side(session: Session, commit: str) -> str | None:
    """Whose edits of a merge go, as it is answered on a terminal; None for a snapshot that is no merge."""
    from showvc.cli.screen import pressed
    from showvc.history.taking import whose_sides

    whose = whose_sides(session.archive, commit)
    if not whose:
        return None
    session.say(f"{commit[:7]} is a merge. Whose edits are taken back?")
    for name, who in whose.items():
        session.say(f"  {name}: {who}")
    keys = {name[0]: name for name in whose}
    while (key := pressed("[m]ine, [i]ncoming, [q]uit: ")) not in keys:
        if key == "q":
            raise typer.Abort
    return keys[key]


@command("carry", signs=True)
def carry(session: Session, code: Code, yes: Yes = False) -> int:
    """Carry one snapshot's edits into this draft."""
    from showvc.cli.settling import agreed
    from showvc.history.taking import carry as carried
    from showvc.history.tracing import require_commit

    def begun(said: bool) -> Outcome:
        return carried(session.archive, require_commit(session.archive, code), session.shows, said)

    return told(session, agreed(session, begun(yes), lambda: begun(True)))


def told(session: Session, outcome: Outcome, whole: bool = True, effect: bool = False) -> int:
    """Says how a merge stands, and gives the exit code: a person is needed for a conflict, and for a new block.

    `effect`: with what it does to people in the JSON as well; None there while it is open.
    """
    from showvc.changes import effect_of
    from showvc.cli.settling import outcome_lines
    from showvc.cli.texts import verdict_lines
    from showvc.history.verdicts import verdict_here

    verdict = verdict_here(session.archive, session.shows)
    answer = {**outcome.plain(), "verdict": verdict and verdict.plain()}
    if effect and session.as_json:
        answer["effect"] = effect_of(outcome.mine, outcome.merge.show).plain() if outcome.snapshot else None
    session.data(answer)
    if not session.as_json:
        for line in verdict_lines(verdict):
            session.say(line)
        for line in outcome_lines(outcome, whole):
            session.say(line)
    brings_stops = bool(outcome.merge.stops) and not outcome.nothing
    return NEEDS_A_PERSON if brings_stops or outcome.waits or not outcome.merge.clean else 0
