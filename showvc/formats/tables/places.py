"""Tables on disk: a workbook, a folder of text tables, or another's file with its mapping beside it."""

from __future__ import annotations

import re
from pathlib import Path

from showvc.document import Problem, Show, ShowError
from showvc.formats.sources import file_bytes
from showvc.formats.tables.mapping import PlotMapping, read_mapping
from showvc.formats.tables.opening import MAX_BYTES, refused
from showvc.formats.tables.plan import TEXTS, TREES, WORKBOOKS, Files, ImportPlan, plan_import
from showvc.formats.tables.sheets import Progress

MAPPING = ".mapping.yaml"
"""The end of a mapping's name: `plot.xlsx.mapping.yaml` stands beside `plot.xlsx`, and is used without being named."""
MAX_FILES = 200
_CODE = re.compile("[0-9a-f]{7,40}")


def mapping_place(path: Path) -> Path:
    """Where the mapping of a file stands."""
    return path.parent / f"{path.name}{MAPPING}"  # also beside a folder that is called by a dot


def is_table(path: Path) -> bool:
    """Whether this is read as tables: by its ending, by the mapping beside it, or as a folder of text tables."""
    if path.is_dir():
        return mapping_place(path).is_file() or any((path / f"{name}.csv").is_file() for name in ("About", "Users"))
    return path.suffix.lower() in (*WORKBOOKS, *TEXTS, ".xml") or (
        path.suffix.lower() in TREES and mapping_place(path).is_file()
    )


def load(path: Path) -> Files:
    """The bytes of a file, or of the text tables of a folder by name. ShowError where there is none."""
    if path.is_dir():
        found = sorted(file for file in path.iterdir() if file.suffix.lower() in TEXTS and not file.is_symlink())
        if not found or len(found) > MAX_FILES:
            raise refused(str(path), f"is a folder with {len(found)} text tables", f"1 to {MAX_FILES} are read")
        return {file.name: _bytes(file) for file in found}
    return _bytes(path)


def _bytes(path: Path) -> bytes:
    if path.exists() and not path.is_file():
        raise refused(str(path), "is not a plain file")
    return file_bytes(path, MAX_BYTES)


def mapping_of(path: Path, given: Path | None = None) -> PlotMapping | None:
    """The mapping that was named, else the one beside the file, else None."""
    place = given or mapping_place(path)
    if given is None and not place.is_file():
        return None
    return read_mapping(_bytes(place), str(place))


def read_table(
    path: Path, progress: Progress | None = None, current: Show | None = None, given: Path | None = None
) -> tuple[Show, str | None]:
    """The show that tables hold, for whatever wants a source, and the code of the snapshot that they name.

    `current` is where rows without ids are looked for, `given` a mapping that does not stand beside the file.
    ShowError with each cell that cannot be read, or each row that may be one thing or another.
    """
    plan = plan_import(current, load(path), str(path), mapping_of(path, given), progress=progress)
    return settled(plan, str(path)), code_in(plan)


def code_in(plan: ImportPlan) -> str | None:
    """The code of the snapshot that a file names; None for words that are none, whatever else they may name."""
    return plan.stamp if plan.stamp and _CODE.fullmatch(plan.stamp) else None


def settled(plan: ImportPlan, file: str) -> Show:
    """The show of a plan that leaves nothing open; ShowError with all that it leaves."""
    problems = [unread.problem(file) for unread in plan.unread]
    for doubt in plan.doubts:
        near = " or ".join(f"{name} ({score:.2f})" for name, score in doubt.candidates)
        problems.append(
            Problem(f"{doubt.section}: {doubt.row!r} may be {near}", file, way_out=f"say which: showvc import {file}")
        )
    if problems or plan.show is None:
        raise ShowError(problems)
    return plan.show


def write_tables(
    show: Show, path: Path, mapping: PlotMapping | None, stamp: str | None, when: str
) -> dict[Path, bytes]:
    """The files of an export: place → bytes. Our own tables, or through a mapping another's.

    `path` ends in .xlsx, or (with a mapping) in .json or .xml; without an ending, or with .csv, a folder of text
    tables is meant.
    """
    ending = path.suffix.lower()
    if mapping is not None:
        from showvc.formats.tables.plotwriting import write_plot

        files = write_plot(show, mapping, ending or ".csv")
        inside = not ending or len(files) > 1
        return {path / name if inside else path: data for name, data in files.items()}
    if ending == ".xlsx":
        from showvc.formats.tables.workbook import write_workbook

        return {path: write_workbook(show, stamp, when)}
    if ending:
        raise refused(
            str(path),
            "is nothing that showvc exports to",
            "end it in .xlsx, .show.yaml or .show.json; a folder gets text tables",
        )
    from showvc.formats.tables.textfiles import write_csv

    return {path / name: data for name, data in write_csv(show, stamp, when).items()}
