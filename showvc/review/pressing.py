"""What the buttons do: the same commands as `settle` and `undo`, with the same locks and the same log behind them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from showvc.document import ShowError
from showvc.history.answers import by_side, by_value, finish, settle_every, settle_remembered
from showvc.history.joining import drop, settle_open
from showvc.history.operations import log, undo
from showvc.history.pending import Outcome
from showvc.merging import Conflict, Settlement
from showvc.review.desk import Desk
from showvc.review.pages import Page, recorded_values

Pressed = Callable[[Desk], Page | str]
"""What is shown, or the address to go on to."""


def settle(desk: Desk) -> Page | str:
    """Settles one conflict: for a side, by a value, or as it was settled before.

    The conflict is meant by its content: one that has changed since the page was made is not settled unseen.
    """
    key, take, value = desk.text("conflict"), desk.text("take"), desk.asked.get("value", "")
    known = _open(desk, key)
    said = f"--value {value}" if take == "value" else "--remembered" if take == "remembered" else f"--take {take}"

    def choose(outcome: Outcome) -> Sequence[Settlement]:
        conflict = _conflict(outcome, key)
        if take == "value":
            return [by_value(desk.archive, conflict, value.strip())]
        if take == "remembered":
            return [_offer(outcome, conflict)]
        return [by_side(desk.archive, conflict, take)]

    return _told(desk, settle_open(desk.archive, choose, desk.shows, f"settle {known} {said}"))


def _open(desk: Desk, key: str) -> str:
    """The number of an open conflict, for the log."""
    from showvc.history.answers import open_merge

    outcome = open_merge(desk.archive, desk.shows)
    return outcome.id_of(_conflict(outcome, key))


def _conflict(outcome: Outcome, key: str) -> Conflict:
    for conflict in outcome.merge.conflicts:
        if conflict.key == key:
            return conflict
    raise ShowError("this conflict is settled already, or is another one now", "look at what is open, and settle that")


def _offer(outcome: Outcome, conflict: Conflict) -> Settlement:
    if conflict.key not in outcome.offers:
        raise ShowError("this conflict was not settled before", "take one of its sides, or give a value")
    return outcome.offers[conflict.key]


def settle_all(desk: Desk) -> Page | str:
    """Settles all that is open, for one side or as it was settled before."""
    take = desk.text("take")
    if take == "remembered":
        return _told(desk, settle_remembered(desk.archive, desk.shows))
    return _told(desk, settle_every(desk.archive, desk.shows, take))


def finish_merge(desk: Desk) -> Page | str:
    """Records a merge that edits in the folder have left nothing to settle of."""
    return _told(desk, finish(desk.archive, desk.shows))


def let_go(desk: Desk) -> str:
    """Drops the open merge."""
    drop(desk.archive)
    return "/merge"


def step_back(desk: Desk) -> str:
    """Steps back over the last command, where it is still the one that the page showed."""
    newest = next(iter(log(desk.archive, 1)), None)
    if newest is None or str(newest.number) != desk.text("number"):
        raise ShowError("another command was given since", "look at how things stand now, then decide")
    undo(desk.archive)
    return "/merge"


def _told(desk: Desk, outcome: Outcome) -> Page | str:
    """What is still open, on the page it was pressed on; or what was recorded."""
    return Page("recorded.html.j2", recorded_values(desk, outcome)) if outcome.recorded else "/merge"


BUTTONS: Mapping[str, Pressed] = {
    "/merge/settle": settle,
    "/merge/all": settle_all,
    "/merge/finish": finish_merge,
    "/merge/drop": let_go,
    "/merge/back": step_back,
}
