"""The verdicts on snapshots and the folder, kept by what stands there and by the version of the rules."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from showvc.document import MachineError, Show, ShowError
from showvc.history.archive import Archive
from showvc.history.joining import pending_merge
from showvc.history.pending import Outcome
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot
from showvc.history.working import look
from showvc.rules import Verdict, from_kept, judge, kept, rules_version

MOST_AT_ONCE = 3
"""So many snapshots that nobody judged yet are judged to list them: a history may hold a thousand."""


def known_verdicts(shows: Shows, trees: Iterable[str]) -> dict[str, Verdict]:
    """The verdicts on these trees that were worked out before."""
    found: dict[str, Verdict] = {}
    for tree, words in shows.cache.verdicts(trees, rules_version()).items():
        try:
            found[tree] = from_kept(words)
        except ValueError:
            continue  # worked out again where it is asked for
    return found


def verdict_on(shows: Shows, tree: str, show: Show | None = None) -> Verdict:
    """The verdict on a tree; `show` is what stands in it, where that is read already. ShowError where it is no show."""
    known = known_verdicts(shows, [tree])
    if tree not in known:
        known[tree] = judge(show if show is not None else shows.at(tree))
        shows.cache.keep_verdict(tree, rules_version(), kept(known[tree]))
    return known[tree]


def verdicts_on(shows: Shows, snapshots: Sequence[Snapshot]) -> list[Verdict | None]:
    """The verdict on each snapshot. None for one that was not judged yet, but for the first few, or cannot be read."""
    known = known_verdicts(shows, {each.tree for each in snapshots})
    for each in [each for each in snapshots if each.tree not in known][:MOST_AT_ONCE]:
        try:
            known[each.tree] = verdict_on(shows, each.tree)
        except ShowError:
            continue
    return [known.get(each.tree) for each in snapshots]


def show_here(archive: Archive, shows: Shows) -> Show | None:
    """The show in the folder as it stands. None where not all of it can be read."""
    work = look(archive)
    try:
        return None if work.problems else shows.of_work(work.tree, archive.last)
    except ShowError:
        return None


def verdict_here(archive: Archive, shows: Shows) -> Verdict | None:
    """The verdict on the folder as it stands, its open merge counted. None where not all of it can be read.

    It is told after a command has happened, so the machine's own failure is no failure of that command.
    """
    try:
        work = look(archive)
        if work.problems:
            return None
        found = known_verdicts(shows, [work.tree]).get(work.tree)
        if found is None:
            found = verdict_on(shows, work.tree, shows.of_work(work.tree, archive.last))
        pending = pending_merge(archive, shows)
    except (ShowError, MachineError, OSError):
        return None
    return found if pending is None else found.with_conflicts(open_conflicts(pending))


def open_conflicts(outcome: Outcome) -> int:
    """The conflicts of a merge that is open; one that waits for anything counts as one."""
    return max(1, len(outcome.merge.conflicts))
