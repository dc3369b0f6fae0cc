"""The log of operations: every command is one step that happens whole, and can be stepped back over.

A command first writes its outcome as an object, then moves one ref to it. Only then the drafts, marks and files
follow, and last a note that all is done: then it has happened. What ends before that, by an error, by a kill, has
not: it is taken back, by itself where that can be done, else by the next command. So nothing has to be written for
what was told as failed never to happen. `undo` is a command like any other.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from itertools import islice, takewhile
from pathlib import Path
from typing import Any

from showvc.document import MachineError, Problem, ShowError
from showvc.formats.atomic import write_atomically
from showvc.history.archive import DRAFTS, MARKS, OPERATIONS, RELEASES, Archive, Astray, Person
from showvc.history.room import held_room
from showvc.history.spoiled import spoiled_name
from showvc.history.stepping import Back
from showvc.history.whole import whole
from showvc.history.working import changed_paths, look, share_index, sweep, touched, work_tree, write_work

BEGINNING = "start"
_TAKEN_BACK = "taken back "
_DONE = "applied"
"""Names the last command that is done."""
_AGAIN = "done again: "
_UNDOING = re.compile(rf"undo \d+: (?P<again>{_AGAIN})?")
MACHINE = Person("showvc", "operations@showvc.invalid")


@dataclass(frozen=True, slots=True)
class View:
    """All that a command can change: the draft, the refs, the working files, and the pending merge."""

    draft: str
    refs: Mapping[str, str]
    work: str
    pending: Mapping[str, Any] | None = None
    renamed: tuple[tuple[str, str], ...] = ()
    """The things that got another id since the last snapshot, as pointers: the next one writes them down."""

    @property
    def last(self) -> str | None:
        """The newest snapshot of the draft; None before the first."""
        return self.refs.get(DRAFTS + self.draft)

    def plain(self) -> dict[str, Any]:
        renamed = {"renamed": [list(pair) for pair in self.renamed]} if self.renamed else {}
        return {"draft": self.draft, "refs": dict(self.refs), "work": self.work, "pending": self.pending, **renamed}

    @staticmethod
    def from_plain(plain: Mapping[str, Any]) -> View:
        renamed = tuple((old, new) for old, new in plain.get("renamed", ()))
        return View(plain["draft"], plain["refs"], plain["work"], plain["pending"], renamed)


Tables = Mapping[str, tuple[str | None, str | None]]


@dataclass(frozen=True, slots=True)
class Operation:
    """One command that was carried out."""

    oid: str
    number: int
    command: str
    when: str
    before: View
    after: View
    previous: str | None
    tables: Tables = field(default_factory=dict)


@dataclass(slots=True)
class Step:
    """A command in the making: what it has changed so far.

    `astray` is where another program had left the folder, `left_out` what stands in it and is not in its tree.
    """

    archive: Archive
    command: str
    before: View
    after: View
    keep: list[str] = field(default_factory=list)
    """Commits that the log must hold on to, though no draft leads to them."""
    astray: Astray | None = None
    left_out: frozenset[str] = frozenset()
    tables: dict[str, tuple[str | None, str | None]] = field(default_factory=dict)
    """What is remembered beside the show, where it was and where it shall be; no undo takes it back."""

    def remember(self, ref: str, oid: str) -> None:
        """Moves a table of what is remembered when the command happens, and not where it fails."""
        self.tables[ref] = (self.archive.ref(ref), oid)

    def move(self, ref: str, oid: str | None) -> None:
        refs = {name: known for name, known in self.after.refs.items() if name != ref}
        self.after = replace(self.after, refs={**refs, ref: oid} if oid else refs)

    def advance(self, snapshot: str, work: str | None = None) -> None:
        """Puts a snapshot on top of this draft, and files into the folder."""
        self.move(DRAFTS + self.after.draft, snapshot)
        self.set(renamed=())
        if work:
            self.after = replace(self.after, work=work)

    def set(self, **changes: Any) -> None:
        self.after = replace(self.after, **changes)


def pending_of(archive: Archive) -> Mapping[str, Any] | None:
    """The merge that waits for a person, as the log has it."""
    left = _left(archive)
    return left.pending if left else None


def _left(archive: Archive) -> View | None:
    """How the log says that things were left; None before the first command."""
    newest = _newest(archive)
    return completed(archive, read_operation(archive, newest)) if newest else None


def completed(archive: Archive, last: Operation) -> View:
    """How the last command left things, or found them where it is still to be taken back."""
    return last.before if last.oid != applied_of(archive) == last.previous else last.after


def current_view(archive: Archive) -> View:
    """How things stand now. ShowError where files stand in the way."""
    return _view(archive, work_tree(archive))


def _view(archive: Archive, work: str) -> View:
    refs = {name: oid for name, oid in archive.refs().items() if name.startswith((DRAFTS, MARKS, RELEASES))}
    left = _left(archive)
    pending, renamed = (left.pending, left.renamed) if left else (None, ())
    return View(archive.draft, refs, work, pending, renamed)


@contextmanager
def operation(
    archive: Archive, command: str, waiting: Any = None, *, whole: bool = True, on_draft: bool = True
) -> Iterator[Step]:
    """Carries out a command as one step; an error inside leaves everything as it was.

    A command that does without what cannot be read in the folder, since it does not look at the files or puts them
    back, is not stopped by it: `whole` is False. Nor is one that is not `on_draft` by another program having left the
    folder on none: it puts it on one again.
    """
    with archive.locked(waiting):
        recover(archive)
        astray, work = archive.astray, look(archive)
        if astray is not None and on_draft:
            raise astray.error
        view = _view(archive, work.require_whole() if whole else work.tree)
        kept = [astray.commit] if astray is not None and astray.commit and archive.ref(astray.commit) else []
        step = Step(archive, command, view, view, kept, astray, work.left_out)
        yield step
        if step.after != step.before or step.tables or astray is not None:
            _happen(archive, step)


def recover(archive: Archive) -> Operation | None:
    """Takes back, under the lock, the command that a killed or failed process began; None where there was none."""
    newest, applied = _newest(archive), applied_of(archive)
    if newest is None or newest == applied:
        return None
    done = read_operation(archive, newest)
    sweep(archive)
    if done.command.startswith(_TAKEN_BACK) or done.command == BEGINNING:
        _apply(archive, done.before, done.after, newest, done.tables)
        archive.remark(f"An earlier command was cut short, and is finished now: {done.command}")
    elif applied == done.previous:
        stays = _stays(archive, done)
        _take_back(archive, done, newest)
        archive.remark(f"An earlier command was cut short, and is taken back{stays}: {done.command}")
    else:  # only ever the one or the other is noted: the note is damaged, and the command was not cut short
        write_atomically(archive.own / _DONE, newest + "\n")
        archive.remark(f"{archive.own / _DONE} was damaged, and is made anew from the list of commands.")
    return done


def _stays(archive: Archive, done: Operation) -> str:
    """What was done since a command was cut short, and is not taken back with it."""
    edited = touched(archive, done.before.work, done.after.work)
    moved = _moved_meanwhile(archive, done.before, done.after)
    return " (what was edited since stays)" if edited else " (what another program did since stays)" if moved else ""


def _take_back(archive: Archive, done: Operation, newest: str) -> None:
    """Steps back over a command that was cut short. It stays in the log, and so do the edits that it kept.

    A file that somebody edited since stays as it is, and so does a draft or mark that another program moved.
    """
    back, oid = _stepped_back(archive, done, newest)
    _apply(archive, back.before, back.after, oid, back.tables)


def _stepped_back(archive: Archive, done: Operation, newest: str) -> tuple[Step, str]:
    """Notes that a command is taken back."""
    tables = {name: (new, old) for name, (old, new) in done.tables.items()}
    back = Step(archive, f"{_TAKEN_BACK}{done.number}: {done.command}", done.after, done.before, tables=tables)
    oid = _write_operation(archive, back, newest)
    archive.change_refs({OPERATIONS: oid}, {OPERATIONS: newest})
    return back, oid


def needs_recovery(archive: Archive) -> bool:
    newest = _newest(archive)
    return newest is not None and newest != applied_of(archive)


def _newest(archive: Archive) -> str | None:
    """The last command in the log. Spoiled where the log's name is not what it was."""
    found = archive.ref(OPERATIONS)
    if found is None and applied_of(archive) is not None:
        raise spoiled_name(archive.git_dir, OPERATIONS, "is gone")
    return found


