"""Who hears whom."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import Session, command

if TYPE_CHECKING:
    from showvc.document import Show


@command("paths")
def paths(
    session: Session,
    talker: Annotated[
        str | None, typer.Argument(metavar="[X]", help="A user, circuit, group or line: who hears X, whom X hears.")
    ] = None,
    listener: Annotated[str | None, typer.Argument(metavar="[Y]", help="A second: why Y hears X, or not.")] = None,
    source: Annotated[str, typer.Option("--of", metavar="SOURCE", help="Which show. Default: the folder.")] = "working",
    without: Annotated[
        list[str] | None, typer.Option("--without", metavar="ID", help="Suppose that this is out; may be repeated.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write every path to a CSV file.")] = None,
    history: Annotated[bool, typer.Option("--history", help="With X and Y: when the path came and went.")] = False,
) -> int:
    """Tell who hears whom: all, one position, or why this pair.

    X and Y are given by id, or by a label or name that only one has. A small show is drawn position by position. Of a
    large one the departments and groups are told; each path over each target is in the file that --csv FILE writes, and
    the whole matrix in --json.

    Paths over lines are told apart, else they would hide every loss.
    Exit code 1 when Y can't hear X.
    """
    from showvc.cli import paths_words
    from showvc.cli.sources import one_source
    from showvc.document import ShowError
    from showvc.identity.calling import called, outs
    from showvc.paths import talk_paths

    if csv is not None and (talker or history):
        raise ShowError("--csv writes every path of the show", "leave out the rest: showvc paths --csv FILE")
    if history:
        if not (talker and listener):
            raise ShowError("--history wants two positions", "such as: showvc paths sm fly-1 --history")
        if source != "working" or without:
            raise ShowError("--history tells of the draft that you are on", "leave out --of and --without")
        now = one_source(session, source).show
        return paths_words.tell_history(session, *(_once(now, each) for each in (talker, listener)))
    looked_at = one_source(session, source)
    show = looked_at.show
    found = talk_paths(show, outs(show, without or ()))
    if csv is not None:
        return paths_words.write_csv(session, found, csv)
    if talker is None:
        return paths_words.tell_matrix(session, found)
    if listener is None:
        return paths_words.tell_one(session, found, called(show, talker))
    return paths_words.tell_two(session, found, called(show, talker), called(show, listener), looked_at)


def _once(show: Show, text: str) -> str:
    """The id of what is called so now; what is not there any more is given by its id."""
    from showvc.document import ShowError
    from showvc.identity.calling import called

    try:
        return called(show, text)
    except ShowError:
        return text
