"""What may be released, and what was let through with a reason."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass

from showvc.document import Problem, ShowError
from showvc.document.lining import counted
from showvc.document.names import clean_text
from showvc.rules.finding import Finding
from showvc.rules.verdict import Verdict, verdict_of


@dataclass(frozen=True, slots=True)
class Gate:
    """A snapshot's findings, sorted by what they mean for a release.

    `blocks` and `open_conflicts` keep it back. `overridden` would, or would warn, and is let through for `reason`.
    `standing` are warnings that nobody spoke for: they go along and are printed.
    """

    blocks: tuple[Finding, ...] = ()
    open_conflicts: int = 0
    overridden: tuple[Finding, ...] = ()
    reason: str | None = None
    standing: tuple[Finding, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """The verdict on what is released: what an override lets through is still told."""
        return verdict_of((*self.blocks, *self.overridden)).with_conflicts(self.open_conflicts)

    @property
    def opens(self) -> bool:
        """Whether the snapshot may be released."""
        return not self.blocks and not self.open_conflicts

    @property
    def refusals(self) -> tuple[Problem, ...]:
        """Why not, each with its way out in its words; empty where it may."""
        stand = "stands" if self.open_conflicts == 1 else "stand"
        words = f"{counted(self.open_conflicts, 'conflict')} of a merge {stand} open"
        conflicts = (Problem(words, way_out="showvc settle"),) if self.open_conflicts else ()
        return conflicts + tuple(Problem(f"{finding.message}. {_sentence(finding.why)}") for finding in self.blocks)


def gate(
    findings: Iterable[Finding], unloadable: Container[str], open_conflicts: int = 0, over: str | None = None
) -> Gate:
    """Sorts a snapshot's findings for a release; `over` is the reason for an override.

    An override lets through all but what cannot be loaded, the rules of which are `unloadable`: a broken reference, a
    double booking or a limit stays a block whatever the reason. Findings that the show itself accepts do not count.
    ShowError where the reason is empty or holds what a display garbles.
    """
    reason = _reason(over) if over is not None else None
    loud = [finding for finding in findings if finding.accepted is None or finding.severity == "block"]
    blocks = [finding for finding in loud if finding.severity == "block"]
    warnings = tuple(finding for finding in loud if finding.severity == "warning")
    if reason is None:
        return Gate(tuple(blocks), open_conflicts, standing=warnings)
    kept = tuple(finding for finding in blocks if finding.code in unloadable)
    overridden = (*(finding for finding in blocks if finding.code not in unloadable), *warnings)
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
