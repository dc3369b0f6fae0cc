"""Which snapshot brought each change between two sources: who, when and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any, Literal

from showvc.changes import Change
from showvc.document import SECTIONS, ShowError, to_tree
from showvc.document.editing import ABSENT
from showvc.document.pointers import parse
from showvc.formats.files import HEAD, Place
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, listed, with_turns
from showvc.history.sources import Source, find_commit
from showvc.history.steps import Turn

Where = Literal["after", "before"]
_MOST_PATHS = 200
"""So many files are named to git; of more, all that a snapshot touched is gone through."""


@dataclass(frozen=True, slots=True)
class Origin:
    """The snapshot that brought a change. `where` is `before` where it is undone: the snapshot is on that side only."""

    snapshot: Snapshot
    where: Where = "after"


Turned = tuple[Snapshot, Turn]
"""A snapshot, and what it did to a file."""


@dataclass(frozen=True, slots=True)
class Between:
    """The snapshots that only one of two sources has, the newest first, and what they did to each file."""

    after: tuple[Snapshot, ...] = ()
    before: tuple[Snapshot, ...] = ()
    turns: Mapping[Where, Mapping[str, Sequence[Turned]]] | None = None

    def turned(self, where: Where, file: str) -> Sequence[Turned]:
        return self.turns[where].get(file, ()) if self.turns else ()


def between(archive: Archive, before: Source, after: Source, changes: Iterable[Change]) -> Between:
    """The snapshots between two sources. The cost follows what happened between them, not the history.

    A file stands for the snapshot that its stamp names; without one, all snapshots that touched what differs count.
    """
    one, other = _commit(archive, before), _commit(archive, after)
    files = sorted({_file(_place_of(change)) for change in changes})
    if one is not None and other is not None:
        new, old = _listed(archive, [f"{one}..{other}"]), _listed(archive, [f"{other}..{one}"])
    else:
        # Against a file of unknown origin the last who set each value is wanted.
        new = _listed(archive, [other, *_limited(files)]) if other and files else []
        old = _listed(archive, [one, *_limited(files)]) if one and files else []
        return Between(turns={"after": _by_file(archive, new), "before": _by_file(archive, old)})
    turns: dict[Where, Mapping[str, Sequence[Turned]]] = {
        "after": _by_file(archive, new),
        "before": _by_file(archive, old),
    }
    return Between(tuple(new), tuple(old), turns)


def _commit(archive: Archive, source: Source) -> str | None:
    """The snapshot that a source stands for; the folder for the last one, a file for that of its stamp."""
    if source.commit is not None or source.file is None:
        return source.commit or archive.last
    return find_commit(archive, source.stamp) if source.stamp else None


def _limited(files: Sequence[str]) -> list[str]:
    return ["--", *files] if len(files) <= _MOST_PATHS else ["--"]


def _listed(archive: Archive, arguments: list[str]) -> list[Snapshot]:
    return list(listed(archive, [*arguments, *([] if "--" in arguments else ["--"])]))


def _by_file(archive: Archive, found: Sequence[Snapshot]) -> Mapping[str, Sequence[Turned]]:
    turns: dict[str, list[Turned]] = {}
    for snapshot, changed in with_turns(archive, found):
        for turn in changed:
            turns.setdefault(turn.path, []).append((snapshot, turn))
    return turns


# --- one change ---


def origins(shows: Shows, found: Between, changes: Iterable[Change]) -> dict[str, Origin]:
    """By path: the snapshot that brought the change. Changes that no snapshot brought are left out.

    Of several, it is the newest that set the value which stands there now; one that put two sides together counts
    only where neither side had that value.
    """
    wanted = [(change, _place_of(change)) for change in changes]
    versions = _Versions(shows, found, {_file(steps) for _, steps in wanted})
    traced = ((change.path, _origin(versions, found, steps)) for change, steps in wanted)
    return {path: origin for path, origin in traced if origin is not None}


def _place_of(change: Change) -> tuple[str, ...]:
    """The place whose history tells of a change: of two that swapped, the first."""
    steps = parse(change.path)
    if len(steps) == 3 and isinstance(change.after, Mapping) and steps[2] in ("channels", "keys"):
        name = next(iter(change.after), "")
        return (*steps, name, "number") if steps[2] == "channels" else (*steps, name)
    return steps


def _file(steps: tuple[str, ...]) -> str:
    return Place(steps[0], steps[1]).path if steps[0] in SECTIONS and len(steps) > 1 else HEAD


class _Versions:
    """The versions of files as plain values, each read once; what cannot be read says nothing."""

    def __init__(self, shows: Shows, found: Between, files: Iterable[str]) -> None:
        self.shows = shows
        self._trees: dict[tuple[str, str], Any] = {}
        for file in files:
            turns = (*found.turned("after", file), *found.turned("before", file))
            blobs = {oid for _, turn in turns for oid in (turn.old, turn.new) if oid is not None}
            with suppress(ShowError):
                shows.bodies(_place(file), {oid: oid for oid in blobs})

    def value(self, file: str, blob: str | None, steps: Sequence[str]) -> Any:
        """What stands at a place below a file's thing, defaults left out; of the thing itself, whether it is there."""
        if blob is None or not steps:
            return ABSENT if blob is None else True
        if (file, blob) not in self._trees:
            self._trees[file, blob] = self._tree(file, blob)
        value = self._trees[file, blob]
        for step in steps:
            if not isinstance(value, Mapping) or step not in value:
                return ABSENT
            value = value[step]
        return value

    def _tree(self, file: str, blob: str) -> Any:
        try:
            return to_tree(self.shows.bodies(_place(file), {"": blob})[""])
        except ShowError:
            return {}


SIDES: tuple[Where, ...] = ("after", "before")


def _origin(versions: _Versions, found: Between, steps: tuple[str, ...]) -> Origin | None:
    file, inner = _file(steps), steps[2:] if steps[0] in SECTIONS else steps
    for where in SIDES:
        turns = [
            (snapshot, versions.value(file, turn.old, inner), versions.value(file, turn.new, inner))
            for snapshot, turn in found.turned(where, file)
        ]
        brought = [(snapshot, new) for snapshot, old, new in turns if old != new]
        if brought:
            now = turns[0][2]
            same = [snapshot for snapshot, new in brought if new == now] or [snapshot for snapshot, _ in brought]
            alone = [snapshot for snapshot in same if len(snapshot.parents) < 2]
            return Origin((alone or same)[0], where)
    return None


def _place(file: str) -> Place:
    if file == HEAD:
        return Place()
    section, _, name = file.partition("/")
    return Place(section, name.removesuffix(".yaml"))
