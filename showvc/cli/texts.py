"""Values of the core in lines for a person. No meaning hangs on colour alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby

from showvc.changes import Change, Comparison, Effect, Folder, RequiredChange, effect_of
from showvc.changes.caution import CAUTION
from showvc.cli.app import styled
from showvc.cli.screen import broken, prose, wrapped
from showvc.document import Show
from showvc.document.pointers import join, parse
from showvc.paths import asked_words, required_words
from showvc.rules import Finding

_CODE = 22
_FINDING = len("STOP  ") + _CODE + 1
"""Columns before the text of a finding: its severity and its code."""
_MANY = 5
"""So many findings of one cause are told as one."""
_PLACES = 12
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
            lines += [part for line in _thing_lines(comparison, thing, list(inner)) for part in wrapped(line)]
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


def effect_lines(before: Show, after: Show, effect: Effect, width: int | None = None) -> list[str]:
    """What edits do to those on headset: critical and required ones first. `width`: by default what fits here."""
    lines: list[str] = []
    for line in _effect(before, after, effect):
        lines += wrapped(line, width) if line.startswith((" ", "Caution")) else [line]
    return lines


def _effect(before: Show, after: Show, effect: Effect) -> list[str]:
    folder = Folder(before, after, effect.matrices)
    lines: list[str] = []
    lines += _section(
        "Required paths", (required_line(before, after, change) for change in _worst_first(effect.required))
    )
    lines += _section("Emergency and announce", (change.words(after) for change in effect.lines))
    lines += _section("Lost on critical groups", folder.lines(effect.critical, "NO LONGER HEARD by"))
    title = "Also lost" if len(effect.critical) else "Lost"
    lines += _section(title, folder.lines(effect.lost.without(effect.critical), "no longer heard by"))
    lines += _section("Key lost: the talker finds it in the menu only", folder.lines(effect.to_menu, "heard by"))
    lines += _section("Gained", folder.lines(effect.gained, "now heard by"))
    lines += _section("On a key now", folder.lines(effect.to_key, "heard by"))
    lines += _section("Limits passed", effect.limits)
    strips = ", ".join(effect.strips)
    lines += _section("New label strips", [strips] if strips else [])
    groups = [(after if name in after.groups else before).label(name) for name in effect.critical_groups]
    groups += [after.label("emergency")] * any(change.line == "emergency" for change in effect.lines)
    if groups:
        what = "a critical group" if effect.critical_groups else "the emergency line"
        lines.append(f"Caution: {what} is touched. {CAUTION} ({', '.join(groups)})")
    return lines


UNHEARD = "No path is lost or gained, and no label strip needs reprinting."


def compared_lines(before: Show, after: Show, found: Comparison) -> list[str]:
    """A comparison: its effect first, where it was asked for, then the edits."""
    if found.effect is None:
        return change_lines(found)
    effect = effect_lines(before, after, found.effect)
    # Program is no path, yet somebody hears it.
    lines_edited = any("lines" in parse(change.path)[:3] for change in found.changes)
    return [*(effect or [UNHEARD] * (not lines_edited)), "", *change_lines(found)]


def brought_lines(before: Show, after: Show, stops: Iterable[Finding]) -> list[str]:
    """What taking `after` for `before` does to those on headset, then each stop that it brings."""
    effect = effect_of(before, after)
    lines, new = effect_lines(before, after, effect), list(stops)
    told = {join("required", change.name) for change in effect.required}
    lines += finding_lines(found for found in new if found.path not in told)
    if new:
        lines.append(
            styled(f"STOP: {len(new)} new. It may not be released so; see them all with: showvc check", bold=True)
        )
    return [*lines, ""] if lines else []


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield styled(f"{title}:", bold=True)
        yield from (f"  {line}" for line in found)


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
    """Findings with why they matter and the way out; many of one cause are one."""
    lines: list[str] = []
    for alike in _by_cause(findings):
        first = alike[0]
        mark = styled(_SEVERITY[first.severity], fg="red" if first.severity == "stop" else None, bold=True)
        quiet = f" (accepted: {first.quiet})" if first.quiet else ""
        head = f"{len(alike)} of one kind, such as: " if len(alike) > 1 else ""
        said = [f"{head}{first.message}{quiet}"]
        said += [] if first.quiet else [f"{first.why}; {first.way_out}. At {_places(alike)}"]
        text, *below = (line for part in said for line in broken(part, prose() - _FINDING))
        lines.append(f"{mark}  {first.code:<{_CODE}} {text}")
        lines += [" " * _FINDING + line for line in below]
    return lines


def _by_cause(findings: Iterable[Finding]) -> Iterator[list[Finding]]:
    """Findings of one rule that come from one thing, where they are many; the others each alone, in their order."""
    causes: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        causes.setdefault((finding.code, finding.quiet, _cause(finding)), []).append(finding)
    for alike in causes.values():
        yield from [alike] if len(alike) >= _MANY else ([finding] for finding in alike)


def _cause(finding: Finding) -> object:
    """What findings of one rule have in common; a path that is lost, or at hand no more, is always told by itself."""
    alone = finding.severity == "stop" or finding.code.startswith(("critical", "required"))
    return finding.paths[1:] or (finding.path if alone else "")


def _places(alike: Sequence[Finding]) -> str:
    places = list(dict.fromkeys(finding.path for finding in alike))
    more = f" and {len(places) - _PLACES} more; all of them: --json" if len(places) > _PLACES else ""
    return ", ".join(places[:_PLACES]) + more


def kept_lines(kept: str | None) -> list[str]:
    """Where unrecorded edits went that a command would have overwritten; nothing where there were none."""
    if kept is None:
        return []
    code = kept[:7]
    return [
        f"Your unrecorded edits are kept as {code}: showvc restore {code} brings them back.",
        "All that was ever kept so: showvc history --kept",
    ]


def when_words(when: str) -> str:
    """An RFC 3339 time to the minute, as it was on the clock where the snapshot was taken."""
    return when[:16].replace("T", " ")


def first_line(text: str) -> str:
    return text.splitlines()[0] if text else ""
