"""A release of a hub comes in only under the stamp of what it says."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from showvc.document import Show, ShowError
from showvc.history.archive import RELEASES
from showvc.history.hub_plan import Notice, Plan
from showvc.history.shows import Shows

StampOf = Callable[[Show], str]
"""The stamp of a show; ShowError where it can have none."""


def misnamed(shows: Shows, names: Mapping[str, str | None], stamp_of: StampOf | None) -> dict[str, Notice]:
    """The releases among these names that lead to another show than their stamp says, and what to say of it.

    Whoever asks for a stamp must get that show and no other, so such a name is not taken.
    """
    found: dict[str, Notice] = {}
    for name, oid in names.items():
        if stamp_of and oid and name.startswith(RELEASES) and _stamp(stamp_of, shows, oid) != _word(name):
            words = f"The hub's release {_word(name)} leads to another show than its stamp says: it is not taken."
            found[name] = Notice("refused", _word(name), words, needs_person=True)
    return found


def _stamp(stamp_of: StampOf, shows: Shows, oid: str) -> str | None:
    try:
        return stamp_of(shows.at(oid))
    except ShowError:
        return None


def _word(name: str) -> str:
    return name.removeprefix(RELEASES)


def without(planned: Plan, refused: Mapping[str, Notice]) -> Plan:
    """The plan without what is not to come in."""
    here = {name: oid for name, oid in planned.here.items() if name not in refused}
    words = {notice.name for notice in refused.values()}
    told = [each for each in planned.notices if (each.kind, each.name in words) != ("release", True)]
    return replace(planned, here=here, notices=(*told, *refused.values()))
