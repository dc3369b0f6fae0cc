"""A show back into other people's files, by the mapping that read them: their columns, in their order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from showvc.document import PLOTS, SECTIONS, Shape, Show, target_of, to_tree
from showvc.document.cells import cell_text
from showvc.document.references import HOMES
from showvc.document.values import Thing
from showvc.formats.tables import trees
from showvc.formats.tables.catalogue import sections_of
from showvc.formats.tables.cells import Unreadable
from showvc.formats.tables.drafts import Names, value_at
from showvc.formats.tables.mapping import SECTION_OF, MappedTable, PlotMapping, field_shape, is_mode, row_fields
from showvc.formats.tables.meanings import extra_key, key_of, names_in
from showvc.formats.tables.notation import says_mode
from showvc.formats.tables.opening import refused
from showvc.formats.tables.plots import across_name
from showvc.formats.tables.sheets import write_plain_workbook, write_text_table
from showvc.identity.names import folded

Fields = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Line:
    """One row to be written: fields by name, cells across by what their heads say, extra by column, its owners' ids."""

    id: str
    fields: Fields
    across: Mapping[str, str]
    extra: Mapping[str, Any]
    owners: Mapping[str, str]


def write_plot(show: Show, mapping: PlotMapping, ending: str) -> dict[str, bytes]:
    """The show through a mapping: file name → bytes. One file, or one for each table of text.

    `ending` says which: `.xlsx`, `.csv`, `.json`, `.xml`. ShowError where mapping and ending do not go together.
    """
    work = _Writer(show, mapping)
    if ending in (".json", ".xml"):
        write = trees.write_json if ending == ".json" else trees.write_xml
        return {f"plot{ending}": write(work.tree())}
    if any(table.rows for table in mapping.tables.values()):
        raise refused(f"plot{ending}", "cannot be written: the mapping is of a JSON or XML file", "write .json or .xml")
    grids = work.grids()
    if ending == ".xlsx":
        return {"plot.xlsx": write_plain_workbook(grids)}
    return {f"{name}.csv": write_text_table(rows) for name, rows in grids.items()}


def grid_numbers(show: Show, mapping: PlotMapping) -> Mapping[str, int]:
    """Target → the number of its channels, where a grid of targets says it by the order of its columns."""
    return _Writer(show, mapping).numbers()


