"""The example show, played through."""

from __future__ import annotations

import os
import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import Session, app, command, load_families

if TYPE_CHECKING:
    from showvc.demo.story import Beat


@command("demo")
def demo(
    session: Session,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="An empty or new folder for the example show.")],
) -> None:
    """Play the example show through.

    Four tour stops, a parallel edit with conflicts, a bad edit and its rollback. Everything is done with the same
    commands that you would type; the folder is yours to try things in.
    """
    from showvc.demo.production import TITLE
    from showvc.demo.story import NEXT, TOURING_ENGINEER, chapters
    from showvc.history.beginning import begin

    load_families()  # the story plays them all
    place = folder.resolve()
    begin(place, TITLE, TOURING_ENGINEER)
    for number, chapter in enumerate(chapters(), 1):
        session.say(f"\n{session.bold(f'{number}. {chapter.title}')}\n")
        for beat in chapter.beats:
            _play(session, place, beat)
    session.data({"folder": str(place)})
    session.say(f"\n{session.bold('Now it is yours.')} Go there with: cd {shlex.quote(str(folder))}\nTry:")
    for what, line in NEXT:
        session.say(f"  {line:<46} {what}")


def _play(session: Session, folder: Path, beat: Beat) -> None:
    from showvc.document import MachineError

    if beat.text:
        session.say(beat.text)
    if beat.edit is not None:
        _edit(folder, beat)
    if beat.command:
        session.say(f"  [{beat.who}] $ showvc {shlex.join(beat.command)}")
        code = _run(session, folder, beat)
        session.say()
        if code != int(beat.needs_a_person):
            raise MachineError(f"the story broke off: showvc {shlex.join(beat.command)} ended with {code}")


def _edit(folder: Path, beat: Beat) -> None:
    """Changes the files in the folder, as an engineer would by hand."""
    from showvc.history.archive import Archive
    from showvc.history.restoring import write_show
    from showvc.history.shows import Shows

    assert beat.edit is not None, "only beats with an edit come here"
    archive = Archive.open(folder)
    write_show(archive, Shows(archive), beat.edit)


def _run(session: Session, folder: Path, beat: Beat) -> int:
    """One command, as if it were typed in the folder by this person."""
    known = os.environ.get("SHOWVC_WHO")
    os.environ["SHOWVC_WHO"] = beat.who
    arguments = [*beat.command, "--show", str(folder), *(["--json"] if session.as_json else [])]
    try:
        return int(app(arguments, prog_name="showvc", standalone_mode=False) or 0)
    finally:
        if known is None:
            del os.environ["SHOWVC_WHO"]
        else:
            os.environ["SHOWVC_WHO"] = known
