"""Our own tables back to a show, whatever somebody has sorted, filtered, added or renamed in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from showvc.document import COLUMNS, SECTIONS, Show
from showvc.formats.tables import cells
from showvc.formats.tables.cells import Unreadable, Value, decoded, shown, text_of
from showvc.formats.tables.drafts import Absent, Draft, Names, Spot, carried, finished, is_total, valid_id
from showvc.formats.tables.layout import (
    FLATS,
    GRID_HEADS,
    GRIDS,
    ID,
    LIMITS,
    LONG,
    LONG_CELL,
    ORDER,
    VERSION,
    Column,
    Flat,
    arranged_heads,
    extra_name,
    grid_order,
    is_own,
    usual_heads,
)
from showvc.formats.tables.lines import LINES
from showvc.formats.tables.naming import new_id
from showvc.formats.tables.notation import HINT, entries_of, odd_mode
from showvc.formats.tables.opening import refused
from showvc.formats.tables.sheets import Book, Count, Progress, Sheet, is_blank
from showvc.identity.names import folded

LISTS = "Lists"
HEAD_ROWS = 30
"""How far down a head row is looked for."""


@dataclass(frozen=True, slots=True)
class About:
    """What tables say of themselves: the snapshot that they came from, when, and in which layout."""

    stamp: str | None = None
    when: str | None = None
    version: str | None = None


@dataclass(slots=True)
class Grid:
    """A sheet of ours as read: its heads by column, and its rows with their row number."""

    sheet: str
    name: str
    heads: dict[int, str] = field(default_factory=dict)
    rows: list[tuple[int, Sequence[Value]]] = field(default_factory=list)

    def columns(self, wanted: Callable[[str], bool]) -> dict[int, str]:
        return {column: head for column, head in self.heads.items() if wanted(head)}

    def at(self, head: str) -> int | None:
        found = (column for column, name in self.heads.items() if folded(name) == folded(head))
        return next(found, None)


def is_own_book(book: Book) -> bool:
    """Whether these are tables of ours: they say so, or two of them have our sheets' names and heads."""
    about = _by_name(book).get("about")
    if about is not None and any(VERSION in row for row in about.rows[:60]):
        return True
    named = [sheet for name, sheet in _by_name(book).items() if name in {flat.sheet.casefold() for flat in FLATS}]
    return sum(any(folded(shown(value)) == "id" for value in sheet.rows[0]) for sheet in named if sheet.rows) >= 2


def _by_name(book: Book) -> dict[str, Sheet]:
    return {name.strip().casefold(): sheet for name, sheet in book.items()}


def read_tables(
    book: Book, file: str, progress: Progress | None = None, current: Show | None = None
) -> tuple[Draft, About]:
    """What our own tables say. ShowError when they are of a later layout than this program reads.

    `current` is the show that rows without an id are looked for in, by their names.
    """
    draft = Draft()
    sheets = _with_long(book)
    found, taken = _sheets(sheets)
    about = _read_about(sheets, draft)
    if about.version and about.version != VERSION:
        raise refused(file, f"is laid out as {about.version!r}; this showvc reads {VERSION!r}", "update showvc")
    grids = {name: _grid(sheet, name, draft) for name, sheet in found.items()}
    _name_rows(grids, draft, current or Show())
    _read_all(grids, draft, Count(sum(len(grid.rows) for grid in grids.values()), progress))
    for name in sheets:
        if name not in taken and name.casefold() not in ("about", LISTS.casefold(), LONG.casefold()):
            draft.skipped.append(f"sheet {name}: not one of ours")
    trial = finished(draft)
    _note_absent(grids, draft, trial)
    _keep_layout(grids, draft, trial)
    return draft, about


def _sheets(book: Book) -> tuple[dict[str, Sheet], set[str]]:
    """Our sheets by our own name for them; one that was renamed is known by its heads."""
    named = _by_name(book)
    found = {name: named[name.casefold()] for name in ORDER if name != "About" and name.casefold() in named}
    taken = {sheet.name for sheet in found.values()}
    for flat in FLATS:
        heads = {folded(column.head) for column in flat.columns} | {"id"}
        for sheet in book.values():
            if (
                flat.sheet not in found
                and sheet.name not in taken
                and any(heads <= {folded(shown(value)) for value in row} for row in sheet.rows[:HEAD_ROWS])
            ):
                found[flat.sheet] = sheet
                taken.add(sheet.name)
    return found, taken


