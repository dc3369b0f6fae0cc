"""Exchanging with the hub: fetch, merge in our way, send, and again when somebody was faster."""

from __future__ import annotations

import os
import random
import re
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from showvc.changes import edits
from showvc.document import MachineError, ShowError
from showvc.document.lining import printable
from showvc.history.archive import DRAFTS, MARKS, RELEASES, Archive
from showvc.history.hub import exchanged, exchanging, hub_of, not_exchanged
from showvc.history.hub_address import Address
from showvc.history.hub_exchange import (
    TABLES,
    Faster,
    HubFailed,
    Sending,
    fetch,
    keep_seen,
    quarantine,
    seen,
    send,
    take_over,
    take_over_only,
)
from showvc.history.hub_incoming import Inspection, inspect, is_hub_name, shown
from showvc.history.hub_plan import Notice, Plan, Views, plan, rewritten
from showvc.history.hub_safety import inspect_folder, pack_hub
from showvc.history.hub_stamps import StampOf, misnamed, without
from showvc.history.hub_tables import JOINS, Join, join_table
from showvc.history.joining import merge_within
from showvc.history.operations import Operation, Step, log, operation
from showvc.history.packing import pack
from showvc.history.pending import Outcome
from showvc.history.safety import unrecorded
from showvc.history.shows import Progress, Shows
from showvc.store.calling import GitFailed
from showvc.store.turns import in_turn

MOST_TRIES = 40
_LASTING = ("refused", "rewritten", "apart")
"""Notices of what stays so until somebody sees to it."""
_LONGEST_WAIT = 4.0
_STALE_SECONDS = 120


@dataclass(frozen=True, slots=True)
class Synced:
    """What an exchange did.

    `outcome` is the merge of this draft with the hub's, where there was one to make; `sent` counts the snapshots that
    the hub did not have, `taken` those that are new to this draft. `tries` says how often it took, because others
    were faster.
    """

    hub: str
    sent: int = 0
    taken: int = 0
    outcome: Outcome | None = None
    notices: tuple[Notice, ...] = ()
    names_sent: tuple[str, ...] = ()
    tries: int = 1

    @property
    def needs_person(self) -> bool:
        open_or_held = self.outcome is not None and (self.outcome.held or not self.outcome.merge.clean)
        return open_or_held or any(notice.needs_person for notice in self.notices)


@dataclass(frozen=True, slots=True)
class Options:
    """How to exchange. `anyway` takes a hub that was put back as it is now; `joins` are the tables that go along.

    With `stamp_of`, a release comes in only where its name is the stamp of what it leads to.
    """

    anyway: bool = False
    take_remembered: bool = False
    joins: Mapping[str, Join] = field(default_factory=lambda: dict(JOINS))
    stamp_of: StampOf | None = None
    progress: Progress | None = None
    waiting: Callable[[], None] | None = None
    yes: bool = False
    """Whether what only the two sides together lose is recorded, and sent."""


def sync(archive: Archive, shows: Shows, options: Options | None = None) -> Synced:
    """Exchanges with the show's hub. Nothing that is recorded here is ever changed by it but by merging.

    MachineError where the hub is not in reach; ShowError where it is not safe to use, or none is named.
    """
    options = options or Options()
    address = hub_of(archive)
    done = Synced(address.text)
    with exchanging(archive, options.waiting):
        for turn in range(1, MOST_TRIES + 1):
            with in_turn(address.folder):
                found, beaten = _round(archive, shows, address, options)
                if not beaten:
                    pack_hub(address.folder)
            done = _added(done, found, turn)
            if not beaten:
                pack(archive)
                return done
            done = replace(done, notices=(*done.notices, *clear_left_locks(address.folder)))
            # Whoever lost waits a random while, longer each time, so that not all come back at once.
            time.sleep(random.uniform(0.05, min(_LONGEST_WAIT, 0.2 * 1.5**turn)))
    way_out = "all of yours is kept here; run showvc sync again in a minute"
    raise HubFailed(f"the hub {address.text} was busy: others were faster {MOST_TRIES} times", way_out)


def _added(done: Synced, found: Synced, tries: int) -> Synced:
    """What several tries did, as one."""
    fresh = tuple(notice for notice in found.notices if notice not in done.notices)
    return replace(
        found,
        taken=done.taken + found.taken,
        outcome=found.outcome or done.outcome,
        notices=(*done.notices, *fresh),
        tries=tries,
    )


