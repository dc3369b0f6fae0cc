"""Safety snapshots: edits that are about to be overwritten are kept first."""

from __future__ import annotations

from datetime import datetime

from showvc.history.archive import DRAFTS, OPERATIONS, Archive
from showvc.history.operations import Step
from showvc.history.people import identity
from showvc.history.snapshots import Snapshot, listed

_KEPT = "Edits kept before "


def unrecorded(step: Step) -> bool:
    """Whether the folder holds edits that the newest snapshot does not."""
    last = step.before.refs.get(DRAFTS + step.before.draft)
    return last is None or step.archive.tree_of(last) != step.before.work


def keep_edits(step: Step, note: str) -> str | None:
    """Keeps the folder as it is as a snapshot of its own, off the draft; gives its id, or None if all is recorded."""
    if not unrecorded(step):
        return None
    last = step.before.refs.get(DRAFTS + step.before.draft)
    who, now = identity(step.archive), datetime.now().astimezone()
    oid = step.archive.write_commit(step.before.work, [last] if last else [], who, now, note + "\n")
    step.keep.append(oid)
    return oid


def kept_edits(archive: Archive, path: str | None = None, most: int | None = None) -> list[Snapshot]:
    """Every snapshot of edits that were kept before a command, the newest first; `path` as in `history`."""
    if archive.ref(OPERATIONS) is None:
        return []
    limit = [f"--max-count={most}"] if most else []
    wanted = [*limit, f"--grep=^{_KEPT}", OPERATIONS, "--", *([path] if path else [])]
    return [found for found, _ in listed(archive, wanted) if found.note.startswith(_KEPT)]
