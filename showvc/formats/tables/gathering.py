"""First and second look at other people's rows: what they list, and the channels and keys that they tell."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from showvc.document import Shape
from showvc.formats.tables.catalogue import Catalogue, HeldKey, Listed, Thing, apart, sections_of
from showvc.formats.tables.cells import Unreadable, Value, text_of
from showvc.formats.tables.drafts import Draft, Spot, spot_name, valid_id
from showvc.formats.tables.mapping import SECTION_OF, field_shape
from showvc.formats.tables.meanings import key_of, meaning, names_in, number_of, parts_across, read_field, text_in
from showvc.formats.tables.plots import Cell, PlotRow, PlotTable, cells_of
from showvc.formats.tables.sheets import Count, Progress


def gather(tables: Sequence[PlotTable], catalogue: Catalogue, draft: Draft, progress: Progress | None) -> None:
    """Fills the catalogue with the things of the tables, their channels and their keys; tells cells that say none."""
    count = Count(sum(len(table.rows) for table in tables), progress)
    work = _Gathering(catalogue, draft)
    for table in tables:
        work.collect(table)
    for table in tables:
        work.follow(table, count)
    _derive(catalogue)


class _Gathering:
    def __init__(self, catalogue: Catalogue, draft: Draft) -> None:
        self.catalogue, self.draft = catalogue, draft
        self.targets: dict[tuple[str, str] | None, Thing] = {}

    # What the file lists

    def collect(self, table: PlotTable) -> None:
        """First pass: the things that have rows of their own."""
        section = SECTION_OF.get(table.mapping.each)
        if section is None:
            return
        self.draft.covered.add((section,))
        seen: dict[int, Spot] = {}
        for row in table.rows:
            thing = self._thing_of(table, section, row)
            if thing is None:
                continue
            if id(thing) in seen:
                once = f"each {table.mapping.each} once; the row of {spot_name(seen[id(thing)])} counts"
                self.draft.refuse(row.spot, thing.name or thing.label, once)
                continue
            seen[id(thing)] = row.spot
            thing.rows.append((table, row))

    def _thing_of(self, table: PlotTable, section: str, row: PlotRow) -> Thing | None:
        said = dict(cells_of(row, table.mapping))
        name, label, given, mark = (text_in(table.mapping, said, word) for word in ("name", "label", "id", "hardware"))
        if section == "bridges":
            mark = " ".join(text_in(table.mapping, said, word) for word in ("device", "port")).strip()
            name = name or text_in(table.mapping, said, "circuit") or mark
        if not (name or label or given):
            self.draft.refuse(
                row.spot,
                _first(row),
                f"a name: every row of {table.mapping.place or table.name} is a {table.mapping.each}",
            )
            return None
        if given and not valid_id(given):
            self.draft.refuse(said["id"][1], given, "an id: a small letter, then small letters, digits or '-'")
            return None
        near = (*self.catalogue.called(section, given), *self.catalogue.called(section, name or label))
        found = next((thing for thing in near if not apart(thing, given, mark)), None)
        if found is None:
            found = Thing(section, name, label, given or None, mark or None)
            self.catalogue.know(found)
        return found

    # What the rows point at

    def follow(self, table: PlotTable, count: Count) -> None:
        """Second pass: channels and keys, and things that are only pointed at."""
        each = table.mapping.each
        owners = {
            id(row): thing
            for section in self.catalogue.things.values()
            for thing in section
            for owner, row in thing.rows
            if owner is table
        }
        for row in count.of(table.rows):
            if id(row) in owners:
                self._row_of_thing(table, owners[id(row)], row)
            said = dict(cells_of(row, table.mapping))
            if each == "channel":
                self._try(row.spot, said.get("target"), lambda: self._channel_row(table, row, said))  # noqa: B023
            elif each == "key":
                self._try(row.spot, said.get("target"), lambda: self._key_row(table, row, said))  # noqa: B023

    def _try(self, spot: Spot, cell: Cell | None, work: Callable[[], None]) -> None:
        try:
            work()
        except Unreadable as error:
            self.draft.refuse(cell[1] if cell else spot, cell[0] if cell else None, str(error))

    def _channel_row(self, table: PlotTable, row: PlotRow, said: Mapping[str, Cell]) -> None:
        user = self._owner(table, said, "user", "a row with a position: whose channel is it?")
        if user is None:
            return
        target = self._target(table, said["target"])
        number = said.get("number", (None,))[0]
        fields = {name: cell for name, cell in said.items() if name not in ("user", "target", "number")}
        user.listed.append(
            Listed(target, None if number is None else number_of(number), fields, said["target"][1], row.extra, table)
        )

    def _owner(self, table: PlotTable, said: Mapping[str, Cell], word: str, wanted: str) -> Thing | None:
        """Whose channel or key a row tells; None for a row without a target, which tells none."""
        if said.get("target", (None,))[0] is None:
            return None
        if said.get(word, (None,))[0] is None:
            raise Unreadable(wanted)
        return self.catalogue.point(table, word, said[word], (f"{word}s",))

    def _target(self, table: PlotTable, cell: Cell) -> Thing:
        told = (table.name, cell[0]) if isinstance(cell[0], str) else None
        if told in self.targets:
            return self.targets[told]
        text = text_of(meaning(table.mapping, "target", cell[0])).strip()
        if line := self.catalogue.line(text):
            raise Unreadable(
                f"a group or a position; {text} is a line, no channel: its use is a column of the positions "
                f"('{text}: lines/{line}'), its key stands in a table of keys"
            )
        found = self.catalogue.point(table, "target", cell, ("groups", "users"))
        if told is not None:
            self.targets[told] = found
        return found

    def _key_row(self, table: PlotTable, row: PlotRow, said: Mapping[str, Cell]) -> None:
        device = self._owner(table, said, "device", "a row with a device: whose key is it?")
        if device is None:
            return
        key = key_of(text_of(meaning(table.mapping, "key", said["key"][0])))
        device.keys.append(HeldKey(key, self._key_target(table, said["target"]), said["target"], row.extra, table))

    def _key_target(self, table: PlotTable, cell: Cell) -> Thing | str:
        text = text_of(meaning(table.mapping, "target", cell[0])).strip()
        return self.catalogue.line(text) or self.catalogue.point(table, "target", cell, ("groups", "users"))

    def _row_of_thing(self, table: PlotTable, thing: Thing, row: PlotRow) -> None:
        said = dict(cells_of(row, table.mapping))
        for word, cell in said.items():
            shape = field_shape(table.mapping.each, word)
            if sections_of(shape) and cell[0] is not None:
                self._try(row.spot, cell, lambda: self._keep_pointers(table, word, cell, shape))  # noqa: B023
        for head, cell in row.across:
            try:
                self._across(table, thing, head, cell)
            except Unreadable as error:
                self.draft.refuse(cell[1], cell[0], str(error))

    def _keep_pointers(self, table: PlotTable, word: str, cell: Cell, shape: Shape | None) -> None:
        """What the cell points at is made where the file does not list it; a bridge is more than its name."""
        sections = sections_of(shape)
        if shape is None or sections == ("bridges",):
            return
        for name in names_in(read_field(meaning(table.mapping, word, cell[0]), shape)):
            if self.catalogue.line(name) is None or "groups" not in sections:
                self.catalogue.point(table, word, (name, cell[1]), sections)

    def _across(self, table: PlotTable, thing: Thing, head: str, cell: Cell) -> None:
        across = table.mapping.across
        assert across is not None, "a row has cells across only where the mapping says so"
        word, place = table.heads_across.get(head, (head, 0))
        said: dict[str, Cell] = {name: (part, cell[1]) for name, part in parts_across(across.says, text_of(cell[0]))}
        if across.is_ == "target":
            target = self._target(table, (word, cell[1]))
            self.catalogue.spelled[table.name, id(target)] = word
            # A grid says who is with whom; only where its columns are keys does their order say numbers.
            number = place if table.mapping.also == "keys" else None
            thing.listed.append(Listed(target, number, said, cell[1], {}, table, place))
        elif across.is_ == "number":
            number = number_of(word)  # first: below a head that is no number stands no target
            thing.listed.append(Listed(self._target(table, said.pop("target")), number, said, cell[1], {}, table))
        else:
            key = key_of(word)
            held = self._key_target(table, said["target"])
            extra = {"mode": said["mode"]} if "mode" in said else {}
            thing.keys.append(HeldKey(key, held, (cell[0], cell[1]), extra, table))


def _derive(catalogue: Catalogue) -> None:
    """`also: keys` gives every device of a user the user's channels by number; `also: channels` turns it round."""
    for device in catalogue.things["devices"]:
        user = catalogue.user_of(device)
        if user is None:
            continue
        own = {key.key for key in device.keys}
        for entry in user.listed:
            if entry.table.mapping.also == "keys" and entry.number and f"A{entry.number}" not in own:
                device.keys.append(HeldKey(f"A{entry.number}", entry.target, (None, entry.spot), {}, entry.table))
        listed = {id(entry.target) for entry in user.listed}
        for key in device.keys:
            if key.table.mapping.also == "channels" and isinstance(key.target, Thing) and id(key.target) not in listed:
                fields = {"mode": key.extra.pop("mode")} if "mode" in key.extra else {}
                likely = int(key.key[1:])
                user.listed.append(Listed(key.target, None, fields, key.cell[1], {}, key.table, likely))


def _first(row: PlotRow) -> Value:
    values = [cell[0] for cell in row.fields.values()] + [cell[0] for _, cell in row.across] + [*row.extra.values()]
    return next((value for value in values if isinstance(value, str | int | float)), None)
