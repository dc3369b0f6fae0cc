"""What the rules find in a show, and what of it the show accepts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from showvc.document import Accepted, Show
from showvc.document.pointers import join
from showvc.rules.finding import SEVERITIES, Finding, Found, Rule, Scene, digest
from showvc.rules.listed import ACCEPTED_WITHOUT_EFFECT, RULES
from showvc.rules.sentences import SENTENCES


def rule(code: str) -> Rule:
    """The rule of this code."""
    return next(known for known in RULES if known.code == code)


def check(show: Show) -> tuple[Finding, ...]:
    """What every rule finds, the worst first, then by rule and place.

    A finding that the show accepts carries the reason, and comes last; a `block` cannot be accepted.
    """
    return findings_in(Scene(show))


def findings_in(scene: Scene) -> tuple[Finding, ...]:
    """The same of a scene, whose paths may be known already."""
    book = _Book(scene.show)
    findings: list[Finding] = []
    for known in RULES:
        told = _sorted(known.look(scene))
        book.match(known, told)
        findings += [book.finding(known, found) for found in told]
    idle = list(book.idle({(finding.code, finding.path): finding for finding in findings}))
    findings += [book.finding(ACCEPTED_WITHOUT_EFFECT, found) for found in idle]
    return tuple(sorted(findings, key=lambda found: (found.accepted is not None, SEVERITIES.index(found.severity))))


def _sorted(found: Iterable[Found]) -> list[Found]:
    return sorted(found, key=lambda each: each.paths)


def what_of(rule: Rule, found: Found, show: Show) -> str:
    """What was found in a sentence, without the way out: WHERE: WHAT."""
    return (rule.says or SENTENCES[rule.code])(show, *found.facts)


def finding_of(rule: Rule, found: Found, show: Show) -> Finding:
    """What a rule found, ready to be read."""
    return _Book(show).finding(rule, found)


class _Book:
    """The findings that a show accepts, by rule and place."""

    def __init__(self, show: Show) -> None:
        self.show = show
        self.entries: dict[tuple[str, str], list[tuple[str, Accepted]]] = {}
        for name, entry in show.accepted.items():
            self.entries.setdefault((entry.rule, _pointer(entry)), []).append((name, entry))
        self.matched: set[tuple[str, str, str]] = set()

    def match(self, rule: Rule, told: Iterable[Found]) -> None:
        """Takes note of all that a rule found: several may be at one place, each with an acceptance of its own."""
        if any(code == rule.code for code, _ in self.entries):
            self.matched |= {(rule.code, each.paths[0], digest(each, each.severity or rule.severity)) for each in told}

    def finding(self, rule: Rule, found: Found) -> Finding:
        severity, path = found.severity or rule.severity, found.paths[0]
        facts, what, way_out = digest(found, severity), what_of(rule, found, self.show), found.hint or rule.way_out
        reason = entry = None
        if severity != "block":
            entries = [
                each
                for each in self.entries.get((rule.code, path), ())
                if each[1].facts == facts or (rule.code, path, each[1].facts) not in self.matched
            ]
            reason = next((entry.why for _, entry in entries if entry.facts == facts), None)
            if entries and reason is None:
                bound = any(entry.facts for _, entry in entries)
                what = f"{what}; accepted {'for other facts' if bound else 'without its facts'}"
            entry = entries[0][0] if entries else None
        message = f"{what} ({way_out})"
        return Finding(rule.code, severity, path, message, rule.why, way_out, found.paths, facts, reason, entry)

    def idle(self, found: Mapping[tuple[str, str], Finding]) -> Iterator[Found]:
        """The acceptances that match nothing, and why. One whose facts changed is told by its finding."""
        codes = frozenset(known.code for known in RULES)
        for at, entries in self.entries.items():
            finding = found.get(at)
            for name, entry in entries:
                if finding is None:
                    why = "nothing" if entry.rule in codes else "no rule"
                    yield Found((join("accepted", name),), (name, entry.rule, at[1], why))
                elif finding.severity == "block":
                    yield Found((join("accepted", name),), (name, entry.rule, at[1], "block"))
                elif (*at, entry.facts) not in self.matched and finding.accepted is not None:
                    yield Found((join("accepted", name),), (name, entry.rule, at[1], "other facts"))


def _pointer(entry: Accepted) -> str:
    return "/" + entry.at.removeprefix("/")


def open_findings(show: Show) -> tuple[Finding, ...]:
    """The findings that the show does not accept."""
    return tuple(finding for finding in check(show) if finding.accepted is None)


def new_findings(before: Show, after: Show) -> tuple[Finding, ...]:
    """The open findings of `after` that `before` does not have."""
    known = {(finding.code, finding.paths, finding.severity) for finding in open_findings(before)}
    return tuple(
        finding for finding in open_findings(after) if (finding.code, finding.paths, finding.severity) not in known
    )
