"""Going back whole."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

from showvc.changes import Comparison, edits
from showvc.document import Show, ShowError
from showvc.history.archive import Archive
from showvc.history.files import files_with
from showvc.history.operations import Step, operation
from showvc.history.safety import keep_edits
from showvc.history.shows import Shows
from showvc.history.sources import Source
from showvc.rules import Finding, new_findings


@dataclass(frozen=True)
class Restored:
    """The folder before and after, and the safety snapshot of edits that were not recorded.

    `before` is None where what stood there could not be read; `files` are those that became others. `recorded` says
    that the folder is as the last snapshot is.
    """

    before: Show | None
    after: Show
    files: tuple[str, ...]
    kept: str | None
    recorded: bool

    @cached_property
    def changes(self) -> Comparison:
        """What changed, as far as it could be read before."""
        return Comparison() if self.before is None else edits(self.before, self.after)

    @cached_property
    def blocks(self) -> tuple[Finding, ...]:
        """What keeps the show from being released now, and did not before."""
        found = new_findings(self.before, self.after) if self.before is not None and self.changes else ()
        return tuple(finding for finding in found if finding.severity == "block")


def restore(archive: Archive, shows: Shows, source: Source) -> Restored:
    """Makes the show folder what the source is; nothing is recorded. Unrecorded edits are kept first.

    What cannot be read and is to be overwritten stays beside it in the folder.
    """
    with operation(archive, f"restore {source.name}", whole=False, on_draft=False) as step:
        _refuse_under_merge(step, source)
        try:
            before = shows.of_work(step.before.work, step.before.last)
        except ShowError:
            before = None  # what stands there cannot be read: it is kept as it is, and put right
        kept = keep_edits(step, f"Edits kept before restoring {source.name}")
        if source.tree is not None:
            work = source.tree
        else:
            known = archive.files(step.before.work) if before is not None else {}
            stands = before if before is not None else Show(head=source.show.head)
            work = archive.write_tree(files_with(shows, known, stands, source.show))
        if work == step.before.work:
            kept = None
        step.set(work=work, renamed=())
        old, new = archive.files(step.before.work), archive.files(work)
        files = tuple(path for path in sorted({*old, *new}) if old.get(path) != new.get(path))
        last = step.before.last
    return Restored(before, source.show, files, kept, last is not None and archive.tree_of(last) == work)


def _refuse_under_merge(step: Step, source: Source) -> None:
    """A folder put back to anything but the last snapshot would be merged as an edit of mine, which nobody means."""
    last, pending = step.before.last, step.before.pending
    if pending is None or (last is not None and source.tree == step.archive.tree_of(last)):
        return
    raise ShowError(
        f"the {pending['what']} of {pending['source']} is open: the folder goes back to last only",
        "settle it first: showvc settle, or drop it: showvc settle --drop",
    )


def write_show(archive: Archive, shows: Shows, change: Callable[[Show], Show]) -> None:
    """Edits the files of the folder so that they hold what `change` makes of them; comments and order stay."""
    with operation(archive, "edit by hand") as step:
        before = shows.of_work(step.before.work, step.before.last)
        after = change(before)
        step.set(work=archive.write_tree(files_with(shows, archive.files(step.before.work), before, after)))
