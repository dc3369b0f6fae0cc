"""Changes and their effect as titled parts, which the terminal, the report and the review page all lay out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from showvc.changes import Change, Comparison, Effect, Folder, RequiredChange
from showvc.changes.caution import CAUTION
from showvc.document import Show
from showvc.document.pointers import join, parse
from showvc.paths import asked_words, required_words
from showvc.rules import Finding

UNHEARD = "No path is lost or gained, and no label strip needs reprinting."
_SEVERITY = {"stop": "STOP", "warn": "warn", "note": "note"}
_MANY = 5
"""So many findings of one cause are told as one."""
_PLACES = 12

# --- changes ---


@dataclass(frozen=True, slots=True)
class Edit:
    """One change, and its sentence as it stands below the name of its thing."""

    change: Change
    text: str

    @property
    def sign(self) -> str:
        return {"added": "+", "removed": "-"}.get(self.change.change, "~")


@dataclass(frozen=True, slots=True)
class Thing:
    """The edits of one thing. `name` is None where each sentence names it itself."""

    name: str | None
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """What changed in one department, or of one sort where there is no department."""

    title: str
    things: tuple[Thing, ...]


def change_parts(comparison: Comparison) -> list[Part]:
    """Every edit, grouped by department, then by thing."""
    ordered = sorted(comparison.changes, key=lambda change: _group(comparison, change))
    return [
        Part(title, tuple(_thing(comparison, place, list(found)) for place, found in groupby(changes, key=_place)))
        for (_, title), changes in groupby(ordered, key=lambda change: _group(comparison, change))
    ]


def _place(change: Change) -> str:
    return join(*parse(change.path)[:2])


def _group(comparison: Comparison, change: Change) -> tuple[int, str]:
    subject = comparison.subjects.get(_place(change))
    if subject is None:
        return 0, "The show"
    if subject.department:
        return 1, f"Department {subject.department}"
    titles = {"groups": "Groups", "users": "Users", "devices": "Devices", "bridges": "Bridges"}
    return 2 + list(titles).index(subject.section), titles[subject.section]


def _thing(comparison: Comparison, place: str, changes: Sequence[Change]) -> Thing:
    subject = comparison.subjects.get(place)
    if subject is None or len(changes) == 1:
        return Thing(None, tuple(Edit(change, change.text) for change in changes))
    # A renamed thing is called by its former name in the sentence of the renaming.
    texts = [change.text.partition(": ")[2] or change.text for change in changes]
    return Thing(subject.name, tuple(map(Edit, changes, texts)))


# --- effect ---


@dataclass(frozen=True, slots=True)
class Section:
    """One sort of effect in sentences. A `grave` one is a loss that must not be overlooked."""

    title: str
    lines: tuple[str, ...]
    grave: bool = False


def effect_sections(before: Show, after: Show, effect: Effect) -> list[Section]:
    """What edits do to those on headset: critical and required ones first. Empty sorts are left out."""
    return [section for section in _sections(before, after, effect) if section.lines]


def _sections(before: Show, after: Show, effect: Effect) -> Iterator[Section]:
    folder = Folder(before, after, effect.matrices)
    states = [required_line(before, after, change) for change in _worst_first(effect.required)]
    lost = any(change.after is not None and change.after.state == "lost" for change in effect.required)
    yield Section("Required paths", tuple(states), lost)
    yield Section("Lines", tuple(change.words(after) for change in effect.lines), grave=True)
    yield Section("Lost on critical groups", tuple(folder.lines(effect.critical, "NO LONGER HEARD by")), grave=True)
    others = folder.lines(effect.lost.without(effect.critical), "no longer heard by")
    yield Section("Also lost" if len(effect.critical) else "Lost", tuple(others))
    in_menu = "Key lost: the talker finds it in the menu only"
    yield Section(in_menu, tuple(folder.lines(effect.to_menu, "heard by")))
    yield Section("Gained", tuple(folder.lines(effect.gained, "now heard by")))
    yield Section("On a key now", tuple(folder.lines(effect.to_key, "heard by")))
    yield Section("Limits passed", effect.limits, grave=True)
    yield Section("New label strips", (", ".join(effect.strips),) if effect.strips else ())


def caution_line(before: Show, after: Show, effect: Effect) -> str | None:
    """The caution, where edits touch a critical group or a critical line."""
    groups = [(after if name in after.groups else before).label(name) for name in effect.critical_groups]
    lines = {change.line for change in effect.lines if any(_critical(show, change.line) for show in (before, after))}
    groups += [(after if line in after.lines else before).label(line) for line in sorted(lines)]
    if not groups:
        return None
    what = "a critical group" if effect.critical_groups else "a critical line"
    return f"Caution: {what} is touched. {CAUTION} ({', '.join(groups)})"


def _critical(show: Show, line: str) -> bool:
    return line in show.lines and show.lines[line].critical


def unheard(found: Comparison) -> list[str]:
    """What is said of edits without an effect; nothing where a line was edited, which somebody may hear yet."""
    return [UNHEARD] if not any("lines" in parse(change.path)[:3] for change in found.changes) else []


def _worst_first(changes: Iterable[RequiredChange]) -> list[RequiredChange]:
    order = ("lost", "menu", None, "holds")
    return sorted(changes, key=lambda change: (order.index(change.after and change.after.state), change.name))


def required_line(before: Show, after: Show, change: RequiredChange) -> str:
    """What became of a required path, in a sentence."""
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


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in sentences, or many of one cause: what it is, and why it matters with the way out and the places."""

    severity: str
    code: str
    message: str
    reason: str = ""

    @property
    def word(self) -> str:
        return _SEVERITY[self.severity]


def told_findings(findings: Iterable[Finding]) -> Iterator[Told]:
    """Findings in sentences; many of one cause are one. An accepted one has no reason but that of its acceptance."""
    for alike in _by_cause(findings):
        first = alike[0]
        quiet = f" (accepted: {first.quiet})" if first.quiet else ""
        head = f"{len(alike)} of one kind, such as: " if len(alike) > 1 else ""
        reason = "" if first.quiet else f"{first.why}; {first.way_out}. At {_places(alike)}"
        yield Told(first.severity, first.code, f"{head}{first.message}{quiet}", reason)


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


# --- snapshots ---


def first_line(text: str) -> str:
    return text.splitlines()[0] if text else ""
