"""`verify --mend`: small files and names of ours that are damaged are made anew from the log of commands, or set aside.

Nothing is thrown away: what stood there is kept in `.git/showvc/aside`.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path

from showvc.document import MachineError, ShowError
from showvc.document.lining import printable
from showvc.formats.atomic import write_atomically
from showvc.history.archive import DRAFTS, HUB, MARKS, OPERATIONS, RELEASES, Archive
from showvc.history.hub import hub_readable
from showvc.history.operations import MACHINE, Operation, View, applied_of, completed, read_operation
from showvc.history.remembered import SETTLED
from showvc.store.along import settings
from showvc.store.calling import GitFailed
from showvc.store.commits import Commit
from showvc.store.damage import called
from showvc.store.making import OF_A_SHOW

RELEASED = "refs/showvc/releases"
_TABLES = {SETTLED: "settlements", RELEASED: "releases"}


def mend(archive: Archive) -> list[str]:
    """Makes damaged small files and names anew; tells each in a sentence. An empty list: there was nothing to mend."""
    with archive.locked():
        return [*_config(archive), *_packed(archive), *_log(archive), *_names(archive), *_hub(archive)]


def lost_names(archive: Archive, last: View) -> list[str]:
    """Drafts, marks and releases that the last command left here, and that are gone."""
    here = archive.names.listed(DRAFTS, MARKS, RELEASES)
    return sorted(last.refs.keys() - here.refs.keys() - set(here.broken))


# --- one kind of thing each ---


def config_damaged(archive: Archive) -> bool:
    """Whether git's own settings of this folder are such that no git client gets past them."""
    config = archive.git_dir / "config"
    try:
        archive.git("config", "--file", str(config), "--no-includes", "--list", "--null")
    except GitFailed:
        return True
    known = dict(settings(config))
    bare, version = known.get("core.bare", "false"), known.get("core.repositoryformatversion", "0")
    return bare.lower() not in ("true", "false") or version not in ("0", "1")


def _config(archive: Archive) -> Iterator[str]:
    config = archive.git_dir / "config"
    if config_damaged(archive):
        kept = {name: value for name, value in settings(config) if name in ("showvc.who", "user.name", "user.email")}
        kept = {name: value for name, value in kept.items() if printable(value) == value}
        aside = _set_aside(archive, config)
        write_atomically(config, OF_A_SHOW)
        for name, value in kept.items():
            archive.git("config", "--file", str(config), "--no-includes", name, value)
        told = "" if "showvc.who" in kept else '; if it held your name, say it again: showvc now --who "Your name"'
        yield f"{config} was damaged: made anew{told}. {aside}"


def _packed(archive: Archive) -> Iterator[str]:
    """The list of packed names: lines that are whole stay, and the log tells what the others led to."""
    packed = archive.git_dir / "packed-refs"
    raw = packed.read_bytes() if packed.is_file() else b""
    lines = raw.splitlines(keepends=True)
    whole = [line for line in lines if archive.names.is_line(line)]
    if packed.is_file() and (not raw or whole != lines):
        aside = _set_aside(archive, packed)
        write_atomically(packed, b"".join(whole)) if whole else packed.unlink()
        yield f"{packed} was damaged: the {len(whole)} lines that are whole were kept. {aside}"


def _log(archive: Archive) -> Iterator[str]:
    """The log's own name: what is noted as done last is it; else the newest that can be found."""
    here = _operation(archive, archive.names.get(OPERATIONS))
    done = _operation(archive, applied_of(archive))
    place = archive.git_dir / OPERATIONS
    if here is not None and (done is None or not _leads_to(archive, done, here)):
        return
    if here is None and done is None:
        if not os.path.lexists(place) and applied_of(archive) is None:
            return
        done = _newest_found(archive)
    aside = _set_aside(archive, place)
    if done is None:
        archive.change_refs({OPERATIONS: None})
        (archive.own / "applied").unlink(missing_ok=True)
        yield f"The list of commands was damaged, and none can be found: undo begins anew. {aside}"
        return
    archive.change_refs({OPERATIONS: done.oid})
    write_atomically(archive.own / "applied", done.oid + "\n")
    yield f"The list of commands was damaged: made anew, the last is {done.number}: {printable(done.command)}. {aside}"


def _leads_to(archive: Archive, later: Operation, earlier: Operation) -> bool:
    """Whether an operation comes after another: the log was put back to that one."""
    each: Operation | None = later
    while each is not None and each.number > earlier.number:
        each = _operation(archive, each.previous)
    return each is not None and each.oid == earlier.oid and later.oid != earlier.oid


