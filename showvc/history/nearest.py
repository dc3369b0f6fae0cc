"""The history told by git, step by step; and where a file without history came from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

from showvc.document import Body, ShowError
from showvc.formats.files import Place, canonical, place_of
from showvc.history.archive import RELEASES, Archive
from showvc.history.shows import Shows
from showvc.history.sources import Source, find_commit
from showvc.history.steps import SnapshotStep, Turn, content_ids, nearest, state_at, turn_of
from showvc.store.commits import blob_id
from showvc.store.trees import EMPTY


@dataclass(frozen=True, slots=True)
class Base:
    """The snapshot taken as a file's base, and why."""

    commit: str
    why: str


def base_of_file(archive: Archive, shows: Shows, source: Source, mine: str) -> Base:
    """The snapshot that the file says it was made from, else the nearest one of the whole history, `mine` included."""
    commit = find_commit(archive, source.stamp) if source.stamp else None
    if commit is not None:
        return Base(commit, f"from {commit[:7]}, the snapshot that the file names")
    wanted = content_ids(source.show)
    released = {oid for name, oid in archive.refs().items() if name.startswith(RELEASES)}
    found = nearest({"file": wanted}, canonical_steps(shows, steps(archive, mine), [wanted]), released)["file"]
    differing = f"{len(found.apart)} of its files differ" if found.apart else "they are equal"
    return Base(found.code, f"from {found.code[:7]}, the nearest snapshot of the history: {differing}")


# --- the history, as git tells it ---


def steps(archive: Archive, *also: str) -> tuple[SnapshotStep, ...]:
    """Every snapshot of all drafts, marks, releases and what the hub sent, parents first, as git tells them.

    `also` are snapshots that no ref leads to yet. Nothing but the names of what changed is read.
    """
    tips = sorted({*archive.refs().values(), *also})
    if not tips:
        return ()
    out = archive.git("log", "--topo-order", "--reverse", "--format=%H %T %P", *tips, "--")
    listed = [line.split() for line in out.split("\n") if line]
    trees = {code: tree for code, tree, *_ in listed}
    sides = {code: (trees.get(before[0], EMPTY) if before else EMPTY, tree) for code, tree, *before in listed}
    differences = archive.differences(sides.values())
    return tuple(
        SnapshotStep(code, tuple(before), tuple(turn_of(*change) for change in differences.of(*sides[code])))
        for code, _, *before in listed
    )


def canonical_steps(
    shows: Shows, history: Sequence[SnapshotStep], wanted: Sequence[Mapping[str, str]]
) -> tuple[SnapshotStep, ...]:
    """The same steps with the content of a file named by its canonical form, where it matters.

    A file that somebody wrote by hand, with remarks, has another name in git than a dump of the same plot. Remarks
    stay with a file, so a file has some at the end of a draft if it ever had. Read are the files that a wanted show
    has otherwise than the ends of the drafts, and all versions of those alone that have remarks there, or that no
    draft has any more.
    """
    had: dict[str, set[str]] = {}
    for turn in (turn for step in history for turn in step.turns):
        had.setdefault(turn.path, set()).update(oid for oid in (turn.new,) if oid)
    known = {step.code: step for step in history}
    inner = {parent for step in history for parent in step.parents}
    ends = [state_at(code, known) for code in known if code not in inner]
    doubtful = {path for path, _ in _canonical_names(shows, _otherwise(wanted, ends))}
    gone = had.keys() - {path for end in ends for path in end}
    doubtful |= {path for ids in wanted for path in ids if path in gone}
    names = _canonical_names(shows, {(path, oid) for path in doubtful for oid in had[path]})
    return tuple(replace(step, turns=tuple(_renamed(turn, names) for turn in step.turns)) for step in history)


def _otherwise(wanted: Iterable[Mapping[str, str]], ends: Sequence[Mapping[str, str]]) -> set[tuple[str, str]]:
    """The files at the ends of the drafts that a wanted show has with another content."""
    return {
        (path, end[path]) for ids in wanted for end in ends for path in ids if path in end and end[path] != ids[path]
    }


def _renamed(turn: Turn, names: Mapping[tuple[str, str], str]) -> Turn:
    old, new = (oid and names.get((turn.path, oid), oid) for oid in (turn.old, turn.new))
    return Turn(turn.path, old, new)


def _canonical_names(shows: Shows, files: Iterable[tuple[str, str]]) -> dict[tuple[str, str], str]:
    """The canonical content ids of files (path, blob) that are not in canonical form."""
    placed = [(path, oid, place.section) for path, oid in files if (place := place_of(path)) is not None]
    names: dict[tuple[str | None, str], str] = {}
    for section in {section for _, _, section in placed}:
        bodies = _bodies(shows, Place(section), {oid for _, oid, own in placed if own == section})
        names.update({(section, oid): blob_id(canonical(body).encode()) for oid, body in bodies.items()})
    found = {(path, oid): names.get((section, oid), oid) for path, oid, section in placed}
    return {key: name for key, name in found.items() if name != key[1]}


def _bodies(shows: Shows, section: Place, oids: Iterable[str]) -> dict[str, Body]:
    """The bodies of these blobs of one section, in one go; one by one where some cannot be read."""
    try:
        return shows.bodies(section, {oid: oid for oid in oids})
    except ShowError:
        found: dict[str, Body] = {}
        for oid in oids:
            with suppress(ShowError):  # what cannot be read is nobody's plot
                found |= shows.bodies(section, {oid: oid})
        return found
