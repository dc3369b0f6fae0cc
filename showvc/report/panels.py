"""Panels before and after: which devices are drawn otherwise, and which of their keys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from showvc.document import SECTIONS, Show, differing, target_of
from showvc.release.keysheets import Cap, Sheet, sheet_of

NEW, OTHER, EMPTY = "new", "changed", "now empty"
_BEFORE = {OTHER: "was", EMPTY: "goes"}
"""What stands at such a key in the drawing of before; at a new one nothing does."""


@dataclass(frozen=True, slots=True)
class PanelChange:
    """A device whose drawing changed; None on a side where it is not there.

    `marks` gives each key that changed a word: `new`, `changed`, `now empty`.
    """

    device: str
    before: Sheet | None
    after: Sheet | None
    marks: Mapping[str, str] = field(default_factory=dict)

    @property
    def name(self) -> str:
        sheet = self.after or self.before
        return sheet.name if sheet else ""

    @property
    def before_marks(self) -> dict[str, str]:
        """The words for the drawing of before."""
        return {key: _BEFORE[mark] for key, mark in self.marks.items() if mark in _BEFORE}

    @property
    def relabelled(self) -> tuple[tuple[str, str, str], ...]:
        """Each key of the device as it is now with another label: the key, its label now, and its label before."""
        old, new = (sheet.caps if sheet else {} for sheet in (self.before, self.after))
        labels = ((key, new[key].label, old[key].label if key in old else "") for key in new)
        return tuple((key, now, was) for key, now, was in labels if now != was)


def panel_changes(before: Show, after: Show) -> list[PanelChange]:
    """The devices that are drawn otherwise in `after`, by id. Only those that an edit may touch are looked at."""
    found = []
    for name in _maybe(before, after):
        old, new = (sheet_of(show, name) if name in show.devices else None for show in (before, after))
        marks = marks_of(old, new)
        if marks or (old is None) != (new is None) or _drawn(old) != _drawn(new):
            found.append(PanelChange(name, old, new, marks))
    return found


def _drawn(sheet: Sheet | None) -> object:
    return sheet and (sheet.pages, sheet.ports)


def _maybe(before: Show, after: Show) -> Iterator[str]:
    """The devices whose drawing an edit may have changed."""
    edited = {name: set(differing(before.section(name), after.section(name))) for name in SECTIONS}
    targets = edited["users"] | edited["groups"]
    tied = {
        bridge.device
        for show in (before, after)
        for name, bridge in show.bridges.items()
        if name in edited["bridges"] or bridge.target in targets
    }
    everywhere = (before.head.lines, before.head.kinds) != (after.head.lines, after.head.kinds)
    for name in sorted({*before.devices, *after.devices}):
        bodies = [show.devices[name] for show in (before, after) if name in show.devices]
        held = {target_of(channel) for body in bodies for channel in body.keys.values()}
        worn = {body.user for body in bodies}
        if everywhere or name in edited["devices"] | tied or worn & edited["users"] or held & targets:
            yield name


def marks_of(before: Sheet | None, after: Sheet | None) -> dict[str, str]:
    """The keys that show something else on two sheets of one device, each with a word."""
    old, new = (sheet.caps if sheet else {} for sheet in (before, after))
    marks = {}
    for key in {**old, **new}:
        was, now = old.get(key, Cap(key)), new.get(key, Cap(key))
        if was != now and (was.target is not None or now.target is not None):
            marks[key] = NEW if was.target is None else EMPTY if now.target is None else OTHER
    return marks
