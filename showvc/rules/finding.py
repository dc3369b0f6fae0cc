"""What a rule finds."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from showvc.document import Show
from showvc.document.references import Reference, dangling
from showvc.paths import Paths, talk_paths

Severity = Literal["stop", "warn", "note"]
Clash = Literal["dangling", "double-booked", "same-id", "over-limit", "path-lost", "audio-loop"]

Identity = tuple[tuple[str, ...], tuple[str, ...]]

SEVERITIES: tuple[Severity, ...] = ("stop", "warn", "note")


class Scene:
    """A show as the rules see it: its paths are worked out once, and only when a rule asks for them."""

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


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that a rule found: the pointers that make it (the first is where it is shown), and a sentence.

    `facts` are further words that tell it apart from another finding at the same pointers; `hint` is a guess at
    what was meant, for a reader who has one show before him and not three.
    """

    paths: tuple[str, ...]
    message: str
    facts: tuple[str, ...] = ()
    hint: str = ""

    @property
    def identity(self) -> Identity:
        """Tells the same finding in another show."""
        return self.paths, self.facts


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule of the list: what it looks for, why that matters on headset, and the way out.

    `clash` is the kind of conflict that it makes in a merge when neither side had the finding alone;
    None where a rule says nothing about a merge. `again` answers, where `look` tells less than all there is, whether
    a show has this finding.
    """

    code: str
    severity: Severity
    why: str
    way_out: str
    look: Callable[[Scene], Iterable[Found]]
    clash: Clash | None = None
    again: Callable[[Scene, Found], bool] | None = None

    def finds(self, scene: Scene, found: Found) -> bool:
        """Whether a show has what was found in another."""
        if self.again is not None:
            return self.again(scene, found)
        return any(other.identity == found.identity for other in self.look(scene))


@dataclass(frozen=True, slots=True)
class Finding:
    """A rule's find in a show, ready to be read."""

    code: str
    severity: Severity
    path: str
    message: str
    why: str
    way_out: str
    paths: tuple[str, ...]
    quiet: str | None = None
    """The reason why the show accepts it; None where it does not."""
