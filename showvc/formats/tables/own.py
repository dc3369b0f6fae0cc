"""Our own tables back to a draft, whatever somebody has sorted, filtered, added or renamed in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from showvc.document import Channel, Head, Show, Tree, shape_of, to_tree
from showvc.document.references import HOMES, NOUNS
from showvc.document.shapes import Shape
from showvc.document.values import DEPARTMENT, EVERYONE, Thing
from showvc.formats.tables import cells
from showvc.formats.tables.cells import Unreadable, Value, decoded, field_value, shown, text_of
from showvc.formats.tables.drafts import (
    Draft,
    Names,
    Path,
    Spot,
    all_rows,
    carried,
    finished,
    is_total,
    valid_id,
    value_at,
)
from showvc.formats.tables.laying_over import WHOLE_CHANNELS, laid_over
from showvc.formats.tables.layout import (
    GRIDS,
    ID,
    INFO,
    Column,
    column_of,
    columns_of,
    extra_name,
    fixed_columns,
    grid_head,
    grid_order,
    is_grid_head,
    is_own,
    rows_in,
    sheet_of,
    with_layout,
)
from showvc.formats.tables.naming import new_id
from showvc.formats.tables.notation import HINT, entries_of, odd_mode
from showvc.formats.tables.own_sheets import About, AboutRow, Grid, find_grids, read_about
from showvc.formats.tables.sheets import Book, Count, Progress
from showvc.identity.names import folded


def read_tables(
    book: Book, file: str, progress: Progress | None = None, current: Show | None = None
) -> tuple[Draft, About]:
    """What our own tables say. ShowError when they are of another layout than this program reads.

    `current` is the show that they are laid over: rows without an id are looked for in it, by their names.
    """
    draft = Draft()
    about, rows = read_about(book, file)
    grids = find_grids(book, draft)
    work = _Reading(draft, {name: grid for name, grid in grids.items() if grid.heads}, current or Show())
    work.read_head(rows)
    work.name_rows()
    count = Count(sum(len(grid.rows) for grid in grids.values()), progress)
    for section in all_rows():
        work.read_rows(section, count)
    for sheet in GRIDS:
        work.read_grid(sheet, count)
    draft.heads = {name: [head for _, head in sorted(grid.heads.items())] for name, grid in grids.items()}
    return draft, about


def show_of(draft: Draft, current: Show | None = None) -> Show:
    """The show that our own tables say, over the one that is there; it keeps the order of columns that was moved."""
    there = current or Show()
    return with_layout(finished(laid_over(there, draft, keep_missing=False), there), draft.heads)


class _Reading:
    def __init__(self, draft: Draft, grids: Mapping[str, Grid], current: Show) -> None:
        self.draft, self.grids, self.current = draft, grids, current
        self.early: dict[str, dict[str, Tree]] = {section: {} for section in draft.things}
        """Names and labels of the rows of each sheet."""
        self._finders: dict[Thing, Names] = {}
        self._targets: dict[str, str] = {}

    def read_head(self, rows: Iterable[AboutRow]) -> None:
        """The rows of About: fields of the show, and what stands in its `extra`."""
        columns = {folded(column.head): column for column in fixed_columns(Head)}
        for what, value, spot in rows:
            column, extra = columns.get(folded(what)), extra_name(what)
            if column is not None:
                self.draft.covered.add(("head", *column.path))
                self._put(column.path, spot, value, column)
            elif extra != what:
                self._put_extra(("extra", extra), spot, value)
            else:
                allowed = f"Extra …, or one of: {', '.join(column.head for column in columns.values())}"
                self.draft.refuse((*spot[:2], 0), what, allowed)

    def _put(self, path: Path, spot: Spot, value: Value, column: Column) -> None:
        if value is not None:
            self.draft.put(path, spot, value, lambda cell: self._field(cell, column.shape))
        elif column.shape.required and column.shape.kind == "map":  # a cell without pairs is a map without pairs
            self.draft.set(path, spot, value, {})

    def _put_extra(self, path: Path, spot: Spot, value: Value) -> None:
        self.draft.covered.add((path[0], *path[2:]) if path[0] in self.draft.things else ("head", *path[:2]))
        if value is not None:
            self.draft.set(path, spot, value, carried(value, spot, self.draft.lost))

    # Which thing each row is

    def name_rows(self) -> None:
        """First pass: which thing each row is, so that any cell can point at any of them by id, name or label."""
        unlisted = [section for section in all_rows() if sheet_of(section) not in self.grids]
        taken = {name for section in unlisted for name in rows_in(self.current, section)}
        for section in all_rows():
            grid = self.grids.get(sheet_of(section))
            if grid is None:
                continue
            self.draft.covered.add((section,))
            taken |= {shown(grid.value(row, ID)).strip() for _, row in grid.rows}
            missing = self._missing(section, taken) if any(grid.value(row, ID) is None for _, row in grid.rows) else {}
            kept = []
            for number, row in sorted(grid.rows, key=lambda found: (grid.value(found[1], ID) is None, found[0])):
                name = self._row_id(grid, section, number, row, taken, missing)
                if name is not None:
                    self.draft.things[section][name] = {}
                    self.early[section][name] = _early_names(grid, row)
                    self.draft.spots[section, name] = grid.spot(number)
                    self.draft.values[section, name] = grid.value(row, ID)
                    kept.append((number, row))
                    grid.ids.append(name)
            grid.rows = kept

    def _row_id(
        self, grid: Grid, section: str, number: int, row: Sequence[Value], taken: set[str], missing: dict[str, str]
    ) -> str | None:
        said = shown(grid.value(row, ID)).strip()
        text = said if is_total(row) else said.lower()  # a spreadsheet writes the first letter large; an id has none
        if text and valid_id(text):
            if text in self.draft.things[section]:
                self.draft.refuse(grid.spot(number), text, f"each id once; the first row with {text} counts")
                return None
            return text
        if is_total(row):
            self.draft.skipped.append(f"sheet {grid.sheet}, row {number + 1}: a row of totals")
            return None
        name = _spoken_name(grid, row)
        if text or not name:
            allowed = "an id: a small letter, then small letters, digits or '-'; or none, and a name"
            self.draft.refuse(grid.spot(number), said, allowed)
            return None
        known = missing.pop(folded(name), None)
        if known is not None:
            told = f"sheet {grid.sheet}, row {number + 1}: {name!r} stands without an id, and is {known}"
            self.draft.skipped.append(told)
        made = known or new_id(name, section, taken)
        taken.add(made)
        return made

    def _missing(self, section: str, taken: set[str]) -> dict[str, str]:
        """The things of the show whose ids are not in the file, by names that only one of them has."""
        things = rows_in(self.current, section).items()
        named = {name: getattr(body, "name", "") for name, body in things if name not in taken}
        found = [(folded(called), name) for name, called in named.items() if called]
        counts = Counter(word for word, _ in found)
        return {word: name for word, name in found if counts[word] == 1}

    # What each cell says

    def read_rows(self, section: str, count: Count) -> None:
        grid = self.grids.get(sheet_of(section))
        if grid is None:
            return
        found = {place: column_of(section, head) for place, head in grid.heads.items()}
        columns = {place: column for place, column in found.items() if column is not None}
        extras = {place: extra_name(head) for place, head in grid.heads.items() if not is_own(grid.name, head)}
        self.draft.covered |= {(section, *column.path) for column in columns.values()}
        self.draft.entries |= {(section, *column.entry) for column in columns.values() if column.entry}
        self._tell_absent(grid, section, {column.head for column in columns.values()})
        for name, (number, row) in zip(grid.ids, count.of(grid.rows), strict=True):
            self.draft.things[section][name] = {}
            for place, column in columns.items():
                value = row[place] if place < len(row) else None
                self._put((section, name, *column.path), (grid.sheet, number, place), value, column)
            for place, key in extras.items():
                value = row[place] if place < len(row) else None
                has_own = "extra" in shape_of(all_rows()[section]).fields
                path = (section, name, "extra", key) if has_own else ("extra", f"{grid.name}: {key}", name)
                self._put_extra(path, (grid.sheet, number, place), value)

    def _tell_absent(self, grid: Grid, section: str, there: Collection[str]) -> None:
        bodies = [to_tree(body) for body in rows_in(self.current, section).values()]
        gone = [column for column in columns_of(self.current, section) if column.head not in there]
        held = [column.head for column in gone if any(value_at(tree, column.path) is not None for tree in bodies)]
        self._tell_kept(grid, "column", held)

    def _tell_kept(self, grid: Grid, what: str, names: Sequence[str]) -> None:
        if names:
            self.draft.skipped.append(f"sheet {grid.sheet}: no {what} {', '.join(names)}; what was there stays")

    def _field(self, value: Value, shape: Shape) -> Any:
        """The plain value that a cell of ours says; whatever it refers to by a name or label, by its id."""
        if shape.kind == "notes" or (shape.kind == "text" and not shape.choices and not shape.day):
            text = decoded(value)
            return text if text is None else self._id(text, shape)
        found = field_value(value, shape)
        if shape.kind != "set" or shape.to is None:
            return found
        return [
            self._id(member, shape) if isinstance(member, str) else [self._id(name, shape) for name in member]
            for member in found
        ]

    def _id(self, text: str, shape: Shape) -> str:
        if shape.to == "end" and (text.startswith(DEPARTMENT) or text == EVERYONE):
            return text
        return self.names(shape.to).id_of(text.strip()) if shape.to and shape.to in HOMES else text

    def names(self, thing: Thing) -> Names:
        """Finds what the cells of a column may point at: by the file where it has the sheet, else by the show.

        First asked for when all rows have their names.
        """
        if thing not in self._finders:
            found: list[tuple[str, Mapping[str, Any]]] = []
            for section in HOMES[thing]:
                if (section,) in self.draft.covered:
                    found += self.early[section].items()
                else:
                    bodies = rows_in(self.current, section).items()
                    words = ("name", "label")
                    found += [(name, {word: getattr(body, word, None) for word in words}) for name, body in bodies]
            self._finders[thing] = Names(found, NOUNS.get(thing, thing))
        return self._finders[thing]

    # Grids

    def read_grid(self, sheet: str, count: Count) -> None:
        """The sheet of channels, or of keys: a row for each user or device, in each cell what stands there."""
        grid = self.grids.get(sheet)
        if grid is None:
            return
        section, word = GRIDS[sheet]
        places = {place: grid_head(head) for place, head in grid.heads.items() if is_grid_head(sheet, grid_head(head))}
        extras = {place: extra_name(head) for place, head in grid.heads.items() if not is_own(sheet, head)}
        self.draft.covered.add((section, word))
        if word == "channels":
            self.draft.covered |= {(*WHOLE_CHANNELS[:2], name) for name in shape_of(Channel).fields}
        seen: set[str] = set()
        fill = self._channels if word == "channels" else self._key
        for number, row in count.of(grid.rows):
            name = self._grid_id(grid, section, number, row)
            if name is None or name in seen:
                if name:
                    self.draft.refuse(grid.spot(number), name, "each id once; its first row counts")
                continue
            seen.add(name)
            tree = self.draft.things[section].setdefault(name, {})
            for place, head in places.items():
                if place < len(row) and row[place] is not None:
                    fill(tree, (section, name, word), head, row[place], (grid.sheet, number, place))
            for place, key in extras.items():
                value = row[place] if place < len(row) else None
                self._put_extra((section, name, "extra", f"{sheet}: {key}"), (grid.sheet, number, place), value)
            self._tell_info(grid, section, name, number, row)
        self._note_silent(grid, seen, {*places.values()})

    def _note_silent(self, grid: Grid, rows: Collection[str], heads: Collection[str]) -> None:
        """What of the show has no row or no column in a grid stays."""
        section, word = GRIDS[grid.name]
        missing: set[str] = set()
        silent: dict[tuple[str, str], frozenset[str]] = {}
        for name, body in self.current.section(section).items():
            held = {key: str(getattr(inner, "number", key)) for key, inner in getattr(body, word).items()}
            told = {*heads} if name in rows else set()
            silent[section, name] = frozenset(key for key, head in held.items() if head not in told)
            missing |= {*held.values()} - {*heads} if name in rows else set()
        self.draft.silent = {**self.draft.silent, **silent}
        self._tell_kept(grid, "column", sorted(missing, key=grid_order))
        there = self.draft.things[section] if (section,) in self.draft.covered else {}
        kept = [name for (_, name), keys in silent.items() if keys and name in there and name not in rows]
        self._tell_kept(grid, "row of", kept)

    def _grid_id(self, grid: Grid, section: str, number: int, row: Sequence[Value]) -> str | None:
        finder = self.names("user" if section == "users" else "device")
        text = shown(grid.value(row, ID)).strip()
        first = next((shown(value) for value in row if value is not None), "").strip()
        if text not in finder.ids and is_total(row):
            self.draft.skipped.append(f"sheet {grid.sheet}, row {number + 1}: a row of totals")
            return None
        found = finder.find(text) or finder.find(text.lower()) if text else finder.find(shown(grid.value(row, "Name")))
        if found is None:
            self.draft.refuse(grid.spot(number), text or first, f"the id of a {finder.what} of this file")
        return found

    def _channels(self, tree: Tree, path: Path, head: str, value: Value, spot: Spot) -> None:
        try:
            entries = entries_of(text_of(value))
            targets = [self._target(target) for target, _ in entries]
        except Unreadable as error:
            allowed = str(error) if HINT in str(error) else f"{HINT}; wanted here: {error}"
            self.draft.refuse(spot, value, allowed, (*path, f"={head}"))
            return
        channels = tree.setdefault("channels", {})
        for target, (_, fields) in zip(targets, entries, strict=True):
            key = _free(target, channels)
            channels[key] = {"number": int(head), **fields}
            self.draft.spots[*path, key] = spot
            self.draft.values[*path, key] = value

    def _key(self, tree: Tree, path: Path, head: str, value: Value, spot: Spot) -> None:
        self.draft.put((*path, head), spot, value, lambda cell: self._target(text_of(cell).strip()))

    def _target(self, text: str) -> str:
        """The id of what a cell points at, which in a grid is asked for again and again."""
        if text not in self._targets:
            self._targets[text] = self._found_target(text)
        return self._targets[text]

    def _found_target(self, text: str) -> str:
        """A group, user or line; a user's second channel to it has its number."""
        target, mark, number = text.partition("#")
        try:
            return self.names("target").id_of(target.strip()) + mark + number
        except Unreadable:
            odd = odd_mode(text)  # asked only now: a group may be called "Desk A/B"
            if odd is None:
                raise
            raise Unreadable(f"{HINT}; {odd!r} is no talk/listen") from None

    def _tell_info(self, grid: Grid, section: str, name: str, number: int, row: Sequence[Value]) -> None:
        """Tells what somebody changed where it is only shown."""
        tree = self.draft.things[section][name]
        for head in INFO[grid.name]:
            value, place = grid.value(row, head), grid.at(head)
            if (section, folded(head)) not in self.draft.covered or value is None or place is None:
                continue
            if folded(decoded_shown(value)) != folded(str(tree.get(folded(head), ""))):
                where = f"sheet {grid.sheet}, cell {cells.cell_name(number, place)}"
                read = f"it is read in the sheet {sheet_of(section)}"
                self.draft.skipped.append(f"{where}: {shown(value)!r} is only shown here; {read}")


def _early_names(grid: Grid, row: Sequence[Value]) -> Tree:
    said = {word: grid.value(row, word) for word in ("name", "label")}
    return {word: decoded_shown(value) for word, value in said.items() if value is not None}


_NAMED_BY = {
    "Bridges": (("Circuit",), ("Device", "Port")),
    "Required": (("From", "To"),),
    "Apart": (("From", "To"),),
    "Accepted": (("Rule",),),
    "Standards": (("For",),),
}
"""Columns that name a row which has no name of its own."""


def _spoken_name(grid: Grid, row: Sequence[Value]) -> str:
    for heads in _NAMED_BY.get(grid.name, (("Name",),)):
        name = " ".join(decoded_shown(grid.value(row, head)) for head in heads).strip()
        if name:
            return name
    return ""


def _free(target: str, channels: Mapping[str, Any]) -> str:
    """A second cell with the same target is its second channel, whether it says so or not."""
    base, number, key = target.partition("#")[0], 2, target
    while key in channels:
        key, number = f"{base}#{number}", number + 1
    return key


def decoded_shown(value: Value) -> str:
    try:
        return decoded(value) or ""
    except Unreadable:
        return shown(value)
