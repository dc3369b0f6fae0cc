"""What check looks for: a flat list of small rules."""

from showvc.rules.check import check, finding_of, findings_in, new_findings, open_findings, rule, what_of
from showvc.rules.finding import SEVERITIES, Clash, Finding, Found, Identity, Rule, Scene, Severity
from showvc.rules.listed import RULES

__all__ = [
    "RULES",
    "SEVERITIES",
    "Clash",
    "Finding",
    "Found",
    "Identity",
    "Rule",
    "Scene",
    "Severity",
    "check",
    "finding_of",
    "findings_in",
    "new_findings",
    "open_findings",
    "rule",
    "what_of",
]
