"""What `paths` tells."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showvc.cli.app import NEEDS_A_PERSON, Session
from showvc.cli.screen import fitted, prose, wrapped
from showvc.document.lining import counted
from showvc.paths import (
    CSV_HEAD,
    HAND_WORDS,
    SMALL,
    Hands,
    check_user,
    csv_rows,
    explain,
    explanation_text,
    hands_of,
    matrix_text,
    reach_of,
    reach_text,
    talk_paths,
)

if TYPE_CHECKING:
    from showvc.document import Show


_EACH_USER = "One user: showvc paths X. All, a row for each path: showvc paths --csv FILE. The whole matrix: --json"


def tell_matrix(session: Session, show: Show) -> int:
    """The table of a small show, the summary of a large one."""
    hands = hands_of(show, talk_paths(show))
    session.data({"users": {name: list(hands.matrix.heard_by(name)) for name in hands.matrix.users}})
    session.say(matrix_text(show, hands, prose()))
    if len(show.users) > SMALL:
        for line in wrapped(f"User by user, {len(show.users)} are too many for a screen. {_EACH_USER}"):
            session.say(line)
    return 0


def tell_user(session: Session, show: Show, user: str) -> int:
    """Who hears a user, and whom he hears."""
    check_user(show, user)
    matrix = talk_paths(show)
    session.data({"heard_by": list(matrix.heard_by(user)), "hears": list(matrix.hears(user))})
    session.say(reach_text(show, reach_of(show, user, hands_of(show, matrix)), prose()))
    return 0


def tell_pair(session: Session, show: Show, talker: str, listener: str) -> int:
    """The shortest way hop by hop, or the smallest edits that would make one."""
    found = explain(show, talker, listener)
    way = [{name: value for name, value in asdict(hop).items() if value not in (None, ())} for hop in found.way]
    proposals = [
        [{"path": edit.pointer, "value": edit.value, "missing": edit.missing} for edit in proposal]
        for proposal in found.proposals
    ]
    session.data({"holds": found.hand is not None, "hand": found.hand, "way": way, "proposals": proposals})
    for line in explanation_text(show, found).splitlines():
        for part in [line] if line.lstrip().startswith("showvc ") else wrapped(line):  # a command is copied whole
            session.say(part)
    return 0 if found.hand is not None else NEEDS_A_PERSON


def tell_history(session: Session, talker: str, listener: str) -> int:
    """When the path came and went, and whose edit it was."""
    from showvc.document.lining import when_words
    from showvc.history.path_history import path_history
    from showvc.report.words import first_line

    turns = path_history(session.archive, session.shows, talker, listener)
    session.data({"history": [turn.plain() for turn in turns]})
    if not turns:
        session.say(f"{listener} never heard {talker}.")
        return 0
    words: dict[Any, str] = {None: "not heard", **HAND_WORDS}
    rows = [
        [words[turn.hand], each.code, when_words(each.when), each.who, first_line(each.note)]
        for turn in turns
        for each in [turn.snapshot]
    ]
    session.say(f"How {listener} hears {talker}, since when and by whose edit, the newest first:")
    for line in fitted(["HEARD", "CODE", "WHEN", "WHO", "NOTE"], rows):
        session.say(line)
    return 0


def write_csv(session: Session, show: Show, file: Path) -> int:
    """Every path of the show, a row each (RFC 4180)."""
    from showvc.formats.atomic import require_folder, write_atomically

    require_folder(file)
    matrix = talk_paths(show)
    write_atomically(file, _rows(show, hands_of(show, matrix), session.progress("Writing")))
    count = len(matrix.pairs())
    session.data({"file": str(file), "paths": count})
    session.say(f"Written: {file}, {counted(count, 'path')}.")
    return 0


def _rows(show: Show, hands: Hands, progress: Callable[[int, int], None]) -> Iterator[bytes]:
    """The lines of the CSV file, those of one talker at a time: a large show has millions."""
    users = len(hands.matrix.users)
    yield _csv([CSV_HEAD])
    for number, (_, rows) in enumerate(groupby(csv_rows(show, hands), key=lambda row: row[1]), 1):
        yield _csv(rows)
        progress(number, users)


def _csv(rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()
