"""Rows of other people's files to a draft of a show: things found or named, references followed, codes read."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import count as numbers_from
from typing import Any, get_args

from showvc.document import LINE_LABELS, LINES, PLOTS, Show
from showvc.document.bodies import BridgeKind, Channel, Direction, LineUse, Listen, Priority, Talk
from showvc.formats.tables import cells
from showvc.formats.tables.cells import Unreadable, Value, shown, text_of
from showvc.formats.tables.drafts import ID_SHAPE, Draft, Spot, folded, spot_name, valid_id
from showvc.formats.tables.identity import Answers, Doubt, Facts, match, plain
from showvc.formats.tables.mapping import SECTION_OF, MappedTable, PlotMapping, pattern, spoken_fields
from showvc.formats.tables.naming import new_id
from showvc.formats.tables.notation import meant_mode
from showvc.formats.tables.plots import Cell, PlotRow, PlotTable, across_name, cells_of
from showvc.formats.tables.sheets import Count, Progress
from showvc.formats.tables.silence import Spoken, silent, without_place


@dataclass(slots=True)
class Thing:
    """One thing that a file speaks of: rows of its own, or none where it is only pointed at."""

    section: str
    name: str = ""
    label: str = ""
    given: str | None = None
    mark: str | None = None
    """What tells it from one of the same name: the hardware address of a device, unit and port of a bridge."""
    rows: list[tuple[PlotTable, PlotRow]] = field(default_factory=list)
    listed: list[_Entry] = field(default_factory=list)
    keys: list[_Key] = field(default_factory=list)
    id: str = ""

    @property
    def sort_key(self) -> tuple[str, ...]:
        return (folded(self.name), folded(self.label), self.given or "", self.mark or "")


@dataclass(slots=True)
class _Entry:
    """One channel as a file tells it. `likely` is its number where neither file nor show says one."""

    target: Thing
    number: int | None
    fields: dict[str, Cell]
    spot: Spot
    extra: dict[str, Any]
    table: PlotTable
    likely: int = 0


@dataclass(slots=True)
class _Key:
    key: str
    target: Thing | str
    cell: Cell
    extra: dict[str, Any]
    table: PlotTable


@dataclass(slots=True)
class Assembled:
    """The draft, which row was taken for which thing, and what a person has to say."""

    draft: Draft
    matches: list[tuple[str, str, str, float]] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)


def assemble(
    tables: Sequence[PlotTable],
    mapping: PlotMapping,
    current: Show | None,
    answers: Answers,
    progress: Progress | None = None,
) -> Assembled:
    """A draft of all that the tables say. `current` is the show that their rows are looked for in."""
    count = Count(sum(len(table.rows) for table in tables), progress)
    work = _Work(tables, mapping, current or Show(), answers)
    for table in tables:
        work.collect(table)
    for table in tables:
        work.follow(table, count)
    work.derive()
    work.name_all()
    work.fill()
    return work.made


class _Work:
    """The steps of one assembly, and what they hand to each other."""

    def __init__(self, tables: Sequence[PlotTable], mapping: PlotMapping, current: Show, answers: Answers) -> None:
        self.tables, self.mapping, self.current, self.answers = tables, mapping, current, answers
        self.draft = Draft()
        self.made = Assembled(self.draft)
        self.things: dict[str, list[Thing]] = {section: [] for section in ("groups", "users", "devices", "bridges")}
        self.words: dict[tuple[str, str], list[Thing]] = {}
        self.spelled: dict[str, dict[int, str]] = {table.name: {} for table in tables}
        self.across: dict[str, dict[str, tuple[str, int]]] = {}
        self.called: dict[str, set[str]] = {}
        self.targets: dict[tuple[str, str] | None, Thing] = {}
        self.members: dict[int, set[str]] = {}

    # What the file lists

    def collect(self, table: PlotTable) -> None:
        """First pass: the things that have rows of their own."""
        section = SECTION_OF.get(table.mapping.each)
        if section is None:
            return
        self.draft.covered.add(section)
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
        name, label, given, mark = (self._text(table, said, word) for word in ("name", "label", "id", "hardware"))
        if section == "bridges":
            mark = " ".join(self._text(table, said, word) for word in ("device", "port")).strip()
            name = name or self._text(table, said, "circuit") or mark
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
        near = (*self._called(section, given), *self._called(section, name or label))
        found = next((thing for thing in near if not _apart(thing, given, mark)), None)
        if found is None:
            found = Thing(section, name, label, given or None, mark or None)
            self._know(found)
        return found

    def _text(self, table: PlotTable, said: Mapping[str, Cell], word: str) -> str:
        value = said.get(word, (None, None))[0]
        try:
            return text_of(_meaning(table.mapping, word, value)).strip()
        except Unreadable:
            return ""

    def _know(self, thing: Thing) -> None:
        self.things[thing.section].append(thing)
        for word in {folded(thing.name), folded(thing.label), thing.given or ""} - {""}:
            self.words.setdefault((thing.section, word), []).append(thing)

    def _find(self, section: str, text: str) -> Thing | None:
        found = self._called(section, text)
        return found[0] if found else None

    def _called(self, section: str, text: str) -> Sequence[Thing]:
        return self.words.get((section, folded(text)), []) if text else []

    def _point(self, table: PlotTable, field_name: str, cell: Cell, sections: Sequence[str]) -> Thing:
        """The thing that a cell points at; one that the file does not list is made. Unreadable for a failed cell."""
        text = " ".join(text_of(_meaning(table.mapping, field_name, cell[0])).split())
        meant = (section for section in sections if self._find(section, text) or self._only_in_current(section, text))
        section = next(meant, sections[0])
        found = self._find(section, text)
        if found is None:
            is_id = ID_SHAPE.fullmatch(text) and text in self.current.section(section)
            found = Thing(section, text, "", text if is_id else None)
            self._know(found)
        self.spelled[table.name].setdefault(id(found), shown(cell[0]).strip())
        return found

    def _only_in_current(self, section: str, text: str) -> bool:
        """Whether the show has this, in a section that the file does not list itself."""
        if section in self.draft.covered:
            return False
        if section not in self.called:
            bodies = self.current.section(section)
            words = {
                folded(word) for body in bodies.values() for word in (body.name, getattr(body, "label", None) or "")
            }
            self.called[section] = {*bodies, *words} - {""}
        return text in self.called[section] or folded(text) in self.called[section]

    # What the rows point at

    def follow(self, table: PlotTable, count: Count) -> None:
        """Second pass: channels and keys, and things that are only pointed at."""
        each = table.mapping.each
        owners = {
            id(row): thing
            for section in self.things.values()
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
        if said.get("target", (None,))[0] is None:
            return
        if said.get("user", (None,))[0] is None:
            raise Unreadable("a row with a position: whose channel is it?")
        user = self._point(table, "user", said["user"], ("users",))
        target = self._target(table, said["target"])
        number = said.get("number", (None,))[0]
        fields = {name: cell for name, cell in said.items() if name not in ("user", "target", "number")}
        user.listed.append(
            _Entry(target, None if number is None else _number(number), fields, said["target"][1], row.extra, table)
        )

    def _target(self, table: PlotTable, cell: Cell) -> Thing:
        told = (table.name, cell[0]) if isinstance(cell[0], str) else None
        if told in self.targets:
            return self.targets[told]
        text = text_of(_meaning(table.mapping, "target", cell[0])).strip()
        if line := line_of(text):
            raise Unreadable(
                f"a group or a position; {text} is a line, no channel: its use is a column of the positions "
                f"('{text}: {line}'), its key stands in a table of keys"
            )
        found = self._point(table, "target", cell, ("groups", "users"))
        if told is not None:
            self.targets[told] = found
        return found

    def _key_row(self, table: PlotTable, row: PlotRow, said: Mapping[str, Cell]) -> None:
        if said.get("target", (None,))[0] is None:
            return
        if said.get("device", (None,))[0] is None:
            raise Unreadable("a row with a device: whose key is it?")
        device = self._point(table, "device", said["device"], ("devices",))
        key = key_of(text_of(_meaning(table.mapping, "key", said["key"][0])))
        device.keys.append(_Key(key, self._key_target(table, said["target"]), said["target"], row.extra, table))

    def _key_target(self, table: PlotTable, cell: Cell) -> Thing | str:
        text = text_of(_meaning(table.mapping, "target", cell[0])).strip()
        return line_of(text) or self._point(table, "target", cell, ("groups", "users"))

    def _row_of_thing(self, table: PlotTable, thing: Thing, row: PlotRow) -> None:
        said = dict(cells_of(row, table.mapping))
        for word, sections in (("user", ("users",)), ("device", ("devices",)), ("target", ("groups", "users"))):
            if thing.section in ("devices", "bridges") and said.get(word, (None,))[0] is not None:
                self._try(row.spot, said[word], lambda: self._keep_pointer(table, word, said[word], sections))  # noqa: B023
        for head, cell in row.across:
            try:
                self._across(table, thing, head, cell)
            except Unreadable as error:
                self.draft.refuse(cell[1], cell[0], str(error))

    def _keep_pointer(self, table: PlotTable, word: str, cell: Cell, sections: Sequence[str]) -> None:
        self._point(table, word, cell, sections)

    def _across(self, table: PlotTable, thing: Thing, head: str, cell: Cell) -> None:
        across = table.mapping.across
        assert across is not None, "a row has cells across only where the mapping says so"
        word, place = self._heads_across(table).get(head, (head, 0))
        said: dict[str, Cell] = {name: (part, cell[1]) for name, part in _parts(across.says, text_of(cell[0]))}
        if across.is_ == "target":
            target = self._target(table, (word, cell[1]))
            self.spelled[table.name][id(target)] = word
            # A grid says who is with whom; only where its columns are keys does their order say numbers.
            number = place if table.mapping.also == "keys" else None
            thing.listed.append(_Entry(target, number, said, cell[1], {}, table, place))
        elif across.is_ == "number":
            thing.listed.append(
                _Entry(self._target(table, said.pop("target")), _number(word), said, cell[1], {}, table)
            )
        else:
            held = self._key_target(table, said["target"])
            extra = {"mode": said["mode"]} if "mode" in said else {}
            thing.keys.append(_Key(key_of(word), held, (cell[0], cell[1]), extra, table))

    def _heads_across(self, table: PlotTable) -> dict[str, tuple[str, int]]:
        """What each head across says, and which of these columns it is, from 1."""
        if table.name not in self.across:
            said = [(head, across_name(table.mapping, head)) for head in table.place["heads"]]
            words = [(head, word) for head, word in said if word is not None]
            self.across[table.name] = {head: (word, place) for place, (head, word) in enumerate(words, 1)}
        return self.across[table.name]

    # Keys out of channels, and the other way

    def derive(self) -> None:
        """`also: keys` gives every device of a user the user's channels by number; `also: channels` turns it round."""
        for device in self.things["devices"]:
            user = self._user_of(device)
            if user is None:
                continue
            own = {key.key for key in device.keys}
            for entry in user.listed:
                if entry.table.mapping.also == "keys" and entry.number and f"A{entry.number}" not in own:
                    device.keys.append(_Key(f"A{entry.number}", entry.target, (None, entry.spot), {}, entry.table))
            listed = {id(entry.target) for entry in user.listed}
            for key in device.keys:
                if (
                    key.table.mapping.also == "channels"
                    and isinstance(key.target, Thing)
                    and id(key.target) not in listed
                ):
                    fields = {"mode": key.extra.pop("mode")} if "mode" in key.extra else {}
                    likely = int(key.key[1:])
                    user.listed.append(_Entry(key.target, None, fields, key.cell[1], {}, key.table, likely))

    def _user_of(self, device: Thing) -> Thing | None:
        for table, row in device.rows:
            said = dict(cells_of(row, table.mapping))
            if said.get("user", (None,))[0] is not None:
                return self._find("users", " ".join(text_of(_meaning(table.mapping, "user", said["user"][0])).split()))
        return None

    # Who is who

    def name_all(self) -> None:
        """Gives every thing its id: the one of the thing in the show that it is, or a new one."""
        taken: set[str] = {*self.current.groups, *self.current.users}
        for section in ("groups", "users"):
            self._name_section(section, taken)
        for section in ("devices", "bridges"):
            self._name_section(section, {*self.current.section(section)})

    def _name_section(self, section: str, taken: set[str]) -> None:
        things = sorted(self.things[section], key=lambda thing: thing.sort_key)
        facts = [self._facts(thing) for thing in things]
        known = known_facts(self.current, section)
        found = match(section, facts, known, self.answers)
        for place, thing in enumerate(things):
            if place in found.sure:
                thing.id = found.sure[place]
                self.made.matches.append((section, facts[place].said, thing.id, found.scores.get(place, 1.0)))
            elif place in found.doubts:
                self.made.doubts.append(found.doubts[place])
        for thing in things:
            if not thing.id:
                thing.id = (
                    thing.given
                    if thing.given and thing.given not in taken
                    else new_id(thing.name or thing.label or thing.given or "", section, taken)
                )
                taken.add(thing.id)

    def _members(self) -> dict[int, set[str]]:
        """Who has each target on the list, by name."""
        if not self.members:
            for user in self.things["users"]:
                name = plain(user.name)
                for entry in user.listed:
                    self.members.setdefault(id(entry.target), set()).add(name)
        return self.members

    def _facts(self, thing: Thing) -> Facts:
        content: set[str] = set()
        if thing.section == "groups":
            content = self._members().get(id(thing), set())
        elif thing.section == "users":
            content = {entry.target.id or plain(entry.target.name) for entry in thing.listed}
        elif thing.section == "devices":
            user = self._user_of(thing)
            content = {
                f"{key.key} {key.target if isinstance(key.target, str) else key.target.id}" for key in thing.keys
            }
            content |= {user.id} if user else set()
        address = self._port(thing) if thing.section == "bridges" else _address(thing.mark)
        label = thing.label or ("" if thing.rows else thing.name)
        return Facts(thing.name, label, thing.given, address, frozenset(content))

    def _port(self, bridge: Thing) -> str | None:
        """Unit and port of a bridge: where they are the same, the bridge is."""
        for table, row in bridge.rows:
            said = dict(cells_of(row, table.mapping))
            device = self._find("devices", self._text(table, said, "device"))
            port = self._text(table, said, "port")
            if device is not None and port:
                return f"{device.id} {port}"
        return None

    # The draft

    def fill(self) -> None:
        """Third pass: every field into the draft, with the cell that it came from."""
        firsts = self._first_tables()
        for section, things in self.things.items():
            for thing in things:
                tree = self.draft.things[section].setdefault(thing.id, {})
                self.draft.spots.setdefault((section, thing.id), thing.rows[0][1].spot if thing.rows else ("", "", 0))
                self.draft.values.setdefault((section, thing.id), thing.name or thing.label or thing.given)
                if not thing.rows and not thing.given and thing.id not in self.current.section(section):
                    tree["name"] = thing.name
                for table, row in thing.rows:
                    self._fields(table, thing, row, firsts)
        # Of the show itself, an empty cell says nothing.
        self.draft.covered |= {field for field in spoken_fields(self.mapping) if not field.startswith("head/")}
        self._note_silent()
        for user in self.things["users"]:
            self._channels(user, firsts)
        for device in self.things["devices"]:
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
            meant = _meaning(table.mapping, word, value)
            if word in LINES:
                self.draft.put((*path, "lines", word), spot, meant, lambda cell: self._line_mode(path, word, cell))  # noqa: B023
            elif word in ("user", "device", "target") and thing.section in ("devices", "bridges"):
                self.draft.put((*path, word), spot, meant, lambda cell: self._id_of(word, cell))  # noqa: B023
            else:
                self.draft.put((*path, word), spot, meant, _reader(thing.section, word))
        for head, value in row.extra.items():
            key = extra_key(table.name, head, firsts[table.mapping.each])
            self.draft.set((*path, "extra", key), row.spot, None, value)

    def _line_mode(self, path: tuple[str, ...], line: str, cell: Value) -> dict[str, str]:
        user = self.current.users.get(path[1])
        return meant_mode(text_of(cell), _mode_now(user.lines.get(line) if user else None))  # type: ignore[call-overload]

    def _id_of(self, word: str, value: Value) -> str:
        sections = {"user": ("users",), "device": ("devices",), "target": ("groups", "users")}[word]
        text = " ".join(text_of(value).split())
        found = next((thing for section in sections if (thing := self._find(section, text))), None)
        if found is None:
            raise Unreadable(f"a {word} of this file")
        return found.id

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
        self, path: tuple[str, ...], entry: _Entry, channel: dict[str, Any], now: Channel | None
    ) -> None:
        for word, (value, spot) in entry.fields.items():
            if value is None:
                continue
            meant = _meaning(entry.table.mapping, word, value)
            if word != "mode":
                self.draft.put((*path, word), spot, meant, _CHANNEL_READERS[word])
                continue
            try:
                channel.update(meant_mode(text_of(meant), _mode_now(now)))
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
                    self.draft.covered.add(f"head/{word}")
                    self.draft.put((word,), spot, _meaning(table.mapping, word, value), text_of)
            for name, value in row.extra.items():
                self.draft.set(("extra", name), row.spot, None, value)

    def _note_silent(self) -> None:
        spoken = [Spoken(table, frozenset(self._head_meanings(table))) for table in self.tables]
        whole = "devices" in self.draft.covered and self.mapping.missing == "remove"
        devices = [thing.id for thing in self.things["devices"]]
        self.draft.silent = silent(spoken, self.mapping, self.current, devices, whole)
        self.draft.placeless = without_place(self.mapping, self.current)

    def _head_meanings(self, table: PlotTable) -> Iterator[str]:
        """What the columns across stand for: ids of targets, numbers, or names of keys."""
        across = table.mapping.across
        for word, _ in self._heads_across(table).values():
            try:
                if across is not None and across.is_ == "target":
                    yield self._head_target(table, word)
                else:
                    yield str(_number(word)) if across is not None and across.is_ == "number" else key_of(word)
            except Unreadable:
                continue  # told with each of its cells

    def _head_target(self, table: PlotTable, word: str) -> str:
        """The id of the target that a head names; of one that no cell below it mentions, the one in the show."""
        text = " ".join(text_of(_meaning(table.mapping, "target", word)).split())
        for section in ("groups", "users"):
            found = self._find(section, text)
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
        for owner in self.things[section] if section else ():
            order.update(dict.fromkeys([owner.id] if any(mine is table for mine, _ in owner.rows) else []))
        if section is None:
            order = self._owner_order(table)
        if list(order) != sorted(order):
            place["rows"] = [*order]
        words = {
            thing.id: self.spelled[table.name][id(thing)]
            for things in self.things.values()
            for thing in things
            if id(thing) in self.spelled[table.name]
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
                self._find(section, " ".join(shown(_meaning(table.mapping, word, value)).split()))
                if value is not None
                else None
            )
            if found:
                order.setdefault(found.id)
        return order


