"""Anything on disk that can be read as a show."""

from __future__ import annotations

from pathlib import Path

from showvc.document import MachineError, Problem, Show, ShowError
from showvc.formats.folder import Progress, read_folder
from showvc.formats.nodes import MAX_DOCUMENT_BYTES
from showvc.formats.single import SUFFIXES, read_single


def read(path: str | Path, progress: Progress | None = None) -> Show:
    """The show at this path: a show folder or a single document (`.yaml`, `.json`).

    ShowError with every problem of the input; MachineError when the disk refuses.
    """
    place = Path(path)
    if place.is_dir():
        return read_folder(place, progress)
    if place.suffix.lower() not in SUFFIXES:
        allowed = "a show folder, or a file that ends in .yaml or .json"
        raise ShowError([Problem("is nothing that showvc reads", str(path), way_out=allowed)])
    return read_single(file_bytes(place), str(path))


def file_bytes(path: Path, limit: int = MAX_DOCUMENT_BYTES) -> bytes:
    """The bytes of a file, one more than `limit` at the most. ShowError where there is none."""
    try:
        with path.open("rb") as stream:
            return stream.read(limit + 1)
    except FileNotFoundError:
        raise ShowError([Problem("is not there", str(path), way_out="check the spelling of the path")]) from None
    except OSError as error:
        raise MachineError(f"{path} cannot be read: {error.strerror}", "check the permissions and the disk") from None
