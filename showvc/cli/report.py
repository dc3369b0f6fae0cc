"""Paper: report, keysheets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import Session, command
from showvc.document.lining import counted

if TYPE_CHECKING:
    from showvc.history.sources import Source

Replace = Annotated[bool, typer.Option("--replace", help="Write over a file that is there.")]


@command("report")
def report(
    session: Session,
    before: Annotated[str, typer.Argument(metavar="A", help="The source to report from, such as a mark.")],
    after: Annotated[str, typer.Argument(metavar="B", help="The source to report to.")],
    into: Annotated[
        Path | None, typer.Option("--into", metavar="FILE", help="Where to write it. Default: report-A-B.html here.")
    ] = None,
    replace: Replace = False,
) -> None:
    """Write what changed between two sources as one page to print.

    First what it does to those on headset, then what changed by department, with who, when and why, every panel that
    changed before and after, and the label strips to reprint. With --json the data is printed, and a page is written
    only where --into names one.

    Examples: showvc report tarnhollow velmoor; showvc report last working --into tonight.html
    """
    from showvc.cli.sources import two_sources
    from showvc.report.report import report as reported
    from showvc.report.report import report_name, report_page

    old, new = two_sources(session, before, after)
    archive = session.archive_or_none
    found = reported(old, new, archive, session.shows if archive is not None else None)
    if into is not None or not session.as_json:
        file = into or Path(report_name(found))
        _write(session, file, report_page(found), replace)
        edits, panels = len(found.comparison.changes), len(found.panels)
        session.say(f"Written: {file}: {counted(edits, 'edit')}, {counted(panels, 'panel')}.")
        if found.caution:
            session.aside(found.caution)
    if session.as_json:
        session.data({**found.plain(), "written": into and str(into)})


@command("keysheets")
def keysheets(
    session: Session,
    source: Annotated[
        str, typer.Argument(metavar="[SOURCE]", help="Which show to draw. Default: the working folder.")
    ] = "working",
    html: Annotated[
        Path | None,
        typer.Option("--html", metavar="FILE", help="Write one page to print, with label strips to cut out."),
    ] = None,
    device: Annotated[
        list[str] | None, typer.Option("--device", metavar="ID", help="Only this device; may be given several times.")
    ] = None,
    since: Annotated[
        str | None,
        typer.Option("--since", metavar="SOURCE", help="Only devices with another label under a key than there."),
    ] = None,
    strip: Annotated[
        str, typer.Option("--strip", metavar="WxH", help="Millimetres of one key's label on the strips.")
    ] = "22x9",
    replace: Replace = False,
) -> None:
    """Draw every device with its keys in place.

    On the terminal, or as one page to print: a sheet for each device, with label strips to cut out.

    Examples: showvc keysheets; showvc keysheets --device desk-01; showvc keysheets velmoor --since tarnhollow
    --html strips.html
    """
    from showvc.changes.strips import strips
    from showvc.cli.screen import on_terminal, room
    from showvc.cli.sources import one_source
    from showvc.release.keysheets import WIDTH, key_sheets
    from showvc.report.keysheets import StripSize, devices_named, key_sheet_page, sheets_plain

    size, found = StripSize.parse(strip), one_source(session, source)
    named = devices_named(found.show, device) if device else tuple(found.show.devices)
    heading = [_of(session, found)]
    nothing = "This show has no devices."
    if since is not None:
        former = one_source(session, since, found.show)
        changed = strips(former.show, found.show)
        named = tuple(name for name in named if name in changed)
        heading.append(f"New label strips since {_of(session, former)}")
        nothing = f"No label under a key is another than in {since}."
    if html is not None:
        _write(session, html, key_sheet_page(found.show, named, heading, size, nothing), replace)
    session.data({**sheets_plain(found.show, named), "written": html and str(html)})
    if html is not None:
        session.say(f"Written: {html}, {counted(len(named), 'device')}.")
        return
    width = min(WIDTH, room()) if on_terminal() else WIDTH
    session.say(key_sheets(found.show, width, heading, named).rstrip("\n") if named else nothing)


def _of(session: Session, source: Source) -> str:
    from showvc.report.sides import side_of

    return side_of(session.archive_or_none, source).words


def _write(session: Session, file: Path, text: str, replace: bool) -> None:
    from showvc.document import ShowError
    from showvc.formats.atomic import require_folder, require_new, write_atomically

    if file.is_dir():
        raise ShowError(f"{file} is a folder", "name a file in it")
    require_new(file, replace)
    require_folder(file)
    write_atomically(file, text)