def _apart(thing: Thing, given: str, mark: str) -> bool:
    """Whether a row of the same name is another thing: its id says so, else its mark."""
    if thing.given and given:
        return thing.given != given
    one, other = (folded(_address(text) or text or "") for text in (thing.mark, mark))
    return bool(one and other) and one != other


def _mode_now(use: Channel | LineUse | None) -> dict[str, str]:
    return {"talk": use.talk, "listen": use.listen} if use else {}


def _channel_ids(listed: Sequence[_Entry], now: Mapping[str, Channel]) -> list[str]:
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


def extra_key(table: str, head: str, first: str) -> str:
    """The field of `extra` for a column: its head; with the table's name where it is not the first of its kind."""
    return head if table == first else f"{table}: {head}"


def _meaning(table: MappedTable, word: str, value: Value) -> Value:
    """What a cell means by the mapping's codes; itself where they say nothing."""
    codes = table.codes.get(word)
    if not codes or value is None:
        return value
    said = shown(value)
    if said in codes:
        return codes[said]
    said = folded(said)
    return next((meaning for code, meaning in codes.items() if folded(code) == said), value)


def _first(row: PlotRow) -> Value:
    values = [cell[0] for cell in row.fields.values()] + [cell[0] for _, cell in row.across] + [*row.extra.values()]
    return next((value for value in values if isinstance(value, str | int | float)), None)


