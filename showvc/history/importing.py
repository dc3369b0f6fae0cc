"""Taking over a show that a table or file says: into the folder and recorded, as one step."""

from __future__ import annotations

from collections.abc import Callable

from showvc.document import Show, ShowError
from showvc.history.archive import Archive
from showvc.history.files import files_with
from showvc.history.operations import operation
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, record_work
from showvc.history.sources import find


def recorded_show(archive: Archive, shows: Shows) -> Show:
    """The show of the folder, to import into. ShowError where it holds edits that are not recorded."""
    working = find(archive, "working", shows)
    if archive.last is not None and archive.tree_of(archive.last) != working.tree:
        raise ShowError(
            "the show folder holds edits that are not recorded", "record them first: showvc record --note TEXT"
        )
    return working.show


def take_over(
    archive: Archive,
    shows: Shows,
    current: Show,
    imported: Show,
    name: str,
    note: str | None = None,
    waiting: Callable[[], None] | None = None,
) -> Snapshot | None:
    """Makes the folder's files say what `imported` does, comments and order kept, and takes one snapshot of it.

    `current` is the show that the import was planned over: ShowError, and nothing changed, where the folder holds
    another by now. `name` is the file that it came from. None where nothing differs.
    """
    with operation(archive, f"import {name}", waiting) as step:
        if shows.at(step.before.work) != current:
            raise ShowError("the show was edited while the import was looked at", "do the import again")
        step.set(work=archive.write_tree(files_with(shows, archive.files(step.before.work), current, imported)))
        made = record_work(step, note or f"Import of {name}", shows)
    return made.snapshot if made else None
