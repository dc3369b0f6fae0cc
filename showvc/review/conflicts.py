"""An open merge as the page draws it: each conflict with its three sides, and the ways to settle it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from showvc.changes.words import place_words
from showvc.document import SECTIONS, Show, target_of
from showvc.document.pointers import parse
from showvc.history.pending import Outcome
from showvc.merging import Conflict, Sides, value_place
from showvc.merging.words import shown
from showvc.release.keysheets import Sheet, sheet_of
from showvc.report.merge_words import offer_words, problem_lines, sides_by_engineer
from showvc.report.panels import marks_of

MOST_PANELS = 4
"""Devices drawn with one conflict: of a show that ends at its limits there would be hundreds."""
MOST_DRAWN = 50
"""Conflicts drawn on one page; the others come up as these are settled."""


@dataclass(frozen=True, slots=True)
class Place:
    """One place that is disputed, and what each side has there, in words."""

    path: str
    words: str
    values: tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Row:
    """One channel of a list, on one side."""

    number: int
    label: str
    ways: str
    disputed: bool


@dataclass(frozen=True, slots=True)
class Drawing:
    """A panel or a list of channels, once for each side; None where a side has not got it."""

    title: str
    panels: tuple[tuple[Sheet | None, Mapping[str, str]], ...] = ()
    lists: tuple[tuple[Row, ...] | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Drawn:
    """A conflict with everything that the page shows of it.

    `sides` are the heads of its columns, with who made them and when; `place` is where a value of one's own would go,
    None where none settles it; `offer` says how it was settled before.
    """

    name: str
    key: str
    kind: str
    message: str
    sides: tuple[str, ...]
    places: tuple[Place, ...]
    drawings: tuple[Drawing, ...]
    both: bool
    place: str | None
    offer: str | None


def drawn(outcome: Outcome, sides: Sides[Show]) -> list[Drawn]:
    """The open conflicts in the order of their numbers, `MOST_DRAWN` of them."""
    found = sorted(outcome.merge.conflicts, key=lambda conflict: int(outcome.id_of(conflict)))
    return [_drawn(outcome, sides, conflict) for conflict in found[:MOST_DRAWN]]


def _drawn(outcome: Outcome, sides: Sides[Show], conflict: Conflict) -> Drawn:
    offer = outcome.offers.get(conflict.key)
    said = f"{offer_words(conflict, offer)}, by {offer.who or 'somebody'}" if offer else None
    return Drawn(
        outcome.id_of(conflict),
        conflict.key,
        conflict.kind,
        conflict.message,
        tuple(sides_by_engineer(outcome, conflict).values()),
        tuple(_places(sides, conflict)),
        tuple(_drawings(sides, conflict)),
        "both" in conflict.sides,
        value_place(conflict) if conflict.takes_value else None,
        said,
    )


def problems(outcome: Outcome) -> list[str]:
    """What was wrong on a side already."""
    return problem_lines(outcome, (each for each in outcome.merge.problems if each.stays))


def _places(sides: Sides[Show], conflict: Conflict) -> Iterator[Place]:
    values = zip(conflict.paths, conflict.before, conflict.mine, conflict.incoming, strict=True)
    for path, before, mine, incoming in values:
        steps = parse(path)
        show = next((each for each in (sides.mine, sides.incoming) if _has(each, steps)), sides.before)
        yield Place(path, place_words(show, steps), (shown(before), shown(mine), shown(incoming)))


def _has(show: Show, steps: tuple[str, ...]) -> bool:
    return steps[0] not in SECTIONS or steps[1] in show.section(steps[0])


# --- drawings ---


def _drawings(sides: Sides[Show], conflict: Conflict) -> Iterator[Drawing]:
    shows = (sides.before, sides.mine, sides.incoming)
    disputed = [parse(path) for path in conflict.paths]
    users = list(dict.fromkeys(steps[1] for steps in disputed if steps[0] == "users" and len(steps) > 1))
    for user in users[:MOST_PANELS]:
        channels = {steps[3] for steps in disputed if steps[:3] == ("users", user, "channels") and len(steps) > 3}
        yield from _list(shows, user, channels)
    for device in list(_devices(shows, disputed, users))[:MOST_PANELS]:
        yield _panel(shows, device)


def _devices(shows: tuple[Show, ...], disputed: list[tuple[str, ...]], users: list[str]) -> Iterator[str]:
    """The devices that a conflict is about: disputed themselves, or worn by a user whose list is."""
    own = [steps[1] for steps in disputed if steps[0] == "devices" and len(steps) > 1]
    ports = [
        show.bridges[steps[1]].device
        for steps in disputed
        for show in shows
        if steps[0] == "bridges" and len(steps) > 1 and steps[1] in show.bridges
    ]
    worn = [name for show in shows for name, body in show.devices.items() if body.user in users]
    there = dict.fromkeys((*own, *ports, *worn))
    yield from (name for name in there if any(name in show.devices for show in shows))


def _panel(shows: tuple[Show, ...], device: str) -> Drawing:
    sheets = [sheet_of(show, device) if device in show.devices else None for show in shows]
    name = next((sheet.name for sheet in reversed(sheets) if sheet is not None and sheet.name), "")
    marked = tuple((sheet, marks_of(sheets[0], sheet) if sheet is not None else {}) for sheet in sheets)
    return Drawing(f"{device} · {name}" if name else device, panels=marked)


def _list(shows: tuple[Show, ...], user: str, disputed: set[str]) -> Iterator[Drawing]:
    """The channels of a user that are not the same on all sides, and those in dispute."""
    lists = [show.users[user].channels if user in show.users else None for show in shows]
    every = {name for known in lists if known is not None for name in known}
    apart = {name for name in every if len({repr(known.get(name)) for known in lists if known is not None}) > 1}
    told = apart | disputed
    if not told or all(known is None for known in lists):
        return
    label = next(show.label(user) for show in reversed(shows) if user in show.users)
    yield Drawing(
        f"Channels of {label} that are not the same on all sides",
        lists=tuple(_rows(show, user, told, disputed) if user in show.users else None for show in shows),
    )


def _rows(show: Show, user: str, told: set[str], disputed: set[str]) -> tuple[Row, ...]:
    body = show.users[user]
    rows = []
    for name, entry in body.channels.items():
        if name in told:
            level = f", level {entry.level}" if entry.level else ""
            ways = f"talk {entry.talk}, listen {entry.listen}{level}"
            critical = target_of(name) in show.critical_groups
            label = show.key_label(body, name) + (" (critical)" if critical else "")
            rows.append(Row(entry.number, label, ways, name in disputed))
    return tuple(sorted(rows, key=lambda row: row.number))
