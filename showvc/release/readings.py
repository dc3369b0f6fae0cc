"""What was read off the devices: a table of stamps, or the full dumps themselves."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from showvc.document import PLOTS, MachineError, Problem, Show, ShowError
from showvc.formats.sources import file_bytes, is_table, read
from showvc.formats.tables.cells import shown
from showvc.formats.tables.places import MAPPING, mapping_place
from showvc.formats.tables.places import read_table as read_mapped
from showvc.formats.tables.sheets import decode_text, read_text_table, read_xlsx
from showvc.release.stamp import LENGTH, is_stamp, parse_stamp, stamp_of

MOST_ROWS = 100_000
_ONE_IN = 10
DOCUMENTS = (".yaml", ".yml", ".json")
TABLES = (".xml", ".xlsx", ".xlsm", ".csv", ".tsv", ".txt")
"""What is read as a dump through a mapping."""
Reader = Callable[[Path], Show]


@dataclass(frozen=True, slots=True)
class Reading:
    """One device's answer: its name as it was written down, and the stamp that it holds.

    `where` is the place of the answer, a file, or a table and its line. `dump` is the show itself where the device
    gave it. Where neither stamp nor dump could be read, `problem` says why.
    """

    device: str
    where: str
    stamp: str | None = None
    dump: Show | None = None
    problem: Problem | None = None


_DEVICE_HEADS = tuple(
    re.findall(
        r"\w+", "device deviceid unit pack beltpack station panel id devicename name position hardware mac address"
    )
)
_STAMP_HEADS = tuple(re.findall(r"\w+", "stamp release releasestamp holds reads shows display version config loaded"))


def read_table(data: bytes, file: str) -> tuple[Reading, ...]:
    """The readings of a table: comma, semicolon or tab between its columns, or plain lines `desk-01 K7F-2R4-W36H`.

    A first line with heads may name the columns in any order, in many usual words; other columns are passed over.
    Lines that begin with `#` are remarks. A stamp that cannot be is a reading with a problem, not an error.
    ShowError where there is no text, no reading, or too much of it, and for a text that is no table of stamps at all.
    """
    return _read_rows(_rows(data, file), file)


def read_workbook(data: bytes, file: str) -> tuple[Reading, ...]:
    """The same from the first sheet of a workbook. ShowError for what is none, or is not safe to open."""
    sheets = list(read_xlsx(data, file).values())
    rows = sheets[0].rows if sheets else []
    return _read_rows(((number, [shown(cell).strip() for cell in row]) for number, row in enumerate(rows, 1)), file)


def _read_rows(told: Iterable[tuple[int, list[str]]], file: str) -> tuple[Reading, ...]:
    rows = [(number, cells) for number, cells in told if any(cells) and not cells[0].startswith("#")]
    if len(rows) > MOST_ROWS:
        raise ShowError([Problem(f"has more than {MOST_ROWS} lines", file, way_out="is it really a table of devices?")])
    if not rows:
        raise ShowError([Problem("holds no reading", file, way_out="write one line for each device: device, stamp")])
    columns = _columns(rows[0][1])
    if columns is not None:
        return tuple(_from_columns(cells, columns, line, file) for line, cells in rows[1:])
    _refuse_prose([cells for _, cells in rows], file)
    return tuple(_from_line(cells, line, file) for line, cells in rows)


_LIKE_A_STAMP = re.compile(r"(?<![0-9A-Za-z])[0-9A-Za-z]{3}[-. ]?[0-9A-Za-z]{3}[-. ]?[0-9A-Za-z]{4}$")


def _refuse_prose(rows: Sequence[Sequence[str]], file: str) -> None:
    """ShowError for a file without heads that is some other text: few of its lines have what looks like a stamp."""
    stamped = sum(any(_like_a_stamp(cell) for cell in cells) for cells in rows)
    if stamped * _ONE_IN < len(rows):
        message = (
            f"is no table of devices: {'no line' if not stamped else f'{stamped} of {len(rows)} lines'} with a stamp"
        )
        raise ShowError([Problem(message, file, way_out="write one line for each device: device, stamp")])


def _like_a_stamp(cell: str) -> bool:
    # Misread as it may be: no plain word has a figure in it.
    found = _LIKE_A_STAMP.search(cell.rstrip())
    return found is not None and any(char.isdigit() for char in found[0])


def _rows(data: bytes, file: str) -> Iterator[tuple[int, list[str]]]:
    """Each row with its number, cut into cells where the table has a separator."""
    text = decode_text(data, file)
    if "\0" in text:
        raise ShowError([Problem("is not text", file, way_out="save the table as CSV or plain text")])
    told = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    if not any(mark in told for mark in ",;\t"):
        yield from ((number, [line.strip()]) for number, line in enumerate(text.splitlines(), 1))
        return
    for number, row in enumerate(read_text_table(data, file).rows, 1):
        yield number, [shown(cell).strip() for cell in row]


def _columns(heads: Sequence[str]) -> tuple[int, int] | None:
    """The columns of device and stamp, where the first row names both."""
    plain = [re.sub(r"[^a-z]", "", head.lower()) for head in heads]
    if len(plain) == 1:
        plain = [re.sub(r"[^a-z]", "", head.lower()) for head in heads[0].split()]
        return (0, -1) if len(plain) == 2 and plain[0] in _DEVICE_HEADS and plain[1] in _STAMP_HEADS else None
    device = next((plain.index(head) for head in _DEVICE_HEADS if head in plain), None)
    stamp = next((plain.index(head) for head in _STAMP_HEADS if head in plain), None)
    return None if device is None or stamp is None else (device, stamp)


def _from_columns(cells: Sequence[str], columns: tuple[int, int], line: int, file: str) -> Reading:
    if columns[1] == -1 or len(cells) == 1:
        return _from_line(cells, line, file)
    device, stamp = (cells[column] if column < len(cells) else "" for column in columns)
    return _reading(device, stamp, line, file)


def _from_line(cells: Sequence[str], line: int, file: str) -> Reading:
    """A row without heads: the stamp is the cell, or the end of the line, that reads as one; the device comes first."""
    if len(cells) > 1:
        place = next((place for place, cell in enumerate(cells) if is_stamp(cell)), len(cells) - 1)
        device = next(cell for cell in (*cells[:place], *cells[place + 1 :], ""))
        return _reading(device, cells[place], line, file)
    words = [word for word in re.split(r"[\s:=]+", cells[0]) if word]
    tails = [place for place in range(max(1, len(words) - LENGTH), len(words)) if _length(words[place:]) == LENGTH]
    good = [place for place in tails if is_stamp(" ".join(words[place:]))]
    place = next(iter(good or tails), max(1, len(words) - 1))
    return _reading(" ".join(words[:place]), " ".join(words[place:]), line, file)


def _length(words: Sequence[str]) -> int:
    return len(re.sub(r"[^0-9A-Za-z]", "", "".join(words)))


def _reading(device: str, stamp: str, line: int, file: str) -> Reading:
    where = f"{file}:{line}"
    if not device:
        return Reading("", where, problem=Problem("names no device", file, line, way_out="write which device it is"))
    try:
        return Reading(device, where, parse_stamp(stamp))
    except ShowError as error:
        first = error.problems[0]
        return Reading(device, where, problem=Problem(first.message, file, line, way_out=first.way_out))


def read_dumps(folder: Path, reader: Reader, mapped: bool = False) -> tuple[Reading, ...]:
    """The readings of a folder of full dumps, one file for each device and named like it: `desk-01.show.json`.

    `reader` makes a show of a file; it is called once for dumps that are the same to the byte. With `mapped` it
    reads tables too (`desk-01.xml`); without, those that have their mapping beside them. A dump that cannot be read
    is a reading with a problem, not an error. ShowError where the folder holds no dump at all.
    """
    try:
        files = sorted(path for path in folder.iterdir() if path.name[:1] != "." and is_dump(path, mapped))
    except OSError as error:
        raise MachineError(f"{folder} cannot be read: {error.strerror}", "check the path and its permissions") from None
    if not files:
        endings = (*DOCUMENTS, *TABLES) if mapped else DOCUMENTS
        way_out = f"put one file for each device there, ending in {', '.join(endings)}"
        if not mapped and any(path.suffix.lower() in TABLES for path in folder.iterdir()):
            way_out += "; for tables, say with --mapping FILE how they are read"
        raise ShowError([Problem("holds no dump", str(folder), way_out=way_out)])
    known: dict[bytes, Reading] = {}
    return tuple(_dump(path, reader, known) for path in files)


def is_dump(path: Path, mapped: bool = False) -> bool:
    """Whether a file is read as a device's whole show, and not as a table of stamps."""
    if path.name.endswith(MAPPING):
        return False
    suffix = path.suffix.lower()
    return suffix in DOCUMENTS or (suffix in TABLES and (mapped or mapping_place(path).is_file()))


