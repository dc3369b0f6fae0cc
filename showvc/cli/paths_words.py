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
    SMALL,
    WHAT_A_PATH_IS,
    Grade,
    Paths,
    Way,
    between_words,
    check_position,
    csv_rows,
    explain,
    explanation_text,
    matrix_text,
    members_text,
    reach_of,
    reach_text,
    required_between,
    target_members,
)
from showvc.report.effect_words import proposed_caution

if TYPE_CHECKING:
    from showvc.document import Show
    from showvc.history.sources import Source


_EACH_USER = "One position: showvc paths X. All, a row for each path: showvc paths --csv FILE. The whole matrix: --json"


def tell_matrix(session: Session, paths: Paths) -> int:
    """The table of a small show, the summary of a large one."""
    positions = paths.surely.positions
    session.data({"users": {name: list(paths.surely.heard_by(name)) for name in positions}})
    session.say(matrix_text(paths, prose()))
    if len(positions) > SMALL:
        for line in wrapped(f"Position by position, {len(positions)} are too many for a screen. {_EACH_USER}"):
            session.say(line)
    return 0


def tell_one(session: Session, paths: Paths, name: str) -> int:
    """The reach of a position; who is on a group or line, or in an end of several."""
    if name in paths.surely.positions:
        return tell_reach(session, paths, name)
    members = next((each for each in target_members(paths) if each.target == name), None)
    if members is None:
        check_position(paths.show, name)
        return 0
    session.data({key: value if key == "target" else list(value) for key, value in asdict(members).items()})
    for line in members_text(paths, members, prose()).splitlines():
        for part in wrapped(line):
            session.say(part)
    return 0


def tell_two(session: Session, paths: Paths, talker: str, listener: str, source: Source) -> int:
    """Why a pair; where one is a group, a line, a department or everyone, each pair of the two."""
    if {talker, listener} <= set(paths.surely.positions):
        return tell_pair(session, paths, talker, listener, _before(session, paths, (talker, listener), source))
    state = required_between(paths, talker, listener)
    pairs = {"missing": state.missing, "menu_only": state.in_menu, "unsure": state.unsure}
    answer: dict[str, Any] = {name: [list(pair) for pair in found] for name, found in pairs.items()}
    session.data({"state": state.state, **answer, "off_headset": list(state.off_headset)})
    for text in (between_words(paths.show, state), WHAT_A_PATH_IS if state.state != "lost" else ""):
        for line in wrapped(text) if text else ():
            session.say(line)
    return NEEDS_A_PERSON if state.state in ("lost", "in doubt") else 0


def _before(session: Session, paths: Paths, pair: tuple[str, str], source: Source) -> Show | None:
    """The show in which a path that is gone was still there; None where the source is of no history."""
    archive = session.archive_or_none
    if archive is None or paths.surely.holds(*pair) or not (source.commit or source.name == "working"):
        return None
    from showvc.release.former import held_before

    return held_before(archive, session.shows, paths, pair, source.commit)


def tell_reach(session: Session, paths: Paths, position: str) -> int:
    """Who hears a position, and whom it hears."""
    found = reach_of(paths, position)
    read = paths.surely
    session.data({"heard_by": list(read.heard_by(position)), "hears": list(read.hears(position))})
    for line in reach_text(paths.show, found, prose()).splitlines():
        for part in wrapped(line):
            session.say(part)
    return 0


def tell_pair(session: Session, paths: Paths, talker: str, listener: str, before: Show | None = None) -> int:
    """Every way hop by hop, or the smallest edits that would make one."""
    found = explain(paths, talker, listener, before)
    proposals = [
        [{"path": e.pointer, "value": e.value, "command": e.command} for e in each] for each in found.proposals
    ]
    answer = {"holds": found.holds, "ways": list(map(_way, found.ways)), "lines": list(map(_way, found.line_ways))}
    session.data({**answer, "possibly": list(map(_way, found.possibly)), "proposals": proposals})
    for line in explanation_text(paths.show, found).splitlines():
        for part in [line] if line.lstrip().startswith("showvc ") else wrapped(line):  # a command is copied whole
            session.say(part)
    if caution := proposed_caution(paths.show, found.proposals):
        for line in wrapped(caution):
            session.say(line)
    return 0 if found.holds else NEEDS_A_PERSON


def _way(way: Way) -> dict[str, Any]:
    hops = [{name: value for name, value in asdict(hop).items() if value not in (None, ())} for hop in way.hops]
    doubts = [{"what": doubt.what, "id": doubt.id} for doubt in way.doubts]
    return {"over": way.target, "hand": way.hand, "sure": way.sure, "hops": hops, "doubts": doubts}


def tell_history(session: Session, talker: str, listener: str) -> int:
    """When the path came and went, and whose edit it was."""
    from showvc.document.lining import when_words
    from showvc.history.path_history import path_history
    from showvc.report.words import first_line

    turns = path_history(session.archive, session.shows, talker, listener)
    session.data({"history": [row for turn in turns for row in turn.plain()]})
    if not turns:
        session.say(f"{listener} never heard {talker}.")
        return 0
    rows = [
        [
            _grade_words(turn.grade),
            each.code,
            when_words(each.when),
            each.who,
            "" if each == turn.snapshot else turn.snapshot.code,
            first_line(each.note),
        ]
        for turn in turns
        for each in turn.edits
    ]
    session.say(f"How {listener} hears {talker}, since when and by whose edit, the newest first:")
    head = ["HEARD", "CODE", "WHEN", "WHO", "MERGED", "NOTE"]
    if not any(row[4] for row in rows):  # nothing came by a merge
        head, rows = [*head[:4], *head[5:]], [[*row[:4], *row[5:]] for row in rows]
    for line in fitted(head, rows):
        session.say(line)
    return 0


def _grade_words(grade: Grade | None) -> str:
    if grade is None:
        return "can't hear"
    how = "menu only" if grade.menu else "key, other page" if grade.paged else "key or open"
    return f"{how}, unsure" if grade.unsure else how


def write_csv(session: Session, paths: Paths, file: Path) -> int:
    """Every path of the show over every target, a row each (RFC 4180)."""
    from showvc.formats.atomic import require_folder, write_atomically

    require_folder(file)
    write_atomically(file, _rows(paths, session.progress("Writing")))
    pairs = len(paths.surely.pairs())
    session.data({"file": str(file), "pairs": pairs})
    session.say(f"Written: {file}, {counted(pairs, 'pair')}, a row for each target over which one holds.")
    return 0


def _rows(paths: Paths, progress: Callable[[int, int], None]) -> Iterator[bytes]:
    """The lines of the CSV file, those of one talker at a time: a large show has millions."""
    positions = len(paths.surely.positions)
    yield _csv([CSV_HEAD])
    for number, (_, rows) in enumerate(groupby(csv_rows(paths), key=lambda row: row[1]), 1):
        yield _csv(rows)
        progress(number, positions)


def _csv(rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()