@lru_cache(maxsize=4096)
def _parts(says: str, text: str) -> tuple[tuple[str, str], ...]:
    """A cell across by its pattern: `LX (TL)` under `{target} ({mode})`."""
    text = text.strip()
    found = pattern(says).fullmatch(text) if len(text) <= 200 else None
    if not found:
        raise Unreadable(f"a cell such as {says}")
    return tuple((word, part.strip()) for word, part in found.groupdict().items())


def line_of(text: str) -> str | None:
    """The line that a word names, by its id or its usual label."""
    word = folded(text)
    return next((line for line in LINES if word in (line, LINE_LABELS[line].casefold())), None)


def key_of(text: str) -> str:
    """A key's name: `A1`, `a 1`, or `1` on the first page."""
    found = re.fullmatch(r"([A-Za-z]?)\s*0*([1-9][0-9]{0,2})", text.strip())
    if not found:
        raise Unreadable("a key: a page letter and a number, such as A1 or B15; a number alone is of page A")
    return f"{(found[1] or 'A').upper()}{found[2]}"


def _number(value: Value) -> int:
    found = re.fullmatch(r"\D{0,8}?\s*0*([1-9][0-9]{0,2})", text_of(value).strip())
    if not found:
        raise Unreadable("a channel's number, 1 to 999")
    return int(found[1])


