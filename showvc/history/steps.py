"""Snapshots as the steps between them, and the one that a show comes nearest to; none is opened."""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from showvc.document import SECTIONS, Body, Show
from showvc.formats.files import HEAD, Place, canonical
from showvc.store.commits import blob_id

K = TypeVar("K", bound=Hashable)
Ids = Mapping[str, str]
"""The path of a file in a show folder, `users/sm.yaml`, to the id of its content."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One file that a snapshot changed: its content's id before and after, None where there is no file."""

    path: str
    old: str | None
    new: str | None


def turn_of(path: str, _: str, __: str, before: str, after: str) -> Turn:
    """What two trees have otherwise at a path: the modes and contents before and after."""
    old, new = (oid if set(oid) != {"0"} else None for oid in (before, after))
    return Turn(path, old, new)


@dataclass(frozen=True, slots=True)
class SnapshotStep:
    """A snapshot as git tells it without opening a file: its parents, and what it changed against the first.

    A snapshot without parents is told against nothing.
    """

    code: str
    parents: tuple[str, ...] = ()
    turns: tuple[Turn, ...] = ()


@dataclass(frozen=True, slots=True)
class Apart:
    """A file in which a show differs from its nearest snapshot.

    `content` is None where the show lacks the file. `known` is the first snapshot that had just this content (or
    that took the file out), None where no snapshot ever had it: an edit that only the device carries.
    """

    path: str
    content: str | None
    known: str | None = None


@dataclass(frozen=True, slots=True)
class Nearest:
    """The nearest snapshot, and each file in which the show differs from it; none for a show that is recorded."""

    code: str
    apart: tuple[Apart, ...] = ()


def content_ids(show: Show, known: dict[tuple[str, str], str] | None = None) -> dict[str, str]:
    """The content id of every file of a show: the name that git gives to the file in canonical form.

    `known` remembers bodies from one show to the next: dumps of one fleet are mostly the same.
    """
    known = {} if known is None else known
    ids = {HEAD: _content_id("", show.head, known)}
    for section in SECTIONS:
        for name, body in show.section(section).items():
            ids[Place(section, name).path] = _content_id(section, body, known)
    return ids


def _content_id(section: str, body: Body, known: dict[tuple[str, str], str]) -> str:
    key = section, body.model_dump_json()
    if key not in known:
        known[key] = blob_id(canonical(body).encode())
    return known[key]


def nearest(
    wanted: Mapping[K, Ids], history: Sequence[SnapshotStep], released: Collection[str] = ()
) -> dict[K, Nearest]:
    """For each of the shows wanted, the snapshot that it differs from in the fewest files.

    `history` has parents before children. It is walked once for all shows, and the work is in the files that
    the snapshots changed: how large a show is, and how many files they left alone, does not matter. Of snapshots
    equally near, one of the `released` is taken, since only these are loaded; then the earlier, so that a merge
    from there asks about a doubtful edit instead of losing it. A show that is recorded is given its latest snapshot.
    Nothing is given for an empty history.
    """
    names = list(wanted)
    walk = _Walk([wanted[name] for name in names], set(released))
    for place, step in enumerate(history):
        walk.step(step, place)
    apart = _apart(walk, history)
    return {name: Nearest(code, apart[index]) for index, name in enumerate(names) if (code := walk.best[index].code)}


@dataclass(slots=True)
class _Best:
    rank: tuple[int, bool, int] | None = None
    code: str = ""


class _Walk:
    """Counts, for every snapshot and every show wanted, the files in which they differ."""

    def __init__(self, wanted: Sequence[Ids], released: set[str]) -> None:
        self.wanted, self.released = wanted, released
        self.differ: dict[str, list[int]] = {}
        self.best: list[_Best] = [_Best() for _ in wanted]
        self.first: dict[tuple[str, str | None], str] = {}
        self.wanting: dict[str, dict[str | None, list[int]]] = {}

    def who_wants(self, path: str) -> dict[str | None, list[int]]:
        """For a file, the shows that want each content of it; None for those that want none."""
        if path not in self.wanting:
            found: dict[str | None, list[int]] = {}
            for index, ids in enumerate(self.wanted):
                found.setdefault(ids.get(path), []).append(index)
            self.wanting[path] = found
        return self.wanting[path]

    def step(self, step: SnapshotStep, place: int) -> None:
        first = step.parents[0] if step.parents else None
        counts = list(self.differ[first]) if first is not None else [len(ids) for ids in self.wanted]
        for turn in step.turns:
            wanting = self.who_wants(turn.path)
            for index in wanting.get(turn.old, ()):
                counts[index] += 1
            for index in wanting.get(turn.new, ()):
                counts[index] -= 1
            if turn.new in wanting:
                self.first.setdefault((turn.path, turn.new), step.code)
        self.differ[step.code] = counts
        unreleased = step.code not in self.released
        for best, count in zip(self.best, counts, strict=True):
            rank = (count, unreleased, place if count else -place)
            if best.rank is None or rank < best.rank:
                best.rank, best.code = rank, step.code


def _apart(walk: _Walk, history: Sequence[SnapshotStep]) -> list[tuple[Apart, ...]]:
    """The files that differ, from the states of the few snapshots that turned out to be nearest."""
    steps = {step.code: step for step in history}
    states = {code: state_at(code, steps) for code in {best.code for best in walk.best if best.code}}
    return [
        _differing(ids, states[best.code], walk) if best.code else ()
        for ids, best in zip(walk.wanted, walk.best, strict=True)
    ]


def _differing(ids: Ids, state: Ids, walk: _Walk) -> tuple[Apart, ...]:
    paths = sorted(path for path in {*ids, *state} if ids.get(path) != state.get(path))
    return tuple(Apart(path, ids.get(path), walk.first.get((path, ids.get(path)))) for path in paths)


def state_at(code: str, steps: Mapping[str, SnapshotStep]) -> dict[str, str]:
    """The content ids of all files of a snapshot, put together from the steps that lead to it."""
    state: dict[str, str | None] = {}
    at: str | None = code
    while at is not None:
        for turn in steps[at].turns:
            state.setdefault(turn.path, turn.new)
        at = steps[at].parents[0] if steps[at].parents else None
    return {path: content for path, content in state.items() if content is not None}


def common_base(codes: Iterable[str], history: Sequence[SnapshotStep]) -> str | None:
    """The latest snapshot that all of these came from (one may be it); None where there is none."""
    parents = {step.code: step.parents for step in history}
    shared: set[str] | None = None
    for code in codes:
        own = ancestry(code, parents)
        shared = own if shared is None else shared & own
    return next((step.code for step in reversed(history) if step.code in (shared or ())), None)


def ancestry(code: str, parents: Mapping[str, Sequence[str]]) -> set[str]:
    """A snapshot and all that it came from."""
    found: set[str] = set()
    todo = [code]
    while todo:
        at = todo.pop()
        if at not in found and at in parents:
            found.add(at)
            todo += parents[at]
    return found
