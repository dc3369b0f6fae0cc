"""Beginning a show, and where one stands in it."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command

Who = Annotated[str | None, typer.Option("--who", metavar="NAME", help="Who is working here; kept with the show.")]


@command("start")
def start(
    session: Session,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="The folder of the show; made if need be.")],
    title: Annotated[str | None, typer.Option(metavar="TEXT", help="The production's title.")] = None,
    who: Who = None,
) -> None:
    """Begin a show in a folder, empty or with a show's files."""
    from showvc.history.beginning import begin

    name = who or _ask_who(session)
    made = begin(folder.resolve(), title or None, name)
    session.data({"folder": str(folder), "snapshot": made.code})
    session.say(f"{folder} is a show now. First snapshot: {made.code}.")
    session.say(f"Next: plot it in {folder}/users and {folder}/groups, then: showvc record --note TEXT")


def _ask_who(session: Session) -> str | None:
    import os

    if os.environ.get("SHOWVC_WHO") or not session.asks():
        return None
    answer: str = typer.prompt("Who is working here? The name stands in the history")
    return answer


@command("now")
def now(session: Session, who: Who = None) -> int:
    """Show where you are: draft, edits, conflicts, hub, release."""
    from showvc.cli.standing_words import standing, standing_lines
    from showvc.history.people import introduce

    if who:
        introduce(session.archive, who)
    for words in session.archive.brought_along:
        session.aside_once(words)
    found = standing(session.archive, session.shows)
    session.data(found)
    for line in standing_lines(found):
        session.say(line)
    return NEEDS_A_PERSON if found["merge"] or found["problems"] else 0


@command("undo", signs=True)
def undo(
    session: Session,
    to: Annotated[int | None, typer.Option("--to", metavar="N", help="Step back to before operation N.")] = None,
    listing: Annotated[bool, typer.Option("--list", help="List the last operations, undo nothing.")] = False,
) -> None:
    """Undo the last command. Repeat to redo it."""
    from showvc.changes import effect_of
    from showvc.cli.texts import effect_lines, kept_lines, verdict_lines
    from showvc.history.operations import undo as step_back
    from showvc.history.verdicts import show_here, verdict_here

    if listing:
        _list_operations(session)
        return
    before = show_here(session.archive, session.shows)
    undone, kept = step_back(session.archive, to)
    after = show_here(session.archive, session.shows)
    effect = effect_of(before, after) if before is not None and after is not None else None  # else it is not known
    verdict = verdict_here(session.archive, session.shows)
    told = {"undone": undone.number, "command": undone.command, "kept": kept and kept[:7]}
    session.data(
        {**told, "effect": effect.plain() if effect is not None else None, "verdict": verdict and verdict.plain()}
    )
    for line in verdict_lines(verdict):
        session.say(line)
    for line in effect_lines(before, after, effect) if before is not None and after is not None and effect else ():
        session.say(line)
    session.say(
        f"Undone: {undone.command}" + (f" and all after it (back to before operation {undone.number})" if to else "")
    )
    for line in kept_lines(kept):
        session.say(line)
    if session.archive.last is None:
        session.say(
            "Nothing is recorded now. The files stay as they are; what was recorded comes back with: showvc undo"
        )


def _list_operations(session: Session) -> None:
    from showvc.cli.screen import on_terminal, room
    from showvc.document.lining import cut, lined_up, when_words
    from showvc.history.operations import log
    from showvc.report.words import first_line

    done = log(session.archive)
    session.data({"operations": [{"number": each.number, "when": each.when, "command": each.command} for each in done]})
    rows = [[str(each.number), when_words(each.when), first_line(each.command)] for each in done]
    for line in lined_up([["NO", "WHEN", "COMMAND"], *rows], right=[0]):
        session.say(cut(line, room()) if on_terminal() else line)
