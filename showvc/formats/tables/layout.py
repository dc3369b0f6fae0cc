"""What our own tables look like: sheets and columns, read off the catalogue of fields, and the cells of each."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any

from showvc.document import COLUMNS, SECTIONS, Body, Head, Shape, Show, Tree, head_tree, shape_of, to_tree
from showvc.document.cells import cell_text, cells_of, in_one_cell
from showvc.document.shapes import by_key
from showvc.formats.tables.cells import encoded, from_json, json_text
from showvc.formats.tables.drafts import all_rows, rows_of_head, value_at
from showvc.formats.tables.notation import LEGEND, channel_text
from showvc.identity.names import folded

NUMBER = 2
VERSION = f"showvc tables {NUMBER}"
"""Rises when a column or a sheet means something else."""

Path = tuple[str, ...]

GRIDS: Mapping[str, tuple[str, str]] = {"Channels": ("users", "channels"), "Keys": ("devices", "keys")}
"""Sheets with one row for each user or device, and a column for each channel number or key: whose, and which field."""
INFO: Mapping[str, Path] = {"Channels": ("Name", "Label"), "Keys": ("Name", "Kind", "User")}
"""Columns that only help to read a grid; they are read from the thing's own sheet."""
GRID_HEADS = {"Channels": re.compile(r"[1-9][0-9]{0,2}"), "Keys": re.compile(r"[A-Z][1-9][0-9]{0,2}")}
ID = "Id"
ABOUT = "About"


# --- sheets and columns ---


def sheet_of(section: str) -> str:
    return section.capitalize()