def _with_long(book: Book) -> Book:
    long = _by_name(book).get(LONG.casefold())
    if long is None:
        return book
    pieces: dict[str, list[tuple[int, str]]] = {}
    for row in long.rows[1:]:
        if len(row) > 2 and isinstance(row[1], int | float):
            pieces.setdefault(shown(row[0]), []).append((int(row[1]), decoded(row[2]) or ""))
    whole = {cell: "".join(text for _, text in sorted(parts)) for cell, parts in pieces.items()}

    def full(value: Value) -> Value:
        mark = LONG_CELL.fullmatch(value) if isinstance(value, str) and value.startswith("→") else None
        return whole.get(mark[1], value) if mark else value

    return {
        name: sheet if sheet is long else replace(sheet, rows=[[full(value) for value in row] for row in sheet.rows])
        for name, sheet in book.items()
    }


def _grid(sheet: Sheet, name: str, draft: Draft) -> Grid:
    """Finds the head row and takes the rows below it. Empty rows and repeated heads are passed over."""
    grid = Grid(sheet.name, name)
    head_row = _head_row(sheet, name)
    if head_row is None:
        if any(not is_blank(row) for row in sheet.rows):
            draft.refuse((sheet.name, 0, 0), sheet.value(0, 0), f"a head row with the column {ID}")
        return grid
    heads = [_head_text(value) for value in sheet.rows[head_row]]
    width = max((len(row) for row in sheet.rows[head_row:] if not is_blank(row)), default=0)
    for column in range(width):
        head = heads[column] if column < len(heads) else ""
        below = any(column < len(row) and row[column] is not None for row in sheet.rows[head_row + 1 :])
        if head or below:
            grid.heads[column] = _unique(head or f"Column {cells.column_name(column)}", grid.heads.values())
    first = [value for value in heads if value]
    for number, row in enumerate(sheet.rows[head_row + 1 :], head_row + 1):
        if not is_blank(row) and [text for text in map(_head_text, row) if text] != first:
            grid.rows.append((number, row))
    return grid


def _head_text(value: Value) -> str:
    return shown(value)


def _unique(head: str, taken: Any) -> str:
    used, number, name = set(taken), 2, head
    while name in used:
        name, number = f"{head} ({number})", number + 1
    return name


def _head_row(sheet: Sheet, name: str) -> int | None:
    best, most = None, 0
    for number, row in enumerate(sheet.rows[:HEAD_ROWS]):
        heads = [shown(value) for value in row if value is not None]
        count = sum(is_own(name, head) for head in heads)
        if count > most and any(folded(head) == "id" for head in heads):
            best, most = number, count
    return best


def _read_about(book: Book, draft: Draft) -> About:
    sheet = _by_name(book).get("about")
    said: dict[str, str | None] = {}
    if sheet is None:
        return About()
    draft.covered.add("head")
    for number, row in enumerate(sheet.rows):
        what, value = (shown(cell).strip() if cell is not None else "" for cell in (*row, None, None)[:2])
        cell = row[1] if len(row) > 1 else None
        if what and what != "What":
            said[what] = value or None
            _about_row(draft, what, cell, (sheet.name, number, 1))
    return About(said.get("Stamp"), said.get("When"), said.get("Format"))


def _about_row(draft: Draft, what: str, cell: Value, spot: Spot) -> None:
    kind, _, name = what.partition(" ")
    if what in ("Title", "Notes"):
        draft.put((what.lower(),), spot, cell, decoded)
    elif kind == "Limit" and name in LIMITS and cell is not None:
        draft.put(("limits", name), spot, cell, lambda value: cells.whole(value, 0, 100_000))
    elif kind == "Line" and name in LINES:
        draft.head.setdefault("lines", {}).setdefault(name, {})
        draft.put(("lines", name, "label"), spot, cell, decoded)
    elif kind == "Extra" and extra_name(what) != what:
        draft.set(("extra", extra_name(what)), spot, cell, cells.to_json(cell))
    elif what not in ("Stamp", "When", "Format"):
        draft.refuse((spot[0], spot[1], 0), what, "Title, Notes, Limit …, Line … or Extra …")


def _read_all(grids: Mapping[str, Grid], draft: Draft, count: Count) -> None:
    names = all_names(draft)
    for flat in FLATS:
        if flat.sheet in grids and grids[flat.sheet].heads:
            draft.covered.add(flat.at)
            _read_flat(grids[flat.sheet], flat, draft, names, count)
    for sheet, section in GRIDS.items():
        if sheet in grids and grids[sheet].heads:
            draft.covered.add(f"{section}/{'channels' if sheet == 'Channels' else 'keys'}")
            _read_grid(grids[sheet], section, draft, names, count)


