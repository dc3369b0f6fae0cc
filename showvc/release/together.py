"""Taking the edits that devices carry into a draft, part by part, each from the snapshot that it came from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showvc.document.lining import counted
from showvc.history.archive import Archive
from showvc.history.joining import merge_source
from showvc.history.nearest import Base
from showvc.history.pending import Outcome
from showvc.history.shows import Shows
from showvc.history.sources import Source
from showvc.release.fleet import Fleet, Part


@dataclass(frozen=True, slots=True)
class Taken:
    """A part of the fleet whose edits went into the draft, and how that merge stands."""

    part: Part
    outcome: Outcome


@dataclass(frozen=True, slots=True)
class Together:
    """The parts that were merged, and those that wait behind a merge with open conflicts."""

    taken: tuple[Taken, ...] = ()
    waiting: tuple[Part, ...] = ()

    @property
    def clean(self) -> bool:
        """Whether nothing waits for a person."""
        return not self.waiting and all(each.outcome.recorded for each in self.taken)


def with_edits(result: Fleet) -> tuple[Part, ...]:
    """The parts whose edits no snapshot has, and whose base is known: those that can be taken in."""
    return tuple(part for part in result.parts if part.state == "edited" and part.code and part.show)


def bring_together(
    archive: Archive, shows: Shows, result: Fleet, take_remembered: bool = False, yes: bool = False
) -> Together:
    """Merges each part that carries edits into this draft, the largest first, from the snapshot it came from.

    Stops at the first merge with conflicts, which then waits as any other; called again after it is settled, with
    the fleet read again, it goes on with the rest. ShowError where a merge is open already.
    """
    taken: list[Taken] = []
    parts: Sequence[Part] = with_edits(result)
    for place, part in enumerate(parts):
        assert part.code is not None, "only parts with a base have their edits taken in"
        assert part.show is not None, "only what a dump showed can be taken in"
        base = Base(part.code, f"from {part.code[:7]}, the nearest snapshot of the history")
        outcome = merge_source(archive, Source(called(part), part.show), shows, take_remembered, base, yes)
        taken.append(Taken(part, outcome))
        if not outcome.recorded:
            return Together(tuple(taken), tuple(parts[place + 1 :]))
    return Together(tuple(taken))


def called(part: Part) -> str:
    """What a part is called in the history: `the edits on desk-01 and 26 more devices`."""
    more = len(part.devices) - 1
    return f"the edits on {part.devices[0]}" + (f" and {counted(more, 'more device')}" if more else "")


__all__ = ["Taken", "Together", "bring_together", "called", "with_edits"]
