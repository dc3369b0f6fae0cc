"""What stood before two snapshots that are put together: their last common snapshot, or what several make together."""

from __future__ import annotations

from collections.abc import Sequence

from showvc.document import Head, Show
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Facts, Snapshot, listed
from showvc.merging import Base, crossed
from showvc.store.calling import GitFailed


def base_of(archive: Archive, bases: Sequence[str], shows: Shows) -> Base:
    """The base; of several (engineers who merged each other's work crosswise) what they make together.

    What clashes between them was settled on each side: the base says where, so that it is asked again where the
    answers differ.
    """
    base = Base(shows.at(bases[0]))
    for number, other in enumerate(bases[1:], 1):
        inner = archive.git("merge-base", "--all", bases[number - 1], other).split()
        before = base_of(archive, inner, shows) if inner else Base(Show(head=Head()))
        found = crossed(before, base.show, shows.at(other))
        base = Base(found.show, (*base.asked, *found.asked))
    return base


def taken_back(archive: Archive, source: str, last: str) -> Snapshot | None:
    """The snapshot of this draft that took `source` back after it was merged; None where it still stands."""
    found = list(listed(archive, [last, f"^{source}", "--"]))
    undone = {each.facts.undoes for each in found}
    for each in found:
        if each.facts.undoes and each.oid not in undone and _took(archive, each.facts, source):
            return each
    return None


def _took(archive: Archive, facts: Facts, source: str) -> bool:
    """Whether what a snapshot took back was brought by this source."""
    try:
        parents = archive.commit(facts.undoes).parents
        if len(parents) == 2:
            side = parents[0 if facts.side == "mine" else 1]
            kept = parents[1 if facts.side == "mine" else 0]
            return _within(archive, source, side) and not _within(archive, source, kept)
        return _within(archive, facts.undoes, source)
    except GitFailed:
        return False


def _within(archive: Archive, commit: str, of: str) -> bool:
    return archive.git("rev-list", "--count", commit, f"^{of}", "--").strip() == "0"


def renamed_since(archive: Archive, bases: Sequence[str], *tips: str) -> tuple[tuple[str, str], ...]:
    """The things that got another id on the way from these bases to the tips, as the snapshots wrote it down."""
    found = listed(archive, [*tips, *(f"^{base}" for base in bases), "--"])
    return tuple(dict.fromkeys(pair for each in found for pair in each.facts.renamed))
