"""The hub of a show: naming it, making one, and how far apart we are as last known."""

from __future__ import annotations

import json
import shutil
import stat
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from showvc.document import MachineError, Problem, ShowError
from showvc.document.lining import when_words
from showvc.formats.atomic import write_atomically
from showvc.history.archive import DRAFTS, FIRST_DRAFT, MARKS, RELEASES, Archive
from showvc.history.hub_address import Address, address_of
from showvc.history.hub_exchange import HubRefs, keep_seen, seen
from showvc.history.hub_incoming import shown
from showvc.history.hub_safety import inspect_folder, is_hub, out_of_reach
from showvc.history.locks import alone
from showvc.store.calling import way_out
from showvc.store.making import make_hub

_FILE = "hub.json"


@dataclass(frozen=True, slots=True)
class HubState:
    """How far this draft and the hub's are apart, in snapshots, as last known.

    `ahead` are here and not there, `behind` there and not here. `when` (RFC 3339) is the last exchange, None
    before the first. `others` are the other drafts, marks and releases that the hub does not have as they are here,
    `wrong` what the last sync found that waits for a person.
    """

    url: str
    ahead: int
    behind: int
    when: str | None
    draft: str = FIRST_DRAFT
    others: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The same for a person, in a line; `wrong` is told beside it."""
        if self.when is None:
            return f"{self.url}; not exchanged yet: showvc sync"
        apart = [f"{self.ahead} of yours not there yet"] if self.ahead else []
        apart += [f"{self.behind} of its not here yet"] if self.behind else []
        apart += [f"not the same there: {_some(self.others)}"] if self.others else []
        apart += ["not all of it could be taken or compared"] if self.wrong else []
        when = when_words(self.when)
        return f"{self.url}; {', '.join(apart) or 'both hold the same snapshots'}, as of {when}"

    def plain(self) -> dict[str, Any]:
        told = {"hub": self.url, "ahead": self.ahead, "behind": self.behind, "when": self.when, "words": self.words}
        return {**told, "others": list(self.others), "wrong": list(self.wrong)}


def _some(names: Sequence[str]) -> str:
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def has_hub(archive: Archive) -> bool:
    """Whether a hub is named."""
    return _known(archive) is not None


def hub_state(archive: Archive) -> HubState | None:
    """How far apart we are, as last known; None where no hub is named. Nothing is asked of the hub."""
    known = _known(archive)
    if known is None:
        return None
    mine = archive.last
    held = seen(archive)
    there = held.get(DRAFTS + archive.draft)
    ahead, behind = _apart(archive, mine, there.commit if there else None, held)
    others, wrong = _others(archive, held), tuple(known.get("wrong", ()))
    return HubState(str(known["hub"]), ahead, behind, known.get("when"), archive.draft, others, wrong)


def _others(archive: Archive, held: HubRefs) -> tuple[str, ...]:
    """What of this show is not at the hub as it is here; of this draft only that it is not there at all."""
    here = {name: oid for name, oid in archive.refs().items() if name.startswith((DRAFTS, MARKS, RELEASES))}
    there = {name: ref.commit for name, ref in held.items()}
    told = {DRAFTS + archive.draft} & there.keys()
    return tuple(shown(name) for name in sorted(here.keys() - told) if here[name] != there.get(name))


def _apart(archive: Archive, mine: str | None, theirs: str | None, held: HubRefs) -> tuple[int, int]:
    if mine is None:
        return 0, int(archive.git("rev-list", "--count", theirs)) if theirs else 0
    if theirs is None:  # a draft that the hub does not have; what led to it may be there all the same
        known = "".join(f"^{oid}\n" for oid in sorted({ref.commit for ref in held.values() if ref.commit}))
        return int(archive.git("rev-list", "--count", "--stdin", data=f"{mine}\n{known}".encode())), 0
    ahead, behind = archive.git("rev-list", "--count", "--left-right", f"{mine}...{theirs}").split()
    return int(ahead), int(behind)


def hub_of(archive: Archive) -> Address:
    """The hub's place. ShowError where none is named, or what stands there may not be called."""
    known = _known(archive)
    if known is None:
        raise ShowError("no hub is named yet", "name one, or make one in an empty folder: showvc hub FOLDER-OR-URL")
    return address_of(str(known["hub"]))


def _known(archive: Archive) -> dict[str, Any] | None:
    path = archive.own / _FILE
    try:
        found = json.loads(path.read_text()) if path.is_file() else None
        told = (
            ()
            if found is None
            else (found["hub"], "" if found.get("when") is None else found["when"], *found.get("wrong", ()))
        )
        sound = all(isinstance(value, str) and value.isprintable() for value in told)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        sound = False
    if not sound:
        raise ShowError(f"{path} cannot be read", "name the hub again: showvc hub FOLDER-OR-URL")
    return found if isinstance(found, dict) else None


