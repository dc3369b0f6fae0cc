"""Tables in and out: import and export."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command

if TYPE_CHECKING:
    from showvc.document import Show
    from showvc.formats.tables.plan import ImportPlan
    from showvc.identity.matching import Answers, Doubt

MappingOption = Annotated[
    Path | None,
    typer.Option(
        "--mapping", metavar="FILE", help="How another's file is laid out. Default: FILE.mapping.yaml beside it."
    ),
]


@command("import", signs=True)
def import_file(
    session: Session,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="A workbook, text tables, a single document, or another's .csv, .json, .xml."
        ),
    ],
    mapping: MappingOption = None,
    guess: Annotated[
        bool, typer.Option("--guess", help="Propose a mapping, show ten rows read by it, and write it for editing.")
    ] = False,
    accept: Annotated[
        Path | None, typer.Option("--accept", metavar="FILE", help="Answers: which row is which thing.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", "-n", metavar="TEXT", help="The snapshot's note.")] = None,
    yes: Annotated[bool, typer.Option("--yes", help="Take what is shown without asking.")] = False,
) -> int:
    """Take over what a file says, as one snapshot. What would change is shown first.

    Examples: showvc import show.xlsx; showvc import venue.show.yaml; showvc import plot.csv --guess;
    showvc import plot.csv --accept answers.yaml

    Another's plot needs a mapping, which says what its columns are. --guess writes one, with every line of it
    explained; fixtures/plots/example.csv.mapping.yaml among showvc's sources is one to learn from.
    """
    from showvc.formats.tables.answers import read_answers
    from showvc.formats.tables.places import load
    from showvc.history.importing import recorded_show, take_over

    if guess:
        return _guess(session, file, mapping)
    answers = read_answers(load(accept), str(accept)) if accept is not None else {}  # type: ignore[arg-type]
    current = recorded_show(session.archive, session.shows)
    plan = _planned(session, current, file, mapping, answers)
    if plan.doubts and session.asks():
        plan = _planned(session, current, file, mapping, _asked(session, plan.doubts, answers))
    if plan.show is None:
        return _doubtful(session, file, plan)
    earlier = _earlier(session, file, plan)
    if not _show_plan(session, current, plan, earlier):
        return NEEDS_A_PERSON if plan.unread else 0
    _warn_of_gone(session, current, plan.show, file, mapping)
    for line in earlier:
        session.say(session.bold(line))
    if not yes and not (session.asks() and typer.confirm("Take this over?")):
        session.say("Nothing was changed. Take it over with: --yes")
        return NEEDS_A_PERSON
    made = take_over(session.archive, session.shows, current, plan.show, file.name, note, session.waiting)
    session.say(f"Recorded {made.code}. Step back with: showvc undo" if made else "Nothing differs.")
    return NEEDS_A_PERSON if plan.unread else 0


def _planned(session: Session, current: Show, file: Path, mapping: Path | None, answers: Answers) -> ImportPlan:
    from showvc.formats.sources import is_table, read_stamped
    from showvc.formats.tables.places import load, mapping_of
    from showvc.formats.tables.plan import ImportPlan, plan_import

    if mapping is None and not is_table(file):  # a whole show: every thing has its id, nothing is matched
        show, stamp = read_stamped(file, session.progress("Reading"))
        return ImportPlan(show, stamp=stamp)
    found = mapping_of(file, mapping)
    return plan_import(current, load(file), str(file), found, answers, session.progress("Reading row"))


def _guess(session: Session, file: Path, mapping: Path | None) -> int:
    from showvc.document import ShowError
    from showvc.document.lining import lined_up
    from showvc.formats.atomic import require_folder, write_atomically
    from showvc.formats.tables.explained import explained
    from showvc.formats.tables.guess import guess
    from showvc.formats.tables.mapping import mapping_text
    from showvc.formats.tables.places import load, mapping_place
    from showvc.formats.tables.plan import open_source
    from showvc.formats.tables.plots import preview

    place = mapping or mapping_place(file)
    if place.exists():
        raise ShowError(f"{place} is there already", "edit it, or name another file with --mapping")
    source = open_source(load(file), str(file))
    found = guess(source)
    text = explained() + mapping_text(found)
    require_folder(place)
    write_atomically(place, text)
    session.data({"mapping": text, "written": str(place)})
    for shown in preview(source, found):
        session.say(session.bold(shown.table))
        for line in lined_up([list(shown.heads), *(list(row) for row in shown.rows)]):
            session.say(f"  {line}")
    session.say("In brackets: what the show has no place for. It is kept, and comes back on export.")
    session.say("What the show has and this file does not list stays (missing: keep).")
    session.say(f"Written: {place}. Edit it, then: showvc import {file}")
    return 0


def _asked(session: Session, doubts: tuple[Doubt, ...], answers: Answers) -> dict[str, dict[str, str]]:
    """The answers of the person at the terminal, beside those that were given."""
    told = {section: dict(said) for section, said in answers.items()}
    for doubt in doubts:
        session.say(f"{doubt.row!r} ({doubt.section}): {doubt.why}")
        for number, (name, score) in enumerate(doubt.candidates, 1):
            session.say(f"  {number}  {name}  (alike {score:.2f})")
        session.say(f"  {len(doubt.candidates) + 1}  none of these: it is new")
        told.setdefault(doubt.section, {})[doubt.row] = _choice([*(name for name, _ in doubt.candidates), "new"])
    return told


def _choice(names: list[str]) -> str:
    """The one that the person at the terminal names by its number. Ctrl-C takes nothing over, as everywhere."""
    while True:
        said = typer.prompt(f"Which, 1 to {len(names)}", default="", show_default=False).strip()
        if said.isdecimal() and 1 <= int(said) <= len(names):
            return names[int(said) - 1]


def _doubtful(session: Session, file: Path, plan: ImportPlan) -> int:
    from showvc.formats.tables.answers import answers_text

    asked = [
        {"section": doubt.section, "row": doubt.row, "candidates": [[name, score] for name, score in doubt.candidates]}
        for doubt in plan.doubts
    ]
    session.data({"doubts": asked, "changes": None})
    session.say("These rows may be things of the show, or new ones. Nothing was changed.")
    session.say(answers_text(plan.doubts).rstrip("\n"))
    session.say(f"Put these lines into a file, correct them, then: showvc import {file} --accept FILE")
    return NEEDS_A_PERSON


def _earlier(session: Session, file: Path, plan: ImportPlan) -> list[str]:
    """What an import would take back: a file that went round by mail is of a snapshot that others have edited since."""
    from showvc.document.lining import counted
    from showvc.formats.tables.places import code_in
    from showvc.history.importing import recorded_since

    found = recorded_since(session.archive, code_in(plan))
    if found is None:
        return []
    since = f"{counted(found[1], 'snapshot')} recorded here since would be taken back"
    return [f"This file is of snapshot {found[0][:7]}: {since}. To keep both: showvc merge {file}"]


def _show_plan(session: Session, current: Show, plan: ImportPlan, earlier: list[str]) -> bool:
    """Prints what would change and what could not be read. Whether anything changes."""
    from showvc.changes import compare
    from showvc.cli.texts import change_lines, effect_lines, verdict_lines
    from showvc.document.lining import lined_up
    from showvc.rules import judge

    assert plan.show is not None, "a plan without doubts has a show"
    found = compare(current, plan.show)
    unread = [
        {"sheet": cell.sheet, "cell": cell.cell, "value": cell.value, "allowed": cell.allowed} for cell in plan.unread
    ]
    matches = [
        {"section": section, "row": row, "id": name, "score": score} for section, row, name, score in plan.matches
    ]
    judged = judge(plan.show)
    if session.as_json:
        notes = [*plan.notes, *earlier]
        session.data(
            {
                **found.plain(),
                "verdict": judged.plain(),
                "unread": unread,
                "matches": matches,
                "notes": notes,
                "stamp": plan.stamp,
            }
        )
    for line in verdict_lines(judged):
        session.say(line)
    near = [[row, name, f"alike {score:.2f}"] for _, row, name, score in plan.matches if score < 1]
    _part(session, "Taken to be", lined_up([["ROW", "ID", ""], *near]) if near else [])
    _part(session, "Look at this", list(plan.notes))
    cells = [[cell.sheet, cell.cell, cell.value[:40], cell.allowed] for cell in plan.unread]
    what = "Could not be read; what was there stays"
    _part(session, what, lined_up([["SHEET", "CELL", "VALUE", "ALLOWED"], *cells]) if cells else [])
    if not found:
        session.say("Nothing changes: the show says this already.")
        return False
    if found.effect is not None:
        _part(session, "Effect", effect_lines(current, plan.show, found.effect))
    for line in change_lines(found):
        session.say(line)
    return True


def _warn_of_gone(session: Session, current: Show, then: Show, file: Path, mapping: Path | None) -> None:
    """Last before the question: what the file does not hold. A list of three may be meant as an addition."""
    from showvc.formats.tables.places import mapping_place
    from showvc.formats.tables.plan import gone

    counted = gone(current, then)
    if not counted:
        return
    session.say(session.bold(f"Not in this file, and would be taken out: {', '.join(counted)}."))
    layout = mapping or mapping_place(file)
    if layout.is_file():
        session.say(f"To leave them as they are, write into {layout}: missing: keep")


def _part(session: Session, title: str, lines: list[str]) -> None:
    if lines:
        session.say(session.bold(f"{title}:"))
        for line in lines:
            session.say(f"  {line}")


@command("export")
def export_file(
    session: Session,
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="NAME.xlsx, NAME.show.yaml or .show.json; a name without an ending: text tables."
        ),
    ],
    source: Annotated[str, typer.Argument(metavar="[SOURCE]", help="What to write. Default: working.")] = "working",
    mapping: MappingOption = None,
    replace: Annotated[bool, typer.Option("--replace", help="Write over a file that is there.")] = False,
) -> int:
    """Write the show as a workbook, text tables or one document. With a mapping, as another's file.

    Examples: showvc export show.xlsx; showvc export tables last-3; showvc export plot.json --mapping plot.mapping.yaml
    """
    from datetime import datetime

    from showvc.cli.sources import one_source
    from showvc.formats.atomic import require_folder, require_new, write_atomically
    from showvc.formats.single import SUFFIXES, single_text
    from showvc.formats.tables.leaving_out import left_out
    from showvc.formats.tables.places import mapping_of, write_tables

    found = one_source(session, source)
    stamp = _stamp(session, found.commit, found.tree)
    layout = mapping_of(file, mapping)
    if layout is None and file.suffix.lower() in SUFFIXES:
        head = f"# snapshot {stamp}\n" if stamp and file.suffix.lower() != ".json" else ""
        files = {file: (head + single_text(found.show, file.suffix)).encode()}
    else:
        when = datetime.now().astimezone().isoformat(timespec="seconds")
        files = write_tables(found.show, file, layout, stamp, when)
    for place in files:
        require_new(place, replace)
    require_folder(file)
    for place, data in files.items():
        write_atomically(place, data)
    lost = left_out(found.show, layout) if layout is not None else []
    session.data({"written": [str(place) for place in files], "stamp": stamp, "left_out": lost})
    session.say(f"Written: {file}" + (f", of snapshot {stamp[:7]}." if stamp else ", of edits that are not recorded."))
    _part(session, "Left out, for the mapping has no place for it", lost)
    return 0


def _stamp(session: Session, commit: str | None, tree: str | None) -> str | None:
    """The snapshot that the tables are of: a merge of them begins there."""
    archive = session.archive_or_none
    last = archive.last if archive is not None else None
    if commit is None and archive is not None and last is not None and archive.tree_of(last) == tree:
        return last
    return commit
