"""Releasing, and what the devices hold: release, fleet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command

if TYPE_CHECKING:
    from showvc.changes import Effect
    from showvc.document import Show
    from showvc.release.fleet import Fleet, Released
    from showvc.release.fleet_words import Calls
    from showvc.release.gate import Gate
    from showvc.release.readings import Reading
    from showvc.release.store import Packed


_WHOLE = 100_000
"""A width at which no line is broken."""


@command("release")
def release(
    session: Session,
    source: Annotated[
        str | None, typer.Argument(metavar="[SOURCE]", help="The snapshot to release. Default: last.")
    ] = None,
    over: Annotated[
        str | None,
        typer.Option("--over", metavar="REASON", help="Release though a required path is lost; printed on all."),
    ] = None,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="DIR", help="Where to put the release file. Default: here.")
    ] = None,
    listed: Annotated[bool, typer.Option("--list", help="List the releases of this show, the newest first.")] = False,
    file: Annotated[
        Path | None,
        typer.Option("--verify", metavar="FILE", help="Is this release file what its stamp says?"),
    ] = None,
    stamp: Annotated[
        str | None, typer.Option("--stamp", metavar="STAMP", help="With --verify: the stamp that it should have.")
    ] = None,
) -> int:
    """Pack a recorded snapshot for loading. It gets a stamp that can be read over a headset.

    Refused while a block or an open conflict is left. Warnings don't stop a release: they are told, and with --over
    they are listed as overridden for its reason. The file holds the show, its hash, the key sheets, and what changed
    since the release before; the same snapshot makes the same file again.
    """
    from showvc.document import ShowError

    packing = {"SOURCE": source, "--over": over, "--into": into}
    if listed:
        _only("--list", {**packing, "--verify": file, "--stamp": stamp})
        return _list(session)
    if file is not None:
        _only("--verify", packing)
        return _verify(session, file, stamp)
    if stamp is not None:
        raise ShowError(
            "--stamp goes with --verify: nothing is released",
            "to look at a file: showvc release --verify FILE --stamp STAMP; to release: showvc release",
        )
    return _release(session, source, over, into or Path())


def _only(what: str, others: Mapping[str, object]) -> None:
    """ShowError where an option that only looks is given with one that packs, or with another look."""
    from showvc.document import ShowError

    given = [name for name, value in others.items() if value is not None]
    if given:
        raise ShowError(f"{what} does not go with {', '.join(given)}: nothing was done", f"give {what} alone")


def _release(session: Session, source: str | None, over: str | None, into: Path) -> int:
    from showvc.formats.atomic import require_folder, write_atomically
    from showvc.release.stamp import stamp_of
    from showvc.release.store import decide, releases
    from showvc.release.store import release as released

    require_folder(into / "the release")
    if session.asks():
        session.ask_who()
    commit = _commit(session, source)
    show = session.shows.at(commit)
    known = {each.stamp for each in releases(session.archive)}
    gate = decide(session.archive, session.shows, show, over)
    if not gate.opens and stamp_of(show) not in known:
        return _refused(session, gate)
    spoiled = []

    def deliver(packed: Packed) -> Callable[[], None]:
        path = into / packed.name
        spoiled.append(_spoiled(path, packed))
        made = not path.exists()
        write_atomically(path, packed.data)

        def taken_away() -> None:
            try:
                path.unlink() if made else None
            except OSError:
                session.aside(f"showvc: {path} is of no release, and can't be removed now (remove it by hand)")

        return taken_away

    packed = released(session.archive, session.shows, commit, over, _effect_words, deliver)
    _told(session, packed, into / packed.name, over)
    if spoiled[0]:
        session.say(f"  The file of this name that was there was not this release, whole: it is kept as {spoiled[0]}")
    return 0


def _spoiled(path: Path, packed: Packed) -> Path | None:
    """Puts aside what stands under the release's name and is not it; gives its new name."""
    from itertools import count

    if not path.is_file() or (path.stat().st_size == len(packed.data) and path.read_bytes() == packed.data):
        return None
    names = (path.with_name(f"{path.name}.not-it-{turn}") for turn in count(1))
    aside = next(name for name in names if not name.exists())
    path.replace(aside)
    return aside


