"""What a rule finds: values, without words. The sentences stand in `sentences.py`."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from typing import Any, Literal

from showvc.document import Show
from showvc.document.pointers import parse
from showvc.document.references import Reference, dangling
from showvc.paths import Members, Paths, RequiredState, required_states, talk_paths, target_members
from showvc.rules.texts import Steps, texts

Severity = Literal["block", "warning", "note"]
Clash = Literal[
    "dangling", "double-booked", "same-id", "over-limit", "path-lost", "off-headset", "fragile", "key-lost",
    "overheard", "audio-loop",
]  # fmt: skip

Identity = tuple[tuple[str, ...], tuple[str, ...]]

SEVERITIES: tuple[Severity, ...] = ("block", "warning", "note")
"""The gravest first."""


class Scene:
    """A show as the rules see it: what several of them ask is worked out once, and only when one does."""

    def __init__(self, show: Show, paths: Callable[[], Paths] | None = None) -> None:
        self.show = show
        self._paths = paths

    @cached_property
    def paths(self) -> Paths:
        """Who hears whom in this show."""
        return self._paths() if self._paths else talk_paths(self.show)

    @cached_property
    def dangling(self) -> tuple[Reference, ...]:
        """The references of this show to what is not there."""
        return tuple(dangling(self.show))

    @cached_property
    def texts(self) -> Sequence[tuple[Steps, str]]:
        """Every text of one line that somebody chose in this show, with the steps to it."""
        return tuple(texts(self.show))

    @cached_property
    def required(self) -> tuple[RequiredState, ...]:
        """The required paths of this show and how they stand."""
        return required_states(self.paths) if self.show.required else ()

    @cached_property
    def members(self) -> tuple[Members, ...]:
        """Who is on each group and line of this show."""
        return target_members(self.paths)

    @cached_property
    def deserted(self) -> tuple[Members, ...]:
        """Of the critical groups and lines those on which nobody talks, or nobody listens."""
        return tuple(
            each for each in self.members if each.target in self.critical and not (each.talkers and each.listeners)
        )

    @cached_property
    def critical(self) -> frozenset[str]:
        """The critical groups and lines."""
        return self.show.critical_groups | {name for name, line in self.show.lines.items() if line.critical}


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that a rule found: the pointers that make it (the first is where it is shown), and its facts.

    `facts` are plain values, ids and not labels: the sentence is made of them, and an acceptance holds as long as
    they stay. `key` are words that tell it apart from another finding at the same pointers. `hint` is a way out that
    fits this one better than the rule's. `severity` where it is not the rule's.
    """

    paths: tuple[str, ...]
    facts: tuple[Any, ...] = ()
    key: tuple[str, ...] = ()
    hint: str = ""
    severity: Severity | None = None

    @property
    def identity(self) -> Identity:
        """Tells the same finding in another show."""
        return self.paths, self.key


Sentence = Callable[..., str]
"""Makes WHERE: WHAT of a show and a finding's facts."""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of the list: what it looks for, why that matters on headset, and the way out.

    `clash` is the kind of conflict that it makes in a merge when neither side had the finding alone;
    None where a rule says nothing about a merge. `again` answers, where `look` tells less than all there is, whether
    a show has this finding. `says` is the sentence of a rule that is not in the list.
    """

    code: str
    severity: Severity
    why: str
    way_out: str
    look: Callable[[Scene], Iterable[Found]]
    clash: Clash | None = None
    again: Callable[[Scene, Found], bool] | None = None
    says: Sentence | None = None

    def finds(self, scene: Scene, found: Found) -> bool:
        """Whether a show has what was found in another."""
        if self.again is not None:
            return self.again(scene, found)
        return any(other.identity == found.identity for other in self.look(scene))


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule's find in a show, ready to be read: `message` is WHERE: WHAT (WAY OUT)."""

    code: str
    severity: Severity
    path: str
    message: str
    why: str
    way_out: str
    paths: tuple[str, ...]
    facts: str
    """A short digest of its facts. An acceptance names it, and ends where it changes."""
    accepted: str | None = None
    """The reason why the show accepts it; None where it does not."""
    entry: str | None = None
    """The acceptance that the show has for it, be it of other facts."""

    @property
    def accept(self) -> str | None:
        """The command that accepts it, whole; None for a block."""
        if self.severity == "block":
            return None
        body = {"rule": self.code, "at": self.path, "facts": self.facts, "why": "REASON"}
        quoted = json.dumps(body, ensure_ascii=False).replace("'", "'\\''")
        return f"showvc set accepted/{self.entry or self._id()} '{quoted}'"

    def _id(self) -> str:
        """An id for an acceptance: from the rule and what it is at, and its own by the facts."""
        steps = [step for step in parse(self.path)[1:] if step.isascii()]
        words = "".join(char if char.isalnum() else "-" for char in "-".join([self.code, *steps]).lower())
        return f"{words[:31].strip('-')}-{self.facts}"

    def plain(self) -> dict[str, Any]:
        """The finding as the JSON of `check` has it."""
        return {
            "code": self.code,
            "severity": self.severity,
            "path": self.path,
            "message": self.message,
            "facts": self.facts,
        }


def digest(found: Found, severity: Severity) -> str:
    """Eight characters that are others when what was found is."""
    known = json.dumps([severity, found.facts], ensure_ascii=False, separators=(",", ":"))
    return sha256(known.encode()).hexdigest()[:8]
