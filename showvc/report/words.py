"""Changes and findings as titled parts, which the terminal, the report and the review page all lay out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from showvc.changes import Change, Comparison
from showvc.document import DOCUMENT, SECTIONS
from showvc.document.pointers import join, parse
from showvc.rules import Finding

_SEVERITY = {"block": "BLOCK", "warning": "warning", "note": "note"}
MANY = 5
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
        """`+` and `-` where a thing, channel or key came or went; a field of it that is set or cleared is a change."""
        around = DOCUMENT.along(parse(self.change.path)[:-1])
        if around is not None and around.kind == "record" and around is not DOCUMENT:
            return "~"
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
    return 2 + list(SECTIONS).index(subject.section), subject.section.capitalize()


def _thing(comparison: Comparison, place: str, changes: Sequence[Change]) -> Thing:
    subject = comparison.subjects.get(place)
    if subject is None or len(changes) == 1:
        return Thing(None, tuple(Edit(change, change.text) for change in changes))
    # A renamed thing is called by its former name in the sentence of the renaming.
    texts = [change.text.partition(": ")[2] or change.text for change in changes]
    return Thing(subject.name, tuple(map(Edit, changes, texts)))


# --- findings ---


@dataclass(frozen=True, slots=True)
class Told:
    """A finding in sentences, or many of one cause: what it is, and why it matters with the way out and the places."""

    severity: str
    code: str
    message: str
    reason: str = ""
    accept: str | None = None
    """The command that accepts it; of many, the first of them."""

    @property
    def word(self) -> str:
        return _SEVERITY[self.severity]


def told_findings(findings: Iterable[Finding]) -> Iterator[Told]:
    """Findings in sentences; many of one cause are one. An accepted one has no reason but that of its acceptance."""
    for alike in _by_cause(findings):
        first = alike[0]
        accepted = f" (accepted: {first.accepted})" if first.accepted else ""
        head = f"{len(alike)} like this, e.g.: " if len(alike) > 1 else ""
        reason = "" if first.accepted else f"At {_places(alike)}: {first.why}"
        accept = None if first.accepted else first.accept
        yield Told(first.severity, first.code, f"{head}{first.message}{accepted}", reason, accept)


def _by_cause(findings: Iterable[Finding]) -> Iterator[list[Finding]]:
    """Findings of one rule that come from one thing, where they are many; the others each alone, in their order."""
    causes: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        causes.setdefault((finding.code, finding.severity, finding.accepted, _cause(finding)), []).append(finding)
    for alike in causes.values():
        yield from [alike] if len(alike) >= MANY else ([finding] for finding in alike)


def _cause(finding: Finding) -> object:
    """What findings of one rule have in common; a path that is lost, or at hand no more, is always told by itself."""
    alone = finding.severity == "block" or finding.code.startswith(("critical", "required"))
    return finding.paths[1:] or (finding.path if alone else "")


def _places(alike: Sequence[Finding]) -> str:
    places = list(dict.fromkeys(finding.path for finding in alike))
    more = f" and {len(places) - _PLACES} more; all of them: --json" if len(places) > _PLACES else ""
    return ", ".join(places[:_PLACES]) + more


# --- snapshots ---


def first_line(text: str) -> str:
    return text.splitlines()[0] if text else ""
