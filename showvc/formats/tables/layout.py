"""What our own tables look like: sheets, columns, and what a cell of each column may hold."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, get_args

from showvc.document import COLUMNS, SECTIONS, Show, to_tree
from showvc.document.bodies import BridgeKind, Direction, Listen, Talk
from showvc.document.shapes import by_key
from showvc.formats.tables.cells import encoded, from_json, json_text, tags_text
from showvc.formats.tables.lines import LINES
from showvc.formats.tables.notation import LEGEND, channel_text

VERSION = "showvc tables 1"

Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of ours: its head, the field that it fills, how its cells are read, and what they offer.

    `how`: text, ref, word, number, level, flag, tags. For `ref`, `offers` names what it points at: targets, users,
    devices, kinds; for `word` it holds the words.
    """

    head: str
    path: Words
    how: str = "text"
    offers: str | Words = ()
    low: int = 0
    high: int = 999


def _line_columns() -> tuple[Column, ...]:
    return tuple(
        column
        for line in LINES
        for column in (
            Column(f"{line.capitalize()} talk", ("lines", line, "talk"), "word", get_args(Talk)),
            Column(f"{line.capitalize()} listen", ("lines", line, "listen"), "word", get_args(Listen)),
            Column(f"{line.capitalize()} level", ("lines", line, "level"), "level"),
        )
    )


@dataclass(frozen=True, slots=True)
class Flat:
    """A sheet with one row for each thing: where the things stand, and their columns after the id."""

    sheet: str
    at: str
    columns: tuple[Column, ...]


FLATS = (
    Flat(
        "Users",
        "users",
        (
            Column("Name", ("name",)),
            Column("Label", ("label",)),
            Column("Department", ("department",)),
            *_line_columns(),
        ),
    ),
    Flat(
        "Groups",
        "groups",
        (
            Column("Name", ("name",)),
            Column("Label", ("label",)),
            Column("Critical", ("critical",), "flag", ("yes",)),
            Column("Tags", ("tags",), "tags"),
        ),
    ),
    Flat(
        "Devices",
        "devices",
        (
            Column("Name", ("name",)),
            Column("Kind", ("kind",), "ref", "kinds"),
            Column("User", ("user",), "ref", "users"),
            Column("Hardware", ("hardware",)),
            Column("Place", ("place",)),
        ),
    ),
    Flat(
        "Bridges",
        "bridges",
        (
            Column("Kind", ("kind",), "word", get_args(BridgeKind)),
            Column("Device", ("device",), "ref", "devices"),
            Column("Port", ("port",), "number", low=1),
            Column("Target", ("target",), "ref", "targets"),
            Column("Circuit", ("circuit",)),
            Column("Direction", ("direction",), "word", get_args(Direction)),
        ),
    ),
    Flat(
        "Required",
        "required",
        (
            Column("From", ("from",), "ref", "targets"),
            Column("To", ("to",), "ref", "targets"),
            Column("Both", ("both",), "flag", ("yes",)),
            Column("Why", ("why",)),
        ),
    ),
    Flat(
        "Kinds",
        "kinds",
        (
            Column("Keys", ("keys",), "number"),
            Column("Pages", ("pages",), "number", low=1, high=26),
            Column("Ports", ("ports",), "number"),
        ),
    ),
    Flat(
        "Quiet",
        "accepted",
        (
            Column("Rule", ("rule",)),
            Column("At", ("at",)),
            Column("Why", ("why",)),
        ),
    ),
)
BY_SHEET: Mapping[str, Flat] = {flat.sheet: flat for flat in FLATS}

GRIDS: Mapping[str, str] = {"Channels": "users", "Keys": "devices"}
"""Sheets with one row for each user or device, and a column for each channel number or key."""
INFO: Mapping[str, Words] = {"Channels": ("Name", "Label"), "Keys": ("Name", "Kind", "User")}
"""Columns that only help to read a grid; they are read from the thing's own sheet."""
GRID_HEADS = {"Channels": re.compile(r"[1-9][0-9]{0,2}"), "Keys": re.compile(r"[A-Z][1-9][0-9]{0,2}")}

