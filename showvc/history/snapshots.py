"""Snapshots: recorded, listed, traced."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta, timezone
from typing import Any
from unicodedata import category

from showvc.changes import edits
from showvc.document import SECTIONS, Show, ShowError
from showvc.document.names import BIDI, ID
from showvc.history.archive import DRAFTS, MARKS, Archive
from showvc.history.operations import Step, operation
from showvc.history.packing import pack
from showvc.history.people import identity
from showvc.history.shows import Shows
from showvc.history.steps import Turn, turn_of
from showvc.store.commits import Commit
from showvc.store.trees import EMPTY

CODE_LENGTH = 7
_CHANGES = "Changes: "
_FACTS = "Facts: "


@dataclass(frozen=True, slots=True)
class Facts:
    """What a snapshot knows of itself besides its files.

    `undoes` is the snapshot that it takes back; of a merge only this `side` (mine or incoming). `renamed` are things
    that got another id in it, as pointers: old and new.
    """

    undoes: str = ""
    side: str = ""
    renamed: tuple[tuple[str, str], ...] = ()

    def plain(self) -> dict[str, Any]:
        found = {"undoes": self.undoes, "side": self.side, "renamed": [list(pair) for pair in self.renamed]}
        return {name: value for name, value in found.items() if value}


@dataclass(frozen=True, slots=True)
class Snapshot:
    """One recorded state of the show. `when` is RFC 3339 with its zone; `changes` counts them by kind."""

    oid: str
    who: str
    when: str
    note: str
    changes: Mapping[str, int]
    parents: tuple[str, ...]
    tree: str
    marks: tuple[str, ...] = ()
    email: str = field(default="", compare=False)
    facts: Facts = Facts()

    @property
    def code(self) -> str:
        return self.oid[:CODE_LENGTH]

    def plain(self) -> dict[str, Any]:
        """The snapshot as the JSON of `history` has it."""
        return {
            "code": self.code,
            "who": self.who,
            "when": self.when,
            "note": self.note,
            "marks": list(self.marks),
            "changes": dict(self.changes),
        }


def snapshot_of(commit: Commit, marks: Mapping[str, tuple[str, ...]] | None = None) -> Snapshot:
    """A commit as a snapshot; `marks` gives the names on each commit id."""
    lines = commit.message.rstrip("\n").split("\n")
    changes: dict[str, int] = {}
    if lines[-1].startswith(_CHANGES):
        changes = _counts(lines.pop().removeprefix(_CHANGES))
    facts = _facts(lines.pop().removeprefix(_FACTS)) if lines and lines[-1].startswith(_FACTS) else Facts()
    note = _harmless("\n".join(lines)).strip("\n ")
    when = _rfc3339(commit.seconds, commit.zone)
    names = (marks or {}).get(commit.oid, ())
    who = _harmless(commit.who).replace("\n", " ")
    return Snapshot(commit.oid, who, when, note, changes, commit.parents, commit.tree, names, commit.email, facts)


def _harmless(text: str) -> str:
    """Text without what steers a terminal: it may have come from a hub."""
    steering = ("Cc", "Cs", "Zl", "Zp")
    return "".join(" " if char != "\n" and (category(char) in steering or char in BIDI) else char for char in text)


_KIND = re.compile("[a-z-]{1,20}")


def _counts(text: str) -> dict[str, int]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return {}
    pairs = found.items() if isinstance(found, dict) else ()
    return {kind: count for kind, count in pairs if _KIND.fullmatch(kind) and type(count) is int}


def _facts(text: str) -> Facts:
    """The facts of a message, as far as they are any: it may have come from a hub."""
    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        return Facts()
    if not isinstance(found, dict):
        return Facts()
    undoes, side, pairs = (found.get(name) for name in ("undoes", "side", "renamed"))
    sound = [pair for pair in pairs if _is_pair(pair)] if isinstance(pairs, list) else []
    return Facts(
        undoes if isinstance(undoes, str) and _OID.fullmatch(undoes) else "",
        side if isinstance(side, str) and side in ("mine", "incoming") else "",
        tuple((old, new) for old, new in sound),
    )


_OID = re.compile("[0-9a-f]{40,64}")
_THING = re.compile(f"/(?:{'|'.join(SECTIONS)})/{ID.pattern}")


def _is_pair(pair: Any) -> bool:
    return (
        isinstance(pair, list)
        and len(pair) == 2
        and all(isinstance(path, str) and _THING.fullmatch(path) for path in pair)
        and pair[0].split("/")[1] == pair[1].split("/")[1]
    )


def _rfc3339(seconds: int, zone: str) -> str:
    offset = timedelta(hours=int(zone[:3]), minutes=int(zone[0] + zone[3:]))
    return datetime.fromtimestamp(seconds, timezone(offset)).isoformat()


def marks_of(archive: Archive) -> dict[str, tuple[str, ...]]:
    """The marks on each snapshot, by its id, as they may stand on a screen: another program may have set them."""
    found: dict[str, tuple[str, ...]] = {}
    for name, oid in archive.refs().items():
        if name.startswith(MARKS):
            found[oid] = (*found.get(oid, ()), name.removeprefix(MARKS))
    return found


def snapshot(archive: Archive, oid: str) -> Snapshot:
    return snapshot_of(archive.commit(oid), marks_of(archive))


def message_of(note: str, counts: Mapping[str, int], facts: Facts = Facts()) -> str:
    """The text of a snapshot: its note, what it knows of itself, and its changes counted by kind."""
    known = f"{_FACTS}{json.dumps(facts.plain())}\n" if facts.plain() else ""
    return f"{note.strip()}\n\n{known}{_CHANGES}{json.dumps(dict(counts))}\n"


# --- recording ---


@dataclass(frozen=True, slots=True)
class Recorded:
    """What a snapshot was made of."""

    snapshot: Snapshot
    before: Show
    after: Show
    clock: str | None = None
    """Said where this machine's clock is behind the snapshot before."""