def _names(archive: Archive) -> Iterator[str]:
    """Drafts, marks, releases and tables that lead nowhere; of the hub's the next sync tells anew."""
    newest = _operation(archive, archive.names.get(OPERATIONS))
    known: Mapping[str, str] = completed(archive, newest).refs if newest is not None else {}
    lost = lost_names(archive, completed(archive, newest)) if newest is not None else []
    for name in [*_broken(archive), *lost]:
        place = archive.git_dir / name
        aside = _set_aside(archive, place) if place.is_file() else ""
        oid = _table(archive, _TABLES[name]) if name in _TABLES else known.get(name)
        oid = oid if oid and archive.ref(oid) else None
        archive.change_refs({name: oid})
        place.unlink(missing_ok=True) if oid is None else None
        yield f"{_told(name, oid)}. {aside}".rstrip()


def _told(name: str, oid: str | None) -> str:
    what = printable(called(name))
    if name.startswith(HUB):
        return f"What was noted as the {what} was damaged, and is forgotten: the next sync looks again"
    if oid is None:
        return f"The {what} was damaged, and no command tells where it led: set aside"
    return f"The {what} was damaged or gone: made anew, at {oid[:7]}"


def _broken(archive: Archive) -> list[str]:
    listed = archive.names.listed(DRAFTS, MARKS, RELEASES, HUB, "refs/showvc/")
    there = {name: oid for name, oid in listed.refs.items() if name != OPERATIONS}
    kinds = archive.kinds(there.values())
    wrong = [
        name
        for name, oid in there.items()
        if oid not in kinds
        or (kinds[oid][2] != "commit" and not name.startswith(HUB))
        or (name in _TABLES and archive.commit(kinds[oid][1]).message.strip() != _TABLES[name])
    ]
    unkept = [RELEASED] if RELEASED not in there and any(name.startswith(RELEASES) for name in there) else []
    return sorted({*listed.broken, *wrong, *unkept} - {OPERATIONS})


def _hub(archive: Archive) -> Iterator[str]:
    path = archive.own / "hub.json"
    if not hub_readable(archive):
        aside = _set_aside(archive, path)
        path.unlink()
        yield f"The hub's address was damaged: name the hub again with: showvc hub FOLDER-OR-URL. {aside}"


# --- looking for what nothing leads to any more ---


def _operation(archive: Archive, oid: str | None) -> Operation | None:
    try:
        return read_operation(archive, oid) if oid else None
    except (MachineError, ShowError):
        return None


def _commits(archive: Archive) -> Iterator[Commit]:
    """Every commit of ours in the history, whether a name leads to it or not."""
    listed = archive.git("cat-file", "--batch-all-objects", "--unordered", "--batch-check=%(objecttype) %(objectname)")
    for line in listed.splitlines():
        kind, _, oid = line.partition(" ")
        if kind == "commit" and (found := archive.commit(oid)).email == MACHINE.email:
            yield found


def _newest_found(archive: Archive) -> Operation | None:
    """The operation that left things as they stand; of several the latest. A command that failed did not."""
    found = [each for commit in _commits(archive) if (each := _operation(archive, commit.oid)) is not None]
    here = archive.names.listed(DRAFTS, MARKS, RELEASES).refs

    def fit(each: Operation) -> tuple[int, int, str]:
        return -len(each.after.refs.items() ^ here.items()), each.number, each.when

    return max(found, key=fit, default=None)


def _table(archive: Archive, message: str) -> str | None:
    """The newest table of this kind."""
    found = [each for each in _commits(archive) if each.message.strip() == message]
    newest = max(found, key=lambda each: (each.seconds, len(archive.files(each.oid))), default=None)
    return newest.oid if newest is not None else None


def _set_aside(archive: Archive, place: Path) -> str:
    """Keeps a copy of what stands there, and says where; nothing where nothing does."""
    if not os.path.lexists(place):
        return ""
    kept = archive.own / "aside"
    kept.mkdir(exist_ok=True)
    base = place.relative_to(archive.git_dir).as_posix().replace("/", "_")
    names = (base, *(f"{base}.{number}" for number in range(2, 10_000)))
    free = next(kept / name for name in names if not os.path.lexists(kept / name))
    if not place.is_file():
        place.rename(free)
    else:
        shutil.copyfile(place, free)
    return f"What stood there is kept: {free}"
