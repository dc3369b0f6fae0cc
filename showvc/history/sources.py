"""Whatever may stand where a source is wanted, to a show."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from showvc.document import Show, ShowError, near
from showvc.formats.sources import FILES, is_table, read_stamped
from showvc.history.archive import DRAFTS, MARKS, RELEASES, Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import CODE_LENGTH, history
from showvc.history.working import work_tree
from showvc.store.calling import GitFailed

_LAST = re.compile(r"last(?:-(\d{1,6}))?")
_CODE = re.compile(r"[0-9a-f]{4,40}")
_BETWEEN = re.compile(r"[\W_]+")
_TIME = re.compile(r"\d{4}-\d{2}-\d{2}(?P<clock>[T ]\d{2}:\d{2}(?P<seconds>:\d{2})?([-+]\d{2}:?\d{2}|Z)?)?")
_WORDS = {MARKS: "the mark", DRAFTS: "the draft"}


@dataclass(frozen=True, slots=True)
class Source:
    """A show and what it was called. `commit` is its snapshot, `tree` its files, where it has them.

    `stamp` is the code of the snapshot that a file says it is of.
    """

    name: str
    show: Show
    commit: str | None = None
    tree: str | None = None
    file: Path | None = None
    stamp: str | None = None


def find(archive: Archive | None, name: str, shows: Shows | None, current: Show | None = None) -> Source:
    """The show of this name: `working`, `last`, `last-3`, a mark, a draft, a release's stamp, a snapshot's code,
    a time, a folder or a file.

    `current` is the show in which the rows of another's tables are looked for; the last snapshot where it is None.
    ShowError where nothing of this name is known, or more than one.
    """
    if archive is not None and shows is not None:
        if name == "working":
            tree = work_tree(archive)
            return Source(name, shows.of_work(tree, archive.last), None, tree)
        commit = find_commit(archive, name)
        if commit is not None:
            tree = archive.tree_of(commit)
            return Source(name, shows.at(tree), commit, tree)
    path = Path(name)
    if on_disk(name):
        if current is None and archive is not None and shows is not None and archive.last and is_table(path):
            current = shows.at(archive.last)
        show, stamp = read_stamped(path, shows.progress if shows is not None else None, current)
        return Source(name, show, file=path, stamp=stamp)
    raise unknown_source(archive, name)


def on_disk(name: str) -> bool:
    """Whether a name is a folder's or a file's, there or misspelt."""
    path = Path(name)
    return path.exists() or path.suffix.lower() in FILES or "/" in name


def find_commit(archive: Archive, name: str) -> str | None:
    """The snapshot of this name, or None where the name is no snapshot's."""
    if found := _LAST.fullmatch(name):
        return _back(archive, int(found[1] or 0))
    named = _named(archive.refs(), name)
    if len(set(named.values())) > 1:
        # Here no two get the same name; a hub may bring such a pair.
        taken, *others = named
        archive.remark(f"{name!r} is {' and '.join(named)} at once; {taken} is meant, not {' nor '.join(others)}.")
    if named:
        return next(iter(named.values()))
    if _CODE.fullmatch(name) and (found_commit := _by_code(archive, name)):
        return found_commit
    return _at_time(archive, name) if _TIME.fullmatch(name) else None


def _named(refs: Mapping[str, str], name: str) -> dict[str, str]:
    """The snapshots that have this name, by what they have it as: first a mark, then a draft, then a release.

    A stamp may be spelled as it was read aloud.
    """
    named = {words: refs[prefix + name] for prefix, words in _WORDS.items() if prefix + name in refs}
    stamps = {_spelled(ref.removeprefix(RELEASES)): oid for ref, oid in refs.items() if ref.startswith(RELEASES)}
    return named | ({"the release": stamps[_spelled(name)]} if _spelled(name) in stamps else {})


def _spelled(stamp: str) -> str:
    return _BETWEEN.sub("", stamp).upper()


def _back(archive: Archive, count: int) -> str:
    """The snapshot so many steps before this draft's last, along the draft itself."""
    last = archive.last
    if last is None:
        raise ShowError("nothing is recorded yet", 'record a first snapshot: showvc record --note "First plot"')
    out = archive.git("rev-list", "--first-parent", f"--skip={count}", "--max-count=1", last).strip()
    if not out:
        total = archive.git("rev-list", "--first-parent", "--count", last).strip()
        raise ShowError(f"'last-{count}' is before the first snapshot: there are {total}", "see: showvc history")
    return out


def _by_code(archive: Archive, code: str) -> str | None:
    try:
        found = archive.git("rev-parse", f"--disambiguate={code}").split()
    except GitFailed:
        return None
    commits = [oid for oid in found if archive.git("cat-file", "-t", oid).strip() == "commit"]
    commits = [oid for oid in commits if not archive.commit(oid).email.endswith("operations@showvc.invalid")]
    if len(commits) > 1:
        listed = ", ".join(oid[: CODE_LENGTH + 3] for oid in commits[:5])
        raise ShowError(f"the code {code!r} fits {len(commits)} snapshots: {listed}", "give more of its characters")
    return commits[0] if commits else None


def _at_time(archive: Archive, text: str) -> str:
    """The last snapshot of this draft that was taken by then. Without a zone, this machine's is meant."""
    try:
        moment = datetime.fromisoformat(text.replace(" ", "T"))
    except ValueError:
        way_out = "write it so: 2026-11-25T19:30, or with a zone 2026-11-25T19:30+01:00"
        raise ShowError(f"{text!r} is no time", way_out) from None
    given = _TIME.fullmatch(text)
    if given is None or given["clock"] is None:
        moment += timedelta(days=1, seconds=-1)
    elif given["seconds"] is None:
        moment += timedelta(seconds=59)  # the whole minute is meant
    moment = moment.astimezone() if moment.tzinfo is None else moment
    for known in history(archive):
        if datetime.fromisoformat(known.when) <= moment:
            return known.oid
    raise ShowError(f"nothing was recorded by {text}", "see: showvc history")


def unknown_source(archive: Archive | None, name: str, files: bool = True) -> ShowError:
    """That a name leads to no source, and what would; `files`: whether a folder or a file would, too."""
    known = ["working", "last"]
    if archive is not None:
        known += [
            ref.removeprefix(prefix) for ref in archive.refs() for prefix in (MARKS, DRAFTS) if ref.startswith(prefix)
        ]
    kinds = "a source is working, last, last-3, a mark, a draft, a stamp, a snapshot's code"
    kinds += ", a time, a folder or a file" if files else " or a time"
    return ShowError(f"{name!r} is no source that this show knows", near(name, known) or kinds)