def record(archive: Archive, note: str, shows: Shows | None = None) -> Recorded | None:
    """Takes a snapshot of the folder; None where nothing has changed since the last.

    ShowError, with every problem, when a changed file cannot be read: nothing is recorded then.
    """
    if not note.strip():
        raise ShowError(
            "a snapshot needs a note", 'say what changed: showvc record --note "Fly cues moved to channel 2"'
        )
    shows = shows or Shows(archive)
    with operation(archive, f"record: {note.strip()}") as step:
        made = record_work(step, note, shows)
    pack(archive)
    return made


def record_work(step: Step, note: str, shows: Shows, facts: Facts = Facts()) -> Recorded | None:
    """Takes a snapshot of the folder as part of a larger step."""
    last = step.after.refs.get(DRAFTS + step.after.draft)
    work = step.after.work
    if last is not None and step.archive.tree_of(last) == work:
        return None
    after = shows.of_work(work, last)
    before = shows.at(step.archive.tree_of(last)) if last else Show(head=after.head)
    counts = edits(before, after).counts()
    facts = replace(facts, renamed=facts.renamed or _renamed(step.after.renamed, before, after))
    oid = commit_tree(step, work, [last] if last else [], message_of(note, counts, facts))
    step.advance(oid)
    clock = clock_behind(snapshot_of(step.archive.commit(last))) if last else None
    return Recorded(snapshot_of(step.archive.commit(oid)), before, after, clock)


def _renamed(pairs: Iterable[tuple[str, str]], before: Show, after: Show) -> tuple[tuple[str, str], ...]:
    """What got another id between two shows, of a thing that got several the first and the last.

    Only what really stands so: the folder may have been edited by hand since.
    """
    first: dict[str, str] = {}
    for old, new in pairs:
        first[new] = first.pop(old, old)
    return tuple(
        (old, new)
        for new, old in first.items()
        if _has(before, old) and _has(after, new) and not _has(before, new) and not _has(after, old)
    )


