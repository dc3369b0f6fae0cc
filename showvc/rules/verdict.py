"""The verdict on a show: may it be released, and if not, what stands in the way."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from showvc.document import Show
from showvc.document.lining import counted
from showvc.document.pointers import parse
from showvc.rules.check import check
from showvc.rules.finding import Finding


@dataclass(frozen=True, slots=True)
class Verdict:
    """`blocks` counts findings; `required_lost` names required paths, each of which is one of them.

    `conflicts` are those of an open merge. `frozen` says until when edits have to be confirmed, and why.
    """

    blocks: int
    required_lost: tuple[str, ...] = ()
    conflicts: int = 0
    frozen: Mapping[str, str] | None = None

    @property
    def ready(self) -> bool:
        """Whether it may be released."""
        return not self.blocks and not self.conflicts

    def with_conflicts(self, count: int) -> Verdict:
        """The same while a merge is open with so many conflicts."""
        return replace(self, conflicts=count)

    @staticmethod
    def from_plain(plain: Mapping[str, Any]) -> Verdict:
        """The verdict that JSON tells of."""
        return Verdict(plain["blocks"], tuple(plain["required_lost"]), plain["conflicts"], plain["frozen"])

    def plain(self) -> dict[str, Any]:
        """The verdict as JSON has it everywhere."""
        return {
            "ready": self.ready,
            "blocks": self.blocks,
            "required_lost": list(self.required_lost),
            "conflicts": self.conflicts,
            "frozen": None if self.frozen is None else dict(self.frozen),
        }


def verdict_of(findings: Iterable[Finding]) -> Verdict:
    """What findings come to. A required path that points at nothing is lost as well."""
    blocks = [finding for finding in findings if finding.severity == "block"]
    lost = {parse(each.path)[1] for each in blocks if each.code in ("required-lost", "required-to-nothing")}
    return Verdict(len(blocks), tuple(sorted(lost)))


def judge(show: Show) -> Verdict:
    """Checks a show."""
    return verdict_of(check(show))


# --- kept ---


def kept(verdict: Verdict) -> str:
    """A verdict on what is recorded, as text to be kept: without conflicts, which are the folder's."""
    return json.dumps([verdict.blocks, list(verdict.required_lost)])


def from_kept(text: str) -> Verdict:
    """The verdict that was kept so. ValueError where it is none."""
    found = json.loads(text)
    if not (isinstance(found, list) and len(found) == 2 and type(found[0]) is int and isinstance(found[1], list)):
        raise ValueError(f"no verdict: {text[:40]}")
    return Verdict(found[0], tuple(map(str, found[1])))


@cache
def rules_version() -> str:
    """Another word whenever the rules, or what they are worked out from, may find something else.

    It is read off the program's own files: nobody can forget to count it up.
    """
    package = Path(__file__).parent.parent
    found = sha256()
    for part in ("document", "paths", "rules"):
        for path in sorted((package / part).glob("*.py")):
            found.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return found.hexdigest()[:16]


# --- in words ---


def verdict_words(verdict: Verdict | None) -> str:
    """The first line of an answer: whether it may be released, or what stands in the way."""
    if verdict is None:
        return "UNKNOWN: not every file can be read, so nothing was checked"
    if verdict.ready:
        return "Ready to release"
    details = "showvc check" if verdict.blocks else "showvc settle"
    return f"BLOCKED: {_counts(verdict, names=True)}. Details: {details}"


def verdict_cell(verdict: Verdict | None) -> str:
    """The verdict in a row of a table."""
    if verdict is None:
        return "not checked"
    return "ready" if verdict.ready else _counts(verdict, names=False)


def _counts(verdict: Verdict, names: bool) -> str:
    lost = verdict.required_lost
    named = f" ({', '.join(lost[:3])}{', …' if len(lost) > 3 else ''})" if names else ""
    parts = [counted(verdict.blocks, "block")] if verdict.blocks else []
    parts += [f"{counted(len(lost), 'required path')} lost{named}"] if lost else []
    parts += [counted(verdict.conflicts, "open conflict")] if verdict.conflicts else []
    return ", ".join(parts)