def mapped_reader(current: Show | None, mapping: Path | None) -> Reader:
    """Reads dumps, tables among them, which are looked through with `mapping`, or the one beside each.

    What tables say nothing of is as in `current`, where their rows are looked for. How the tables were laid out,
    which an import keeps with the show, is nothing that the device holds.
    """

    def reader(path: Path) -> Show:
        if mapping is None and not is_table(path):
            return read(path)
        return _without_layout(read_mapped(path, None, current, mapping)[0], current)

    return reader


def _without_layout(show: Show, current: Show | None) -> Show:
    known = current.head.extra.get(PLOTS) if current else None
    extra = {name: value for name, value in show.head.extra.items() if name != PLOTS}
    head = show.head.model_copy(update={"extra": {**extra, PLOTS: known} if known else extra})
    return replace(show, head=head)


def read_dump(path: Path, reader: Reader) -> Reading:
    """The reading of one full dump, named like its device."""
    return _dump(path, reader, {})


def _dump(path: Path, reader: Reader, known: dict[bytes, Reading]) -> Reading:
    device, where = dump_device(path.name), str(path)
    try:
        if path.is_symlink() or not path.is_file():
            raise ShowError([Problem("is not a plain file", where, way_out="put the dump itself there")])
        digest = hashlib.sha256(path.suffix.lower().encode() + file_bytes(path)).digest()
        if digest not in known:
            show = reader(path)
            known[digest] = Reading(device, where, stamp_of(show), show)
        same = known[digest]
        return Reading(device, where, same.stamp, same.dump)
    except ShowError as error:
        return Reading(device, where, problem=error.problems[0])
    except MachineError as error:
        return Reading(device, where, problem=Problem(error.message, where, way_out=error.way_out))


def dump_device(name: str) -> str:
    """The device that a dump's file is named after: `desk-01.show.json` and `desk-01.yaml` are desk-01's."""
    return Path(Path(name).stem).stem if name.lower().rpartition(".")[0].endswith(".show") else Path(name).stem
