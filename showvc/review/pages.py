"""The pages, each from a desk to a template and its values. What is shown is worked out here, never in a template."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from showvc.changes.caution import CAUTION
from showvc.document import ShowError
from showvc.document.lining import counted
from showvc.history.joining import pending_merge, sides_of
from showvc.history.operations import log
from showvc.history.pending import Outcome
from showvc.history.snapshots import history as listed
from showvc.history.tracing import require_commit
from showvc.history.verdicts import verdicts_on
from showvc.paths import WHAT_A_PATH_IS, explain, explanation_text, reach_of, reach_text, spoken, talk_paths
from showvc.paths.tables import LEGEND
from showvc.release.keysheets import sheet_of
from showvc.report.effect_words import caution_line, effect_sections
from showvc.report.keysheets import PAGE_LEGEND
from showvc.report.merge_words import combined_sections, head_words
from showvc.report.report import LONG, report
from showvc.report.sides import side_of
from showvc.report.words import change_parts, told_findings
from showvc.review import conflicts
from showvc.review.desk import Desk
from showvc.review.matrix import Wanted, departments, shares, table
from showvc.rules import SEVERITIES, verdict_cell, verdict_of
from showvc.rules import check as checked

SNAPSHOTS = 50
"""Snapshots on one page of the history."""
SHEETS = 12
"""Devices drawn on one page."""


@dataclass(frozen=True, slots=True)
class Page:
    """What a request is answered with: a template and what stands in it."""

    template: str
    values: Mapping[str, Any] = field(default_factory=dict)
    code: int = 200


Handler = Callable[[Desk], Page]


def now(desk: Desk) -> Page:
    """Where the folder stands, and what its edits that are not recorded do."""
    facts = desk.facts(desk.archive, desk.shows)
    found = None
    if desk.archive.last is not None:
        try:
            found = report(desk.source("last"), desk.source("working"), desk.archive, desk.shows)
        except ShowError:
            found = None  # the facts say what cannot be read
    return Page("now.html.j2", {"facts": facts, "report": found, "long": LONG})


def compare(desk: Desk) -> Page:
    """What changed between any two sources of the history."""
    before, after = desk.text("before", "last"), desk.text("after", "working")
    old, new = desk.source(before), desk.source(after)
    found = report(old, new, desk.archive, desk.shows)
    values = {"before": before, "after": after, "names": desk.names, "report": found, "long": LONG}
    return Page("compare.html.j2", {**values, "legend": PAGE_LEGEND})


def history(desk: Desk) -> Page:
    """The snapshots, the newest first, some on each page."""
    start = require_commit(desk.archive, desk.text("of")) if desk.text("of") else None
    found = listed(desk.archive, start, most=SNAPSHOTS + 1)
    older = found[SNAPSHOTS].oid[:10] if len(found) > SNAPSHOTS else None
    rows = found[:SNAPSHOTS]
    verdicts = [verdict_cell(on) for on in verdicts_on(desk.shows, rows)]
    values = {"snapshots": rows, "verdicts": verdicts, "older": older, "of": desk.text("of")}
    return Page("history.html.j2", values)


def paths(desk: Desk) -> Page:
    """The matrix of paths, or the part of it that was asked for."""
    of = desk.text("of", "working")
    show = desk.source(of).show
    all_paths = talk_paths(show)
    wanted = Wanted(
        desk.text("talk"), desk.text("hear"), desk.text("find"), _number(desk, "down"), _number(desk, "across")
    )
    found = table(all_paths, wanted)
    values = {"of": of, "names": desk.names, "wanted": wanted, "table": found, "departments": departments(show)}
    return Page("paths.html.j2", {**values, "shares": shares(all_paths), "legend": LEGEND})


def _number(desk: Desk, name: str) -> int:
    text = desk.text(name, "1")
    if not (text.isascii() and text.isdigit() and len(text) <= 6):
        raise ShowError(f"{text!r} is no page of the table", "go back to the table, and take one of its links")
    return int(text)


def pair(desk: Desk) -> Page:
    """Why one hears another, hop by hop, or what it would take."""
    of, talker, listener = desk.text("of", "working"), desk.text("talker"), desk.text("listener")
    show = desk.source(of).show
    found = explain(talk_paths(show), talker, listener)
    first, *rest = explanation_text(show, found).splitlines()
    names = {name: spoken(show, name) for name in (talker, listener)}
    values = {"of": of, "talker": talker, "listener": listener, "said": names}
    return Page("pair.html.j2", {**values, "first": first, "rest": list(map(_line, rest))})


def reach(desk: Desk) -> Page:
    """Who hears a user, and whom the user hears."""
    of, user = desk.text("of", "working"), desk.text("user")
    show = desk.source(of).show
    told = reach_text(show, reach_of(talk_paths(show), user), _WHOLE)
    lines = list(map(_line, told.splitlines()))
    return Page("reach.html.j2", {"of": of, "user": user, "said": spoken(show, user), "lines": lines})


_WHOLE = 100_000
"""A width at which no line is broken: the browser breaks them."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a text, how deep it is set in, and whether it is a command to be copied."""

    deep: int
    text: str
    command: bool


