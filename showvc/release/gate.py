"""What may be released, and what was let through with a reason."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from showvc.document import Problem, ShowError
from showvc.document.lining import counted
from showvc.document.names import clean_text
from showvc.rules.finding import Clash, Finding

ClashOf = Callable[[str], Clash | None]
"""The kind of conflict that a rule makes in a merge, by the rule's code; None for a code that is not known."""


@dataclass(frozen=True, slots=True)
class Gate:
    """A snapshot's findings, sorted by what they mean for a release.

    `stops` and `open_conflicts` keep it back. `overridden` would, or would warn, and is let through for `reason`.
    `standing` are warnings that nobody spoke for: they go along and are printed.
    """

    stops: tuple[Finding, ...] = ()
    open_conflicts: int = 0
    overridden: tuple[Finding, ...] = ()
    reason: str | None = None
    standing: tuple[Finding, ...] = ()

    @property
    def opens(self) -> bool:
        """Whether the snapshot may be released."""
        return not self.stops and not self.open_conflicts

    @property
    def refusals(self) -> tuple[Problem, ...]:
        """Why not, each with its way out; empty where it may."""
        stand = "stands" if self.open_conflicts == 1 else "stand"
        words = f"{counted(self.open_conflicts, 'conflict')} of a merge {stand} open"
        conflicts = (Problem(words, way_out="showvc settle"),) if self.open_conflicts else ()
        return conflicts + tuple(
            Problem(f"{finding.path}: {finding.message}. {_sentence(finding.why)}", way_out=finding.way_out)
            for finding in self.stops
        )


def gate(findings: Iterable[Finding], clash_of: ClashOf, open_conflicts: int = 0, over: str | None = None) -> Gate:
    """Sorts a snapshot's findings for a release; `over` is the reason for an override.

    An override lets through lost required paths and warnings, nothing else: a broken reference, a double booking
    or a limit stays a stop whatever the reason. Findings that the show itself has quietened do not count.
    ShowError where the reason is empty or holds what a display garbles.
    """
    reason = _reason(over) if over is not None else None
    loud = [finding for finding in findings if finding.quiet is None or finding.severity == "stop"]
    stops = [finding for finding in loud if finding.severity == "stop"]
    warnings = tuple(finding for finding in loud if finding.severity == "warn")
    if reason is None:
        return Gate(tuple(stops), open_conflicts, standing=warnings)
    lost = tuple(finding for finding in stops if clash_of(finding.code) == "path-lost")
    kept = tuple(finding for finding in stops if finding not in lost)
    overridden = lost + warnings
    return Gate(kept, open_conflicts, overridden, reason if overridden else None)


def _reason(over: str) -> str:
    try:
        reason = clean_text(over.strip())
    except ValueError as error:
        raise ShowError([Problem(f"the reason {error}")]) from None
    if not reason:
        way_out = "say why, in words that the next engineer understands"
        raise ShowError([Problem("an override without a reason", way_out=way_out)])
    return reason


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]
