"""Safety snapshots: edits that are about to be overwritten are kept first."""

from __future__ import annotations

from datetime import datetime

from showvc.history.archive import OPERATIONS, Archive
from showvc.history.operations import Step
from showvc.history.people import identity
from showvc.history.snapshots import Snapshot, listed

_KEPT = "Edits kept before "


def unrecorded(step: Step) -> bool:
    """Whether the folder holds edits that the newest snapshot does not."""
    last = step.before.last
    return last is None or step.archive.tree_of(last) != _tree(step)


def keep_edits(step: Step, note: str) -> str | None:
    """Keeps the folder as it is as a snapshot of its own, off the draft; gives its id, or None if all is recorded.

    What could not be read in it is kept as it was recorded: it stays beside where it stood.
    """
    if not unrecorded(step):
        return None
    last, tree = step.before.last, _tree(step)
    who, now = identity(step.archive), datetime.now().astimezone()
    oid = step.archive.write_commit(tree, [last] if last else [], who, now, note + "\n")
    step.keep.append(oid)
    return oid


def _tree(step: Step) -> str:
    if not step.left_out or step.before.last is None:
        return step.before.work
    recorded = step.archive.files(step.archive.tree_of(step.before.last))
    missing = {path: oid for path, oid in recorded.items() if path in step.left_out}
    return step.archive.write_tree({**missing, **step.archive.files(step.before.work)})


def kept_edits(archive: Archive, path: str | None = None, most: int | None = None) -> list[Snapshot]:
    """Every snapshot of edits that were kept before a command, the newest first; `path` as in `history`."""
    log = archive.ref(OPERATIONS)
    if log is None:
        return []
    limit = [f"--max-count={most}"] if most else []
    wanted = [*limit, f"--grep=^{_KEPT}", log, "--", *([path] if path else [])]
    return [found for found, _ in listed(archive, wanted) if found.note.startswith(_KEPT)]