def _commit(session: Session, source: str | None) -> str:
    """The snapshot to release; ShowError where unrecorded edits would be left out unsaid."""
    from showvc.document import ShowError
    from showvc.history.sources import find
    from showvc.history.working import work_tree

    found = find(session.archive, source or "last", session.shows)
    if found.commit is None:
        raise ShowError(f"{found.name} is no recorded snapshot", "record it first: showvc record --note TEXT")
    if source is None and work_tree(session.archive) != found.tree:
        way_out = "record them: showvc record --note TEXT; or release without them: showvc release last"
        raise ShowError("the folder holds edits that are not recorded", way_out)
    return found.commit


def _effect_words(before: Show, after: Show, effect: Effect) -> Sequence[str]:
    from showvc.cli.speech import unstyled
    from showvc.cli.texts import effect_lines

    # The page breaks its lines itself, and is the same whether a terminal or a pipe was there when it was made.
    return [unstyled(line) for line in effect_lines(before, after, effect, _WHOLE)]


def _refused(session: Session, gate: Gate) -> int:
    from showvc.cli.texts import verdict_lines

    blocks = [found.plain() for found in gate.blocks]
    verdict = gate.verdict.plain()
    session.data({"released": False, "findings": blocks, "verdict": verdict})
    for line in verdict_lines(gate.verdict):
        session.say(line)
    session.say("Not released:")
    _say_wrapped(session, (f"  {problem}" for problem in gate.refusals))
    return NEEDS_A_PERSON


def _told(session: Session, packed: Packed, path: Path, over: str | None) -> None:
    from showvc.changes.caution import CAUTION
    from showvc.cli.texts import verdict_lines
    from showvc.release.fleet_words import short
    from showvc.release.stamp import spoken

    made, gate = packed.released, packed.gate
    critical = bool(session.shows.at(made.code).critical_groups)
    session.data(
        {
            "released": True,
            "again": packed.again,
            "stamp": made.stamp,
            "spoken": spoken(made.stamp),
            "snapshot": short(made.code),
            "previous": made.previous,
            "file": str(path),
            "over": made.over,
            "let_through": [found.message for found in gate.overridden],
            "warnings": [found.message for found in gate.standing],
            "caution": CAUTION if critical else None,
            "verdict": gate.verdict.plain(),
        }
    )
    for line in verdict_lines(gate.verdict):
        session.say(line)
    session.say(session.bold(f"{'Released before as' if packed.again else 'Released'} {made.stamp}"))
    session.say(f"  read aloud: {spoken(made.stamp)}")
    session.say(f"  snapshot {short(made.code)} · {path}")
    if made.over:
        session.say(f"  OVERRIDDEN: {made.over}")
    if over is not None and not made.over:
        why = "it was released before, without a reason" if packed.again else "there was nothing to let through"
        session.say(f"  The reason is kept nowhere: {why}.")
    elif over is not None and packed.again and over.strip() != made.over:
        session.say("  It was released before: the reason given then stands.")
    _say_wrapped(session, (f"    let through: {found.message}" for found in gate.overridden))
    _say_wrapped(session, (f"  warning: {found.message}" for found in gate.standing))
    if critical:
        _say_caution(session)


def _say_caution(session: Session) -> None:
    from showvc.changes.caution import CAUTION

    _say_wrapped(session, [CAUTION])


def _say_wrapped(session: Session, lines: Iterable[str]) -> None:
    from showvc.cli.screen import wrapped

    for line in lines:
        for part in wrapped(line):
            session.say(part)