ORDER = ("Users", "Channels", "Keys", "Groups", "Devices", "Bridges", "Required", "Kinds", "Quiet", "About")
LIMITS = ("targets", "devices", "channels")
ID = "Id"


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet ready to be written: heads, rows, and for each head its column where it is one of ours."""

    name: str
    heads: Words
    rows: Sequence[Sequence[Any]]
    columns: Mapping[str, Column] = field(default_factory=dict)


def is_own(sheet: str, head: str) -> bool:
    """Whether this head means something to us on this sheet."""
    word = head.strip().casefold()
    if word == ID.casefold():
        return True
    if sheet in GRIDS:
        cell = head.strip().upper().replace(" ", "")
        return bool(GRID_HEADS[sheet].fullmatch(cell)) or word in {info.casefold() for info in INFO[sheet]}
    return word in {column.head.casefold() for column in BY_SHEET[sheet].columns}


_QUOTED_HEAD = re.compile(r'Extra (".*")')


def extra_head(sheet: str, name: str) -> str:
    """The head of a column for this field of `extra`."""
    plain = name and name == name.strip() and name.isprintable() and encoded(name) == name and len(name) < 200
    if plain and not is_own(sheet, name) and not _QUOTED_HEAD.fullmatch(name):
        return name
    return f"Extra {json_text(name)}"


def extra_name(head: str) -> str:
    """The field of `extra` that a column fills."""
    import json

    found = _QUOTED_HEAD.fullmatch(head)
    if not found:
        return head
    try:
        return str(json.loads(found[1]))
    except ValueError:
        return head


def tables(show: Show, stamp: str | None, when: str) -> list[Table]:
    """All sheets of a show, in the order in which they stand."""
    made = {flat.sheet: _flat(show, flat) for flat in FLATS}
    made.update({sheet: _grid(show, sheet) for sheet in GRIDS})
    made["About"] = _about(show, stamp, when)
    return overflowed([made[name] for name in ORDER])


def arranged_heads(show: Show, sheet: str, usual: Sequence[str]) -> Words:
    """The heads in the order that the show keeps for this sheet; new ones behind."""
    layout = show.head.extra.get(COLUMNS)
    kept = layout.get(sheet) if isinstance(layout, dict) else None
    if not isinstance(kept, list) or not all(isinstance(head, str) for head in kept):
        return tuple(usual)
    still = [head for head in dict.fromkeys(kept) if head in usual or (head and not is_own(sheet, head))]
    return (*still, *(head for head in usual if head not in still))


def usual_heads(show: Show, sheet: str) -> Words:
    """The heads of a sheet for this show when nobody has moved a column."""
    if sheet in GRIDS:
        return (ID, *INFO[sheet], *_grid_heads(show, sheet), *_extra_heads(show, sheet))
    return (ID, *(column.head for column in BY_SHEET[sheet].columns), *_extra_heads(show, sheet))


def heads_of(show: Show, sheet: str) -> Words:
    return arranged_heads(show, sheet, usual_heads(show, sheet))


def grid_order(head: str) -> tuple[str, int]:
    """Where a head of a grid stands: channels by number, keys by page and number."""
    return ("", int(head)) if head.isdigit() else by_key(head, None)


def _grid_heads(show: Show, sheet: str) -> list[str]:
    if sheet == "Channels":
        used = [channel.number for user in show.users.values() for channel in user.channels.values()]
        return [str(number) for number in range(1, max([min(show.most_channels, 99), *used]) + 1)]
    keys = {key for device in show.devices.values() for key in device.keys}
    for kind in {device.kind for device in show.devices.values()}:
        setup = show.kind(kind)
        if setup:
            pages, count = min(setup.pages, 26), min(setup.keys, 99)
            keys |= {f"{chr(65 + page)}{key}" for page in range(pages) for key in range(1, count + 1)}
    return sorted(keys, key=grid_order)


def _extra_heads(show: Show, sheet: str) -> list[str]:
    return [extra_head(sheet, name) for name in sorted(_extras(show, sheet))]


def _extras(show: Show, sheet: str) -> Mapping[str, Mapping[str, Any]]:
    """The fields of `extra` that stand on this sheet: name → id → value."""
    found: dict[str, dict[str, Any]] = {}
    section = GRIDS.get(sheet) or BY_SHEET[sheet].at
    if section not in SECTIONS:
        return _head_extras(show, sheet)
    other = tuple(f"{grid}: " for grid, of in GRIDS.items() if of == section)
    for name, body in show.section(section).items():
        for key, value in body.extra.items():
            if sheet in GRIDS and key.startswith(f"{sheet}: "):
                found.setdefault(key.partition(": ")[2], {})[name] = value
            elif sheet not in GRIDS and not key.startswith(other):
                found.setdefault(key, {})[name] = value
    return found


def _head_extras(show: Show, sheet: str) -> Mapping[str, Mapping[str, Any]]:
    """Bodies without an `extra` keep what stands beside them in the show's own, as `Required: Colour`."""
    known = getattr(show.head, BY_SHEET[sheet].at)
    return {
        key.partition(": ")[2]: values
        for key, values in show.head.extra.items()
        if key.startswith(f"{sheet}: ") and is_beside(values, known)
    }


def is_beside(values: Any, known: Mapping[str, Any]) -> bool:
    return isinstance(values, dict) and bool(values) and all(name in known for name in values)


