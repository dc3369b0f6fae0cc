"""Rows of other people's files to a draft of a show: things found or named, references followed, codes read."""

from __future__ import annotations

from collections.abc import Sequence

from showvc.document import Show
from showvc.formats.tables.catalogue import Catalogue
from showvc.formats.tables.drafts import Draft
from showvc.formats.tables.filling import fill
from showvc.formats.tables.gathering import gather
from showvc.formats.tables.mapping import PlotMapping
from showvc.formats.tables.plots import PlotTable
from showvc.formats.tables.recognising import Recognised, recognise
from showvc.formats.tables.sheets import Progress
from showvc.identity.matching import Answers


def assemble(
    tables: Sequence[PlotTable],
    mapping: PlotMapping,
    current: Show | None,
    answers: Answers,
    progress: Progress | None = None,
) -> tuple[Draft, Recognised]:
    """A draft of all that the tables say, and who was recognised in it.

    `current` is the show that their rows are looked for in.
    """
    draft = Draft()
    catalogue = Catalogue(current or Show(), draft.covered)
    gather(tables, catalogue, draft, progress)
    recognised = recognise(catalogue, answers)
    fill(tables, mapping, catalogue, draft)
    return draft, recognised
