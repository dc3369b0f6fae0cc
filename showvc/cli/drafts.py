"""Parallel versions, and names on snapshots."""

from __future__ import annotations

from typing import Annotated

import typer

from showvc.cli.app import JsonOption, Session, ShowOption, app, command, guarded
from showvc.cli.helping import ExplainedGroup

drafts = typer.Typer(
    cls=ExplainedGroup, help="Parallel versions of the show.", invoke_without_command=True, rich_markup_mode=None
)
app.add_typer(drafts, name="draft")

Name = Annotated[str, typer.Argument(metavar="NAME", help="The draft's name.")]


@drafts.callback()
def drafts_alone(context: typer.Context, show: ShowOption = None, as_json: JsonOption = False) -> None:
    """Parallel versions of the show. Without a further word: list them."""
    session = Session(show, as_json)
    if context.invoked_subcommand is None:
        raise typer.Exit(guarded(lambda: _list(session)))
    if show or as_json:
        raise typer.Exit(guarded(lambda: _misplaced(str(context.invoked_subcommand))))


def _misplaced(word: str) -> None:
    from showvc.document import ShowError

    raise ShowError("--show and --json come last", f"write: showvc draft {word} … --json")


@command("open", drafts, signs=True)
def open_draft(
    session: Session,
    name: Name,
    source: Annotated[str, typer.Option("--at", metavar="SOURCE", help="The snapshot to begin at.")] = "last",
) -> None:
    """Begin a draft and go to it. Edits that are not recorded come along, with --at they are kept first."""
    from showvc.cli.texts import kept_lines
    from showvc.history.drafts import open_draft as opened
    from showvc.history.tracing import require_commit

    here = session.archive.draft
    kept = opened(session.archive, name, require_commit(session.archive, source))
    session.data({"draft": name, "kept": kept and kept[:7]})
    session.say(f"Created draft {name}; you're on it. Back to {here}: showvc draft go {here}")
    for line in kept_lines(kept):
        session.say(line)


@command("go", drafts, signs=True)
def go(session: Session, name: Name) -> None:
    """Go to another draft. Unrecorded edits are kept first."""
    from showvc.cli.texts import kept_lines
    from showvc.history.drafts import go_to_draft

    kept = go_to_draft(session.archive, name)
    session.data({"draft": name, "kept": kept and kept[:7]})
    session.say(f"Now on draft {name}.")
    for line in kept_lines(kept):
        session.say(line)


@command("list", drafts)
def list_drafts(session: Session) -> None:
    """List the drafts. The one you're on is marked "here"."""
    _list(session)


def _list(session: Session) -> None:
    from showvc.cli.screen import fitted
    from showvc.history.drafts import drafts as listed
    from showvc.report.words import first_line

    found = listed(session.archive)
    session.data(
        {"drafts": [{"name": each.name, "here": each.here, "last": each.last and each.last.plain()} for each in found]}
    )
    rows = [
        [
            each.name,
            "here" if each.here else "",
            *([each.last.code, each.last.who, first_line(each.last.note)] if each.last else ["-", "", ""]),
        ]
        for each in found
    ]
    for line in fitted(["DRAFT", "", "CODE", "WHO", "NOTE"], rows):
        session.say(line)


@command("close", drafts)
def close(session: Session, name: Name) -> None:
    """Close a draft. Its snapshots stay; undo opens it again."""
    from showvc.history.drafts import close_draft

    alone = close_draft(session.archive, name)
    session.data({"closed": name, "unmerged": alone})
    session.say(f"Draft {name} is closed.")
    if alone:
        session.say("It held snapshots that no other draft has. Bring it back with: showvc undo")


@command("mark")
def mark(
    session: Session,
    name: Annotated[str, typer.Argument(metavar="NAME", help="A tour stop, opening-night, …")],
    source: Annotated[str, typer.Argument(metavar="[SOURCE]", help="The snapshot to name. Default: last.")] = "last",
    move: Annotated[bool, typer.Option("--move", help="Move a mark that points to another snapshot.")] = False,
    gone: Annotated[bool, typer.Option("--remove", help="Remove the mark.")] = False,
) -> None:
    """Name a snapshot, to be used wherever a source is wanted."""
    from showvc.history import drafts as naming
    from showvc.history.tracing import require_commit

    if gone:
        naming.unmark(session.archive, name)
        session.data({"mark": name, "snapshot": None})
        session.say(f"Removed mark {name}.")
        return
    commit = require_commit(session.archive, source)
    naming.mark(session.archive, name, commit, move)
    session.data({"mark": name, "snapshot": commit[:7]})
    session.say(f"Marked {commit[:7]} as {name}.")