def _flat(show: Show, flat: Flat) -> Table:
    things = show.section(flat.at) if flat.at in SECTIONS else getattr(show.head, flat.at)
    columns = {column.head: column for column in flat.columns}
    heads = heads_of(show, flat.sheet)
    extras = _extras(show, flat.sheet)
    rows = []
    for name, body in sorted(things.items()):
        tree = to_tree(body)
        own = {head: _cell(tree, column) for head, column in columns.items()}
        own[ID] = name
        rows.append([own[head] if head in own else _extra(extras, head, name) for head in heads])
    return Table(flat.sheet, heads, rows, columns)


def _extra(extras: Mapping[str, Mapping[str, Any]], head: str, name: str) -> Any:
    values = extras.get(extra_name(head), {})
    return from_json(values[name]) if name in values else None


def _cell(tree: Any, column: Column) -> Any:
    value, there = tree, True
    for step in column.path:
        there = isinstance(value, dict) and step in value
        value = value[step] if there else None
    if column.path[-1] == "talk" and column.path[1] in tree.get("lines", {}):
        return value or "none"
    return _WRITERS[column.how](value) if there else None


_WRITERS: Mapping[str, Callable[[Any], Any]] = {
    "text": encoded,
    "ref": str,
    "word": str,
    "number": int,
    "level": lambda value: value,
    "flag": lambda value: "yes" if value else None,
    "tags": lambda value: tags_text(value) or None,
}


def _grid(show: Show, sheet: str) -> Table:
    heads = heads_of(show, sheet)
    extras = _extras(show, sheet)
    content = _channel_cells if sheet == "Channels" else _key_cells
    section = GRIDS[sheet]
    rows = []
    for name, body in show.section(section).items():
        cells = content(body)
        cells[ID] = name
        for info in INFO[sheet]:
            value = getattr(body, info.lower())
            cells[info] = encoded(value) if value else None
        rows.append([cells.get(head) if is_own(sheet, head) else _extra(extras, head, name) for head in heads])
    return Table(sheet, heads, rows)


def _channel_cells(user: Any) -> dict[str, Any]:
    cells: dict[str, Any] = {}
    for name, channel in sorted(user.channels.items()):
        number, text = str(channel.number), channel_text(name, channel)
        cells[number] = f"{cells[number]}; {text}" if number in cells else text
    return cells


def _key_cells(device: Any) -> dict[str, Any]:
    return dict(device.keys)


_HELP = (
    "Rows may be sorted and filtered, rows and columns added, moved and taken out; a new row needs a name, or an id",
    "Channels and Keys: Name, Label, Kind and User are only shown there; they are read in Users and Devices",
    "An id never changes when a thing is renamed; for an id, a name or label of one thing alone will do",
)


def _about(show: Show, stamp: str | None, when: str) -> Table:
    head = show.head
    rows: list[list[Any]] = [
        ["Title", encoded(head.title) if head.title else None, None],
        ["Stamp", stamp, "the snapshot that this came from: a merge begins there"],
        ["When", when or None, None],
        ["Format", VERSION, "how these tables are laid out; leave it as it is"],
    ]
    rows += [[f"Limit {name}", getattr(head.limits, name), None] for name in LIMITS]
    for line, setup in sorted(head.lines.items()):
        rows.append([f"Line {line}", None if setup.label is None else encoded(setup.label), "its label on the devices"])
    rows.append(["Notes", encoded(head.notes) if head.notes else None, None])
    beside = {f"{sheet}: {key}" for sheet in ("Required", "Kinds", "Quiet") for key in _head_extras(show, sheet)}
    for name, value in head.extra.items():
        if name not in beside:
            rows.append([f"Extra {json_text(name)}", from_json(value), None])
    rows += [[None, None, line] for line in (*LEGEND, *_HELP)]
    return Table("About", ("What", "Value", "Explained"), rows)


LONG = "Long"
LONG_CELL = re.compile(r"→Long ([1-9][0-9]{0,5})")
CHUNK = 15_000
"""Characters in a cell of the sheet Long. A cell takes 32,767 UTF-16 units (ECMA-376 readers, from memory)."""


def overflowed(made: list[Table]) -> list[Table]:
    """The same tables, with texts too long for a cell moved to a sheet of their own."""
    parts: list[list[Any]] = []
    count = 0
    for table in made:
        for row in table.rows:
            assert isinstance(row, list), "rows are lists until they are written"
            for place, value in enumerate(row):
                if isinstance(value, str) and len(value) > CHUNK:
                    count += 1
                    pieces = [value[start : start + CHUNK] for start in range(0, len(value), CHUNK)]
                    parts += [[count, number + 1, encoded(piece)] for number, piece in enumerate(pieces)]
                    row[place] = f"→Long {count}"
    return [*made, Table(LONG, ("Cell", "Part", "Text"), parts)] if parts else made
