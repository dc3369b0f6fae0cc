"""The example show, played through."""

from __future__ import annotations

import io
import json
import os
import shlex
from collections.abc import Sequence
from contextlib import nullcontext, redirect_stdout
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from showvc.cli.app import Session, app, command, load_families
from showvc.cli.screen import wrapped

if TYPE_CHECKING:
    from showvc.demo.story import Beat, CodeOf


@command("demo")
def demo(
    session: Session,
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="An empty or new folder for the example show.")],
) -> None:
    """Play the example show through.

    Four tour stops, a parallel edit with conflicts, a bad edit and its rollback. Everything is done with the same
    commands that you would type; the folder is yours to try things in. With --json: each command and its answer.
    """
    from showvc.demo.plot import TITLE
    from showvc.demo.story import NEXT, TOURING_ENGINEER, chapters
    from showvc.history.beginning import begin

    load_families()  # the story plays them all
    place = folder.resolve()
    begin(place, TITLE, TOURING_ENGINEER)
    played = []
    for number, chapter in enumerate(chapters(), 1):
        session.say(f"\n{session.bold(f'{number}. {chapter.title}')}\n")
        played.append({"title": chapter.title, "beats": [_play(session, place, beat) for beat in chapter.beats]})
    session.data({"folder": str(place), "chapters": played})
    session.say(f"{session.bold('The show is yours.')} Go there with: cd {shlex.quote(str(folder))}\nTry:")
    width = max(len(line) for _, line in NEXT)
    for what, line in NEXT:
        session.say(f"  {line:<{width}}  {what}")


def _play(session: Session, folder: Path, beat: Beat) -> dict[str, Any]:
    """Tells and does what happens; gives it as plain values, with the answer of the command where JSON is wanted."""
    from showvc.document import MachineError

    for line in wrapped(beat.text) if beat.text else []:
        session.say(line)
    if beat.edit is not None:
        _edit(folder, beat)
    told: dict[str, Any] = {"text": beat.text, "who": beat.who, "command": None, "answer": None}
    if beat.command:
        words = [word if isinstance(word, str) else _code(folder, word) for word in beat.command]
        line = shlex.join(["showvc", *words])
        for part in wrapped(f"  [{beat.who}] $ {line}"):
            session.say(part)
        code, answer = _run(session, folder, beat.who, words)
        session.say()
        if code != int(beat.needs_a_person):
            raise MachineError(f"the story broke off: {line} ended with {code}")
        told |= {"command": line, "answer": answer}
    return told


def _code(folder: Path, word: CodeOf) -> str:
    from showvc.history.archive import Archive
    from showvc.history.snapshots import CODE_LENGTH
    from showvc.history.tracing import require_commit

    return require_commit(Archive.open(folder), word.source)[:CODE_LENGTH]


def _edit(folder: Path, beat: Beat) -> None:
    """Changes the files in the folder, as an engineer would by hand."""
    from showvc.history.archive import Archive
    from showvc.history.restoring import write_show
    from showvc.history.shows import Shows

    assert beat.edit is not None, "only beats with an edit come here"
    archive = Archive.open(folder)
    write_show(archive, Shows(archive), beat.edit)


def _run(session: Session, folder: Path, who: str, words: Sequence[str]) -> tuple[int, Any]:
    """One command, as if it were typed in the folder by this person: its exit code, and its answer as JSON."""
    known = os.environ.get("SHOWVC_WHO")
    os.environ["SHOWVC_WHO"] = who
    arguments = [*words, "--show", str(folder), *(["--json"] if session.as_json else [])]
    heard = io.StringIO()
    try:
        with redirect_stdout(heard) if session.as_json else nullcontext():
            code = int(app(arguments, prog_name="showvc", standalone_mode=False) or 0)
        return code, json.loads(heard.getvalue()) if session.as_json else None
    finally:
        if known is None:
            del os.environ["SHOWVC_WHO"]
        else:
            os.environ["SHOWVC_WHO"] = known
