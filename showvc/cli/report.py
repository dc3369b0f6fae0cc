"""Paper: report, keysheets."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from showvc.cli.app import Session, command

if TYPE_CHECKING:
    from showvc.history.sources import Source

Replace = Annotated[bool, typer.Option("--replace", help="Write over a file that is there.")]


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
    """Draw every device with its keys in place: what to reprint, and what to hold against the unit.

    Examples: showvc keysheets; showvc keysheets --device desk-01; showvc keysheets velmoor --since tarnhollow
    --html strips.html
    """
    from showvc.changes.strips import strips
    from showvc.cli.sources import one_source
    from showvc.release.keysheets import key_sheets
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
        session.say(f"Written: {html}, {len(named)} device{'' if len(named) == 1 else 's'}.")
        return
    session.say(key_sheets(found.show, heading=heading, devices=named).rstrip("\n") if named else nothing)


def _of(session: Session, source: Source) -> str:
    from showvc.report.sides import side_of

    return side_of(session.archive_or_none, source).words


def _write(session: Session, file: Path, text: str, replace: bool) -> None:
    from showvc.document import ShowError
    from showvc.formats.atomic import write_atomically

    if file.is_dir():
        raise ShowError(f"{file} is a folder", "name a file in it")
    if file.exists() and not replace:
        raise ShowError(f"{file} is there already", "write over it with --replace, or give another name")
    write_atomically(file, text)
