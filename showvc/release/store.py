"""Releases in the history of a show: what was released, packing a snapshot, and the fleet against all of it.

`refs/releases/STAMP` leads to the snapshot, so a release is a source like a mark, `undo` steps back over it, and
git never lets go of it. What a ref cannot say (who, when, the reason of an override) stands in a table beside,
`refs/showvc/releases`, one small file for each stamp. The table only grows; without its ref a line means nothing.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime

from showvc.changes import Effect, compare
from showvc.document import Problem, Show, ShowError
from showvc.history.archive import RELEASES, Archive, Person
from showvc.history.joining import pending_merge
from showvc.history.nearest import canonical_steps, steps
from showvc.history.operations import operation
from showvc.history.people import identity
from showvc.history.shows import Shows
from showvc.history.snapshots import CODE_LENGTH, snapshot
from showvc.history.steps import content_ids
from showvc.release.fleet import Fleet, Released, fleet
from showvc.release.gate import Gate, gate
from showvc.release.pack import Origin, Since, Verdict, pack, pack_name, verify
from showvc.release.readings import Reading
from showvc.release.stamp import is_stamp, parse_stamp, stamp_of
from showvc.rules import UNLOADABLE_CODES, check

TABLE = "refs/showvc/releases"
_MACHINE = Person("showvc", "operations@showvc.invalid")

_COLUMNS = ("when", "who", "note", "over", "previous")

EffectWords = Callable[[Show, Show, Effect], Sequence[str]]
"""The effect of edits in lines for a person: before, after, effect."""


@dataclass(frozen=True, slots=True)
class Packed:
    """A release that was made, or made again: how it is recorded, its file, and what the gate said.

    `again` is True where just this content was released before: the stamp, the record and the file are the same.
    """

    released: Released
    data: bytes
    name: str
    gate: Gate
    again: bool = False


# --- the record ---


def releases(archive: Archive) -> tuple[Released, ...]:
    """All releases of the show, the oldest first by the time of releasing."""
    refs = {name.removeprefix(RELEASES): oid for name, oid in archive.refs().items() if name.startswith(RELEASES)}
    refs = {stamp: oid for stamp, oid in refs.items() if is_stamp(stamp) and parse_stamp(stamp) == stamp}
    table = _table(archive)
    known = dict(archive.blobs(table[stamp] for stamp in refs.keys() & table.keys()))
    found = [_record(archive, stamp, oid, known.get(table.get(stamp, ""))) for stamp, oid in refs.items()]
    previous = {release.stamp: release.previous for release in found}
    # Two releases of one second are told apart by which of them names the other.
    return tuple(sorted(found, key=lambda each: (datetime.fromisoformat(each.when), _depth(each.stamp, previous))))


def _depth(stamp: str | None, previous: Mapping[str, str | None]) -> int:
    depth = 0
    while stamp is not None and depth <= len(previous):
        stamp, depth = previous.get(stamp), depth + 1
    return depth


def _record(archive: Archive, stamp: str, oid: str, data: bytes | None) -> Released:
    """The line of the table, or, where a hub sent the ref alone, what the snapshot says."""
    found = _plain(data)
    if found is not None:
        return replace(found, stamp=stamp, code=oid)
    known = snapshot(archive, oid)
    return Released(stamp, oid, known.when, known.who, known.note, over="not known: its record is missing")


def _plain(data: bytes | None) -> Released | None:
    """A line of the table; None for what is none, since a hub may hold anything."""
    try:
        plain = json.loads(data or b"null")
        sound = all(isinstance(plain[name], str) for name in ("when", "who", "note"))
        sound = sound and all(plain[name] is None or isinstance(plain[name], str) for name in ("over", "previous"))
        if sound and datetime.fromisoformat(plain["when"]).tzinfo is not None:
            return Released("", "", **{name: plain[name] for name in _COLUMNS})
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return None


def _table(archive: Archive) -> dict[str, str]:
    last = archive.ref(TABLE)
    return _lines(archive, last) if last else {}


def _lines(archive: Archive, commit: str) -> dict[str, str]:
    """The lines of a table by their stamps; what a hub may have put beside them is left out."""
    return {path: oid for path, oid in archive.files(commit).items() if is_stamp(path) and parse_stamp(path) == path}


def join_table(archive: Archive, other: str) -> None:
    """Takes in the table of a hub, given by its commit.

    Where both have a line of one stamp, two engineers released the same content: the earlier record stands, so that
    all come to rest on one, in whatever order they meet.
    """
    ours, theirs = _table(archive), _lines(archive, other)
    doubled = {stamp for stamp in ours.keys() & theirs.keys() if ours[stamp] != theirs[stamp]}
    told = dict(archive.blobs(oid for stamp in doubled for oid in (ours[stamp], theirs[stamp])))
    first = {stamp: min(ours[stamp], theirs[stamp], key=lambda oid: (_moment(told[oid]), oid)) for stamp in doubled}
    _keep(archive, {**theirs, **ours, **first}, other)


def _moment(data: bytes) -> float:
    """When a release was made, in seconds; what is no record comes last."""
    found = _plain(data)
    return datetime.fromisoformat(found.when).timestamp() if found else math.inf


def _keep(archive: Archive, table: Mapping[str, str], also: str | None = None) -> None:
    tree = archive.write_tree(table)
    last = archive.ref(TABLE)
    if last is not None and archive.tree_of(last) == tree and also in (None, last):
        return
    parents = list(dict.fromkeys(oid for oid in (last, also) if oid))
    commit = archive.write_commit(tree, parents, _MACHINE, datetime.now().astimezone(), "releases\n")
    archive.git("update-ref", TABLE, commit)


# --- releasing ---


def release(
    archive: Archive, shows: Shows, commit: str, over: str | None = None, effect_words: EffectWords | None = None
) -> Packed:
    """Releases a recorded snapshot, or packs it again if just this content was released before.

    ShowError, with every reason, where a `stop` or an open conflict stands; `over` is the reason that lets a lost
    required path and warnings through. ShowError too where another show already has the stamp.
    """
    show = shows.at(commit)
    stamp = stamp_of(show)
    known = releases(archive)
    former = next((found for found in known if found.stamp == stamp), None)
    if former is not None:
        return _again(archive, shows, former, effect_words)
    with operation(archive, f"release {stamp}") as step:
        decided = decide(archive, shows, show, over)
        if not decided.opens:
            raise ShowError(decided.refusals)
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        told = snapshot(archive, commit)
        previous = known[-1].stamp if known else None
        made = Released(stamp, commit, now, identity(archive).name, told.note, decided.reason, previous)
        packed = _packed(archive, shows, made, decided, effect_words)
        line = {name: value for name, value in asdict(made).items() if name in _COLUMNS}
        blob = archive.store("blob", json.dumps(line, ensure_ascii=False, sort_keys=True).encode())
        _keep(archive, {**_table(archive), stamp: blob})
        step.move(RELEASES + stamp, commit)
    return packed


def decide(archive: Archive, shows: Shows, show: Show, over: str | None = None) -> Gate:
    """What keeps this show from being released now, and what `over` lets through."""
    return gate(check(show), UNLOADABLE_CODES, _open_conflicts(archive, shows), over)


def _open_conflicts(archive: Archive, shows: Shows) -> int:
    """How many conflicts of a pending merge stand open; a merge that waits for anything counts as one."""
    outcome = pending_merge(archive, shows)
    return 0 if outcome is None else max(1, len(outcome.merge.conflicts))


def _again(archive: Archive, shows: Shows, former: Released, effect_words: EffectWords | None) -> Packed:
    show = shows.at(former.code)
    if stamp_of(show) != former.stamp:
        message = (
            f"the stamp {former.stamp} is taken by snapshot {former.code[:CODE_LENGTH]}, which says something else"
        )
        raise ShowError([Problem(message, way_out="change a word in the show's notes, record, and release again")])
    decided = gate(check(show), UNLOADABLE_CODES, over=former.over)
    return replace(_packed(archive, shows, former, decided, effect_words), again=True)


def _packed(archive: Archive, shows: Shows, made: Released, decided: Gate, effect_words: EffectWords | None) -> Packed:
    told, show = snapshot(archive, made.code), shows.at(made.code)
    origin = Origin(told.code, told.who, told.when, told.note)
    data = pack(show, origin, decided, _since(archive, shows, made, show, effect_words))
    return Packed(made, data, pack_name(show.title, made.stamp), decided)


def _since(
    archive: Archive, shows: Shows, made: Released, show: Show, effect_words: EffectWords | None
) -> Since | None:
    before = archive.ref(RELEASES + made.previous) if made.previous else None
    if made.previous is None or before is None:
        return None
    old = shows.at(before)
    found = compare(old, show)
    effect = found.effect
    if effect is None:
        return Since(made.previous, old, found.changes)
    words = effect_words(old, show, effect) if effect_words else ()
    return Since(made.previous, old, found.changes, effect.plain(), words)


# --- verifying ---


@dataclass(frozen=True, slots=True)
class Known:
    """A release file judged, and the release of this history that it is; None where the history has none like it."""

    verdict: Verdict
    release: Released | None = None


def verify_known(
    archive: Archive | None, shows: Shows | None, data: bytes, file: str, stamp: str | None = None
) -> Known:
    """Whether a file is what its stamp says, and which release of this history it is.

    A release whose snapshot says something else than the file, though their stamps are one, is a problem.
    """
    verdict = verify(data, file, stamp)
    if archive is None or shows is None or not verdict.holds:
        return Known(verdict)
    found = next((each for each in releases(archive) if each.stamp == verdict.stamp), None)
    if found is not None and shows.at(found.code) != verdict.show:
        message = f"is not what snapshot {found.code[:CODE_LENGTH]} says, which was released as {found.stamp}"
        return Known(
            replace(verdict, problems=(Problem(message, file, way_out="do not load it; release again"),)), found
        )
    return Known(verdict, found)


def find_release(archive: Archive, text: str) -> Released:
    """The release of this stamp, however it is typed. ShowError where there is none."""
    stamp = parse_stamp(text)
    for found in releases(archive):
        if found.stamp == stamp:
            return found
    raise ShowError(f"no release of this show has the stamp {stamp}", "list them with: showvc release --list")


# --- the fleet ---


def fleet_of(archive: Archive, shows: Shows, readings: Sequence[Reading]) -> Fleet:
    """What every device of the show holds, against its releases and its whole history.

    The devices are those of the last release, else of this draft's last snapshot. No snapshot is opened but the
    nearest one of each part that carries edits of its own.
    """
    known = releases(archive)
    newest = known[-1].code if known else archive.last
    if newest is None:
        raise ShowError("nothing is recorded yet", 'record a first snapshot: showvc record --note "First plot"')
    dumps = {reading.stamp: reading.dump for reading in readings if reading.dump is not None}
    stamps = {release.stamp for release in known}
    bodies: dict[tuple[str, str], str] = {}
    wanted = {
        stamp: content_ids(dump, bodies) for stamp, dump in dumps.items() if stamp and dump and stamp not in stamps
    }
    history = canonical_steps(shows, steps(archive), list(wanted.values()))
    return fleet(readings, shows.at(newest), known, history, shows.at, wanted)
