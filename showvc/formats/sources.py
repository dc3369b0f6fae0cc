"""Anything on disk that can be read as a show."""

from __future__ import annotations

import re
from pathlib import Path

from showvc.document import MachineError, Problem, Show, ShowError
from showvc.formats.folder import Progress, is_show, read_folder
from showvc.formats.nodes import MAX_DOCUMENT_BYTES
from showvc.formats.single import SUFFIXES, read_single

_STAMP = re.compile(rb"(?:\xef\xbb\xbf)?# snapshot ([0-9a-f]{7,40})\b")
"""How the first line of an exported document names the snapshot that it is of."""

FILES = (*SUFFIXES, ".xlsx", ".xlsm", ".csv", ".tsv", ".txt", ".xml")
"""The endings of everything that can be read as a show."""


def read(path: str | Path, progress: Progress | None = None, current: Show | None = None) -> Show:
    """The show at this path: a show folder, a single document (`.yaml`, `.json`), or tables.

    Tables are a workbook (`.xlsx`), a folder of text tables, or another's file with its mapping beside it. Rows
    without ids are looked for in `current`, and what the tables say nothing of is as it is there.
    ShowError with every problem of the input; MachineError when the disk refuses.
    """
    return read_stamped(path, progress, current)[0]


def read_stamped(
    path: str | Path, progress: Progress | None = None, current: Show | None = None
) -> tuple[Show, str | None]:
    """As `read`, and the code of the snapshot that the file says it is of, where it says so."""
    place = Path(path)
    if is_table(place):
        from showvc.formats.tables.places import read_table

        return read_table(place, progress, current)
    if place.is_dir():
        return read_folder(place, progress), None
    if place.suffix.lower() not in SUFFIXES:
        allowed = f"a show folder, or a file that ends in {', '.join(FILES)}"
        raise ShowError([Problem("is nothing that showvc reads", str(path), way_out=allowed)])
    data = file_bytes(place)
    found = _STAMP.match(data)
    return read_single(data, str(path)), found[1].decode() if found else None


def is_table(place: Path) -> bool:
    """Whether this is read as tables, and not as a show folder or a single document."""
    if place.suffix.lower() in (".yaml", ".yml") or not (place.suffix or place.is_dir()) or is_show(place):
        return False
    from showvc.formats.tables import places

    return places.is_table(place)


def file_bytes(path: Path, limit: int = MAX_DOCUMENT_BYTES) -> bytes:
    """The bytes of a file, one more than `limit` at the most. ShowError where there is none."""
    try:
        with path.open("rb") as stream:
            return stream.read(limit + 1)
    except FileNotFoundError:
        raise ShowError([Problem("is not there", str(path), way_out="check the spelling of the path")]) from None
    except OSError as error:
        raise MachineError(f"{path} cannot be read: {error.strerror}", "check the permissions and the disk") from None
