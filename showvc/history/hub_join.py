"""Beginning a show folder from a hub."""

from __future__ import annotations

import glob
import os
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from showvc.document import MachineError, Problem, ShowError
from showvc.history.archive import DRAFTS, FIRST_DRAFT, MARKS, RELEASES, Archive
from showvc.history.beginning import refuse_inside
from showvc.history.hub import exchanged, exchanging
from showvc.history.hub_address import address_of
from showvc.history.hub_exchange import (
    TABLES,
    HubRefs,
    fetch,
    keep_seen,
    quarantine,
    take_over,
    take_over_only,
)
from showvc.history.hub_incoming import inspect, shown
from showvc.history.hub_plan import Notice
from showvc.history.hub_safety import OutOfReach, inspect_folder
from showvc.history.hub_stamps import StampOf, misnamed
from showvc.history.hub_sync import refusals
from showvc.history.people import introduce, person
from showvc.history.shows import Progress, Shows
from showvc.history.snapshots import Snapshot, snapshot
from showvc.history.working import share_index, work_tree, write_work


@dataclass(frozen=True, slots=True)
class Joined:
    """A show folder that was begun from a hub."""

    folder: Path
    hub: str
    draft: str
    last: Snapshot
    drafts: tuple[str, ...]
    notices: tuple[Notice, ...] = ()


@contextmanager
def _no_show_yet() -> Iterator[None]:
    """Without the hub nothing else works yet: there is no show here."""
    try:
        yield
    except OutOfReach as error:
        way_out = "see that the stick, share or network is there and the name is right, then join; nothing was made"
        raise MachineError(error.message, way_out) from None


@_no_show_yet()
def join_hub(
    hub: str,
    folder: Path,
    who: str | None = None,
    draft: str | None = None,
    progress: Progress | None = None,
    stamp_of: StampOf | None = None,
) -> Joined:
    """Begins a show in `folder`, which is made or is empty, with all that the hub holds.

    With `stamp_of`, but for releases whose name is not the stamp of what they lead to. It is there whole, or not at
    all. MachineError where the hub is not in reach; ShowError where it is empty or not safe to use.
    """
    address = address_of(hub)
    _refuse_full(folder)
    if who is not None:
        person(who)
    odd = inspect_folder(address.folder) if address.folder else ()
    notices = [Notice("program", "hub", f"{words[0].upper()}{words[1:]}.") for words in odd]
    making = _beside(folder)
    try:
        archive = Archive.create(making)
        with exchanging(archive), quarantine(archive) as apart:
            looked = inspect(apart, fetch(apart, address), archive, progress)
            _refuse_nothing(looked.sound, looked.refused, hub)
            take_over_only(apart, archive, looked.sound) if looked.refused else take_over(apart, archive)
        commits = {name: ref.commit for name, ref in looked.sound.items()}
        wrong = misnamed(Shows(archive), commits, stamp_of)
        notices += [*refusals(looked), *wrong.values()]
        chosen = _chosen(looked.sound, draft)
        _set_up(archive, {name: ref for name, ref in looked.sound.items() if name not in wrong}, chosen)
        exchanged(archive, address)
        if who is not None:
            introduce(archive, who)
        last = snapshot(archive, archive.last or "")
        making.replace(folder)
    except OSError as error:
        raise MachineError(f"{folder} cannot be made: {error.strerror}", "choose another folder") from None
    finally:
        shutil.rmtree(making, ignore_errors=True)
    names = tuple(name.removeprefix(DRAFTS) for name in looked.sound if name.startswith(DRAFTS))
    return Joined(folder, address.text, chosen, last, names, tuple(notices))


def _refuse_full(folder: Path) -> None:
    refuse_inside(folder)
    if folder.exists() and not (folder.is_dir() and not any(folder.iterdir())):
        raise ShowError([Problem("is there already and is not empty", str(folder), way_out="choose an empty folder")])


def _beside(folder: Path) -> Path:
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        for left in folder.parent.glob(f".~{glob.escape(folder.name)}-*-*"):
            _sweep(left)
        made = Path(tempfile.mkdtemp(prefix=f".~{folder.name}-{os.getpid()}-", dir=folder.parent))
        made.chmod(0o755)
    except OSError as error:
        raise MachineError(f"{folder} cannot be made: {error.strerror}", "choose another folder") from None
    return made


def _sweep(left: Path) -> None:
    """Takes away what a joining that was killed left half made, once its process is no more."""
    number = left.name.split("-")[-2]
    if os.name == "posix" and number.isdigit() and left.is_dir() and not left.is_symlink():
        try:
            os.kill(int(number), 0)
        except ProcessLookupError:
            shutil.rmtree(left, ignore_errors=True)
        except (OSError, OverflowError):
            return


def _refuse_nothing(sound: HubRefs, refused: Mapping[str, tuple[Problem, ...]], hub: str) -> None:
    if any(name.startswith(DRAFTS) for name in sound):
        return
    for name, problems in refused.items():
        if name.startswith(DRAFTS):
            raise ShowError([Problem(f"the hub's {shown(name)} is not taken: {problems[0]}", hub)])
    raise ShowError(
        [Problem("is an empty hub", hub, way_out="send a show to it first: showvc sync, where the show is now")]
    )


def _chosen(refs: HubRefs, draft: str | None) -> str:
    names = sorted(name.removeprefix(DRAFTS) for name in refs if name.startswith(DRAFTS))
    if draft is not None and draft not in names:
        raise ShowError(f"the hub has no draft {draft!r}", f"it has: {', '.join(names)}")
    return draft or (FIRST_DRAFT if FIRST_DRAFT in names else names[0])


def _set_up(archive: Archive, refs: HubRefs, draft: str) -> None:
    """Drafts, marks, releases and tables as the hub has them, and the files of one draft."""
    ours = {name: ref.commit for name, ref in refs.items() if name.startswith((DRAFTS, MARKS, RELEASES, TABLES))}
    archive.change_refs(ours)
    keep_seen(archive, {name: ref.raw for name, ref in refs.items()})
    archive.set_draft(draft)
    last = archive.last
    assert last is not None, "the draft was chosen among those of the hub"
    write_work(archive, archive.write_tree({}), archive.tree_of(last))
    work_tree(archive)
    share_index(archive)
