"""What went wrong, in a form that a person can act on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from difflib import get_close_matches

MAX_PROBLEMS = 100
"""The most that is told of one body; what follows is mostly the same slip again."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with an input.

    `line` and `column` count from 1; both are `None` where the input has no lines. `way_out` says
    what to do about it. `on_name` tells that a name is wrong, and not the value that stands under it.
    """

    message: str
    file: str | None = None
    line: int | None = None
    column: int | None = None
    way_out: str | None = None
    on_name: bool = field(default=False, compare=False)

    def __str__(self) -> str:
        place = ":".join(str(part) for part in (self.file, self.line, self.column) if part is not None)
        text = f"{place}: {self.message}" if place else self.message
        return f"{text} ({self.way_out})" if self.way_out else text

    def in_file(self, file: str) -> Problem:
        return replace(self, file=file)


class ShowError(Exception):
    """The call or its input is wrong; carries every problem that was found, not the first alone."""

    def __init__(self, problems: Iterable[Problem] | str, way_out: str | None = None) -> None:
        found = (Problem(problems, way_out=way_out),) if isinstance(problems, str) else tuple(problems)
        self.problems: tuple[Problem, ...] = found
        super().__init__("\n".join(str(problem) for problem in found))


class MachineError(Exception):
    """The machine failed us: disk, permission, a missing program, the hub out of reach."""

    def __init__(self, message: str, way_out: str | None = None) -> None:
        self.message, self.way_out = message, way_out
        super().__init__(f"{message} ({way_out})" if way_out else message)


def near(word: str, known: Iterable[str], alike: float = 0.6) -> str | None:
    """`did you mean …?` with up to three known words that look like this one, or None.

    `alike` is how much they must (0 to 1, the ratio of difflib).
    """
    close = get_close_matches(word.lower(), sorted(known), n=3, cutoff=alike)
    return f"did you mean {' or '.join(close)}?" if close else None