def _keep(archive: Archive, hub: str, when: str | None, wrong: Sequence[str] = ()) -> None:
    write_atomically(archive.own / _FILE, json.dumps({"hub": hub, "when": when, "wrong": list(wrong)}) + "\n")


def exchanged(archive: Archive, address: Address, wrong: Sequence[str] = ()) -> None:
    """Notes that the hub was reached just now, and what was found there that waits for a person."""
    _keep(archive, address.text, datetime.now().astimezone().isoformat(timespec="seconds"), wrong)


def not_exchanged(archive: Archive, address: Address, wrong: Sequence[str]) -> None:
    """Notes why nothing was exchanged with a hub that was reached; the last exchange stays the one before."""
    known = _known(archive) or {}
    _keep(archive, address.text, known.get("when"), wrong)


# --- naming ---


@dataclass(frozen=True, slots=True)
class Named:
    """A hub that was named: whether it was made, and what is odd about it, though harmless."""

    address: Address
    made: bool = False
    notes: tuple[str, ...] = ()


def name_hub(archive: Archive, text: str) -> Named:
    """Names the hub of this show; an empty or missing folder becomes one.

    ShowError for a place that is none or is not safe. A server is not asked: it may be out of reach now.
    """
    archive.require_open()
    address = address_of(text)
    named = Named(address)
    if address.folder is not None:
        _refuse_inside(archive, address.folder)
        made = _make(address.folder)
        named = Named(address, made, inspect_folder(address.folder))
    with exchanging(archive):
        if named.made or _named(archive) != address.text:
            keep_seen(archive, dict.fromkeys(seen(archive)))  # another hub: what the old one held says nothing
            _keep(archive, address.text, None)
    return named


def _named(archive: Archive) -> str | None:
    """The hub as it was named before; None where it was not, or nobody can read it any more."""
    try:
        known = _known(archive)
    except ShowError:
        return None
    return str(known["hub"]) if known else None


def hub_readable(archive: Archive) -> bool:
    """Whether the note of the hub can be read, if there is one."""
    try:
        _known(archive)
    except ShowError:
        return False
    return True


def forget_hub(archive: Archive) -> None:
    """Works without a hub from now on; the show keeps all it has."""
    archive.require_open()
    with exchanging(archive):
        (archive.own / _FILE).unlink(missing_ok=True)
        keep_seen(archive, dict.fromkeys(seen(archive)))


def _refuse_inside(archive: Archive, folder: Path) -> None:
    show = archive.folder.resolve()
    if folder == show or show in folder.parents:
        message = "lies in the show folder itself: whoever loses the one loses the other"
        raise ShowError([Problem(message, str(folder), way_out="choose a folder, a stick or a share elsewhere")])


def _make(folder: Path) -> bool:
    """Makes a hub of an empty or missing folder; False where there is something already."""
    if is_hub(folder):
        return False
    if folder.is_dir() and not _half_made(folder):
        return False  # what stands there is looked at, and refused with its reason
    if not folder.parent.is_dir():
        raise out_of_reach(str(folder), f"{folder.parent} is not there")
    # A folder that a group may write is made a hub that the group may write.
    shared = bool(folder.is_dir() and folder.stat().st_mode & stat.S_IWGRP)
    there = folder.is_dir()
    try:
        folder.mkdir(exist_ok=True)
        make_hub(folder, shared)
    except OSError as error:
        _take_away(folder, there)
        raise MachineError(f"{folder} cannot become a hub: {error.strerror}", way_out(error)) from None
    return True


def _half_made(folder: Path) -> bool:
    """Whether this is what a making that was cut short left: the folders of a hub, empty, and no HEAD yet."""
    found = [path for path in folder.rglob("*") if path.is_symlink() or not path.is_dir()]
    files = {path.relative_to(folder).as_posix() for path in found}
    return files <= {"config"} and {path.name for path in folder.iterdir()} <= {"config", "objects", "refs"}


def _take_away(folder: Path, there: bool) -> None:
    """Leaves nothing of a hub that could not be made."""
    with suppress(OSError):
        for name in ("HEAD", "config"):
            (folder / name).unlink(missing_ok=True)
        for name in ("objects", "refs"):
            shutil.rmtree(folder / name, ignore_errors=True)
        if not there:
            folder.rmdir()


# --- one at a time ---


def exchanging(archive: Archive, waiting: Callable[[], None] | None = None) -> AbstractContextManager[None]:
    """One exchange at a time from this folder; other commands go on meanwhile. A killed process lets go."""
    return alone(archive.own / "exchange.lock", "exchanged from this folder", waiting)