def _list(session: Session) -> int:
    from showvc.release.fleet_words import released_plain, released_table
    from showvc.release.stamp import chance_shared
    from showvc.release.store import releases

    known = list(reversed(releases(session.archive)))
    chance = chance_shared(len(known))
    session.data({"releases": [released_plain(each) for each in known], "chance_shared": chance})
    for line in released_table(known) or ["Nothing was released yet."]:
        session.say(line)
    if chance:
        session.say(f"That two of so many share a stamp by chance: 1 in {round(1 / chance):,}. It would be refused.")
    return 0


def _verify(session: Session, file: Path, stamp: str | None) -> int:
    from showvc.release.pack import MOST_BYTES
    from showvc.release.store import verify_known

    archive = session.archive_or_none
    shows = session.shows if archive is not None else None
    found = verify_known(archive, shows, _plain_bytes(file, MOST_BYTES), str(file), stamp)
    verdict, known = found.verdict, found.release
    session.data(
        {
            "holds": verdict.holds,
            "stamp": verdict.stamp,
            "problems": [str(problem) for problem in verdict.problems],
            "doubts": [str(doubt) for doubt in verdict.doubts],
            "facts": verdict.facts,
            "snapshot": known.code[:7] if known else None,
        }
    )
    for problem in (*verdict.problems, *verdict.doubts):
        session.say(str(problem))
    if verdict.holds:
        session.say(f"{file} is release {verdict.stamp}, whole and unchanged.")
        session.say(_whose(archive is not None, known))
    if verdict.facts and verdict.facts["caution"]:
        _say_caution(session)
    return 0 if verdict.holds else NEEDS_A_PERSON


def _plain_bytes(path: Path, limit: int) -> bytes:
    """The bytes of a file. ShowError for what is none: a pipe would be waited for without end."""
    from showvc.document import Problem, ShowError
    from showvc.formats.sources import file_bytes

    if path.exists() and not path.is_file():
        raise ShowError([Problem("is not a plain file", str(path), way_out="name the file itself")])
    return file_bytes(path, limit)


def _whose(with_history: bool, known: Released | None) -> str:
    from showvc.release.fleet_words import released_line

    if not with_history:
        return "There is no show at hand to say which snapshot it is."
    return released_line(known) if known else "This show has no release of this stamp."


@command("fleet")
def fleet(
    session: Session,
    tables: Annotated[
        list[Path],
        typer.Argument(metavar="TABLE…", help="A table of device and stamp, a folder of full dumps, or one dump."),
    ],
    mapping: Annotated[
        Path | None,
        typer.Option("--mapping", metavar="FILE", help="The dumps are tables of another system: how to read them."),
    ] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print a table for a spreadsheet.")] = False,
    merge: Annotated[
        bool, typer.Option("--merge", help="Take the edits that devices carry into this draft, part by part.")
    ] = False,
    remembered: Annotated[
        bool, typer.Option("--remembered", help="With --merge: settle conflicts as they were settled before.")
    ] = False,
    yes: Annotated[
        bool,
        typer.Option("--yes", help="With --merge: record what only two sides together lose."),
    ] = False,
) -> int:
    """Show what each device has loaded. Which release, how far behind, and edits that nobody recorded.

    A table has one line for each device: its id, name, place or hardware address, and the stamp read off it. A dump is
    a single document named after its device, such as desk-01.show.json; with --mapping, or with a mapping beside it
    (desk-01.xml.mapping.yaml), any table or export that showvc import reads.
    """
    from showvc.document import ShowError
    from showvc.release.store import fleet_of

    if remembered and not merge:
        raise ShowError("--remembered goes with --merge: nothing was done", "showvc fleet TABLE… --merge --remembered")
    if as_csv:
        _only("--csv", {"--merge": merge or None, "--json": session.as_json or None})
    current = _known_show(session)
    readings = [reading for path in tables for reading in _readings(path, mapping, current)]
    result = fleet_of(session.archive, session.shows, readings)
    if merge:
        return _merge(session, result, remembered, yes)
    if as_csv:
        _say_csv(session, result)
    else:
        _say_fleet(session, result, _calls(session, tables, mapping))
    return 0 if result.agrees else NEEDS_A_PERSON


