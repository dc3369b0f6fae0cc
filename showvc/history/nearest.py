"""Where a file without history came from: the snapshot that is nearest to it."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from showvc.document import SECTIONS, Show
from showvc.formats.files import Place, canonical
from showvc.history.archive import Archive
from showvc.history.files import body_at
from showvc.history.shows import Shows
from showvc.history.sources import Source, find_commit


@dataclass(frozen=True, slots=True)
class Base:
    """The snapshot taken as a file's base, and why."""

    commit: str
    why: str
    distance: int = 0
    """How many of its files differ."""


def base_of_file(archive: Archive, shows: Shows, source: Source, mine: str) -> Base:
    """The snapshot that the file says it was made from, else the nearest one of the whole history."""
    commit = find_commit(archive, source.stamp) if source.stamp else None
    if commit is not None:
        return Base(commit, f"from {commit[:7]}, the snapshot that the file names")
    found = nearest(archive, shows, source.show, mine)
    differing = f"{found.distance} of its files differ" if found.distance else "they are equal"
    return Base(
        found.commit, f"from {found.commit[:7]}, the nearest snapshot of the history: {differing}", found.distance
    )


def nearest(archive: Archive, shows: Shows, show: Show, mine: str) -> Base:
    """The snapshot with the fewest files that differ from those of `show`; of equals the newest.

    One walk over what each snapshot changed; no snapshot is opened.
    """
    wanted = _wanted(archive, shows, show, mine)
    distances = distances_to(archive, wanted, mine)
    commit = min(distances, key=lambda oid: distances[oid])
    return Base(commit, "", distances[commit])


def _wanted(archive: Archive, shows: Shows, show: Show, mine: str) -> dict[str, frozenset[str]]:
    """The blobs that hold each thing of the show: canonical, and as the newest snapshot writes it, comments and all."""
    files = archive.files(mine)
    newest = shows.of_files(files)
    wanted: dict[str, frozenset[str]] = {}
    for place in [Place(), *(Place(section, name) for section in SECTIONS for name in show.section(section))]:
        body = body_at(show, place)
        assert body is not None, "the place was read off this show"
        oids = {blob_id(canonical(body).encode())}
        if place.path in files and body_at(newest, place) == body:
            oids.add(files[place.path])
        wanted[place.path] = frozenset(oids)
    return wanted


def blob_id(data: bytes) -> str:
    """The id that git gives to a blob of these bytes."""
    return hashlib.sha1(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def distances_to(archive: Archive, wanted: Mapping[str, frozenset[str]], tip: str) -> dict[str, int]:
    """For every snapshot of all drafts, how many files differ from the wanted ones. Newest first."""
    tips = [tip, *archive.refs().values()]
    shown = ["--date-order", "--raw", "--no-abbrev", "--no-renames", "-m", "--format=%x00%H %P%x00"]
    fields = archive.git("log", *shown, *tips, "--").split("\0")[1:]
    known = {oid: _distance(archive.files(oid), wanted) for oid in dict.fromkeys(tips)}
    order: dict[str, int] = {}
    seen: Counter[str] = Counter()
    for head, raw in zip(fields[::2], fields[1::2], strict=True):
        oid, *parents = head.split()
        order.setdefault(oid, known[oid])
        if parents:  # a snapshot with two parents is listed once for each of them
            known.setdefault(parents[seen[oid]], known[oid] + _difference(raw, wanted))
        seen[oid] += 1
    return order


def _distance(files: Mapping[str, str], wanted: Mapping[str, frozenset[str]]) -> int:
    missing = sum(1 for path in wanted if path not in files)
    return missing + sum(1 for path, oid in files.items() if oid not in wanted.get(path, frozenset()))


def _difference(raw: str, wanted: Mapping[str, frozenset[str]]) -> int:
    """How much further the parent is, from the changed files between the two."""
    change = 0
    for line in raw.splitlines():
        if not line:
            continue
        meta, _, path = line.partition("\t")
        _, _, old, new, _ = meta.split()
        right = wanted.get(path, frozenset())
        change += _off(old, right) - _off(new, right)
    return change


def _off(oid: str, right: frozenset[str]) -> int:
    """1 where this blob is not what is wanted. A file that is not there is right where none is wanted."""
    absent = set(oid) == {"0"}
    return int(bool(right)) if absent else int(oid not in right)
