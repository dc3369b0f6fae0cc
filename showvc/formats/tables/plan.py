"""What an import would do: the show that it makes, the cells it could not read, who was taken for whom."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from showvc.document import SECTIONS, Show
from showvc.formats.tables import own
from showvc.formats.tables.catalogue import Catalogue
from showvc.formats.tables.cells import Unread
from showvc.formats.tables.drafts import Draft, finished, lost_notes
from showvc.formats.tables.filling import fill
from showvc.formats.tables.gathering import gather
from showvc.formats.tables.laying_over import laid_over
from showvc.formats.tables.mapping import PlotMapping
from showvc.formats.tables.opening import refused
from showvc.formats.tables.own_sheets import is_own_book
from showvc.formats.tables.plots import Source, read_plot
from showvc.formats.tables.recognising import recognise
from showvc.formats.tables.sheets import Progress, read_text_table, read_xlsx_noted
from showvc.formats.tables.strangers import strangers
from showvc.formats.tables.textfiles import csv_book
from showvc.formats.tables.trees import read_json, read_xml_noted
from showvc.identity.matching import Answers, Doubt

WORKBOOKS = (".xlsx", ".xlsm")
TEXTS = (".csv", ".tsv", ".txt")
TREES = (".json", ".xml")

Files = bytes | Mapping[str, bytes]
"""A file's bytes, or those of the text tables of a folder by name."""


@dataclass(frozen=True, slots=True)
class ImportPlan:
    """What an import would do, before anything is done.

    `show` is the show as it would stand; None while `doubts` are open. `matches` holds (section, row, id, score) for
    rows that were taken for a thing of the show. `notes` tell what was passed over. `stamp` names the snapshot that
    the file came from, where it says so: the base of a merge.
    """

    show: Show | None
    unread: tuple[Unread, ...] = ()
    matches: tuple[tuple[str, str, str, float], ...] = ()
    doubts: tuple[Doubt, ...] = ()
    notes: tuple[str, ...] = ()
    stamp: str | None = None
    when: str | None = None


def gone(current: Show, then: Show) -> list[str]:
    """How much of each section an import takes out: `3 of 48 users`."""
    counted = ((section, set(current.section(section)), set(then.section(section))) for section in SECTIONS)
    return [f"{len(was - now)} of {len(was)} {section}" for section, was, now in counted if was - now]


def open_source(data: Files, file: str) -> Source:
    """A file of any kind that tables come in, read but not yet understood. ShowError for every other."""
    ending = "." + file.rpartition(".")[2].lower() if isinstance(data, bytes) else ""
    if isinstance(data, Mapping):
        return Source(book=csv_book(data, file), file=file)
    if ending in WORKBOOKS or data[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        book, notes = read_xlsx_noted(data, file)
        return Source(book=book, file=file, notes=notes)
    if ending in TEXTS:
        name = file.replace("\\", "/").rpartition("/")[2].rpartition(".")[0]
        return Source(book={name: read_text_table(data, file, name)}, file=file)
    if ending == ".json":
        return Source(tree=read_json(data, file), file=file)
    if ending == ".xml":
        tree, notes = read_xml_noted(data, file)
        return Source(tree=tree, file=file, notes=notes)
    allowed = ", ".join((*WORKBOOKS, *TEXTS, *TREES))
    raise refused(file, "is no table that showvc reads", f"it reads {allowed}, and folders of .csv files")


def plan_import(
    current: Show | None,
    data: Files,
    file: str,
    mapping: PlotMapping | None = None,
    answers: Answers | None = None,
    progress: Progress | None = None,
) -> ImportPlan:
    """The plan of importing a file into a show (or on its own, `current` None).

    Tables of our own need no mapping. `answers` settles doubts: section → row's name → id or `new`. `progress` is
    told of each row. ShowError when the file cannot be read at all.
    """
    with _collector_paused():
        return _plan(current, data, file, mapping, answers or {}, progress)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """A plot makes a million objects and drops none: looking for garbage among them takes two fifths of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _plan(
    current: Show | None,
    data: Files,
    file: str,
    mapping: PlotMapping | None,
    answers: Answers,
    progress: Progress | None,
) -> ImportPlan:
    source = open_source(data, file)
    if mapping is not None:
        return _mapped_plan(current, source, mapping, answers, progress)
    if source.book is None or not is_own_book(source.book):
        raise refused(
            file, "is not a table of showvc's own", f"have a mapping of it proposed: showvc import {file} --guess"
        )
    draft, about = own.read_tables(source.book, file, progress, current)
    show = own.show_of(draft, current)
    notes = (*source.notes, *lost_notes(draft.lost), *draft.skipped, *strangers(draft, show, current))
    return ImportPlan(show, tuple(draft.unread), notes=notes, stamp=about.stamp, when=about.when)


def _mapped_plan(
    current: Show | None, source: Source, mapping: PlotMapping, answers: Answers, progress: Progress | None
) -> ImportPlan:
    tables, there, draft = read_plot(source, mapping), current or Show(), Draft()
    catalogue = Catalogue(there, draft.covered)
    gather(tables, catalogue, draft, progress)
    found = recognise(catalogue, answers)
    fill(tables, mapping, catalogue, draft)
    show = finished(laid_over(there, draft, mapping.missing == "keep"), there)
    strange = strangers(draft, show, current)
    slips = (f"{name!r} is new, and nearly {other!r}: a slip of the pen?" for name, other in found.slips)
    notes = (
        *slips,
        *source.notes,
        *lost_notes(lost for table in tables for lost in table.lost),
        *draft.skipped,
        *strange,
        *(note for table in tables for note in table.notes),
    )
    return ImportPlan(
        None if found.doubts else show, tuple(draft.unread), tuple(found.matches), tuple(found.doubts), notes
    )
