"""Edits of the show folder, each with its check: many places at once are one command, and one step back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from showvc.changes import Comparison, edits
from showvc.document import Show, ShowError
from showvc.document.editing import Steps, require_shape
from showvc.document.pointers import join, parse
from showvc.editing import Done
from showvc.formats.files import Place
from showvc.formats.typed import value_of
from showvc.history.archive import Archive
from showvc.history.brought import Brought, brought
from showvc.history.files import files_with
from showvc.history.operations import Step, operation
from showvc.history.shows import Shows
from showvc.history.working import work_tree
from showvc.rules import Finding, new_findings

Edit = Callable[[Show], Done]


@dataclass(frozen=True, slots=True)
class Edited:
    """The show before and after an edit, what changed, what the rules find now, and whom it cuts off.

    `replaced` says that a thing with fields of its own gave way to the one that was set; `written` that the folder has
    it, and not only that it would.
    """

    changes: Comparison
    new_findings: tuple[Finding, ...]
    brought: Brought
    before: Show
    after: Show
    replaced: bool = False
    notes: tuple[str, ...] = ()
    written: bool = True


def edit(archive: Archive, shows: Shows, said: str, change: Edit, write: bool = True) -> Edited:
    """Edits the working show, as one step of the log that is called `said`; without `write` only tells what would be.

    ShowError where the edit can't be, or where it changes an id while a merge is open.
    """
    if not write:
        before = shows.of_work(work_tree(archive), archive.last)
        return _edited(before, change(before), written=False)
    with operation(archive, said) as step:
        before = shows.of_work(step.before.work, step.before.last)
        done = change(before)
        if done.renamed:
            _require_no_merge(step)
        files = files_with(shows, _carried(archive.files(step.before.work), done), before, done.show)
        step.set(work=archive.write_tree(files), renamed=(*step.before.renamed, *done.renamed))
    return _edited(before, done, written=True)


def _edited(before: Show, done: Done, written: bool) -> Edited:
    after = done.show
    found = new_findings(before, after)
    news = brought(before, after, found)
    return Edited(edits(before, after), found, news, before, after, done.replaced, done.notes, written)


def _require_no_merge(step: Step) -> None:
    """The conflicts of an open merge are told by ids."""
    if (pending := step.before.pending) is not None:
        raise ShowError(
            f"the {pending['what']} of {pending['source']} is open: no id changes until then",
            "settle it first: showvc settle, or drop it: showvc settle --drop",
        )


def _carried(files: Mapping[str, str], done: Done) -> dict[str, str]:
    """The files, that of a thing with another id under its new name as well: its comments go along."""
    made = dict(files)
    for pair in done.renamed:
        old, new = (Place(*parse(pointer)).path for pointer in pair)
        if old in made:
            made[new] = made[old]
    return made


def read_value(text: str, steps: Steps) -> object:
    """The plain value that a text means at a place."""
    return value_of(text, require_shape(steps), join(*steps))


def said_pairs(pairs: Iterable[tuple[str, str]]) -> str:
    """Fields and values as the log has them."""
    return " ".join(f"{join(*parse(path))} {text}" for path, text in pairs)
