"""Looking: history, trace, compare, check."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from itertools import zip_longest
from typing import Annotated, Any

import typer

from showvc.cli.app import NEEDS_A_PERSON, Session, command, json_text


@command("history")
def history(
    session: Session,
    path: Annotated[
        str | None, typer.Argument(metavar="[PATH]", help="Only snapshots that touched this thing.")
    ] = None,
    most: Annotated[int | None, typer.Option("--most", metavar="N", min=1, help="Show only the newest N.")] = None,
    source: Annotated[str | None, typer.Option("--of", metavar="SOURCE", help="Of another draft or snapshot.")] = None,
    kept: Annotated[
        bool, typer.Option("--kept", help="Only the edits that were kept before a command overwrote them.")
    ] = False,
) -> None:
    """List the snapshots of this draft, the newest first.

    Edits that were not recorded when a command was about to overwrite them are kept as snapshots too, off every
    draft. List them with --kept, and bring one back with: showvc restore CODE
    """
    from showvc.cli.screen import fitted
    from showvc.cli.sources import of_field
    from showvc.cli.texts import counts_words
    from showvc.document import ShowError
    from showvc.document.lining import when_words
    from showvc.history.safety import kept_edits
    from showvc.history.snapshots import history as listed
    from showvc.history.tracing import file_of, history_of, require_commit
    from showvc.history.verdicts import verdicts_on
    from showvc.report.words import first_line
    from showvc.rules import verdict_cell

    if kept and source:
        raise ShowError("what was kept is on no draft", "leave out --of: showvc history --kept")
    start = require_commit(session.archive, source) if source else None
    if kept:
        found = kept_edits(session.archive, file_of(path) if path else None, most)
    else:
        found = (
            of_field(session, path, lambda meant: history_of(session.archive, meant, start, most))
            if path
            else listed(session.archive, start, None, most)
        )
    verdicts = verdicts_on(session.shows, found)
    listing = [{**each.plain(), "verdict": on and on.plain()} for each, on in zip(found, verdicts, strict=True)]
    session.data({"snapshots": listing})
    rows = [
        [
            each.code,
            verdict_cell(on),
            when_words(each.when),
            each.who,
            ", ".join(each.marks),
            first_line(each.note),
            counts_words(each.changes),
        ]
        for each, on in zip(found, verdicts, strict=True)
    ]
    nothing = [
        "No edits were ever kept." if kept else f"No snapshot has {path}." if path else "Nothing is recorded yet."
    ]
    for line in (
        fitted(["CODE", "VERDICT", "WHEN", "WHO", "MARKS", "NOTE", "CHANGES"], rows, below=2) if rows else nothing
    ):
        session.say(line)


@command("trace")
def trace(
    session: Session,
    path: Annotated[str, typer.Argument(metavar="PATH", help="A field or thing, such as users/sm/channels/fly/talk.")],
) -> None:
    """Tell who last set this, and each value before.

    On a terminal a long value is cut short with …, and of a thing with many fields those are shown that changed; in
    a pipe and with --json it is whole.
    """
    from showvc.cli.screen import fitted, left_beside, shortened
    from showvc.cli.sources import of_field
    from showvc.document.lining import when_words
    from showvc.history.tracing import trace as traced
    from showvc.report.words import first_line

    found = of_field(session, path, lambda meant: traced(session.archive, session.shows, meant))
    session.data({"path": path, "values": [each.plain() for each in found]})
    head = ["CODE", "WHEN", "WHO"]
    facts = [[each.snapshot.code, when_words(each.snapshot.when), each.snapshot.who] for each in found]
    width = left_beside([head, *facts])
    rows = [
        [*fact, *_last_two(shortened(_value(each.value, older and older.value), width), first_line(each.snapshot.note))]
        for fact, each, older in zip_longest(facts, found, found[1:])
    ]
    for line in fitted([*head, *_last_two("VALUE", "NOTE")], rows):
        session.say(line)


def _last_two(value: str, note: str) -> tuple[str, str]:
    """In a pipe the value is whole, and last: however long it is, it pushes nothing out of sight."""
    from showvc.cli.screen import on_terminal

    return (value, note) if on_terminal() else (note, value)


def _value(value: Any, older: Any) -> str:
    """A value in words; on a terminal, of a thing with many fields, those that became others."""
    from showvc.changes.words import value_words
    from showvc.cli.screen import on_terminal

    if on_terminal() and isinstance(value, dict) and isinstance(older, dict):
        return ", ".join(["…", *_others(value, older)])
    return value_words(value, sys.maxsize)


def _others(value: dict[str, Any], older: dict[str, Any], below: str = "") -> Iterator[str]:
    """The fields of a thing, and of what it holds, that are not as before."""
    from showvc.changes.words import value_words

    for name, inner in value.items():
        former = older.get(name)
        if isinstance(inner, dict) and isinstance(former, dict):
            yield from _others(inner, former, f"{below}{name} ")
        elif inner != former:
            yield f"{below}{name} {value_words(inner, sys.maxsize)}"
    yield from (f"no {below}{name}" for name in older if name not in value)


@command("compare")
def compare(
    session: Session,
    before: Annotated[
        str | None, typer.Argument(metavar="[A]", help="The source to compare from. Default: last.")
    ] = None,
    after: Annotated[
        str | None, typer.Argument(metavar="[B]", help="The source to compare to. Default: working.")
    ] = None,
    edits_only: Annotated[bool, typer.Option("--edits", help="Leave out the effect on who hears whom.")] = False,
    patch: Annotated[
        bool, typer.Option("--patch", help="Print an RFC 6902 JSON Patch of the single document.")
    ] = False,
    fail: Annotated[
        bool, typer.Option("--fail-on-change", help="End with exit code 1 where anything differs.")
    ] = False,
) -> int:
    """Tell what changed between two sources, and whom it cuts off.

    A source is working, last, last-3, a mark, a draft, a snapshot's code, a time such as 2026-11-25T19:30, a show
    folder or a file. Without sources: what is edited since the last snapshot.
    """
    from showvc.changes import compare as compared
    from showvc.changes import edits, json_patch
    from showvc.cli.sources import two_sources
    from showvc.cli.texts import compared_lines

    old, new = two_sources(session, before, after)
    if patch:
        operations = json_patch(old.show, new.show)
        print(json_text(operations))
        return NEEDS_A_PERSON if fail and operations else 0
    found = edits(old.show, new.show) if edits_only else compared(old.show, new.show)
    if session.as_json:
        session.data(found.plain())
    elif not found:
        session.say(f"{old.name} and {new.name} are the same show.")
    else:
        for line in compared_lines(old.show, new.show, found):
            session.say(line)
    return NEEDS_A_PERSON if fail and found else 0


@command("check")
def check(
    session: Session,
    source: Annotated[
        str, typer.Argument(metavar="[SOURCE]", help="What to check. Default: the working folder.")
    ] = "working",
    accepted: Annotated[bool, typer.Option("--accepted", help="Also show findings that the show accepts.")] = False,
) -> int:
    """Check a show against the rules. Blocks keep it from being released; warnings and notes do not.

    A warning or note can be accepted, with the command that stands below it. Its facts bind the acceptance: where they
    change, the finding comes back.
    """
    from showvc.changes.caution import clean_words
    from showvc.cli.screen import wrapped
    from showvc.cli.sources import one_source
    from showvc.cli.texts import finding_lines, verdict_lines
    from showvc.document.lining import counted
    from showvc.rules import SEVERITIES, verdict_of
    from showvc.rules import check as checked

    show = one_source(session, source).show
    findings = checked(show)
    verdict = verdict_of(findings)
    open_ones = [finding for finding in findings if finding.accepted is None]
    session.data({"findings": [found.plain() for found in open_ones]})
    for line in (*verdict_lines(verdict), *finding_lines(findings if accepted else open_ones, accept=True)):
        session.say(line)
    counts = {severity: sum(each.severity == severity for each in open_ones) for severity in SEVERITIES}
    summary = [counted(count, severity) for severity, count in counts.items() if count]
    summary += [f"{len(findings) - len(open_ones)} accepted"] if len(findings) > len(open_ones) else []
    session.say(", ".join(summary) or "No findings")
    for line in wrapped(clean_words(show) or "") if verdict.ready else ():
        session.say(line)
    return 0 if verdict.ready else NEEDS_A_PERSON
