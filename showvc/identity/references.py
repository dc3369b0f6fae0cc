"""What points at what, by the ids of a section; and an id changed at all of these places at once."""

from __future__ import annotations

from collections import defaultdict

from showvc.document import Show
from showvc.document.editing import Steps, put
from showvc.document.redirecting import redirected
from showvc.document.references import HOMES
from showvc.document.references import references as every_reference


def references(show: Show, section: str) -> dict[str, set[Steps]]:
    """Every place that names a thing of a section, by the thing's id: of a list's entry the entry, else the field."""
    found: dict[str, set[Steps]] = defaultdict(set)
    for reference in every_reference(show):
        if section in HOMES.get(reference.thing, ()):
            found[reference.target].add(reference.steps)
    return found


def renamed(show: Show, section: str, old: str, new: str) -> Show:
    """The show with one thing under another id, and all that pointed at it pointing there.

    Nothing where the old id is none, or the new one is taken.
    """
    if old not in show.section(section) or new in show.section(section):
        return show
    show = put(show, redirected(show, section, old, new))
    return show.with_section(section, {old: None, new: show.section(section)[old]})
