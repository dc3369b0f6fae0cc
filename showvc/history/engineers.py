"""Whose edits clash: for each side of a conflict, the last snapshot that touched its places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from showvc.document import SECTIONS
from showvc.document.pointers import parse
from showvc.formats.files import HEAD, Place
from showvc.history.archive import Archive
from showvc.history.snapshots import Snapshot, listed, with_turns
from showvc.merging import Conflict

Engineers = Mapping[str, tuple[Snapshot | None, Snapshot | None]]
"""By the key of a conflict: the snapshot of mine, and of incoming."""


def engineers(
    archive: Archive, bases: Sequence[str], mine: str, incoming: str, conflicts: Iterable[Conflict]
) -> Engineers:
    """The snapshot behind each side of each conflict; None where that side did nothing there."""
    conflicts = list(conflicts)
    if not conflicts:
        return {}
    ours, theirs = (_last_touched(archive, bases, tip) for tip in (mine, incoming))
    return {each.key: (_newest(ours, each), _newest(theirs, each)) for each in conflicts}


def _last_touched(archive: Archive, bases: Sequence[str], tip: str) -> dict[str, tuple[int, Snapshot]]:
    """The newest snapshot on the way to a side that touched each file, with its place in the list."""
    found: dict[str, tuple[int, Snapshot]] = {}
    between = list(listed(archive, [tip, *(f"^{base}" for base in bases), "--"]))
    for place, (snapshot, turns) in enumerate(with_turns(archive, between)):
        for turn in turns:
            found.setdefault(turn.path, (place, snapshot))
    return found


def _newest(touched: Mapping[str, tuple[int, Snapshot]], conflict: Conflict) -> Snapshot | None:
    files = {_file(parse(path)) for path in conflict.paths}
    return min((touched[file] for file in files if file in touched), key=lambda each: each[0], default=(0, None))[1]


def _file(steps: tuple[str, ...]) -> str:
    return Place(steps[0], steps[1]).path if steps[0] in SECTIONS else HEAD
