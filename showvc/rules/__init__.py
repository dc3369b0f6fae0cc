"""What check looks for: a flat list of small rules."""

from showvc.rules.check import RULES, check, finding_of, new_findings, open_findings, rule
from showvc.rules.finding import SEVERITIES, Clash, Finding, Found, Identity, Rule, Scene, Severity

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
    "new_findings",
    "open_findings",
    "rule",
]
