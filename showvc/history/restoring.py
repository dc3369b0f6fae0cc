"""Going back whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from showvc.changes import Comparison, edits
from showvc.document import Show, ShowError
from showvc.history.archive import Archive
from showvc.history.files import files_with
from showvc.history.operations import operation
from showvc.history.safety import keep_edits
from showvc.history.shows import Shows
from showvc.history.sources import Source


@dataclass(frozen=True, slots=True)
class Restored:
    """What changed in the folder, and the safety snapshot of edits that were not recorded."""

    changes: Comparison
    kept: str | None


def restore(archive: Archive, shows: Shows, source: Source) -> Restored:
    """Makes the show folder what the source is; nothing is recorded. Unrecorded edits are kept first."""
    with operation(archive, f"restore {source.name}") as step:
        try:
            before = shows.of_work(step.before.work, step.before.last)
        except ShowError:
            before = None  # what stands there cannot be read: it is kept as it is, and put right
        kept = keep_edits(step, f"Edits kept before restoring {source.name}")
        if source.tree is not None:
            work = source.tree
        else:
            files = archive.files(step.before.work) if before is not None else {}
            stands = before if before is not None else Show(head=source.show.head)
            work = archive.write_tree(files_with(shows, files, stands, source.show))
        if work == step.before.work:
            kept = None
        step.set(work=work)
    return Restored(edits(before, source.show) if before is not None else Comparison(), kept)


def write_show(archive: Archive, shows: Shows, change: Callable[[Show], Show]) -> None:
    """Edits the files of the folder so that they hold what `change` makes of them; comments and order stay."""
    with operation(archive, "edit by hand") as step:
        before = shows.of_work(step.before.work, step.before.last)
        after = change(before)
        step.set(work=archive.write_tree(files_with(shows, archive.files(step.before.work), before, after)))