def order() -> tuple[str, ...]:
    """All sheets in the order in which they stand: who, then what he has, then the rest."""
    first = ("Users", *GRIDS)
    return (*first, *(sheet for sheet in map(sheet_of, all_rows()) if sheet not in first), ABOUT)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of ours: its head, and the field that it fills.

    `entry` is the place of the entry of a map that the column is the first one of: a default stands in its cells too,
    and tells that the entry is there.
    """

    head: str
    path: Path
    shape: Shape
    entry: Path | None = None


@cache
def fixed_columns(model: type[Body]) -> tuple[Column, ...]:
    """The columns that there are whatever a show holds: single values, those of records within, maps of amounts."""
    cells = ((steps, shape) for steps, shape in cells_of(shape_of(model)) if steps != ("format",))
    return tuple(Column(_head_of(model, steps), steps, shape) for steps, shape in cells)


def _head_of(model: type[Body], steps: Path) -> str:
    """The words of a field, after those of the records around it."""
    around = (shape_of(model).along(steps[: length + 1]) for length in range(len(steps)))
    first, *rest = (shape.words for shape in around if shape is not None)
    return " ".join([_capital(first), *map(_small, rest)])


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _small(words: str) -> str:
    return words[:1].lower() + words[1:]


@cache
def spread_fields(model: type[Body]) -> Mapping[str, Shape]:
    """The maps of a body that stand in columns for each of their names, such as the lines of a user."""
    grids = {name for section, name in GRIDS.values() if SECTIONS[section] is model}
    fields = shape_of(model).fields.items()
    maps = {name: shape for name, shape in fields if shape.kind == "map" and not in_one_cell(shape)}
    return {name: shape for name, shape in maps.items() if name not in grids and model is not Head}


def spread_columns(name: str, shape: Shape, entry: str) -> list[Column]:
    """The columns of one entry of such a map: `Line alarm talk`, `Line alarm listen` …"""
    assert shape.item is not None, "a map has items"
    noun = _capital(f"{shape.to or shape.words} {entry}")
    if shape.item.model is None:
        return [Column(noun, (name, entry), shape.item)]
    inner = fixed_columns(shape.item.model)
    heads = [f"{noun} {_small(column.head)}" for column in inner]
    columns = [Column(head, (name, entry, *of.path), of.shape) for head, of in zip(heads, inner, strict=True)]
    return [replace(columns[0], entry=(name, entry)), *columns[1:]]


def column_of(section: str, head: str) -> Column | None:
    """The column of ours that this head is on the sheet of a section."""
    model = all_rows()[section]
    word = folded(head)
    found = next((column for column in fixed_columns(model) if folded(column.head) == word), None)
    if found is not None:
        return found
    words = head.split()
    for name, shape in spread_fields(model).items():
        if len(words) > 1 and words[0].casefold() == (shape.to or shape.words):
            for column in spread_columns(name, shape, words[1].lower() if shape.to else words[1]):
                if folded(column.head) == word:
                    return column
    return None


def section_of(sheet: str) -> str:
    return GRIDS[sheet][0] if sheet in GRIDS else sheet.lower()


def is_own(sheet: str, head: str) -> bool:
    """Whether this head means something to us on this sheet."""
    word = folded(head)
    if word == ID.casefold():
        return True
    if sheet in GRIDS:
        return is_grid_head(sheet, grid_head(head)) or word in {info.casefold() for info in INFO[sheet]}
    return column_of(section_of(sheet), head) is not None


def grid_head(head: str) -> str:
    return head.strip().upper().replace(" ", "")


def is_grid_head(sheet: str, head: str) -> bool:
    return sheet in GRIDS and bool(GRID_HEADS[sheet].fullmatch(head))


_QUOTED_HEAD = re.compile(r'Extra (".*")')


def extra_head(sheet: str, name: str) -> str:
    """The head of a column for this field of `extra`."""
    plain = name and name == name.strip() and name.isprintable() and encoded(name) == name and len(name) < 200
    if plain and not is_own(sheet, name) and not _QUOTED_HEAD.fullmatch(name):
        return name
    return f"Extra {json_text(name)}"


def extra_name(head: str) -> str:
    """The field of `extra` that a column fills."""
    found = _QUOTED_HEAD.fullmatch(head)
    if not found:
        return head
    try:
        return str(json.loads(found[1]))
    except ValueError:
        return head


# --- heads of the sheets of a show ---


def columns_of(show: Show, section: str) -> list[Column]:
    """The columns of ours on the sheet of a section, in the order of its fields."""
    model = all_rows()[section]
    found: dict[str, list[Column]] = {}
    for column in fixed_columns(model):
        found.setdefault(column.path[0], []).append(column)
    for name, shape in spread_fields(model).items():
        entries = {entry for body in rows_in(show, section).values() for entry in getattr(body, name)}
        entries |= {*show.lines} if shape.to == "line" else set()
        found[name] = [column for entry in sorted(entries) for column in spread_columns(name, shape, entry)]
    return [column for name in shape_of(model).fields for column in found.get(name, ())]


def rows_in(show: Show, section: str) -> Mapping[str, Body]:
    return show.section(section) if section in SECTIONS else getattr(show.head, section)


def arranged_heads(show: Show, sheet: str, usual: Sequence[str]) -> Path:
    """The heads in the order that the show keeps for this sheet; new ones behind."""
    layout = show.head.extra.get(COLUMNS)
    kept = layout.get(sheet) if isinstance(layout, Mapping) else None
    if not isinstance(kept, list | tuple) or not all(isinstance(head, str) for head in kept):
        return tuple(usual)
    still = [head for head in dict.fromkeys(kept) if head in usual or (head and not is_own(sheet, head))]
    return (*still, *(head for head in usual if head not in still))


def usual_heads(show: Show, sheet: str) -> Path:
    """The heads of a sheet for this show when nobody has moved a column."""
    extra = [extra_head(sheet, name) for name in sorted(_extras(show, sheet))]
    if sheet in GRIDS:
        return (ID, *INFO[sheet], *_grid_heads(show, sheet), *extra)
    return (ID, *(column.head for column in columns_of(show, section_of(sheet))), *extra)


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


def _extras(show: Show, sheet: str) -> Mapping[str, Mapping[str, Any]]:
    """The fields of `extra` that stand on this sheet: name → id → value."""
    found: dict[str, dict[str, Any]] = {}
    section = section_of(sheet)
    if section not in SECTIONS:
        return _beside(show, section)
    other = tuple(f"{grid}: " for grid, (of, _) in GRIDS.items() if of == section)
    for name, body in show.section(section).items():
        for key, value in body.extra.items():
            if sheet in GRIDS and key.startswith(f"{sheet}: "):
                found.setdefault(key.partition(": ")[2], {})[name] = value
            elif sheet not in GRIDS and not key.startswith(other):
                found.setdefault(key, {})[name] = value
    return found


def _beside(show: Show, section: str) -> Mapping[str, Mapping[str, Any]]:
    """What has no `extra` of its own keeps what stands beside it in the show's, as `Required: Colour`."""
    start, known = f"{sheet_of(section)}: ", rows_in(show, section)
    return {
        key.removeprefix(start): values
        for key, values in show.head.extra.items()
        if key.startswith(start) and isinstance(values, Mapping) and values and all(name in known for name in values)
    }


def with_layout(show: Show, heads: Mapping[str, list[str]]) -> Show:
    """The show that keeps the order of the columns of its sheets where that is not the one they would have anyway."""
    layout = show.head.extra.get(COLUMNS)
    there = dict(layout) if isinstance(layout, Mapping) else {}
    kept = {**there}
    for sheet, found in heads.items():
        usual = [*usual_heads(show, sheet), *(head for head in found if is_grid_head(sheet, head))]
        expected = arranged_heads(show, sheet, _in_order(sheet, usual))
        if found != [head for head in expected if head in found]:
            kept[sheet] = found
    if kept == there:
        return show
    extra = {**show.head.extra, COLUMNS: kept}
    return replace(show, head=Head.model_validate({**head_tree(show.head), "extra": extra}))


