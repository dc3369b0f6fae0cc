"""What was fetched is looked at while it is still in quarantine: only plots of the layout come in."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from showvc.document import Problem, ShowError
from showvc.formats.files import HEAD, Place, place_of, read_file
from showvc.formats.nodes import MAX_BYTES
from showvc.history.archive import DRAFTS, MARKS, RELEASES, Archive
from showvc.history.cache import BodyCache
from showvc.history.drafts import check_name
from showvc.history.hub_exchange import TABLES, HubRef, HubRefs, lend
from showvc.history.remembered import SETTLED
from showvc.history.shows import Progress
from showvc.store.commits import Commit
from showvc.store.trees import EMPTY

RELEASE_TABLE = TABLES + "releases"
KNOWN_TABLES = (SETTLED, RELEASE_TABLE)

MAX_OBJECTS = 5_000_000
MAX_REFS = 20_000
MAX_TABLE_LINE = 256 * 1024
_MOST = {"blob": MAX_BYTES, "tree": 16 * 1024 * 1024, "commit": 1024 * 1024, "tag": 64 * 1024}
_CHUNK = 500
_OID = re.compile(r"[0-9a-f]{40}")
_NOTHING = "0" * 40


@dataclass(frozen=True, slots=True)
class Inspection:
    """What of the hub may come in, and why the rest may not, by the hub's names."""

    sound: HubRefs
    refused: Mapping[str, tuple[Problem, ...]]


def inspect(apart: Archive, refs: HubRefs, archive: Archive, progress: Progress | None = None) -> Inspection:
    """Looks at everything new. ShowError where an object is too large to be a part of any show."""
    if len(refs) > MAX_REFS:
        raise ShowError(f"the hub holds {len(refs):,} names: refused", "no show has so many; ask who keeps the hub")
    refuse_sizes(apart, archive)
    refused: dict[str, tuple[Problem, ...]] = {}
    refused |= {name: (problem,) for name, ref in refs.items() if (problem := _odd_ref(name, ref))}
    tips = {name: ref.commit for name, ref in refs.items() if name not in refused and ref.commit}
    plots = {name: oid for name, oid in tips.items() if not name.startswith(TABLES)}
    refused |= judged(apart, plots, BodyCache(archive.own / "bodies.sqlite"), progress)
    for name in tips.keys() - plots.keys():
        if problem := _odd_table(apart, tips[name], name):
            refused[name] = (problem,)
    return Inspection({name: ref for name, ref in refs.items() if name not in refused}, refused)


# --- sizes ---


def refuse_sizes(apart: Archive, archive: Archive) -> None:
    """ShowError where an object in quarantine is larger than anything of a show can be."""
    alternates = apart.git_dir / "objects" / "info" / "alternates"
    lent = alternates.is_file()
    alternates.unlink(missing_ok=True)  # only what was fetched is counted, not what is here already
    listed = apart.git("cat-file", "--batch-all-objects", "--batch-check", "--unordered").split("\n")
    if lent:
        lend(archive, apart)
    for line in filter(None, listed):
        oid, kind, size = line.split()
        if int(size) > _MOST[kind]:
            raise ShowError(
                f"the hub holds an object of {int(size):,} bytes ({oid[:12]}): refused, and nothing taken",
                f"no file of a show is over {MAX_BYTES // 1024**2} MiB; ask who keeps the hub",
            )
    if len(listed) > MAX_OBJECTS:
        raise ShowError(f"the hub sends {len(listed):,} objects: refused", "no show has so many")


# --- names ---


def _odd_ref(name: str, ref: HubRef) -> Problem | None:
    if not is_hub_name(name):
        return Problem(f"the hub's {name!a} is no draft, mark or release of a show: left there")
    if ref.commit is None:
        return Problem(f"the hub's {shown(name)} leads to no snapshot: left there")
    return None


def is_hub_name(name: str) -> bool:
    """Whether this is the name of a draft, mark, release or table as a show may have it."""
    if name.startswith(TABLES):
        return name in KNOWN_TABLES
    if name.startswith(RELEASES):
        return bool(re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}", name.removeprefix(RELEASES)))
    try:
        check_name(name.removeprefix(DRAFTS).removeprefix(MARKS), "name")
    except ShowError:
        return False
    return True


def shown(name: str) -> str:
    """A name of the hub for a person: `the draft main`, `the mark opening-night`."""
    words = {DRAFTS: "draft", MARKS: "mark", RELEASES: "release", TABLES: "table of"}
    prefix = next(prefix for prefix in words if name.startswith(prefix))
    return f"{words[prefix]} {name.removeprefix(prefix)}"


# --- snapshots ---


@dataclass(slots=True)
class _Look:
    """What is found out about snapshots while they are looked at."""

    parents: dict[str, tuple[str, ...]]
    problems: dict[str, list[Problem]] = field(default_factory=lambda: defaultdict(list))
    blobs: dict[tuple[str | None, str], tuple[Place, list[str]]] = field(default_factory=dict)
    """By section and blob: a place it stands at, and the snapshots that brought it."""


