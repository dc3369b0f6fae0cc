"""Anything on disk that can be read as a show."""

from __future__ import annotations

from pathlib import Path

from showvc.document import MachineError, Problem, Show, ShowError
from showvc.formats.folder import Progress, is_show, read_folder
from showvc.formats.nodes import MAX_DOCUMENT_BYTES
from showvc.formats.single import SUFFIXES, read_single


def read(path: str | Path, progress: Progress | None = None, current: Show | None = None) -> Show:
    """The show at this path: a show folder, a single document (`.yaml`, `.json`), or tables.

    Tables are a workbook (`.xlsx`), a folder of text tables, or another's file with its mapping beside it; rows
    without ids are looked for in `current`.
    ShowError with every problem of the input; MachineError when the disk refuses.
    """
    place = Path(path)
    if not is_show(place) and _is_table(place):
        from showvc.formats.tables.places import read_table

        return read_table(place, progress, current)
    if place.is_dir():
        return read_folder(place, progress)
    if place.suffix.lower() not in SUFFIXES:
        allowed = "a show folder, or a file that ends in .yaml, .json or .xlsx"
        raise ShowError([Problem("is nothing that showvc reads", str(path), way_out=allowed)])
    return read_single(file_bytes(place), str(path))


def _is_table(place: Path) -> bool:
    if place.suffix.lower() in (".yaml", ".yml"):
        return False
    from showvc.formats.tables.places import is_table

    return is_table(place)


def file_bytes(path: Path, limit: int = MAX_DOCUMENT_BYTES) -> bytes:
    """The bytes of a file, one more than `limit` at the most. ShowError where there is none."""
    try:
        with path.open("rb") as stream:
            return stream.read(limit + 1)
    except FileNotFoundError:
        raise ShowError([Problem("is not there", str(path), way_out="check the spelling of the path")]) from None
    except OSError as error:
        raise MachineError(f"{path} cannot be read: {error.strerror}", "check the permissions and the disk") from None