def _in_order(sheet: str, heads: Sequence[str]) -> list[str]:
    """The heads once each, those of a grid by number, where they stand."""
    once = [*dict.fromkeys(heads)]
    grid = sorted((head for head in once if is_grid_head(sheet, head)), key=grid_order)
    first = next((place for place, head in enumerate(once) if is_grid_head(sheet, head)), len(once))
    others = [head for head in once if not is_grid_head(sheet, head)]
    return [*others[:first], *grid, *others[first:]]


# --- the tables of a show ---


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet ready to be written: heads, rows, and for each head its column where it is one of ours."""

    name: str
    heads: Path
    rows: Sequence[Sequence[Any]]
    columns: Mapping[str, Column] = field(default_factory=dict)


def tables(show: Show, stamp: str | None, when: str) -> list[Table]:
    """All sheets of a show, in the order in which they stand."""
    made = {sheet_of(section): _flat(show, section) for section in all_rows()}
    made.update({sheet: _grid(show, sheet) for sheet in GRIDS})
    made[ABOUT] = _about(show, stamp, when)
    return overflowed([made[name] for name in order()])


def cell_of(value: Any, shape: Shape) -> Any:
    """The plain value of a field as a cell of ours; None for an empty one."""
    if value is None or shape.kind == "number":
        return value
    if shape.kind == "notes" or (shape.kind == "text" and not shape.choices):
        return encoded(value)
    return cell_text(value, shape) or None


def _written(tree: Tree, column: Column) -> Any:
    value = value_at(tree, column.path)
    if value is None and column.entry is not None and value_at(tree, column.entry) is not None:
        value = column.shape.default
        return encoded("") if value is None else cell_of(value, column.shape)
    return cell_of(value, column.shape)


def _flat(show: Show, section: str) -> Table:
    sheet = sheet_of(section)
    columns = {column.head: column for column in columns_of(show, section)}
    heads = arranged_heads(show, sheet, usual_heads(show, sheet))
    extras = _extras(show, sheet)
    in_grids: Tree = {word: {} for of, word in GRIDS.values() if of == section}  # a hundred thousand, not turned over
    rows = []
    for name, body in sorted(rows_in(show, section).items()):
        tree = to_tree(body.model_copy(update=in_grids))
        own = {head: _written(tree, column) for head, column in columns.items()}
        own[ID] = name
        rows.append([own[head] if head in own else _extra(extras, head, name) for head in heads])
    return Table(sheet, heads, rows, columns)


def _extra(extras: Mapping[str, Mapping[str, Any]], head: str, name: str) -> Any:
    values = extras.get(extra_name(head), {})
    return from_json(values[name]) if name in values else None


def _grid(show: Show, sheet: str) -> Table:
    heads = arranged_heads(show, sheet, usual_heads(show, sheet))
    extras = _extras(show, sheet)
    own = {head for head in heads if is_own(sheet, head)}
    rows = []
    for name, body in show.section(GRIDS[sheet][0]).items():
        cells = _channel_cells(body) if sheet == "Channels" else dict(body.keys)
        cells[ID] = name
        for info in INFO[sheet]:
            value = getattr(body, info.lower())
            cells[info] = encoded(value) if value else None
        rows.append([cells.get(head) if head in own else _extra(extras, head, name) for head in heads])
    return Table(sheet, heads, rows)


def _channel_cells(user: Any) -> dict[str, Any]:
    cells: dict[str, Any] = {}
    for name, channel in sorted(user.channels.items()):
        number, text = str(channel.number), channel_text(name, channel)
        cells[number] = f"{cells[number]}; {text}" if number in cells else text
    return cells


_HELP = (
    "Rows may be sorted and filtered, rows and columns added, moved and taken out; a new row needs a name, or an id",
    "What has no sheet or no column stays as it is; an empty cell takes away what was there",
    "Channels and Keys: Name, Label, Kind and User are only shown there; they are read in Users and Devices",
    "An id never changes when a thing is renamed; for an id, a name or label of one thing alone will do",
)


def _about(show: Show, stamp: str | None, when: str) -> Table:
    tree = to_tree(show.head)
    rows: list[list[Any]] = [
        ["Stamp", stamp, "the snapshot that this came from: a merge begins there"],
        ["When", when or None, None],
        ["Format", VERSION, "how these tables are laid out; leave it as it is"],
    ]
    rows += [[column.head, cell_of(value_at(tree, column.path), column.shape), None] for column in fixed_columns(Head)]
    beside = {f"{sheet_of(section)}: {key}" for section in rows_of_head() for key in _beside(show, section)}
    for name, value in show.head.extra.items():
        if name not in beside:
            rows.append([f"Extra {json_text(name)}", from_json(value), None])
    rows += [[None, None, line] for line in (*LEGEND, *_HELP)]
    return Table(ABOUT, ("What", "Value", "Explained"), rows)


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