def _round(archive: Archive, shows: Shows, address: Address, options: Options) -> tuple[Synced, bool]:
    """One try; True beside it where somebody was faster."""
    odd = inspect_folder(address.folder) if address.folder else ()
    notices = tuple(Notice("program", "hub", f"{words[0].upper()}{words[1:]}.") for words in odd)
    with quarantine(archive) as apart:
        there = fetch(apart, address)
        looked = inspect(apart, there, archive, options.progress)
        if looked.refused:
            take_over_only(apart, archive, looked.sound)
        else:
            take_over(apart, archive)
        turn = _joined(archive, shows, looked, options)
        notices += tuple(refusals(looked)) + turn.notices
        found = Synced(address.text, turn.sent, turn.taken, turn.outcome, notices)
        wrong = [notice.words for notice in notices if notice.kind in _LASTING]
        if turn.blocked:
            not_exchanged(archive, address, wrong)
            return found, False
        exchanged(archive, address, wrong)
        if not turn.sendings:
            return found, False
        try:
            send(apart, address, turn.sendings)
        except Faster:
            return replace(found, sent=0), True
    with suppress(MachineError, OSError):  # it is sent: that this cannot be noted here, the next sync makes good
        keep_seen(archive, {each.name: each.new for each in turn.sendings})
    names = tuple(shown(each.name) for each in turn.sendings if not each.name.startswith(TABLES))
    return replace(found, names_sent=names), False


def refusals(looked: Inspection) -> list[Notice]:
    """What of the hub does not come in, each in a sentence."""
    found = []
    for name, problems in looked.refused.items():
        plain = problems[0].message if problems[0].file is None else f"{problems[0].file} {problems[0].message}"
        words = plain if "hub's" in plain else f"The hub's {shown(name)} is not taken: {plain}"
        words = printable(f"{words[0].upper()}{words[1:].rstrip('.')}.")
        found.append(Notice("refused", name, words, needs_person=True))
    return found


# --- the part under the lock of the folder ---


@dataclass(frozen=True, slots=True)
class _Turn:
    sendings: tuple[Sending, ...] = ()
    outcome: Outcome | None = None
    notices: tuple[Notice, ...] = ()
    sent: int = 0
    taken: int = 0
    blocked: bool = False


def _joined(archive: Archive, shows: Shows, looked: Inspection, options: Options) -> _Turn:
    """Takes in what the hub has, and tells what it lacks."""
    with operation(archive, "sync", options.waiting) as step:
        known = {} if options.anyway else _untouched(seen(archive), looked)
        here, unsent = _sendable(_plots(_untouched(step.before.refs, looked)))
        views = Views(
            here,
            _plots({name: ref.commit or "" for name, ref in looked.sound.items()}),
            _plots({name: ref.commit or "" for name, ref in known.items()}),
        )
        contains = containing(archive)
        if wrong := rewritten(views, contains):
            return _Turn(notices=(*wrong, _way_out()), blocked=True)
        planned = plan(views, step.before.draft, contains, _deliberate(archive))
        planned = without(planned, misnamed(shows, planned.here, options.stamp_of))
        for name, oid in planned.here.items():
            step.move(name, oid)
        turn = _merged(step, shows, planned, options)
        there = {**planned.there, **_draft_to_send(step, planned, turn), **_tables(archive, looked, options.joins)}
    gone = [name for name in _untouched(seen(archive), looked) if name not in looked.sound]
    keep_seen(archive, {**dict.fromkeys(gone), **{name: ref.raw for name, ref in looked.sound.items()}})
    raw = {name: ref.raw for name, ref in looked.sound.items()}
    sendings = tuple(Sending(name, oid, raw.get(name)) for name, oid in there.items() if oid != raw.get(name))
    draft = DRAFTS + step.before.draft
    sent = _count(archive, (each.new for each in sendings if not each.name.startswith(TABLES)), views.there.values())
    merged = turn.outcome is not None and turn.outcome.recorded
    taken = _count(archive, [views.there.get(draft) if merged else None], [views.here.get(draft)])
    notices = (*planned.notices, *turn.notices, *unsent, *_left_out(step, shows))
    return replace(turn, sendings=sendings, notices=notices, sent=sent, taken=taken)


def _left_out(step: Step, shows: Shows) -> Iterator[Notice]:
    """The edits in the folder that no snapshot holds: they go nowhere, which has to be said."""
    last = step.after.last
    if last is None or step.archive.tree_of(last) == step.after.work:
        return
    try:
        count = len(edits(shows.at(last), shows.of_work(step.after.work, last)).changes)
    except ShowError:
        words = "The folder holds edits that cannot be read: not sent. What is wrong with them: showvc now"
    else:
        what = f"{count} edit{' is' if count == 1 else 's are'}" if count else "Remarks in the files are"
        them = "it" if count == 1 else "them"
        words = f"{what} not recorded: not sent. Record {them}: showvc record --note TEXT, then sync again."
    yield Notice("unrecorded", "edits", words)


def _way_out() -> Notice:
    words = (
        "Nothing was changed, here or there; all of yours is safe. If the hub is right as it is now: "
        "showvc sync --anyway puts your show and the hub's together again."
    )
    return Notice("way-out", "hub", words)


def _plots(refs: Mapping[str, str]) -> dict[str, str]:
    return {name: oid for name, oid in refs.items() if name.startswith((DRAFTS, MARKS, RELEASES))}


