"""Drafts and marks: parallel versions, and names on snapshots."""

from __future__ import annotations

import re
from dataclasses import dataclass

from showvc.document import ShowError, near
from showvc.history.archive import DRAFTS, MARKS, Archive
from showvc.history.operations import Step, operation
from showvc.history.safety import keep_edits
from showvc.history.snapshots import Snapshot, snapshot

_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,59}")
_OTHER = "choose another name"
_TAKEN = re.compile(r"working|last(-\d+)?|\d{4}-\d{2}-\d{2}.*|[0-9a-f]{4,40}")


@dataclass(frozen=True, slots=True)
class Draft:
    """A parallel version: its name, its last snapshot, and whether the folder stands on it."""

    name: str
    last: Snapshot | None
    here: bool


def check_name(name: str, what: str) -> str:
    """A name for a draft or a mark. ShowError for one that could be taken for another source."""
    way_out = "small letters, digits, '-', '_' and '.', at most 60, such as opening-night"
    if not _NAME.fullmatch(name) or name.endswith((".lock", ".")) or ".." in name:
        raise ShowError(f"{name!r} cannot name a {what}", way_out)
    if _TAKEN.fullmatch(name):
        raise ShowError(f"{name!r} cannot name a {what}: it reads as another source", "choose a word")
    return name


def drafts(archive: Archive) -> list[Draft]:
    """All drafts by name, as it may stand on a screen: another program may have chosen it."""
    here = archive.draft
    found = {ref.removeprefix(DRAFTS): oid for ref, oid in archive.refs().items() if ref.startswith(DRAFTS)}
    listed = [Draft(name, snapshot(archive, oid), name == here) for name, oid in sorted(found.items())]
    return listed if here in found else [*listed, Draft(here, None, True)]


def open_draft(archive: Archive, name: str, start: str) -> str | None:
    """Begins a draft at this snapshot and goes to it.

    At the last snapshot the folder's unrecorded edits come along; elsewhere they are kept, and their safety snapshot
    is given.
    """
    check_name(name, "draft")
    with operation(archive, f"draft open {name}", whole=False, on_draft=False) as step:
        if DRAFTS + name in step.before.refs:
            raise ShowError(f"there is a draft {name!r} already", f"go to it with: showvc draft go {name}")
        if MARKS + name in step.before.refs:
            raise ShowError(f"there is a mark {name!r}, and a draft of the same name could be taken for it", _OTHER)
        _refuse_open_merge(step)
        kept = None
        if start != step.before.last:
            kept = keep_edits(step, f"Edits kept before opening the draft {name}")
            step.set(work=archive.tree_of(start))
        step.move(DRAFTS + name, start)
        step.set(draft=name)
        return kept


def go_to_draft(archive: Archive, name: str) -> str | None:
    """Puts the folder on another draft; gives the safety snapshot of edits that were not recorded."""
    with operation(archive, f"draft go {name}", whole=False, on_draft=False) as step:
        oid = step.before.refs.get(DRAFTS + name)
        if oid is None:
            known = [ref.removeprefix(DRAFTS) for ref in step.before.refs if ref.startswith(DRAFTS)]
            raise ShowError(
                f"there is no draft {name!r}", near(name, known) or f"open it with: showvc draft open {name}"
            )
        _refuse_open_merge(step)
        if name == step.before.draft and step.astray is None:
            return None
        kept = keep_edits(step, f"Edits kept before going to the draft {name}")
        step.set(draft=name, work=archive.tree_of(oid))
        return kept


def _refuse_open_merge(step: Step) -> None:
    if step.before.pending:
        raise ShowError(
            "a merge is open on this draft", "settle it with: showvc settle, or drop it: showvc settle --drop"
        )


def close_draft(archive: Archive, name: str) -> bool:
    """Takes a draft off the list; True where snapshots are on it that no other draft has."""
    with operation(archive, f"draft close {name}", whole=False) as step:
        oid = step.before.refs.get(DRAFTS + name)
        if oid is None:
            raise ShowError(f"there is no draft {name!r}", "see: showvc draft list")
        if name == step.before.draft:
            raise ShowError(f"the folder stands on {name!r}", "go to another draft first")
        step.move(DRAFTS + name, None)
        others = [other for ref, other in step.after.refs.items() if ref.startswith((DRAFTS, MARKS))]
        return bool(archive.git("rev-list", "--max-count=1", oid, *(f"^{other}" for other in others)).strip())


def mark(archive: Archive, name: str, commit: str, move: bool = False) -> None:
    """Names a snapshot. A mark that stands elsewhere moves only when asked to."""
    check_name(name, "mark")
    with operation(archive, f"mark {name}" + (" --move" if move else ""), whole=False) as step:
        if DRAFTS + name in step.before.refs:
            raise ShowError(f"there is a draft {name!r}, and a mark of the same name could be taken for it", _OTHER)
        stands = step.before.refs.get(MARKS + name)
        if stands not in (None, commit) and not move:
            raise ShowError(f"the mark {name!r} stands on {stands[:7]}", "take another name, or move it with --move")
        step.move(MARKS + name, commit)


def unmark(archive: Archive, name: str) -> None:
    """Takes a mark away; the snapshot stays."""
    with operation(archive, f"mark {name} --remove", whole=False) as step:
        if MARKS + name not in step.before.refs:
            raise ShowError(f"there is no mark {name!r}", "see: showvc history")
        step.move(MARKS + name, None)