def judged(
    apart: Archive, tips: Mapping[str, str], cache: BodyCache, progress: Progress | None = None
) -> dict[str, tuple[Problem, ...]]:
    """The names that lead to a snapshot which is no show, and why. What this archive has already is trusted."""
    look = _Look(_new_commits(apart, set(tips.values())))
    _look_at_commits(apart, look)
    headless = {oid for oid, before in look.parents.items() if not before}
    for commit, path, mode, oid in _changed_files(apart, look.parents):
        _look_at_file(look, commit, path, mode, oid)
        headless -= {commit} if path == HEAD else set()
    for commit in headless:
        look.problems[commit].append(Problem(f"snapshot {commit[:7]} holds no {HEAD}: it is no show"))
    _look_at_bodies(apart, look, cache, progress)
    return {name: tuple(found) for name, tip in tips.items() if (found := _reached(look, tip))}


def _new_commits(apart: Archive, tips: Iterable[str]) -> dict[str, tuple[str, ...]]:
    asked = "".join(f"{oid}\n" for oid in sorted(tips)).encode()
    listed = apart.git("rev-list", "--parents", "--stdin", "--not", "--glob=refs/have/*", data=asked)
    return {oid: tuple(parents) for oid, *parents in (line.split() for line in listed.split("\n") if line)}


def _look_at_commits(apart: Archive, look: _Look) -> None:
    for oid, data in apart.blobs(look.parents):
        commit = Commit.parse(oid, data)
        hours, minutes = int(commit.zone[1:3]), int(commit.zone[3:])
        # RFC 3339 writes years to 9999; the clock of a hub may say anything.
        if not (0 <= commit.seconds < 250_000_000_000 and hours < 24 and minutes < 60):
            look.problems[oid].append(Problem(f"snapshot {oid[:7]} says a time that cannot be"))


def _changed_files(apart: Archive, parents: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[str, str, str, str]]:
    """Snapshot, path, mode and blob of every file that a snapshot has otherwise than its first parent."""
    trees = apart.trees_of({*parents, *(oid for before in parents.values() for oid in before[:1])})
    sides = {oid: (trees.get(before[0], EMPTY) if before else EMPTY, trees[oid]) for oid, before in parents.items()}
    differences = apart.differences(sides.values())
    for commit, (old, new) in sides.items():
        for path, _, mode, _, oid in differences.of(old, new):
            yield commit, path, mode, oid


def _look_at_file(look: _Look, commit: str, path: str, mode: str, oid: str) -> None:
    problem = None
    if oid == _NOTHING:
        problem = Problem("is gone, and with it the show", path) if path == HEAD else None
    elif mode not in ("100644", "100755"):
        problem = Problem("is a link or a module, not a plain file", repr(path)[1:-1])
    else:
        try:
            place = place_of(path)
            if place is None:
                problem = Problem("is no file of a show", repr(path)[1:-1])
            else:
                look.blobs.setdefault((place.section, oid), (place, []))[1].append(commit)
        except ShowError as error:
            problem = error.problems[0]
    if problem:
        look.problems[commit].append(problem)


def _look_at_bodies(apart: Archive, look: _Look, cache: BodyCache, progress: Progress | None) -> None:
    wanted = list(look.blobs)
    for start in range(0, len(wanted), _CHUNK):
        part = wanted[start : start + _CHUNK]
        for section in {section for section, _ in part}:
            oids = {oid for known, oid in part if known == section}
            _look_at_section(apart, look, cache, section, oids)
        if progress:
            progress(min(start + _CHUNK, len(wanted)), len(wanted))


def _look_at_section(apart: Archive, look: _Look, cache: BodyCache, section: str | None, oids: set[str]) -> None:
    """Reads bodies of one section; those that were read once are known to be sound."""
    known = cache.get(Place(section), oids)
    parsed = {}
    for oid, data in apart.blobs(oids - known.keys()):
        place, commits = look.blobs[section, oid]
        try:
            parsed[oid] = read_file(place, data)
        except ShowError as error:
            for commit in commits:
                look.problems[commit] += error.problems
    if parsed:
        cache.put(Place(section), parsed)


def _reached(look: _Look, tip: str) -> list[Problem]:
    """The problems of the snapshots that lead to this one, as far as they are new."""
    waiting, reached = [tip], set()
    while waiting:
        oid = waiting.pop()
        if oid not in reached and oid in look.parents:
            reached.add(oid)
            if look.problems.get(oid):
                return look.problems[oid]
            waiting += look.parents[oid]
    return []


# --- tables ---


def _odd_table(apart: Archive, commit: str, name: str) -> Problem | None:
    """Why a table of settlements or releases is not taken; the lines themselves are read with care when used."""
    try:
        files = apart.files(commit)
    except ShowError as error:
        return error.problems[0]
    pattern = r"[0-9a-f]{2}/[0-9a-f]{62}" if name == SETTLED else r"[A-Za-z0-9._-]{1,80}"
    if any(not re.fullmatch(pattern, path) for path in files):
        return Problem(f"the hub's {shown(name)} holds what is no line of it: left there")
    for oid, data in apart.blobs(files.values()):
        if len(data) > MAX_TABLE_LINE or not _is_json(data):
            return Problem(f"the hub's {shown(name)} holds a line that cannot be read ({oid[:12]}): left there")
    return None


def _is_json(data: bytes) -> bool:
    try:
        return isinstance(json.loads(data), dict)
    except (ValueError, RecursionError):
        return False