def applied_of(archive: Archive) -> str | None:
    """The last command that is done, as it is noted."""
    path = archive.own / _DONE
    return path.read_text("utf-8", "replace").strip() if path.is_file() else None


def _happen(archive: Archive, step: Step) -> None:
    if edited := touched(archive, step.before.work, step.after.work):
        message = "was edited at this very moment, so nothing was changed"
        raise ShowError(Problem(message, path, way_out="save it, then do it again") for path in edited)
    if _moved_meanwhile(archive, step.before, step.after):
        raise ShowError("another program changed this show at this very moment, so nothing was changed", "do it again")
    newest = _newest(archive)
    oid = _write_operation(archive, step, newest)
    with whole(), held_room(archive.own, _rewritten(archive, step)) as let_go:
        try:
            archive.change_refs({OPERATIONS: oid}, {OPERATIONS: newest})
            _apply(archive, step.before, step.after, oid, step.tables, stand=step.astray is not None)
        except BaseException:
            # An error that we see is the end of the command: nothing has happened.
            let_go()
            _give_back(archive, step, newest)
            raise


def _rewritten(archive: Archive, step: Step) -> Iterator[Path]:
    """All that taking a command back writes once more."""
    yield from (
        archive.own / "index",
        archive.own / "index",
        archive.git_dir / "index",
        archive.git_dir / "packed-refs",
    )
    if step.before.work != step.after.work:
        for path in changed_paths(archive, step.before.work, step.after.work):
            yield archive.folder / path


