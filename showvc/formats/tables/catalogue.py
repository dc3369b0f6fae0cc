"""The things that other people's files speak of, and how a cell finds the one that it points at."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from showvc.document import SECTIONS, Shape, Show, hardware_address
from showvc.document.references import HOMES
from showvc.formats.tables.cells import shown
from showvc.formats.tables.drafts import ID_SHAPE, Path, Spot
from showvc.formats.tables.meanings import name_in
from showvc.formats.tables.plots import Cell, PlotRow, PlotTable, cells_of
from showvc.identity.names import folded


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
    listed: list[Listed] = field(default_factory=list)
    keys: list[HeldKey] = field(default_factory=list)
    id: str = ""

    @property
    def sort_key(self) -> tuple[str, ...]:
        return (folded(self.name), folded(self.label), self.given or "", self.mark or "")


@dataclass(slots=True)
class Listed:
    """One channel as a file tells it. `likely` is its number where neither file nor show says one."""

    target: Thing
    number: int | None
    fields: dict[str, Cell]
    spot: Spot
    extra: dict[str, Any]
    table: PlotTable
    likely: int = 0


@dataclass(slots=True)
class HeldKey:
    key: str
    target: Thing | str
    cell: Cell
    extra: dict[str, Any]
    table: PlotTable


class Catalogue:
    """All that the tables list or point at, found by name, label or id.

    `covered` is the set of sections that the tables list themselves; it grows while they are read.
    """

    def __init__(self, current: Show, covered: set[Path]) -> None:
        self.current, self.covered = current, covered
        self.things: dict[str, list[Thing]] = {section: [] for section in SECTIONS}
        self.spelled: dict[tuple[str, int], str] = {}
        """By table and thing: the word that the table has for it."""
        self._words: dict[tuple[str, str], list[Thing]] = {}
        self._known: dict[str, set[str]] = {}

    def know(self, thing: Thing) -> None:
        self.things[thing.section].append(thing)
        for word in {folded(thing.name), folded(thing.label), thing.given or ""} - {""}:
            self._words.setdefault((thing.section, word), []).append(thing)

    def find(self, section: str, text: str) -> Thing | None:
        found = self.called(section, text)
        return found[0] if found else None

    def called(self, section: str, text: str) -> Sequence[Thing]:
        return self._words.get((section, folded(text)), []) if text else []

    def point(self, table: PlotTable, field_name: str, cell: Cell, sections: Sequence[str]) -> Thing:
        """The thing that a cell points at; one that the file does not list is made. Unreadable for a failed cell."""
        text = name_in(table.mapping, field_name, cell[0])
        meant = (section for section in sections if self.find(section, text) or self._only_in_current(section, text))
        section = next(meant, sections[0])
        found = self.find(section, text)
        if found is None:
            is_id = ID_SHAPE.fullmatch(text) and text in self.current.section(section)
            found = Thing(section, text, "", text if is_id else None)
            self.know(found)
        self.spelled.setdefault((table.name, id(found)), shown(cell[0]).strip())
        return found

    def _only_in_current(self, section: str, text: str) -> bool:
        """Whether the show has this, in a section that the file does not list itself."""
        if (section,) in self.covered:
            return False
        if section not in self._known:
            bodies = self.current.section(section)
            words = {
                folded(word) for body in bodies.values() for word in (body.name, getattr(body, "label", None) or "")
            }
            self._known[section] = {*bodies, *words} - {""}
        return text in self._known[section] or folded(text) in self._known[section]

    def line(self, text: str) -> str | None:
        """The line of the show that a word names: by its id, name or label."""
        word = folded(text)
        lines = self.current.lines.items()
        return next((name for name, line in lines if word in (name, folded(line.name), folded(line.label or ""))), None)

    def user_of(self, device: Thing) -> Thing | None:
        for table, row in device.rows:
            said = dict(cells_of(row, table.mapping))
            if said.get("user", (None,))[0] is not None:
                return self.find("users", name_in(table.mapping, "user", said["user"][0]))
        return None


def sections_of(shape: Shape | None) -> tuple[str, ...]:
    """The sections in which stands what a field of this shape refers to."""
    homes = HOMES.get(shape.to, ()) if shape is not None and shape.to is not None else ()
    return tuple(home for home in homes if home in SECTIONS)


def apart(thing: Thing, given: str, mark: str) -> bool:
    """Whether a row of the same name is another thing: its id says so, else its mark."""
    if thing.given and given:
        return thing.given != given
    one, other = (folded(address_of(text) or text or "") for text in (thing.mark, mark))
    return bool(one and other) and one != other


def address_of(text: str | None) -> str | None:
    try:
        return hardware_address(text) if text else None
    except ValueError:
        return None