def _say_csv(session: Session, result: Fleet) -> None:
    from showvc.changes.caution import CAUTION
    from showvc.cli.speech import print_table
    from showvc.release.fleet_words import fleet_csv

    print_table(fleet_csv(result))
    if result.critical:
        session.aside(CAUTION)


def _say_fleet(session: Session, result: Fleet, calls: Calls) -> None:
    from showvc.cli.screen import prose
    from showvc.release.fleet_words import fleet_plain, fleet_text

    plain: dict[str, Any] = fleet_plain(result) if session.as_json else {}
    session.data(plain)
    session.say(fleet_text(result, calls, prose()).rstrip("\n"))


def _calls(session: Session, tables: Sequence[Path], mapping: Path | None) -> Calls:
    import shlex

    from showvc.release.fleet_words import Calls

    show = f" --show {shlex.quote(str(session.given))}" if session.given is not None else ""
    how = f" --mapping {shlex.quote(str(mapping))}" if mapping is not None else ""
    return Calls(f"showvc fleet {shlex.join(map(str, tables))}{how}{show}", show, mapping is None)


def _merge(session: Session, result: Fleet, remembered: bool, yes: bool) -> int:
    """Takes the edits that devices carry into this draft."""
    from showvc.changes.caution import CAUTION
    from showvc.cli.settling import outcome_lines
    from showvc.release.fleet_words import together_plain
    from showvc.release.together import bring_together

    if session.asks():
        session.ask_who()
    done = bring_together(session.archive, session.shows, result, remembered, yes)
    session.data({**together_plain(done), "caution": CAUTION if result.critical else None})
    if not done.taken:
        session.say("No device carries edits that nobody recorded; nothing changes.")
    for each in done.taken:
        session.say(session.bold(f"Part {each.part.letter}:"))
        for line in outcome_lines(each.outcome):
            session.say(f"  {line}" if line else "")
        session.say()
    if done.waiting:
        letters = ", ".join(part.letter for part in done.waiting)
        if done.taken[-1].outcome.held:
            session.say(f"Waiting behind this merge: part {letters}.")
        else:
            session.say(f"Waiting behind these conflicts: part {letters}. Settle them, then give this command again.")
    elif done.taken and done.clean:
        session.say("All that the devices carried is recorded. Next: showvc check, then showvc release")
    if result.critical:
        _say_caution(session)
    return 0 if done.clean else NEEDS_A_PERSON


def _known_show(session: Session) -> Show | None:
    """The show in which the rows of another's tables are looked for: the last that was recorded here."""
    last = session.archive.last
    return session.shows.at(last) if last else None


def _readings(path: Path, mapping: Path | None, current: Show | None) -> Sequence[Reading]:
    from showvc.document import Problem, ShowError
    from showvc.formats.nodes import MAX_DOCUMENT_BYTES
    from showvc.release.readings import is_dump, mapped_reader, read_dump, read_dumps, read_table, read_workbook

    reader, mapped = mapped_reader(current, mapping), mapping is not None
    if path.is_dir():
        return read_dumps(path, reader, mapped)
    if is_dump(path, mapped):
        return (read_dump(path, reader),)
    if path.suffix.lower() == ".xml" and path.exists():
        way_out = "if it is a device's dump, say with --mapping FILE how it is read"
        raise ShowError([Problem("is no table of stamps", str(path), way_out=way_out)])
    if path.suffix.lower() == ".zip" and path.exists():
        way_out = f"to look at it: showvc release --verify {path}"
        raise ShowError([Problem("is a release file, and not what a device holds", str(path), way_out=way_out)])
    data = _plain_bytes(path, MAX_DOCUMENT_BYTES)
    return read_workbook(data, str(path)) if path.suffix.lower() == ".xlsx" else read_table(data, str(path))