class _Writer:
    def __init__(self, show: Show, mapping: PlotMapping) -> None:
        self.show, self.mapping = show, mapping
        kept = show.head.extra.get(PLOTS)
        self.places: Mapping[str, Any] = kept if isinstance(kept, dict) else {}
        self.finders: dict[str, Names] = {}
        self.firsts: dict[str, str] = {}
        for name, table in mapping.tables.items():
            self.firsts.setdefault(table.each, name)

    def place(self, name: str) -> Mapping[str, Any]:
        found = self.places.get(self.mapping.tables[name].kept_as(name))
        return found if isinstance(found, dict) else {}

    # What each table says

    def lines(self, name: str) -> list[Line]:
        table = self.mapping.tables[name]
        made = [*_LINES[table.each](self, name, table)]
        order = {key: number for number, key in enumerate(self.place(name).get("rows", []))}
        return sorted(made, key=lambda line: order.get(line.id, len(order)))

    def things(self, name: str, table: MappedTable) -> Iterator[Line]:
        section = SECTION_OF[table.each]
        for key, body in self.show.section(section).items():
            tree = to_tree(body)
            fields = {**self.fields(name, table, tree), "id": key}
            owners: dict[str, str] = {word: tree[word] for word in ("user", "device") if word in tree}
            owners[table.each] = key
            yield Line(key, fields, self.across(name, table, tree), self._extra(name, table, tree), owners)

    def fields(self, name: str, table: MappedTable, tree: Fields) -> Fields:
        """What the columns of a table say of a body; what it refers to is called as the table calls it."""
        found: Fields = {}
        for word in table.columns.values():
            shape, steps = field_shape(table.each, word), tuple(word.split("/"))
            if shape is None:
                continue
            value = value_at(tree, steps)
            if is_mode(table.each, word):
                found[word] = None if value is None else _mode(value)
            elif sections_of(shape):
                found[word] = self._spelled(name, word, value, shape)
            elif shape.kind in ("flag", "number", "text", "notes"):
                usual = shape.default if shape.choices or shape.kind == "flag" else None
                found[word] = usual if value is None else value
            else:
                found[word] = cell_text(value, shape) or None
        return found

    def _spelled(self, name: str, word: str, value: Any, shape: Shape) -> str | None:
        if isinstance(value, list):
            names = [[self.spell(name, word, one, shape.to) for one in names_in(member)] for member in value]
            return cell_text([inner[0] if len(inner) == 1 else inner for inner in names], shape) or None
        return None if value is None else self.spell(name, word, value, shape.to)

    def across(self, name: str, table: MappedTable, tree: Fields) -> dict[str, str]:
        if table.across is None:
            return {}
        cells: dict[str, str] = {}
        if table.across.is_ == "key":
            user = self.show.users[tree["user"]] if tree.get("user") in self.show.users else None
            for key, target in tree.get("keys", {}).items():
                channel = user.channels.get(target) if user else None
                mode = self.code(table, "mode", _mode(to_tree(channel) if channel else {}))
                cells[key] = table.across.says.format(target=self.spell(name, "target", target), mode=mode)
            return cells
        for channel, fields in tree.get("channels", {}).items():
            target = channel.partition("#")[0]
            if table.across.is_ == "target" and target != channel and target in tree["channels"]:
                continue  # a column for each target holds its first channel
            said = {word: fields.get(word, shape.default) for word, shape in row_fields("channel").items() if shape}
            said = {word: "" if value is None else value for word, value in said.items()}
            said |= {"target": self.spell(name, "target", target), "mode": self.code(table, "mode", _mode(fields))}
            head = target if table.across.is_ == "target" else str(fields["number"])
            cells[head] = table.across.says.format(**said)
        return cells

    def channels(self, name: str, table: MappedTable) -> Iterator[Line]:
        for user, body in self.show.users.items():
            tree = to_tree(body)
            for channel, said in sorted(tree.get("channels", {}).items(), key=lambda item: item[1]["number"]):
                fields = {**self.fields(name, table, said), "mode": _mode(said)}
                fields["user"] = self.spell(name, "user", user)
                fields["target"] = self.spell(name, "target", channel.partition("#")[0])
                yield Line(user, fields, {}, self._extra(name, table, said), {"user": user})

    def keys(self, name: str, table: MappedTable) -> Iterator[Line]:
        for device, body in self.show.devices.items():
            for key, target in to_tree(body).get("keys", {}).items():
                fields = {
                    "device": self.spell(name, "device", device),
                    "key": key,
                    "target": self.spell(name, "target", target),
                }
                beside = {
                    word.removeprefix(f"{key}: "): value
                    for word, value in body.extra.items()
                    if word.startswith(f"{key}: ")
                }
                yield Line(
                    device,
                    fields,
                    {},
                    self._extra(name, table, {"extra": beside}),
                    {"device": device, "user": body.user or ""},
                )

    def head(self, name: str, table: MappedTable) -> Iterator[Line]:
        fields = self.fields(name, table, to_tree(self.show.head))
        yield Line("", fields, {}, self._extra(name, table, {"extra": self.show.head.extra}), {})

    def _extra(self, name: str, table: MappedTable, tree: Fields) -> dict[str, Any]:
        held = tree.get("extra", {})
        found = {}
        for head in self.place(name).get("heads", []):
            key = extra_key(name, head, self.firsts[table.each])
            if key in held:
                found[head] = held[key]
        return found

    # How things are called

    def spell(self, name: str, word: str, target: str, thing: Thing | None = None) -> str:
        """What a cell of this table calls a thing: the word that stood there, while it still means that thing."""
        base, to = target_of(target), thing or _TO[word]
        if base in self.show.lines and "lines" in HOMES[to]:
            return base
        kept = self.place(name).get("words", {}).get(base)
        bodies = (self.show.section(section) for section in HOMES[to] if section in SECTIONS)
        body = next((found[base] for found in bodies if base in found), None)
        table = self.mapping.tables[name]
        for text in (kept, getattr(body, "name", ""), getattr(body, "label", "")):
            if text and self._means(table, word, text, to) == base:
                return str(text)
        return base

    def _means(self, table: MappedTable, word: str, text: str, thing: Thing) -> str | None:
        said = next(
            (meaning for code, meaning in table.codes.get(word, {}).items() if folded(code) == folded(text)), text
        )
        sections = [section for section in HOMES[thing] if section in SECTIONS]
        return next((found for section in sections if (found := self._names(section).find(said))), None)

    def _names(self, section: str) -> Names:
        if section not in self.finders:
            words = [(key, to_tree(body)) for key, body in self.show.section(section).items()]
            self.finders[section] = Names(words, section)
        return self.finders[section]

    def code(self, table: MappedTable, word: str, meaning: Any) -> Any:
        """The cell that says this by the mapping's codes; the meaning itself where it has none."""
        codes = table.codes.get(word, {})
        said = _as_word(meaning)
        found = next((code for code, means in codes.items() if folded(means) == folded(said)), None)
        if found is None and is_mode(table.each, word):
            talk, _, listen = said.partition("/")
            found = next((code for code, means in codes.items() if says_mode(means, talk, listen)), None)
        return meaning if found is None else found

    # Grids

    def numbers(self) -> Mapping[str, int]:
        """The channel numbers that a grid of targets gives, where the order of its columns says them."""
        for name, table in self.mapping.tables.items():
            if table.across is not None and table.across.is_ == "target" and table.also == "keys":
                columns = [key for _, key in self.heads(name, table, self.lines(name)) if key is not None]
                return {key: number for number, key in enumerate(columns, 1)}
        return {}

    def grids(self) -> dict[str, list[list[Any]]]:
        made: dict[str, list[list[Any]]] = {}
        for name, table in self.mapping.tables.items():
            title = table.sheet or (table.file or "").rpartition(".")[0] or name
            made.setdefault(title, []).extend(self.grid(name))
        return made

    def grid(self, name: str) -> list[list[Any]]:
        table, place = self.mapping.tables[name], self.place(name)
        lines = self.lines(name)
        heads = self.heads(name, table, lines)
        rows: list[list[Any]] = [[*row] for row in place.get("above", [])]
        while table.head is not None and len(rows) < table.head - 1:
            rows.append([])
        rows.append([head for head, _ in heads])
        rows += [[*row] for row in place.get("under", [[]] * table.under)]
        rows += [[self._cell(table, line, head, across) for head, across in heads] for line in lines]
        return rows

    def heads(self, name: str, table: MappedTable, lines: Sequence[Line]) -> list[tuple[str, str | None]]:
        """Heads in their order, each with what it says across; new columns across stand behind the last of these."""
        kept = self.place(name).get("heads") or [*table.columns]
        keys = [(head, self._across_key(table, name, head)) for head in kept]
        heads = [(self._head(table, name, head, key), key) for head, key in keys]
        there = {key for _, key in heads if key}
        new = sorted({key for line in lines for key in line.across} - there)
        last = max((number for number, (_, key) in enumerate(heads) if key), default=len(heads) - 1)
        made = [(self._new_head(table, name, key), key) for key in new]
        return [*heads[: last + 1], *made, *heads[last + 1 :]]

    def _head(self, table: MappedTable, name: str, head: str, key: str | None) -> str:
        """A head as it stood; that of a target which has another name by now says the new one."""
        if table.across is None or table.across.is_ != "target" or key is None or self.show.target(key) is None:
            return head
        still = self._means(table, "target", across_name(table, head) or "", "target") == key
        return head if still else self._new_head(table, name, key)

    def _new_head(self, table: MappedTable, name: str, key: str) -> str:
        assert table.across is not None, "cells across want a mapping across"
        return table.across.heads.format(self.spell(name, "target", key) if table.across.is_ == "target" else key)

    def _across_key(self, table: MappedTable, name: str, head: str) -> str | None:
        """Which target, number or key a head stands for; None for a column that is not across."""
        word = across_name(table, head)
        if word is None or table.across is None:
            return None
        if table.across.is_ == "target":
            by_word = {folded(text): key for key, text in self.place(name).get("words", {}).items()}
            return by_word.get(folded(word)) or self._means(table, "target", word, "target") or word
        if table.across.is_ == "key":
            try:
                return key_of(word)
            except Unreadable:  # told on import, with each cell below it
                return word
        return word.lstrip("0")

    def _cell(self, table: MappedTable, line: Line, head: str, across: str | None) -> Any:
        if across is not None:
            return line.across.get(across)
        if head in table.columns:
            word = table.columns[head]
            return self.written(table, word, line.fields.get(word), as_flag=False)
        value = line.extra.get(head)
        return value if value is None or isinstance(value, str | int | float | bool) else str(value)

    def written(self, table: MappedTable, word: str, value: Any, as_flag: bool) -> Any:
        coded = self.code(table, word, value)
        if isinstance(coded, bool) and not as_flag:
            shape = field_shape(table.each, word)
            return "yes" if coded else None if shape is None or shape.default is False else "no"
        return coded

    # Trees

    def tree(self) -> Any:
        """The whole tree: tables from the outside in, each row within the row that it belongs to."""
        root: dict[str, Any] = {}
        top: list[dict[str, Any]] | None = None
        rows: dict[str, list[tuple[Line, dict[str, Any]]]] = {}
        for name in sorted(self.mapping.tables, key=lambda name: len(self._steps(name))):
            table, steps, outer = self.mapping.tables[name], self._steps(name), self._outer(name)
            made = [(line, self._node(name, table, line)) for line in self.lines(name)]
            many = self.place(name).get("many", table.each != "show")
            if many and not steps:
                rows[name], top = made, [node for _, node in made]
                continue
            rows[name] = []
            find = _finder(rows[outer], self.mapping.tables[outer].each) if outer else None
            within = steps[len(self._steps(outer)) :] if outer else steps
            for line, node in made:
                holder = find(line) if find else root
                if holder is not None:
                    trees.hang(holder, within, node, many, str(line.fields.get(table.columns.get("*", ""), "")))
                    rows[name].append((line, node if within else root))
        return trees.tidied(root if top is None else top)

    def _steps(self, name: str) -> list[str]:
        return trees.steps_of(self.mapping.tables[name].rows or "")

    def _outer(self, name: str) -> str | None:
        """The table whose rows those of this one stand in: the nearest around it."""
        own = self._steps(name)
        around = [
            other for other in self.mapping.tables if self._steps(other) in [own[:size] for size in range(len(own))]
        ]
        return max(around, key=lambda other: (len(self._steps(other)), other), default=None)

    def _node(self, name: str, table: MappedTable, line: Line) -> dict[str, Any]:
        heads = self.place(name).get("heads") or [head for head in table.columns if not head.startswith("../")]
        node: dict[str, Any] = {}
        for head in [*heads, *(head for head in table.columns if head not in heads)]:
            if head.startswith("../") or head == "*":
                continue
            if head.endswith("/"):
                trees.put(node, head[:-1], trees.PLACE)
                continue
            value = self._tree_value(name, table, line, head)
            if value is not None or head in line.extra:
                trees.put(node, head, value)
        kept = {key: head for head in reversed(heads) if (key := self._across_key(table, name, head))}
        for key, cell in line.across.items():
            assert table.across is not None, "cells across want a mapping across"
            trees.put(node, kept.get(key) or table.across.heads.format(key), cell)
        return node

    def _tree_value(self, name: str, table: MappedTable, line: Line, head: str) -> Any:
        if head in table.columns:
            word = table.columns[head]
            value = self.written(table, word, line.fields.get(word), as_flag=True)
            return None if value is False and head not in self.place(name).get("false", []) else value
        return line.extra.get(head)


def _finder(outer: Sequence[tuple[Line, dict[str, Any]]], each: str) -> Callable[[Line], dict[str, Any] | None]:
    """Finds the row that a line belongs in: its owner's; for a channel among devices, that of its user's first."""
    rows = {owner.id: node for owner, node in reversed(outer)}
    worn = {owner.owners.get("user", ""): node for owner, node in reversed(outer)} if each == "device" else {}

    def find(line: Line) -> dict[str, Any] | None:
        if each == "show":
            return outer[0][1] if outer else None
        return rows.get(line.owners[each]) if each in line.owners else worn.get(line.owners.get("user") or "-")

    return find


_LINES: Mapping[str, Callable[[_Writer, str, MappedTable], Iterator[Line]]] = {
    **dict.fromkeys(SECTION_OF, _Writer.things),
    "channel": _Writer.channels,
    "key": _Writer.keys,
    "show": _Writer.head,
}
_TO: Mapping[str, Thing] = {"user": "user", "device": "device", "target": "target"}
"""What a row that is no body of its own points at."""


def _mode(fields: Mapping[str, Any]) -> str:
    return f"{fields.get('talk', 'none')}/{fields.get('listen', 'switchable')}"


def _as_word(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)
