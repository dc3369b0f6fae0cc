"""Values of the core in lines for a person. No meaning hangs on colour alone."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from showvc.changes import Change, Comparison, Effect, Folder, RequiredChange
from showvc.changes.caution import CAUTION
from showvc.cli.app import styled
from showvc.document import Show
from showvc.document.pointers import join, parse
from showvc.paths import asked_words, required_words
from showvc.rules import Finding

_WHOLE_WORDS: Any = {"break_on_hyphens": False, "break_long_words": False}
_FINDING = 88
"""Columns of the text of a finding, beside its code: fits a terminal of 120."""
_SEVERITY = {"stop": "STOP", "warn": "warn", "note": "note"}


def counts_words(counts: Mapping[str, int]) -> str:
    """`3 changed, 1 added`."""
    return ", ".join(f"{count} {kind}" for kind, count in counts.items())


# --- changes ---


def change_lines(comparison: Comparison) -> list[str]:
    """Every edit in a sentence, grouped by department, then by thing."""
    lines: list[str] = []
    ordered = sorted(comparison.changes, key=lambda change: _group(comparison, change))
    for group, changes in groupby(ordered, key=lambda change: _group(comparison, change)):
        lines.append(styled(group[1], bold=True))
        for thing, inner in groupby(changes, key=_thing):
            lines += _thing_lines(comparison, thing, list(inner))
    return lines


def _thing(change: Change) -> str:
    return join(*parse(change.path)[:2])


def _group(comparison: Comparison, change: Change) -> tuple[int, str]:
    subject = comparison.subjects.get(_thing(change))
    if subject is None:
        return 0, "The show"
    if subject.department:
        return 1, f"Department {subject.department}"
    titles = {"groups": "Groups", "users": "Users", "devices": "Devices", "bridges": "Bridges"}
    return 2 + list(titles).index(subject.section), titles[subject.section]


def _thing_lines(comparison: Comparison, thing: str, changes: Sequence[Change]) -> list[str]:
    subject = comparison.subjects.get(thing)
    if subject is None or len(changes) == 1:
        return [f"  {_sign(change)} {change.text}" for change in changes]
    # A renamed thing is called by its former name in the sentence of the renaming.
    texts = [change.text.partition(": ")[2] or change.text for change in changes]
    return [
        f"    {subject.name}",
        *(f"      {_sign(change)} {text}" for change, text in zip(changes, texts, strict=True)),
    ]


def _sign(change: Change) -> str:
    return {"added": "+", "removed": "-"}.get(change.change, "~")


# --- effect ---


def effect_lines(before: Show, after: Show, effect: Effect) -> list[str]:
    """What edits do to those on headset: critical and required ones first."""
    folder = Folder(before, after, effect.matrices)
    lines: list[str] = []
    lines += _section(
        "Required paths", (required_line(before, after, change) for change in _worst_first(effect.required))
    )
    lines += _section("Lost on critical groups", folder.lines(effect.critical, "NO LONGER HEARD by"))
    title = "Also lost" if len(effect.critical) else "Lost"
    lines += _section(title, folder.lines(effect.lost.without(effect.critical), "no longer heard by"))
    lines += _section("Key lost: the talker finds it in the menu only", folder.lines(effect.to_menu, "heard by"))
    lines += _section("Gained", folder.lines(effect.gained, "now heard by"))
    lines += _section("On a key now", folder.lines(effect.to_key, "heard by"))
    lines += _section("Limits passed", effect.limits)
    strips = ", ".join(effect.strips)
    lines += _section("New label strips", [strips] if strips else [])
    if effect.critical_groups:
        groups = ", ".join((after if name in after.groups else before).label(name) for name in effect.critical_groups)
        lines += wrapped(f"Caution: a critical group is touched. {CAUTION} ({groups})")
    return lines


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield styled(f"{title}:", bold=True)
        for line in found:
            yield from wrapped(f"  {line}")


def wrapped(line: str, width: int = 116) -> list[str]:
    """A long line broken between words, its rest set in."""
    room = " " * (len(line) - len(line.lstrip()) + 4)
    return textwrap.wrap(line, width, subsequent_indent=room, **_WHOLE_WORDS)


def _worst_first(changes: Sequence[RequiredChange]) -> list[RequiredChange]:
    order = ("lost", "menu", None, "holds")
    return sorted(changes, key=lambda change: (order.index(change.after and change.after.state), change.name))


def required_line(before: Show, after: Show, change: RequiredChange) -> str:
    if change.after is None:
        assert change.before is not None, "it was required, or is"
        return f"no longer required: {asked_words(before, change.before)}"
    lost = "LOST: " if change.after.state == "lost" else ""
    return f"{lost}{required_words(after, change.after)}; {_former(change)}"


def _former(change: RequiredChange) -> str:
    if change.before is None:
        return "newly required"
    if change.after is not None and change.before.state == change.after.state:
        return "asked for otherwise before"
    return {"holds": "it held before", "menu": "in the menu only before", "lost": "lost before"}[change.before.state]


# --- findings ---


def finding_lines(findings: Iterable[Finding]) -> list[str]:
    """Findings with why they matter and the way out."""
    lines = []
    for finding in findings:
        mark = styled(_SEVERITY[finding.severity], fg="red" if finding.severity == "stop" else None, bold=True)
        quiet = f" (accepted: {finding.quiet})" if finding.quiet else ""
        first, *more = textwrap.wrap(f"{finding.message}{quiet}", _FINDING, **_WHOLE_WORDS) or [""]
        lines.append(f"{mark}  {finding.code:<22} {first}")
        why = [] if finding.quiet else [f"{finding.why}; {finding.way_out}. At {finding.path}"]
        below = [*more, *(line for text in why for line in textwrap.wrap(text, _FINDING, **_WHOLE_WORDS))]
        lines += [f"      {'':<22} {line}" for line in below]
    return lines


def when_words(when: str) -> str:
    """An RFC 3339 time to the minute, as it was on the clock where the snapshot was taken."""
    return when[:16].replace("T", " ")


def first_line(text: str) -> str:
    return text.splitlines()[0] if text else ""
