"""Values of the core in lines for a person. No meaning hangs on colour alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING

from showvc.changes import Comparison, Effect, effect_of
from showvc.changes.words import is_kept_layout, layouts_words
from showvc.cli.app import styled
from showvc.cli.screen import hanging, wrapped
from showvc.document import Show
from showvc.document.lining import counted
from showvc.document.pointers import join, parse
from showvc.paths import spoken
from showvc.report.effect_words import caution_line, effect_sections, required_line, unheard
from showvc.report.words import Edit, change_parts, told_findings
from showvc.rules import Finding, Verdict

if TYPE_CHECKING:
    from showvc.history.brought import Brought

_WORD, _CODE = 7, 20
"""Columns of a severity, and of a rule's code."""


def counts_words(counts: Mapping[str, int]) -> str:
    """`3 changed, 1 added`."""
    return ", ".join(f"{count} {kind}" for kind, count in counts.items())


# --- changes ---


def change_lines(comparison: Comparison) -> list[str]:
    """Every edit in a sentence, grouped by department, then by thing."""
    lines: list[str] = []
    for part in change_parts(comparison):
        lines.append(styled(part.title, bold=True))
        for thing in part.things:
            room = "  " if thing.name is None else "      "
            lines += wrapped(f"    {thing.name}") if thing.name is not None else []
            lines += [line for said in _edit_lines(thing.edits) for line in wrapped(f"{room}{said}")]
    return lines


def _edit_lines(edits: Iterable[Edit]) -> Iterator[str]:
    """Each edit in a line; those of one sort about where columns stand, which nobody hears, in one for all."""
    for sign, found in groupby(edits, key=lambda edit: (edit.sign, is_kept_layout(parse(edit.change.path)))):
        alike = list(found)
        folded = layouts_words([edit.change for edit in alike]) if len(alike) > 1 else None
        yield from [f"{sign[0]} {folded}"] if folded else (f"{edit.sign} {edit.text}" for edit in alike)


# --- effect ---


def effect_lines(before: Show, after: Show, effect: Effect, width: int | None = None) -> list[str]:
    """What edits do to people, the gravest first. `width`: by default what fits here."""
    lines: list[str] = []
    for line in _effect(before, after, effect):
        lines += wrapped(line, width) if line.startswith((" ", "Critical")) else [line]
    return lines


def _effect(before: Show, after: Show, effect: Effect) -> Iterator[str]:
    for section in effect_sections(before, after, effect):
        yield styled(f"{section.title}:", bold=True)
        yield from (f"  {line}" for line in section.lines)
    if caution := caution_line(before, after, effect):
        yield caution


def compared_lines(before: Show, after: Show, found: Comparison) -> list[str]:
    """A comparison: its effect first, where it was asked for, then the edits."""
    if found.effect is None:
        return change_lines(found)
    effect = effect_lines(before, after, found.effect)
    return [*(effect or unheard(found)), "", *change_lines(found)]


def brought_lines(before: Show, after: Show, stops: Iterable[Finding]) -> list[str]:
    """What taking `after` for `before` does to those on headset, then each stop that it brings."""
    effect = effect_of(before, after)
    lines, new = effect_lines(before, after, effect), list(stops)
    told = {join("required", change.name) for change in effect.required}
    lines += finding_lines(found for found in new if found.path not in told)
    if new:
        lines.append(styled(blocked_line(len(new)), bold=True))
    return [*lines, ""] if lines else []


def blocked_line(count: int) -> str:
    """That an edit brought what stands in the way of a release."""
    return f"BLOCKED: {counted(count, 'new block')}; can't be released. Details: showvc check"


def lost_lines(before: Show, news: Brought, closer: str) -> list[str]:
    """That an edit takes somebody off headset, a required path, or critical paths; and the command that tells which."""
    off = ", ".join(spoken(before, name) for name in news.off_headset)
    lost = [f"off headset: {off}"] if off else []
    if news.required:
        lost.append(f"required {'path' if len(news.required) == 1 else 'paths'} {', '.join(news.required)}")
    lost += [counted(news.critical, "critical path")] if news.critical else []
    return wrapped(f"LOST: {'; '.join(lost)}. Details: {closer}") if lost else []


def guard_lines(before: Show, after: Show, news: Brought) -> list[str]:
    """What an edit no longer asks for, or accepts, where it matters most."""
    lines = [required_line(before, after, change) for change in news.unasked]
    lines += [f"accepted at {entry.at.removeprefix('/')}: {entry.rule} ({entry.why})" for entry in news.accepted]
    return [line for each in lines for line in wrapped(each[0].upper() + each[1:])]


# --- the verdict ---


def verdict_lines(verdict: Verdict | None) -> list[str]:
    """Whether the show may be released, or what stands in the way: the first line of an answer."""
    from showvc.rules import verdict_words

    words = verdict_words(verdict)
    colour = "yellow" if verdict is None else "green" if verdict.ready else "red"
    return [styled(line, fg=colour, bold=True) for line in wrapped(words)]


# --- findings ---


def finding_lines(findings: Iterable[Finding], accept: bool = False) -> list[str]:
    """Findings with why they matter and the way out; many of one cause are one.

    With `accept`, beside what is no block the command that accepts it, whole, so that it can be run as it stands.
    """
    lines: list[str] = []
    for told in told_findings(findings):
        mark = styled(told.word, fg="red" if told.severity == "block" else None, bold=True)
        first, *below = hanging(
            f"{told.word:<{_WORD}}  {told.code:<{_CODE}} ", told.message, *filter(None, [told.reason])
        )
        lines += [mark + first.removeprefix(told.word), *below]
        lines += [f"    Accept: {told.accept}"] if accept and told.accept else []
    return lines


def kept_lines(kept: str | None) -> list[str]:
    """Where unrecorded edits went that a command would have overwritten; nothing where there were none."""
    if kept is None:
        return []
    code = kept[:7]
    return [
        f"Your unrecorded edits are kept as {code}: showvc restore {code} brings them back.",
        "All that was ever kept so: showvc history --kept",
    ]