def _address(text: str | None) -> str | None:
    from showvc.document import hardware_address

    try:
        return hardware_address(text) if text else None
    except ValueError:
        return None


def known_facts(show: Show, section: str) -> dict[str, Facts]:
    """What the show knows of its things, in the terms in which rows are matched."""
    if section == "groups":
        members: dict[str, set[str]] = {}
        for name, user in show.users.items():
            called = plain(user.name or name)
            for channel in user.channels:
                members.setdefault(channel.partition("#")[0], set()).add(called)
        return {name: _thing_facts(body, name, members.get(name, set())) for name, body in show.groups.items()}
    if section == "users":
        return {
            name: _thing_facts(body, name, {channel.partition("#")[0] for channel in body.channels})
            for name, body in show.users.items()
        }
    if section == "devices":
        return {
            name: replace(
                _thing_facts(
                    body, name, {*(f"{key} {to}" for key, to in body.keys.items()), *filter(None, [body.user])}
                ),
                hardware=body.hardware,
            )
            for name, body in show.devices.items()
        }
    return {
        name: Facts(body.circuit or f"{body.device} {body.port}", "", name, f"{body.device} {body.port}")
        for name, body in show.bridges.items()
    }


def _thing_facts(body: Any, name: str, content: set[str]) -> Facts:
    return Facts(body.name or name, getattr(body, "label", None) or "", name, None, frozenset(content))


def _words(words: Sequence[str]) -> Callable[[Value], str]:
    return lambda value: cells.choice(value, words)


def _plain_text(value: Value) -> str | None:
    return text_of(value).strip() or None


_CHANNEL_READERS: Mapping[str, Callable[[Value], Any]] = {
    "talk": _words(get_args(Talk)),
    "listen": _words(get_args(Listen)),
    "priority": _words(get_args(Priority)),
    "level": cells.decibel,
    "label": _plain_text,
}
_THING_READERS: Mapping[tuple[str, str], Callable[[Value], Any]] = {
    ("groups", "critical"): cells.flag,
    ("groups", "tags"): lambda value: cells.tags_of(text_of(value)),
    ("bridges", "kind"): _words(get_args(BridgeKind)),
    ("bridges", "direction"): _words(get_args(Direction)),
    ("bridges", "port"): lambda value: cells.whole(value, 1, 999),
}


def _reader(section: str, word: str) -> Callable[[Value], Any]:
    return _THING_READERS.get((section, word), _plain_text)
