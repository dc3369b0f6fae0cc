"""The report of what changed between two sources: its facts, as plain data, and as one page that stands alone."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from showvc.changes import Comparison, compare
from showvc.document.pointers import join, parse
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.sources import Source
from showvc.release.fleet import Released
from showvc.release.store import releases
from showvc.report.effect_words import Section, caution_line, effect_sections, unheard
from showvc.report.keysheets import PAGE_LEGEND, cap_plain
from showvc.report.origins import Between, Origin, between, origins
from showvc.report.pages import page
from showvc.report.panels import PanelChange, panel_changes
from showvc.report.sides import Side, side_of
from showvc.report.words import Part, Thing, change_parts

LONG = 60
"""Lines of a part, or panels, from which on it is folded up on the screen; on paper everything is there."""


MOST = 1000
"""Edits of a part that the page lists; of two strange shows of the largest size they would be 47 MB and unprintable."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A part as the page lists it: `count` edits, `more` of which are not on the page."""

    title: str
    count: int
    things: tuple[Thing, ...]
    more: int

    @staticmethod
    def of(part: Part) -> Listed:
        count, room, things = sum(len(thing.edits) for thing in part.things), MOST, []
        for thing in part.things:
            if room > 0:
                things.append(replace(thing, edits=thing.edits[:room]))
                room -= len(thing.edits)
        return Listed(part.title, count, tuple(things), max(0, count - MOST))


@dataclass(frozen=True, slots=True)
class Report:
    """Everything that the report says of two sources.

    `origins` gives, by the path of a change, the snapshot that brought it.
    """

    title: str
    before: Side
    after: Side
    comparison: Comparison
    caution: str | None
    effect: tuple[Section, ...]
    parts: tuple[Part, ...]
    panels: tuple[PanelChange, ...]
    origins: Mapping[str, Origin] = field(default_factory=dict)
    between: Between = field(default_factory=Between)
    releases: tuple[Released, ...] = ()

    @property
    def strips(self) -> tuple[PanelChange, ...]:
        """The panels that need new label strips."""
        wanted = set(self.comparison.effect.strips) if self.comparison.effect else set()
        return tuple(panel for panel in self.panels if panel.device in wanted)

    @property
    def listed(self) -> tuple[Listed, ...]:
        """What changed by department, as the page lists it."""
        return tuple(map(Listed.of, self.parts))

    @property
    def otherwise(self) -> str:
        """What is said of a change that no snapshot brought."""
        if not self.after.recorded:
            return "not recorded yet"
        return "in no snapshot between the two" if self.after.code else f"of {self.after.name}, in no snapshot"

    def plain(self) -> dict[str, Any]:
        """The report as its JSON has it: that of `compare`, and what the page says beside."""
        departments = {place: subject.department or None for place, subject in self.comparison.subjects.items()}
        changes = [
            {
                **change.plain(),
                "text": change.text,
                "department": departments.get(join(*parse(change.path)[:2])),
                "origin": _origin_plain(self.origins.get(change.path)),
            }
            for change in self.comparison.changes
        ]
        return {
            "title": self.title,
            "before": self.before.plain(),
            "after": self.after.plain(),
            **self.comparison.plain(),
            "changes": changes,
            "panels": [_panel_plain(panel) for panel in self.panels],
            "snapshots": [snapshot.plain() for snapshot in self.between.after],
            "undone": [snapshot.plain() for snapshot in self.between.before],
            "releases": [_release_plain(release) for release in self.releases],
            "caution": self.caution,
        }


def report(before: Source, after: Source, archive: Archive | None = None, shows: Shows | None = None) -> Report:
    """What changed between two sources. With a history, also who brought each change, when and why."""
    found = compare(before.show, after.show)
    assert found.effect is not None, "the effect was asked for"
    heard = effect_sections(before.show, after.show, found.effect)
    if not heard and found:
        heard = [Section("Who hears whom", tuple(unheard(found)))] if unheard(found) else []
    known = releases(archive) if archive is not None else []
    made = Report(
        after.show.title or before.show.title or "(show without a title)",
        side_of(archive, before, known),
        side_of(archive, after, known),
        found,
        caution_line(before.show, after.show, found.effect),
        tuple(heard),
        tuple(change_parts(found)),
        tuple(panel_changes(before.show, after.show)),
    )
    return made if archive is None or shows is None else _with_history(made, before, after, archive, shows, known)


def _with_history(
    made: Report, before: Source, after: Source, archive: Archive, shows: Shows, known: Sequence[Released]
) -> Report:
    apart = between(archive, before, after, made.comparison.changes)
    here = {*(each.oid for each in apart.after), *filter(None, (before.commit, after.commit))}
    on_the_way = tuple(release for release in known if release.code in here)
    traced = origins(shows, apart, made.comparison.changes)
    named = {path: origin.snapshot.who for path, origin in traced.items()}
    effect = made.comparison.effect
    told = effect_sections(before.show, after.show, effect, named) if effect is not None else []
    return replace(made, effect=tuple(told) or made.effect, origins=traced, between=apart, releases=on_the_way)


def report_page(found: Report) -> str:
    """The report as one HTML page that stands alone: no script, nothing fetched, no time but those of the snapshots."""
    return page("report.html.j2", {"report": found, "legend": PAGE_LEGEND, "long": LONG})


def report_name(found: Report) -> str:
    """A file's name for the report: `report-tarnhollow-velmoor.html`."""
    return f"report-{_plain_name(found.before)}-{_plain_name(found.after)}.html"


def _plain_name(side: Side) -> str:
    name = side.name.partition(".")[0] if side.code is None else side.name
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:40] or "show"


# --- plain data ---


def _origin_plain(origin: Origin | None) -> dict[str, Any] | None:
    if origin is None:
        return None
    snapshot = origin.snapshot
    told = {"code": snapshot.code, "who": snapshot.who, "when": snapshot.when, "note": snapshot.note}
    return {**told, "undone": origin.where == "before"}


def _panel_plain(panel: PanelChange) -> dict[str, Any]:
    sides: Iterator[Any] = (
        None if sheet is None else [cap_plain(cap) for cap in sheet.caps.values()]
        for sheet in (panel.before, panel.after)
    )
    before, after = sides
    return {"device": panel.device, "before": before, "after": after, "marks": dict(panel.marks)}


def _release_plain(release: Released) -> dict[str, Any]:
    told = {"stamp": release.stamp, "code": release.code[:7], "when": release.when, "who": release.who}
    return {**told, "note": release.note, "over": release.over}
