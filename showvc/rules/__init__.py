"""What check looks for: a flat list of small rules."""

from showvc.rules.check import check, finding_of, findings_in, new_findings, open_findings, rule, what_of
from showvc.rules.finding import SEVERITIES, Clash, Finding, Found, Identity, Rule, Scene, Severity
from showvc.rules.listed import RULES
from showvc.rules.listed_unloadable import UNLOADABLE_CODES
from showvc.rules.verdict import (
    Verdict,
    from_kept,
    judge,
    kept,
    rules_version,
    verdict_cell,
    verdict_of,
    verdict_words,
)

__all__ = [
    "RULES",
    "SEVERITIES",
    "UNLOADABLE_CODES",
    "Clash",
    "Finding",
    "Found",
    "Identity",
    "Rule",
    "Scene",
    "Severity",
    "Verdict",
    "check",
    "finding_of",
    "findings_in",
    "from_kept",
    "judge",
    "kept",
    "new_findings",
    "open_findings",
    "rule",
    "rules_version",
    "verdict_cell",
    "verdict_of",
    "verdict_words",
    "what_of",
]