def _line(line: str) -> Line:
    text = line.strip()
    return Line((len(line) - len(line.lstrip())) // 2, text, text.startswith("showvc "))


def keysheets(desk: Desk) -> Page:
    """Devices with their keys in place."""
    of, find = desk.text("of", "working"), desk.text("find").casefold()
    source = desk.source(of)
    show = source.show
    named = [
        name
        for name, body in show.devices.items()
        if find in f"{name} {body.name} {body.user or ''} {body.place or ''} {body.kind}".casefold()
    ]
    pages = max(1, -(-len(named) // SHEETS))
    page = min(max(1, _number(desk, "page")), pages)
    shown = [sheet_of(show, name) for name in named[(page - 1) * SHEETS : page * SHEETS]]
    values = {"of": of, "names": desk.names, "find": desk.text("find"), "sheets": shown, "count": len(named)}
    values |= {"page": page, "pages": pages, "side": side_of(desk.archive, source), "legend": PAGE_LEGEND}
    return Page("keysheets_page.html.j2", {**values, "caution": CAUTION if show.critical_groups else ""})


def check(desk: Desk) -> Page:
    """What the rules find."""
    of = desk.text("of", "working")
    show = desk.source(of).show
    findings = checked(show)
    found = list(told_findings([finding for finding in findings if finding.accepted is None]))
    accepted = list(told_findings([finding for finding in findings if finding.accepted is not None]))
    counts = {kind: sum(each.severity == kind and each.accepted is None for each in findings) for kind in SEVERITIES}
    summary = ", ".join(counted(count, kind) for kind, count in counts.items() if count) or "No findings"
    clean = verdict_of(findings).ready and show.critical_groups
    values = {"of": of, "names": desk.names, "found": found, "accepted": accepted, "summary": summary}
    return Page("check.html.j2", {**values, "caution": f"{CAUTION} {WHAT_A_PATH_IS}" if clean else ""})


def merge(desk: Desk) -> Page:
    """The open merge, if there is one."""
    outcome = pending_merge(desk.archive, desk.shows)
    return Page("merge.html.j2", open_values(desk, outcome)) if outcome else Page("no_merge.html.j2", _last(desk))


def open_values(desk: Desk, outcome: Outcome) -> dict[str, Any]:
    """What the page of an open merge shows."""
    return {
        "head": head_words(outcome),
        "count": len(outcome.merge.conflicts),
        "conflicts": conflicts.drawn(outcome, sides_of(desk.archive, outcome, desk.shows)),
        "problems": conflicts.problems(outcome),
        "plain": sum(each.kind != "twin" for each in outcome.merge.conflicts),
        "offers": len(outcome.offers),
        "combined": combined_sections(outcome.merge),
        **_last(desk),
    }


def recorded_values(desk: Desk, outcome: Outcome) -> dict[str, Any]:
    """What the page of a merge that is settled and recorded shows."""
    from showvc.changes import effect_of

    after = outcome.merge.show
    effect = effect_of(outcome.mine, after)
    return {
        "head": head_words(outcome),
        "code": outcome.snapshot.code if outcome.snapshot else "",
        "effect": effect_sections(outcome.mine, after, effect),
        "caution": caution_line(outcome.mine, after, effect),
        "stops": list(told_findings(outcome.merge.stops)),
        "parts": change_parts(outcome.gained),
        **_last(desk),
    }


def _last(desk: Desk) -> dict[str, Any]:
    """The last command, where it settled something: it can be stepped back over."""
    newest = next(iter(log(desk.archive, 1)), None)
    settled = newest is not None and newest.command.startswith("settle")
    return {"last": newest if settled else None}


PAGES: Mapping[str, Handler] = {
    "/": now,
    "/compare": compare,
    "/history": history,
    "/paths": paths,
    "/paths/pair": pair,
    "/paths/reach": reach,
    "/keysheets": keysheets,
    "/check": check,
    "/merge": merge,
}