def _sendable(refs: Mapping[str, str]) -> tuple[dict[str, str], tuple[Notice, ...]]:
    """Our names without those that another program made and nobody would take, and what to say of these."""
    odd = [name for name in refs if not is_hub_name(name)]
    told = (printable(f"The {shown(name)} has a name that no show has: it stays here.") for name in odd)
    notices = tuple(Notice("name", printable(name), words) for name, words in zip(odd, told, strict=True))
    return {name: oid for name, oid in refs.items() if name not in odd}, notices


def _untouched(refs: Mapping[str, Any], looked: Inspection) -> dict[str, Any]:
    """What the hub holds something refused under is left alone on both sides."""
    return {name: value for name, value in refs.items() if name not in looked.refused}


def containing(archive: Archive) -> Callable[[str, str], bool]:
    known: dict[tuple[str, str], bool] = {}

    def contains(one: str, other: str) -> bool:
        if (one, other) not in known:
            known[one, other] = one == other or _is_ancestor(archive, other, one)
        return known[one, other]

    return contains


def _is_ancestor(archive: Archive, one: str, other: str) -> bool:
    try:
        archive.git("merge-base", "--is-ancestor", one, other)
    except GitFailed:
        return False
    return True


_WANTED = {DRAFTS: "draft close ", MARKS: "mark ", RELEASES: "release "}
_LOOKED_BACK = 1000


def _deliberate(archive: Archive) -> Callable[[str], bool]:
    """Whether the command that last changed a name here meant to: an undone sync means nothing by it."""
    done: list[Operation] = []

    def deliberate(name: str) -> bool:
        if not done:
            done.extend(log(archive, _LOOKED_BACK))
        wanted = next(word for prefix, word in _WANTED.items() if name.startswith(prefix))
        for each in done:
            if each.before.refs.get(name) != each.after.refs.get(name):
                return re.sub(r"^(undo \d+: )+", "", each.command).startswith(wanted)
        return False

    return deliberate


def _merged(step: Step, shows: Shows, planned: Plan, options: Options) -> _Turn:
    """Merges the hub's version of this draft, where there is one to merge."""
    if planned.merge is None:
        return _Turn()
    if step.before.pending:
        what = f"{step.before.pending['what']} of {step.before.pending['source']}"
        words = f"The {what} is still open: settle it with showvc settle, then sync again. The hub has newer snapshots."
        return _Turn(notices=(Notice("open", "merge", words, needs_person=True),))
    notices = []
    if unrecorded(step):
        words = "Your unrecorded edits were recorded first, so that nothing of them is lost."
        notices.append(Notice("recorded", "edits", words))
    name = f"the hub's {step.before.draft}"
    outcome = merge_within(step, name, planned.merge, shows, options.take_remembered, options.yes)
    if outcome.held:
        notices = []
    return _Turn(outcome=outcome, notices=tuple(notices))


def _draft_to_send(step: Step, planned: Plan, turn: _Turn) -> dict[str, str | None]:
    name = DRAFTS + step.before.draft
    if planned.merge is None or turn.outcome is None or not turn.outcome.recorded:
        return {}
    return {name: step.after.refs[name]}


def _tables(archive: Archive, looked: Inspection, joins: Mapping[str, Join]) -> dict[str, str | None]:
    there: dict[str, str | None] = {}
    for name, join in joins.items():
        if name not in looked.refused:
            theirs = looked.sound.get(name)
            ours = join_table(archive, name, theirs.commit if theirs else None, join)
            there |= {name: ours} if ours else {}
    return there


def _count(archive: Archive, newer: Iterable[str | None], older: Iterable[str | None]) -> int:
    """How many snapshots these lead to that those do not."""
    wanted = {oid for oid in newer if oid}
    if not wanted:
        return 0
    asked = [*sorted(wanted), *(f"^{oid}" for oid in sorted({oid for oid in older if oid}))]
    return int(archive.git("rev-list", "--count", "--stdin", data="".join(f"{oid}\n" for oid in asked).encode()))


# --- locks that were left in a hub in a folder ---


def clear_left_locks(folder: Path | None) -> tuple[Notice, ...]:
    """Takes away locks in a hub's folder that a killed process left: git holds one for moments, never for minutes."""
    if folder is None:
        return ()
    found = [*folder.glob("*.lock"), *(folder / "refs").rglob("*.lock")]
    if not found:
        return ()
    try:
        with tempfile.TemporaryFile(dir=folder) as probe:
            now = os.fstat(probe.fileno()).st_mtime
    except OSError:
        return ()
    cleared = [path for path in found if _cleared(path, now)]
    words = "A lock that an interrupted exchange had left in the hub was cleared."
    return (Notice("lock", "hub", words),) if cleared else ()


def _cleared(path: Path, now: float) -> bool:
    try:
        if now - path.lstat().st_mtime < _STALE_SECONDS:
            return False
        path.unlink()
    except OSError:
        return False
    return True
