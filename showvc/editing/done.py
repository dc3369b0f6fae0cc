"""What an edit of a show comes to."""

from __future__ import annotations

from dataclasses import dataclass

from showvc.document import Show


@dataclass(frozen=True, slots=True)
class Done:
    """The show after an edit; what the changes alone do not tell, as sentences; things with another id, as pointers.

    `replaced` says that a thing with fields of its own gave way to one that was set.
    """

    show: Show
    notes: tuple[str, ...] = ()
    renamed: tuple[tuple[str, str], ...] = ()
    replaced: bool = False