def _has(show: Show, pointer: str) -> bool:
    _, section, name = pointer.split("/")
    return name in show.section(section)


def commit_tree(step: Step, tree: str, parents: list[str], message: str) -> str:
    return step.archive.write_commit(tree, parents, identity(step.archive), datetime.now().astimezone(), message)


SLACK = timedelta(minutes=2)
"""Clocks of two laptops that are looked after differ by seconds."""


def clock_behind(last: Snapshot | None) -> str | None:
    """A sentence where this machine's clock is behind the last snapshot; None where it is not."""
    now = datetime.now().astimezone()
    if last is None or datetime.fromisoformat(last.when) <= now + SLACK:
        return None
    both = (now, datetime.fromisoformat(last.when).astimezone())
    clock, then = (when.strftime("%Y-%m-%d %H:%M") for when in both)
    return f"This machine's clock ({clock}) is behind the last snapshot ({then}): set it right. No order depends on it."


# --- listing ---

# Nine fields, each ended by a NUL, which no message can hold; the last is what ends the line.
_FORMAT = "%x00S%x00%H%x00%T%x00%P%x00%an%x00%ae%x00%aI%x00%B%x00"
_FIELDS = 9


def listed(archive: Archive, arguments: list[str]) -> Iterator[Snapshot]:
    """The snapshots that git lists."""
    marks = marks_of(archive)
    fields = archive.git("log", "--topo-order", f"--format={_FORMAT}", *arguments).split("\0")[1:]
    for start in range(0, len(fields) - _FIELDS + 1, _FIELDS):
        _, oid, tree, parents, who, email, when, message, _ = fields[start : start + _FIELDS]
        found = snapshot_of(Commit(oid, tree, tuple(parents.split()), who, email, 0, "+0000", message), marks)
        yield replace(found, when=when.replace("Z", "+00:00"))


def history(
    archive: Archive, of: str | None = None, path: str | None = None, most: int | None = None
) -> list[Snapshot]:
    """The snapshots that lead to `of` (default: this draft's last), the newest first.

    `path` leaves only those that changed this file.
    """
    start = of or archive.last
    if start is None:
        return []
    limit = [f"--max-count={most}"] if most else []
    where = ["--", path] if path else ["--"]
    return list(listed(archive, [*limit, start, *where]))


def with_turns(archive: Archive, found: Sequence[Snapshot]) -> Iterator[tuple[Snapshot, list[Turn]]]:
    """These snapshots, each with the files that it has otherwise than its first parent."""
    trees = archive.trees_of(parent for each in found for parent in each.parents[:1])
    sides = [(trees.get(each.parents[0], EMPTY) if each.parents else EMPTY, each.tree) for each in found]
    differences = archive.differences(sides)
    for each, (old, new) in zip(found, sides, strict=True):
        yield each, [turn_of(*change) for change in differences.of(old, new)]


@dataclass(frozen=True, slots=True)
class Version:
    """A file as one snapshot left it; `blob` is None where it is not there.

    `parents` are the nearest snapshots before it that touched the file, more than one where edits were put together.
    """

    snapshot: Snapshot
    blob: str | None
    parents: tuple[str, ...]


def versions(archive: Archive, path: str, of: str | None = None) -> list[Version]:
    """What each snapshot made of a file, the newest first. Only snapshots that touched it are looked at."""
    start = of or archive.last
    if start is None:
        return []
    # With --parents git writes for each snapshot those before it that touched the file, as its own parents.
    found = list(listed(archive, ["--parents", start, "--", path]))
    blobs = archive.blobs_at(path, (each.oid for each in found))
    return [Version(each, blobs.get(each.oid), each.parents) for each in found]
