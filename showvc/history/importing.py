"""Taking over a show that a table or file says: into the folder and recorded, as one step."""

from __future__ import annotations

from collections.abc import Callable

from showvc.document import Show, ShowError
from showvc.history.archive import Archive
from showvc.history.files import files_with
from showvc.history.operations import operation
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, record_work
from showvc.history.sources import find, find_commit


def recorded_show(archive: Archive, shows: Shows) -> Show:
    """The show of the folder, to import into. ShowError where it holds edits that are not recorded."""
    working = find(archive, "working", shows)
    if archive.last is not None and archive.tree_of(archive.last) != working.tree:
        raise ShowError(
            "the show folder holds edits that are not recorded", "record them first: showvc record --note TEXT"
        )
    return working.show


def recorded_since(archive: Archive, code: str | None) -> tuple[str, int] | None:
    """The snapshot that a file says it is of, and how many of this draft are not in it.

    None where it has all of them, or names none that is known here.
    """
    last, commit = archive.last, find_commit(archive, code) if code else None
    if last is None or commit is None or archive.tree_of(commit) == archive.tree_of(last):
        return None
    count = int(archive.git("rev-list", "--count", last, f"^{commit}"))
    return (commit, count) if count else None


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