def all_names(draft: Draft) -> dict[str, Names]:
    """Finders for what the cells of each column may point at."""
    things = draft.things
    return {
        "targets": Names([*things["groups"].items(), *things["users"].items()], "group or user"),
        "users": Names(things["users"].items(), "user"),
        "devices": Names(things["devices"].items(), "device"),
        "kinds": Names((), "kind"),
    }


def _name_rows(grids: Mapping[str, Grid], draft: Draft, current: Show) -> None:
    """First pass: which thing each row is, so that any cell can point at any of them by id, name or label."""
    taken: set[str] = set()
    for flat in FLATS:
        grid = grids.get(flat.sheet)
        if grid is None:
            continue
        ids = grid.at(ID)
        taken |= {shown(_value(row, ids)).strip() for _, row in grid.rows}
        known = draft.things.get(flat.at)
        store = known if known is not None else draft.head.setdefault(flat.at, {})
        missing = _missing_names(current, flat, taken) if any(_value(row, ids) is None for _, row in grid.rows) else {}
        kept = []
        for number, row in sorted(grid.rows, key=lambda found: (_value(found[1], ids) is None, found[0])):
            name = _row_id(grid, flat, number, row, store, taken, draft, missing)
            if name is not None:
                store[name] = {}
                draft.spots[(flat.at, name)] = (grid.sheet, number, ids or 0)
                draft.values[(flat.at, name)] = _value(row, ids)
                _early_names(grid, row, store[name])
                kept.append((number, [*row, name]))
        grid.rows = kept  # type: ignore[assignment]


def _value(row: Sequence[Value], column: int | None) -> Value:
    return row[column] if column is not None and column < len(row) else None


def _early_names(grid: Grid, row: Sequence[Value], tree: dict[str, Any]) -> None:
    for head in ("Name", "Label"):
        value = _value(row, grid.at(head))
        if value is not None:
            tree[head.lower()] = decoded_shown(value)


def _row_id(
    grid: Grid,
    flat: Flat,
    number: int,
    row: Sequence[Value],
    store: Any,
    taken: set[str],
    draft: Draft,
    missing: dict[str, str],
) -> str | None:
    column = grid.at(ID)
    spot: Spot = (grid.sheet, number, column or 0)
    said = shown(_value(row, column)).strip()
    text = said if is_total(row) else said.lower()  # a spreadsheet writes the first letter large; an id has none
    if text and valid_id(text):
        if text in store:
            draft.refuse(spot, text, f"each id once; the first row with {text} counts")
            return None
        return text
    if is_total(row):
        draft.skipped.append(f"sheet {grid.sheet}, row {number + 1}: a row of totals")
        return None
    name = _spoken_name(grid, row)
    if text or not name:
        draft.refuse(spot, said, "an id: a small letter, then small letters, digits or '-'; or none, and a name")
        return None
    known = missing.pop(folded(name), None)
    if known is not None:
        draft.skipped.append(f"sheet {grid.sheet}, row {number + 1}: {name!r} stands without an id, and is {known}")
    made = known or new_id(name, flat.at, taken)
    taken.add(made)
    return made


def _missing_names(current: Show, flat: Flat, taken: set[str]) -> dict[str, str]:
    """The things of the show whose ids are not in the file, by names that only one of them has."""
    things = current.section(flat.at) if flat.at in ("users", "groups", "devices") else {}
    found = [(folded(body.name), name) for name, body in things.items() if name not in taken and body.name]
    counts = Counter(word for word, _ in found)
    return {word: name for word, name in found if counts[word] == 1}


_NAMED_BY = {"Bridges": (("Circuit",), ("Device", "Port")), "Required": (("From", "To"),), "Quiet": (("Rule",),)}
"""Columns that name a row which has no name of its own."""


def _spoken_name(grid: Grid, row: Sequence[Value]) -> str:
    for heads in _NAMED_BY.get(grid.name, (("Name",),)):
        name = " ".join(decoded_shown(_value(row, grid.at(head))) for head in heads).strip()
        if name:
            return name
    return ""