def _give_back(archive: Archive, step: Step, newest: str | None) -> None:
    """Undoes what was applied of a command that failed, and forgets it. Where that fails too, the next command does."""
    with suppress(MachineError, ShowError, OSError):
        tables = {name: (new, old) for name, (old, new) in step.tables.items()}
        _apply(archive, step.after, step.before, newest, tables)
        if step.astray is not None:
            archive.leave_astray(step.astray)
        archive.change_refs({OPERATIONS: newest})


def _write_operation(archive: Archive, step: Step, newest: str | None) -> str:
    now = datetime.now().astimezone()
    body = {
        "number": 1 + (read_operation(archive, newest).number if newest else 0),
        "command": step.command,
        "when": now.isoformat(timespec="seconds"),
        "before": step.before.plain(),
        "after": step.after.plain(),
        **({"tables": {name: list(sides) for name, sides in step.tables.items()}} if step.tables else {}),
    }
    tree = archive.folder_tree({"before": step.before.work, "after": step.after.work})
    title = " ".join(step.command.split())[:200]  # a value may hold empty lines
    message = f"{title}\n\n{json.dumps(body, ensure_ascii=False, sort_keys=True)}\n"
    moved = {oid for name, oid in step.before.refs.items() if step.after.refs.get(name) != oid}
    made = {oid for name, oid in step.after.refs.items() if step.before.refs.get(name) != oid}
    # As parents, git keeps them, whatever becomes of the drafts.
    held = [*([newest] if newest else []), *sorted({*moved, *made, *step.keep})]
    return archive.write_commit(tree, held, MACHINE, now, message)


def read_operation(archive: Archive, oid: str) -> Operation:
    """A command in the log. Spoiled where this is none."""
    try:
        return _read_operation(archive, oid)
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, StopIteration):
        raise spoiled_name(archive.git_dir, OPERATIONS, "leads to what is no command") from None


def _read_operation(archive: Archive, oid: str) -> Operation:
    commit = archive.commit(oid)
    body = json.loads(commit.message.rstrip("\n").rpartition("\n")[2])
    before, after = View.from_plain(body["before"]), View.from_plain(body["after"])
    previous = commit.parents[0] if commit.parents and body["number"] > 1 else None
    tables = {name: (old, new) for name, (old, new) in body.get("tables", {}).items()}
    return Operation(oid, body["number"], body["command"], body["when"], before, after, previous, tables)


