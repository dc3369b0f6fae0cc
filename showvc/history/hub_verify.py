"""Whether all is whole: the history, every snapshot in it, the list of operations, and the hub."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from showvc.document import MachineError, ShowError
from showvc.document.lining import counted, printable
from showvc.history.archive import Archive
from showvc.history.cache import BodyCache
from showvc.history.hub import exchanging, has_hub, hub_of
from showvc.history.hub_exchange import TABLES, fetch, quarantine, seen
from showvc.history.hub_incoming import inspect, judged, shown
from showvc.history.hub_plan import Views, rewritten
from showvc.history.hub_safety import inspect_folder
from showvc.history.hub_sync import containing
from showvc.history.mending import config_damaged, lost_names
from showvc.history.operations import completed, log, needs_recovery, pending_of
from showvc.history.remembered import SETTLED, known_in
from showvc.history.shows import Progress
from showvc.history.spoiled import MEND, spoiled_file
from showvc.store.calling import Place, outcome
from showvc.store.damage import called, damage_words
from showvc.store.making import make


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was looked at: `wrong` says what is not in order; `away` where the machine or hub failed us."""

    name: str
    words: str
    wrong: tuple[str, ...] = ()
    away: bool = False

    def plain(self) -> dict[str, Any]:
        return {"name": self.name, "ok": not self.wrong, "words": self.words, "wrong": list(self.wrong)}


def verify(
    archive: Archive, progress: Progress | None = None, waiting: Callable[[], None] | None = None
) -> list[Check]:
    """Looks at everything. Nothing is changed."""
    checks = [_objects(archive), _guarded("snapshots", _snapshots, archive, progress)]
    if archive.brought_along:
        checks.append(Check("folder", "brings along what showvc does not write", archive.brought_along))
    if config_damaged(archive):
        checks.append(Check("config", "damaged", (str(spoiled_file(archive.git_dir / "config")),)))
    checks += [_guarded("operations", _operations, archive), _guarded("settlements", _settlements, archive)]
    if has_hub(archive):
        with exchanging(archive, waiting):
            checks.append(_guarded("hub", _hub, archive, progress))
    return checks


def _guarded(name: str, look: Callable[..., Check], *given: Any) -> Check:
    """A look that itself fails is a finding, and the next one is taken all the same."""
    try:
        return look(*given)
    except ShowError as error:
        return Check(name, "not in order", tuple(str(problem) for problem in error.problems))
    except MachineError as error:
        return Check(name, "not in reach" if name == "hub" else "damaged", (str(error),), away=name == "hub")
    except (ValueError, KeyError, TypeError, StopIteration) as error:
        return Check(name, "damaged", (f"cannot be read: {error}",))


def _objects(archive: Archive) -> Check:
    given = ["fsck", "--strict", "--full", "--no-dangling", "--no-reflogs", "--no-progress"]
    names = archive.names.listed("refs/")
    with tempfile.TemporaryDirectory(prefix="showvc-verify-") as room:
        made = make(Path(room) / "git", names.refs)
        code, out, err = outcome(Place(made, archive.git_dir / "objects"), given)
    lost = tuple(f"the {called(name)} leads to nothing" for name in names.broken)
    if code or lost:
        wrong = (*damage_words(f"{out.decode('utf-8', 'replace')}\n{err}"), *lost)
        return Check("history", "damaged", wrong or ("the history cannot be read",))
    # Those that a stand-in borrows are among these; `count-objects` knows only its own.
    kept = len(archive.git("cat-file", "--batch-all-objects", "--unordered", "--batch-check=.").split())
    return Check("history", f"whole: {kept:,} objects, each with the content that its name says")


def _snapshots(archive: Archive, progress: Progress | None) -> Check:
    tips = {name: oid for name, oid in archive.refs().items() if not name.startswith("refs/hub/tables/")}
    found = judged(archive, tips, BodyCache(archive.own / "bodies.sqlite"), progress)
    wrong = tuple(f"{_named(name)}: {problems[0]}" for name, problems in found.items())
    count = archive.git("rev-list", "--count", *sorted(set(tips.values()))).strip() if tips else "0"
    return Check("snapshots", "not in order" if wrong else f"{count} of {count} can be read", wrong)


def _named(name: str) -> str:
    return f"the hub's {name.removeprefix('refs/hub/')}" if name.startswith("refs/hub/") else shown(name)


def _operations(archive: Archive) -> Check:
    done = log(archive, None)  # that their files are all there, the look at the objects has told
    pending = pending_of(archive)
    if pending is not None:
        from showvc.history.pending import Pending

        archive.files(Pending.from_plain(pending).incoming)
    left = ["a command was cut short: the next command takes it back"] if needs_recovery(archive) else []
    lost = lost_names(archive, completed(archive, done[0])) if done else []
    left += [f"the {printable(called(name))} is gone, which was there after the last command ({MEND})" for name in lost]
    return Check("operations", f"{len(done)} of {len(done)} can be stepped back over", tuple(left))


def _settlements(archive: Archive) -> Check:
    last = archive.ref(SETTLED)
    known = known_in(archive, last) if last else {}
    wrong = [key for key, oid in known.items() if json.loads(archive.blob(oid)).get("key") != key]
    said = tuple(f"{key[:12]} is not what its name says" for key in wrong)
    return Check("settlements", f"{len(known)} remembered", said)


def _hub(archive: Archive, progress: Progress | None) -> Check:
    """Fetches the whole hub into a quarantine, so that every object there is looked at, and lets it go again."""
    address = hub_of(archive)
    odd = inspect_folder(address.folder) if address.folder else ()
    with quarantine(archive, known=False) as apart:
        there = fetch(apart, address)
        looked = inspect(apart, there, archive, progress)
        views = Views({}, _commits(there), _commits(seen(archive)))
        wrong = [notice.words for notice in rewritten(views, containing(apart))]
    wrong += [f"the hub's {shown(name)}: {problems[0]}" for name, problems in looked.refused.items()]
    held = sum(1 for name in there if not name.startswith(TABLES))
    words = f"{address.text}: holds all that we last saw there, {counted(held, 'name')}" + "".join(
        f"; {note}" for note in odd
    )
    return Check("hub", "not in order" if wrong else words, tuple(wrong))


def _commits(refs: Any) -> dict[str, str]:
    return {name: ref.commit for name, ref in refs.items() if ref.commit}