def _read_flat(grid: Grid, flat: Flat, draft: Draft, names: Mapping[str, Names], count: Count) -> None:
    columns = {folded(column.head): column for column in flat.columns}
    own = {place: columns[folded(head)] for place, head in grid.heads.items() if folded(head) in columns}
    others = grid.columns(lambda head: not is_own(flat.sheet, head))
    for column in flat.columns:
        if column not in own.values():
            draft.absent.append(Absent(grid.sheet, column.head, flat.at, column.path))
    for number, row in count.of(grid.rows):
        name = str(row[-1])
        store = draft.things[flat.at] if flat.at in SECTIONS else draft.head[flat.at]
        store[name] = {}
        for place, column in own.items():
            value = _value(row[:-1], place)
            if value is not None:
                path = (flat.at, name, *column.path)
                draft.put(path, (grid.sheet, number, place), value, reader(column, names))
        for place, head in others.items():
            value = _value(row[:-1], place)
            if value is not None:
                _set_extra(draft, flat, name, extra_name(head), value, (grid.sheet, number, place))


def _set_extra(draft: Draft, flat: Flat, name: str, key: str, value: Value, spot: Spot) -> None:
    if flat.at in SECTIONS:
        draft.set((flat.at, name, "extra", key), spot, value, carried(value, spot, draft.lost))
    else:
        draft.set(("extra", f"{flat.sheet}: {key}", name), spot, value, carried(value, spot, draft.lost))


def reader(column: Column, names: Mapping[str, Names]) -> Callable[[Value], Any]:
    """How a cell of this column is read."""
    if column.how == "ref":
        finder = names[str(column.offers)]
        return lambda value: finder.id_of(text_of(value).strip())
    if column.how == "word":
        return lambda value: cells.choice(value, column.offers)
    if column.how == "number":
        return lambda value: cells.whole(value, column.low, column.high)
    return _READERS[column.how]


_READERS: Mapping[str, Callable[[Value], Any]] = {
    "text": decoded,
    "level": cells.decibel,
    "flag": cells.flag,
    "tags": lambda value: cells.tags_of(text_of(value)),
}


def _read_grid(grid: Grid, section: str, draft: Draft, names: Mapping[str, Names], count: Count) -> None:
    own = GRID_HEADS[grid.name]
    places = {place: _grid_head(head) for place, head in grid.heads.items() if own.fullmatch(_grid_head(head))}
    others = grid.columns(lambda head: not is_own(grid.name, head))
    infos = grid.columns(lambda head: is_own(grid.name, head) and folded(head) != "id")
    unsaid = {folded(column.head) for column in draft.absent if column.section == section}
    infos = {place: head for place, head in infos.items() if place not in places and folded(head) not in unsaid}
    finder = names["users" if section == "users" else "devices"]
    seen: set[str] = set()
    fill = _fill_channels if grid.name == "Channels" else _fill_keys
    for number, row in count.of(grid.rows):
        name = _grid_id(grid, number, row, finder, draft)
        if name is None or name in seen:
            if name:
                draft.refuse((grid.sheet, number, grid.at(ID) or 0), name, "each id once; its first row counts")
            continue
        seen.add(name)
        filled = [(place, head, row[place]) for place, head in places.items() if _value(row, place) is not None]
        fill(draft, name, [(head, value, (grid.sheet, number, place)) for place, head, value in filled], names)
        for place, head in others.items():
            if _value(row, place) is not None:
                path, spot = (section, name, "extra", f"{grid.name}: {extra_name(head)}"), (grid.sheet, number, place)
                draft.set(path, spot, row[place], carried(row[place], spot, draft.lost))
        _note_info(grid, section, name, number, row, infos, draft)


def _grid_id(grid: Grid, number: int, row: Sequence[Value], finder: Names, draft: Draft) -> str | None:
    text = shown(_value(row, grid.at(ID))).strip()
    first = next((shown(value) for value in row if value is not None), "").strip()
    if text not in finder.ids and is_total(row):
        draft.skipped.append(f"sheet {grid.sheet}, row {number + 1}: a row of totals")
        return None
    found = (
        (finder.find(text) or finder.find(text.lower())) if text else finder.find(shown(_value(row, grid.at("Name"))))
    )
    if found is None:
        draft.refuse((grid.sheet, number, grid.at(ID) or 0), text or first, f"the id of a {finder.what} of this file")
    return found


Filled = list[tuple[str, Value, Spot]]