def _apply(
    archive: Archive, before: View, after: View, oid: str | None, tables: Tables | None = None, stand: bool = False
) -> None:
    """Makes everything what `after` says, and notes that the operation `oid` is complete.

    A draft or mark that another program moved since stays where that put it. With `stand` the folder is put on its
    draft though that is the same: another program had taken it off. May be done again from the start at any time.
    """
    now = archive.refs()
    moves = {name: new for name, (old, new) in _moves(before, after).items() if now.get(name) == old}
    beside = {name: new for name, (old, new) in (tables or {}).items() if archive.ref(name) == old}
    archive.change_refs({**moves, **beside})
    if before.draft != after.draft or stand:
        archive.set_draft(after.draft)
    if before.work != after.work:
        write_work(archive, before.work, after.work)
        look(archive)
    if moves or before.draft != after.draft:
        share_index(archive)
    if oid is None:
        (archive.own / _DONE).unlink(missing_ok=True)
    elif oid != applied_of(archive):
        write_atomically(archive.own / _DONE, oid + "\n")


def _moves(before: View, after: View) -> dict[str, tuple[str | None, str | None]]:
    """The drafts, marks and releases that differ: where each stood, and where it shall."""
    names = {*before.refs, *after.refs}
    both = {name: (before.refs.get(name), after.refs.get(name)) for name in names}
    return {name: (old, new) for name, (old, new) in both.items() if old != new}


def _moved_meanwhile(archive: Archive, before: View, after: View) -> list[str]:
    """The names that would be moved and stand where neither view has them: another program was here."""
    moves = _moves(before, after)
    now = archive.refs() if moves else {}
    return sorted(name for name, sides in moves.items() if now.get(name) not in sides)


def log(archive: Archive, most: int | None = 50) -> list[Operation]:
    """The newest operations, the latest first; all of them where `most` is None."""
    return list(islice(_walked(archive), most))


def _walked(archive: Archive) -> Iterator[Operation]:
    oid = _newest(archive)
    while oid:
        found = read_operation(archive, oid)
        yield found
        oid = found.previous


def _walked_to(archive: Archive, number: int) -> Iterator[Operation]:
    """The operations from the newest to the one of this number, and not one more is read."""
    for each in _walked(archive):
        yield each
        if each.number <= number:
            return


def undo(archive: Archive, number: int | None = None) -> tuple[Operation, str | None]:
    """Steps back over the last operation, or back to before the one of this number.

    Only what it changed is put back, and only where no other program moved it since: ShowError there.
    Gives the operation stepped over, and the safety snapshot of edits that would have been overwritten.
    """
    newest = next(_walked(archive), None)
    if newest is None:
        raise ShowError("there is nothing to undo", "no command has changed this show yet")
    if number is None and newest.command.startswith("settle --all"):
        rounds = list(takewhile(lambda each: each.command == newest.command, log(archive, 50)))
        number = rounds[-1].number  # one word of the engineer, however many rounds it took
    wanted = newest.number if number is None else number
    back = Back.over(_walked_to(archive, wanted)) if 0 < wanted <= newest.number else None
    if back is None or (target := back.oldest).number != wanted:
        raise ShowError(f"there is no operation {number}", "list them with: showvc undo --list")
    with operation(archive, _undoing(target), whole=False, on_draft=False) as step:
        refs = back.refs(step.before)
        draft = back.draft(step.before, refs)
        work, kept = _files_before(step, back, draft)
        step.after = View(draft, refs, work, target.before.pending, target.before.renamed)
    return target, kept


def _files_before(step: Step, back: Back, draft: str) -> tuple[str, str | None]:
    """The files after stepping back, and the safety snapshot of edits that this overwrites."""
    from showvc.history.safety import keep_edits

    now, left, before = step.before.work, back.newest.after.work, back.oldest.before.work
    if left == before and draft == step.before.draft:
        return now, None  # the command touched no file, so nor does stepping back over it
    note = f"Edits kept before undoing: {back.oldest.command}"
    if draft != step.before.draft:
        return before, None if now in (left, before) else keep_edits(step, note)
    files = tuple(map(step.archive.files, (now, left, before)))
    kept = keep_edits(step, note) if any(back.overwritten(*files)) else None
    return step.archive.write_tree(back.files(*files)), kept


def _undoing(target: Operation) -> str:
    """What stepping back over an operation is called: of an undo of an undo, what it brings about, not each turn."""
    found = _UNDOING.match(target.command)
    if found is None:
        return f"undo {target.number}: {target.command}"
    again = "" if found["again"] else _AGAIN
    return f"undo {target.number}: {again}{target.command[found.end() :]}"
