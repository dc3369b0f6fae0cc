"""Key sheets as a page to print, with label strips to cut out, and as plain data."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from showvc.changes.caution import CAUTION
from showvc.document import Show, ShowError, near
from showvc.release.keysheets import ACROSS, LEGEND, Cap, Page, Sheet, sheet_of
from showvc.report.pages import page

PAGE_LEGEND = LEGEND.replace("! critical group", "critical, or ! at a port: a critical group")
RULER = 50
"""Millimetres of the bar by which one sees that a printer has not scaled the page."""
PRINTABLE = 180
"""Millimetres across that both an A4 and a letter page hold between our margins."""
_SIZE = re.compile(r"(\d{1,3}(?:\.\d{1,2})?)\s*x\s*(\d{1,3}(?:\.\d{1,2})?)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class StripSize:
    """The label of one key in millimetres: its width is the distance from one key to the next."""

    width: float = 22
    height: float = 9

    @staticmethod
    def parse(text: str) -> StripSize:
        """A size as it is typed, `22x9`. ShowError for what is none, or is no label's."""
        found = _SIZE.fullmatch(text.strip())
        size = StripSize(float(found[1]), float(found[2])) if found else None
        if size is None or not (6 <= size.width <= PRINTABLE and 3 <= size.height <= 60):
            raise ShowError(
                f"{text!r} is no size of a label strip",
                f"give the millimetres of one key's label, such as 22x9: 6 to {PRINTABLE} wide, 3 to 60 high",
            )
        return size

    @property
    def across(self) -> int:
        """How many keys of a row fit on the paper."""
        return max(1, min(ACROSS, int(PRINTABLE // self.width)))


@dataclass(frozen=True, slots=True)
class StripPage:
    """The label strips of one page of keys, in rows that fit on the paper."""

    letter: str
    rows: tuple[tuple[Cap, ...], ...]


def devices_named(show: Show, names: Sequence[str]) -> tuple[str, ...]:
    """The devices of these ids, each once. ShowError for one that is not there."""
    for name in names:
        if name not in show.devices:
            raise ShowError(
                f"there is no device {name}", near(name, show.devices) or "list them with: showvc keysheets"
            )
    return tuple(dict.fromkeys(names))


def key_sheet_page(
    show: Show, devices: Iterable[str], heading: Sequence[str] = (), size: StripSize | None = None, nothing: str = ""
) -> str:
    """The key sheets of these devices as one HTML page that stands alone and prints on A4 and letter paper.

    `heading` stands under the title, `nothing` where there are no devices.
    """
    size = size or StripSize()
    sheets = [sheet_of(show, name) for name in devices]
    strips = {sheet.device: _strips(sheet.pages, size) for sheet in sheets if any(sheet.pages)}
    values = {
        "title": show.title or "(show without a title)",
        "heading": heading,
        "caution": CAUTION if show.critical_groups else "",
        "legend": PAGE_LEGEND,
        "sheets": sheets,
        "strips": strips,
        "ruler": RULER,
        "nothing": nothing or "No device to draw.",
    }
    return page("keysheets.html.j2", values, _strip_style(size))


def _strips(pages: Iterable[Page], size: StripSize) -> tuple[StripPage, ...]:
    """Rows for the pages on which any key is set, without rows where none is."""
    found = []
    for each in pages:
        rows = [each.caps[start : start + size.across] for start in range(0, len(each.caps), size.across)]
        told = tuple(row for row in rows if any(cap.label for cap in row))
        if told:
            found.append(StripPage(each.letter, told))
    return tuple(found)


def _strip_style(size: StripSize) -> str:
    """Measures as styles: a page's policy takes no style beside those in its head."""
    return f".ruler {{ width: {RULER}mm; }}\n.cell {{ width: {size.width:g}mm; height: {size.height:g}mm; }}\n"


# --- plain data ---


def sheet_plain(show: Show, sheet: Sheet) -> dict[str, Any]:
    """A sheet as the JSON of `keysheets` has it."""
    body = show.devices[sheet.device]
    facts: Mapping[str, Any] = {"name": body.name or None, "kind": body.kind, "user": body.user, "place": body.place}
    return {
        "id": sheet.device,
        **facts,
        "hardware": body.hardware,
        "pages": [_page_plain(each) for each in sheet.pages],
        "ports": [{"port": number, "carries": text} for number, text in sheet.ports],
        "not_under_a_key": list(sheet.beside),
    }


def _page_plain(each: Page) -> dict[str, Any]:
    return {"page": each.letter, "on_this_kind": each.known, "keys": [cap_plain(cap) for cap in each.caps]}


def cap_plain(cap: Cap) -> dict[str, Any]:
    """A key as JSON has it; what is not set is null."""
    return {
        "key": cap.key,
        "target": cap.target,
        "label": cap.label if cap.target is not None else None,
        "talk": cap.talk,
        "listen": cap.listen,
        "critical": cap.critical,
    }


def sheets_plain(show: Show, devices: Iterable[str]) -> dict[str, Any]:
    """The key sheets of these devices as JSON has them."""
    return {
        "title": show.title,
        "devices": [sheet_plain(show, sheet_of(show, name)) for name in devices],
        "caution": CAUTION if show.critical_groups else None,
    }