def _fill_channels(draft: Draft, name: str, filled: Filled, names: Mapping[str, Names]) -> None:
    for head, value, spot in filled:
        try:
            entries = entries_of(text_of(value))
            targets = [_channel_target(target, names["targets"]) for target, _ in entries]
        except Unreadable as error:
            allowed = str(error) if HINT in str(error) else f"{HINT}; wanted here: {error}"
            draft.refuse(spot, value, allowed, ("users", name, "channels", f"={head}"))
            continue
        channels = draft.things["users"][name].setdefault("channels", {})
        for target, (_, fields) in zip(targets, entries, strict=True):
            key = _free(target, channels)
            channels[key] = {"number": int(head), **fields}
            draft.spots["users", name, "channels", key] = spot
            draft.values["users", name, "channels", key] = value


def _channel_target(text: str, names: Names) -> str:
    target, mark, number = text.partition("#")
    try:
        return names.id_of(target.strip()) + mark + number
    except Unreadable:
        odd = odd_mode(text)  # asked only now: a group may be called "Desk A/B"
        if odd is None:
            raise
        raise Unreadable(f"{HINT}; {odd!r} is no talk/listen") from None


def _free(target: str, channels: Mapping[str, Any]) -> str:
    """A second cell with the same target is its second channel, whether it says so or not."""
    base, number, key = target.partition("#")[0], 2, target
    while key in channels:
        key, number = f"{base}#{number}", number + 1
    return key


def _fill_keys(draft: Draft, name: str, filled: Filled, names: Mapping[str, Names]) -> None:
    for head, value, spot in filled:
        path = ("devices", name, "keys", head)
        draft.put(path, spot, value, lambda cell: key_target(text_of(cell).strip(), names["targets"]))


def key_target(text: str, names: Names) -> str:
    """What a key holds: a channel of its user's list, or a line."""
    return text.casefold() if text.casefold() in LINES else _channel_target(text, names)


def _note_info(
    grid: Grid, section: str, name: str, number: int, row: Sequence[Value], infos: Mapping[int, str], draft: Draft
) -> None:
    tree = draft.things[section][name]
    for place, head in infos.items():
        value = _value(row, place)
        if value is not None and folded(decoded_shown(value)) != folded(str(tree.get(head.strip().lower(), ""))):
            sheet = "Users" if section == "users" else "Devices"
            where = f"sheet {grid.sheet}, cell {cells.cell_name(number, place)}"
            draft.skipped.append(f"{where}: {shown(value)!r} is only shown here; it is read in the sheet {sheet}")


def decoded_shown(value: Value) -> str:
    try:
        return decoded(value) or ""
    except Unreadable:
        return shown(value)


def _note_absent(grids: Mapping[str, Grid], draft: Draft, trial: Show) -> None:
    """The channel numbers and keys that a grid of this show would have, and has not."""
    for name, grid in grids.items():
        if name in GRIDS and grid.heads:
            there = {_grid_head(head) for head in grid.heads.values()}
            for head in usual_heads(trial, name):
                if _is_grid_head(name, head) and head not in there:
                    path = ("channels", f"={head}") if name == "Channels" else ("keys", head)
                    draft.absent.append(Absent(grid.sheet, head, GRIDS[name], path))


def _grid_head(head: str) -> str:
    return head.strip().upper().replace(" ", "")


def _keep_layout(grids: Mapping[str, Grid], draft: Draft, trial: Show) -> None:
    """Keeps the order of columns where it is not the one that would be written anyway."""
    layout = draft.head.get("extra", {}).get(COLUMNS)
    kept = dict(layout) if isinstance(layout, dict) else {}
    moved = False
    for name, grid in grids.items():
        heads = [head for _, head in sorted(grid.heads.items())]
        usual = [*usual_heads(trial, name), *(head for head in heads if _is_grid_head(name, head))]
        expected = arranged_heads(trial, name, _in_order(name, usual))
        if heads != [head for head in expected if head in heads]:
            kept[name] = heads
            moved = True
    if moved:
        draft.head.setdefault("extra", {})[COLUMNS] = kept


def _is_grid_head(sheet: str, head: str) -> bool:
    return sheet in GRIDS and bool(GRID_HEADS[sheet].fullmatch(head))


def _in_order(sheet: str, heads: Sequence[str]) -> list[str]:
    """The heads once each, those of a grid by number, where they stand."""
    once = [*dict.fromkeys(heads)]
    grid = sorted((head for head in once if _is_grid_head(sheet, head)), key=grid_order)
    first = next((place for place, head in enumerate(once) if _is_grid_head(sheet, head)), len(once))
    others = [head for head in once if not _is_grid_head(sheet, head)]
    return [*others[:first], *grid, *others[first:]]
