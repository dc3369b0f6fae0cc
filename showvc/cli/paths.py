"""Who hears whom."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from showvc.cli.app import Session, command


@command("paths")
def paths(
    session: Session,
    talker: Annotated[str | None, typer.Argument(metavar="[X]", help="A user: who hears X, and whom X hears.")] = None,
    listener: Annotated[str | None, typer.Argument(metavar="[Y]", help="A second user: why Y hears X, or not.")] = None,
    source: Annotated[str, typer.Option("--of", metavar="SOURCE", help="Which show. Default: the folder.")] = "working",
    csv: Annotated[Path | None, typer.Option("--csv", metavar="FILE", help="Write every path to a CSV file.")] = None,
    history: Annotated[bool, typer.Option("--history", help="With X and Y: when the path came and went.")] = False,
) -> int:
    """Tell who hears whom: all, one user's reach, or why this pair.

    A small show is drawn user by user. Of a large one the departments and groups are told; user by user it is in
    the file that --csv FILE writes (the listener, the talker, how the talker comes to it: on a key, always open, in
    the menu only; and by way of which groups or bridges), and whole in --json.

    Lines are kept apart, else they would hide every loss.
    Exit code 1 when Y cannot hear X.
    """
    from showvc.cli import paths_words
    from showvc.cli.sources import one_source
    from showvc.document import ShowError

    if csv is not None and (talker or history):
        raise ShowError("--csv writes every path of the show", "leave out the rest: showvc paths --csv FILE")
    if history:
        if not (talker and listener):
            raise ShowError("--history wants two users", "such as: showvc paths sm fly-1 --history")
        if source != "working":
            raise ShowError("--history tells of the draft that you are on", "leave out --of")
        return paths_words.tell_history(session, talker, listener)
    show = one_source(session, source).show
    if csv is not None:
        return paths_words.write_csv(session, show, csv)
    if talker is None:
        return paths_words.tell_matrix(session, show)
    return (
        paths_words.tell_pair(session, show, talker, listener)
        if listener
        else paths_words.tell_user(session, show, talker)
    )
