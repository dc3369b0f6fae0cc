"""Answers to conflicts as they are typed or pressed: which conflict is meant, and what is decided about it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

from showvc.document import ShowError
from showvc.document.editing import shape_at
from showvc.document.pointers import parse
from showvc.formats.typed import value_of as typed_value
from showvc.history.archive import Archive
from showvc.history.joining import none_open, pending_merge, settle_open, side_of, value_of
from showvc.history.pending import Outcome
from showvc.history.shows import Shows
from showvc.merging import Conflict, Settlement, Side, value_place

HOW_TO_FINISH = "nothing is left to settle: record the merge with: showvc settle --finish"


def open_merge(archive: Archive, shows: Shows) -> Outcome:
    """The open merge. ShowError where none is open."""
    found = pending_merge(archive, shows)
    if found is None:
        raise none_open()
    return found


def conflict_named(outcome: Outcome, name: str) -> Conflict:
    """The open conflict of this number. ShowError where there is none, with those that are open."""
    for conflict in outcome.merge.conflicts:
        if outcome.id_of(conflict) == name:
            return conflict
    known = outcome.open_ids
    raise ShowError(f"there is no open conflict {name}", f"open are: {known}" if known else HOW_TO_FINISH)


def by_side(archive: Archive, conflict: Conflict, take: str) -> Settlement:
    """A decision for a side. ShowError where this conflict is not settled so."""
    return side_of(archive, conflict, cast("Side", take))


def by_value(archive: Archive, conflict: Conflict, text: str) -> Settlement:
    """A decision for a value that was typed. ShowError where it cannot stand there."""
    if not conflict.takes_value:
        return value_of(archive, conflict, text)  # which refuses it
    place = value_place(conflict)
    shape = shape_at(parse(place))
    assert shape is not None, "a conflict stands at a place of the document"
    return value_of(archive, conflict, typed_value(text, shape, place))


def settle_every(archive: Archive, shows: Shows, take: str | None, yes: bool = False) -> Outcome:
    """Settles every open conflict for one side, those that only come up then included; never a twin, one or two."""
    if take is None:
        raise ShowError("all conflicts: for which side?", "say it with: --all --take mine, or --all --take incoming")
    if take not in ("mine", "incoming"):
        raise ShowError(f"{take!r} is no side that can be taken for all", "take mine or incoming: --all --take mine")
    outcome, asked = open_merge(archive, shows), set[str]()
    if outcome.waits and (yes or not outcome.held):
        return finish(archive, shows)
    while keys := {conflict.key for conflict in outcome.merge.conflicts if conflict.kind != "twin"} - asked:
        asked |= keys

        def choose(now: Outcome) -> Sequence[Settlement]:
            return [by_side(archive, each, take) for each in now.merge.conflicts if each.kind != "twin"]

        outcome = settle_open(archive, choose, shows, f"settle --all --take {take}", yes=yes)
    return outcome


def settle_remembered(archive: Archive, shows: Shows) -> Outcome:
    """Settles what was settled before in the same way. ShowError where nothing was."""
    outcome = open_merge(archive, shows)
    if outcome.waits and not outcome.held:
        return finish(archive, shows)
    if not outcome.offers:
        raise ShowError("none of the open conflicts was settled before", "settle them one by one: showvc settle")
    return settle_open(archive, lambda now: list(now.offers.values()), shows, "settle --remembered")


def finish(archive: Archive, shows: Shows) -> Outcome:
    """Records an open merge that edits in the folder have left nothing to settle of. ShowError where something is."""

    def nothing(now: Outcome) -> Sequence[Settlement]:
        if not now.merge.clean:
            way_out = "settle them with: showvc settle"
            raise ShowError(f"the merge cannot be finished yet: open are {now.open_ids}", way_out)
        return []

    return settle_open(archive, nothing, shows, "settle --finish", yes=True)
