"""Last look at other people's rows: every field into the draft, with the cell that it came from."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import count as numbers_from
from typing import Any

from showvc.document import PLOTS, Channel, Shape
from showvc.document.editing import get
from showvc.formats.tables.catalogue import Catalogue, Listed, Thing, sections_of
from showvc.formats.tables.cells import Unreadable, Value, shown, text_of
from showvc.formats.tables.drafts import Draft
from showvc.formats.tables.mapping import SECTION_OF, PlotMapping, field_shape, is_mode, spoken_fields
from showvc.formats.tables.meanings import (
    extra_key,
    key_of,
    meaning,
    name_in,
    number_of,
    read_field,
)
from showvc.formats.tables.notation import meant_mode
from showvc.formats.tables.plots import Cell, PlotRow, PlotTable, cells_of
from showvc.formats.tables.silence import Spoken, silent, without_place
from showvc.identity.names import folded


def fill(tables: Sequence[PlotTable], mapping: PlotMapping, catalogue: Catalogue, draft: Draft) -> None:
    """Puts all that the tables say into the draft. Every thing of the catalogue has its id."""
    _Filling(tables, mapping, catalogue, draft).fill()


class _Filling:
    def __init__(self, tables: Sequence[PlotTable], mapping: PlotMapping, catalogue: Catalogue, draft: Draft) -> None:
        self.tables, self.mapping, self.catalogue, self.draft = tables, mapping, catalogue, draft
        self.current = catalogue.current

    def fill(self) -> None:
        """Third pass: every field into the draft, with the cell that it came from."""
        firsts = self._first_tables()
        for section, things in self.catalogue.things.items():
            for thing in things:
                tree = self.draft.things[section].setdefault(thing.id, {})
                self.draft.spots.setdefault((section, thing.id), thing.rows[0][1].spot if thing.rows else ("", "", 0))
                self.draft.values.setdefault((section, thing.id), thing.name or thing.label or thing.given)
                if not thing.rows and not thing.given and thing.id not in self.current.section(section):
                    tree["name"] = thing.name
                for table, row in thing.rows:
                    self._fields(table, thing, row, firsts)
        # Of the show itself, an empty cell says nothing.
        self.draft.covered |= {field for field in spoken_fields(self.mapping) if field[0] != "head"}
        self._note_silent()
        for user in self.catalogue.things["users"]:
            self._channels(user, firsts)
        for device in self.catalogue.things["devices"]:
            self._keys(device, firsts)
        for table in self.tables:
            if table.mapping.each == "show":
                self._head(table)
            self._keep_place(table)

    def _first_tables(self) -> dict[str, str]:
        """The first table of each kind of row: its further columns stand in `extra` under their plain heads."""
        firsts: dict[str, str] = {}
        for table in self.tables:
            firsts.setdefault(table.mapping.each, table.name)
        return firsts

    def _fields(self, table: PlotTable, thing: Thing, row: PlotRow, firsts: Mapping[str, str]) -> None:
        path = (thing.section, thing.id)
        for word, (value, spot) in cells_of(row, table.mapping):
            if word == "id" or value is None:
                continue
            self._put(table, table.mapping.each, path, word, (value, spot))
        for head, value in row.extra.items():
            key = extra_key(table.name, head, firsts[table.mapping.each])
            self.draft.set((*path, "extra", key), row.spot, None, value)

    def _put(self, table: PlotTable, each: str, path: tuple[str, ...], word: str, cell: Cell) -> None:
        """Reads a cell into the field of a body; `each` is the kind of row whose columns are called so."""
        steps, shape, mode = (*path, *word.split("/")), field_shape(each, word), is_mode(each, word)

        def read(value: Value) -> Any:
            return self._mode(steps, value) if mode else self._ids(read_field(value, shape), shape)

        self.draft.put(steps, cell[1], meaning(table.mapping, word, cell[0]), read)

    def _mode(self, path: tuple[str, ...], cell: Value) -> dict[str, str]:
        now = get(self.current, path)
        known = {word: now[word] for word in ("talk", "listen")} if isinstance(now, Mapping) else {}
        return meant_mode(text_of(cell), known)

    def _ids(self, value: Any, shape: Shape | None) -> Any:
        """The ids of what a field points at: one, or those of a set; any other value as it is."""
        sections = sections_of(shape)
        if not sections:
            return value
        if isinstance(value, list):
            return [self._ids(member, shape) for member in value]
        if value is None:
            return None
        text = " ".join(value.split())
        line = self.catalogue.line(text) if "groups" in sections else None
        found = next((thing for section in sections if (thing := self.catalogue.find(section, text))), None)
        if line is None and found is None and not any(text in self.current.section(section) for section in sections):
            raise Unreadable(f"a {shape.to if shape else 'thing'} of this file")
        return line or (found.id if found else text)

    def _channels(self, user: Thing, firsts: Mapping[str, str]) -> None:
        now = self.current.users[user.id].channels if user.id in self.current.users else {}
        keys = _channel_ids(user.listed, now)
        numbers = self._numbers(user, keys)
        for key, entry in zip(keys, user.listed, strict=True):
            # One spot for the whole channel: most fields of a cell stand in that cell.
            path = ("users", user.id, "channels", key)
            channel: dict[str, Any] = {"number": numbers[key]}
            self.draft.set(path, entry.spot, entry.target.name, channel)
            self._channel_fields(path, entry, channel, now.get(key))
            for head, value in entry.extra.items():
                name = extra_key(entry.table.name, head, firsts.get("channel", entry.table.name))
                channel.setdefault("extra", {})[name] = value

    def _numbers(self, user: Thing, keys: Sequence[str]) -> dict[str, int]:
        """The number of each channel: what the file says, else what the show has, else the likely one, else any."""
        numbers = {key: entry.number for key, entry in zip(keys, user.listed, strict=True) if entry.number}
        used = {*numbers.values()}
        known = self.current.users[user.id].channels if user.id in self.current.users else {}
        told = {key: channel.number for key, channel in known.items()}
        used |= {told[key] for key in self.draft.silent.get(("users", user.id), ()) if key not in keys}
        likely = {key: entry.likely for key, entry in zip(keys, user.listed, strict=True) if entry.likely}
        for wanted in (told, likely):
            for key in keys:
                if key not in numbers and key in wanted and wanted[key] not in used:
                    numbers[key] = wanted[key]
                    used.add(wanted[key])
        free = (number for number in numbers_from(1) if number not in used)
        return {key: numbers.get(key) or next(free) for key in keys}

    def _channel_fields(
        self, path: tuple[str, ...], entry: Listed, channel: dict[str, Any], now: Channel | None
    ) -> None:
        for word, (value, spot) in entry.fields.items():
            if value is None:
                continue
            if word != "mode":
                self._put(entry.table, "channel", path, word, (value, spot))
                continue
            try:
                channel.update(meant_mode(text_of(meaning(entry.table.mapping, word, value)), _mode_now(now)))
            except Unreadable as error:
                codes = ", ".join(entry.table.mapping.codes.get("mode", {}))
                self.draft.refuse(spot, value, f"one of the codes {codes}" if codes else str(error), path)

    def _keys(self, device: Thing, firsts: Mapping[str, str]) -> None:
        for key in device.keys:
            target = key.target if isinstance(key.target, str) else key.target.id
            self.draft.set(("devices", device.id, "keys", key.key), key.cell[1], key.cell[0], target)
            for head, value in key.extra.items():
                if head != "mode":
                    name = f"{key.key}: {extra_key(key.table.name, head, firsts.get('key', key.table.name))}"
                    self.draft.set(("devices", device.id, "extra", name), key.cell[1], None, value)

    def _head(self, table: PlotTable) -> None:
        for row in table.rows[:1]:
            for word, (value, spot) in cells_of(row, table.mapping):
                if value is not None:
                    self.draft.covered.add(("head", *word.split("/")))
                    self._put(table, "show", (), word, (value, spot))
            for name, value in row.extra.items():
                self.draft.set(("extra", name), row.spot, None, value)

    def _note_silent(self) -> None:
        spoken = [Spoken(table, frozenset(self._head_meanings(table))) for table in self.tables]
        whole = ("devices",) in self.draft.covered and self.mapping.missing == "remove"
        devices = [thing.id for thing in self.catalogue.things["devices"]]
        self.draft.silent = silent(spoken, self.mapping, self.current, devices, whole)
        self.draft.placeless = without_place(self.mapping, self.current)

    def _head_meanings(self, table: PlotTable) -> Iterator[str]:
        """What the columns across stand for: ids of targets, numbers, or names of keys."""
        across = table.mapping.across
        for word, _ in table.heads_across.values():
            try:
                if across is not None and across.is_ == "target":
                    yield self._head_target(table, word)
                else:
                    yield str(number_of(word)) if across is not None and across.is_ == "number" else key_of(word)
            except Unreadable:
                continue  # told with each of its cells

    def _head_target(self, table: PlotTable, word: str) -> str:
        """The id of the target that a head names; of one that no cell below it mentions, the one in the show."""
        text = name_in(table.mapping, "target", word)
        for section in ("groups", "users"):
            found = self.catalogue.find(section, text)
            if found is not None:
                return found.id
            for name, body in self.current.section(section).items():
                if text == name or folded(text) in (folded(body.name), folded(getattr(body, "label", None) or "")):
                    return str(name)
        return ""

    def _keep_place(self, table: PlotTable) -> None:
        place = {key: value for key, value in table.place.items() if value not in (None, [], {})}
        order: dict[str, None] = {}
        section = SECTION_OF.get(table.mapping.each)
        for owner in self.catalogue.things[section] if section else ():
            order.update(dict.fromkeys([owner.id] if any(mine is table for mine, _ in owner.rows) else []))
        if section is None:
            order = self._owner_order(table)
        if list(order) != sorted(order):
            place["rows"] = [*order]
        words = {
            thing.id: self.catalogue.spelled[table.name, id(thing)]
            for things in self.catalogue.things.values()
            for thing in things
            if (table.name, id(thing)) in self.catalogue.spelled
        }
        if words:
            place["words"] = dict(sorted(words.items()))
        if place:
            plots = self.draft.head.setdefault("extra", {}).setdefault(PLOTS, {})
            plots[table.mapping.kept_as(table.name)] = place

    def _owner_order(self, table: PlotTable) -> dict[str, None]:
        section, word = ("users", "user") if table.mapping.each == "channel" else ("devices", "device")
        order: dict[str, None] = {}
        for row in table.rows:
            value = row.fields.get(word, (None, None))[0]
            found = (
                self.catalogue.find(section, " ".join(shown(meaning(table.mapping, word, value)).split()))
                if value is not None
                else None
            )
            if found:
                order.setdefault(found.id)
        return order


def _mode_now(use: Channel | None) -> dict[str, str]:
    return {"talk": use.talk, "listen": use.listen} if use else {}


def _channel_ids(listed: Sequence[Listed], now: Mapping[str, Channel]) -> list[str]:
    """The id of each channel on a list: its target's, numbered where that stands there again.

    Of several to one target each keeps the id that it has in the show, known by its number.
    """
    counts = Counter(entry.target.id for entry in listed)
    if max(counts.values(), default=0) < 2:
        return [entry.target.id for entry in listed]
    numbers = {(key.partition("#")[0], channel.number): key for key, channel in now.items()}
    free = {target: _ids(target, count) for target, count in counts.items()}
    made: list[str] = []
    for entry in listed:
        known = numbers.get((entry.target.id, entry.number or 0), "")
        made.append(known if known in free[entry.target.id] else "")
        if made[-1]:
            free[entry.target.id].remove(known)
    return [key or free[entry.target.id].pop(0) for key, entry in zip(made, listed, strict=True)]


def _ids(target: str, count: int) -> list[str]:
    return [target, *(f"{target}#{number}" for number in range(2, count + 1))]
