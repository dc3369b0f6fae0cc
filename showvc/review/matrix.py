"""The matrix of paths as a table that can be read: those who talk down the side, those who hear across the top."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from showvc.document import Show
from showvc.paths import CIRCUITS, Paths, department_shares, letters, spoken

ACROSS, DOWN = 40, 60
"""Users that one table shows across and down; more are on the next."""
NOBODY = "(no department)"


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which part of the matrix is asked for: departments (empty: all), a text in names, and pages from 1."""

    talk: str = ""
    hear: str = ""
    find: str = ""
    down: int = 1
    across: int = 1


@dataclass(frozen=True, slots=True)
class Cell:
    """One pair: the letters of how the listener hears the talker, `-` for a user and themself."""

    listener: str
    letter: str


@dataclass(frozen=True, slots=True)
class Axis:
    """The users on one side of the table: those shown, how many there are, and the pages."""

    users: tuple[str, ...]
    count: int
    page: int
    pages: int


@dataclass(frozen=True, slots=True)
class Table:
    """A part of the matrix. `names` says how each user on it is called."""

    talkers: Axis
    listeners: Axis
    rows: tuple[tuple[str, tuple[Cell, ...]], ...]
    names: dict[str, str]


def departments(show: Show) -> list[str]:
    """Every department by name; last, where some have none, a word for these, and one for circuits."""
    found = {user.department or NOBODY for user in show.users.values()}
    circuits = [CIRCUITS] if len(show.circuits) else []
    return sorted(found - {NOBODY}) + sorted(found & {NOBODY}) + circuits


def table(paths: Paths, wanted: Wanted) -> Table:
    """The part of the matrix that is wanted. The text looked for counts for those who talk."""
    show, everybody = paths.show, paths.surely.positions
    talking = [name for name in everybody if _in(show, name, wanted.talk) and _found(show, name, wanted.find)]
    hearing = [name for name in everybody if _in(show, name, wanted.hear)]
    talkers, listeners = _axis(talking, wanted.down, DOWN), _axis(hearing, wanted.across, ACROSS)
    rows = tuple((name, _cells(paths, name, listeners.users)) for name in talkers.users)
    names = {name: spoken(show, name) for name in {*talkers.users, *listeners.users}}
    return Table(talkers, listeners, rows, names)


def _in(show: Show, name: str, department: str) -> bool:
    user = show.users.get(name)
    return not department or (CIRCUITS if user is None else user.department or NOBODY) == department


def _found(show: Show, name: str, text: str) -> bool:
    body = show.users.get(name)
    label = body.label if body is not None else None
    return text.casefold() in f"{name} {label or ''} {body.name if body is not None else show.label(name)}".casefold()


def _axis(users: Sequence[str], page: int, most: int) -> Axis:
    pages = max(1, -(-len(users) // most))
    page = min(max(1, page), pages)
    return Axis(tuple(users[(page - 1) * most : page * most]), len(users), page, pages)


def _cells(paths: Paths, talker: str, listeners: Sequence[str]) -> tuple[Cell, ...]:
    """One row: the best way for each listener, worked out for all of them at once."""
    return tuple(map(Cell, listeners, letters(paths, talker, listeners)))


def shares(paths: Paths) -> list[tuple[str, list[tuple[str, int, int]]]]:
    """For each department that talks: each that hears, how many pairs of two are heard, and how many there are."""
    named: dict[str, list[tuple[str, int, int]]] = {}
    for (talking, hearing), (there, possible) in department_shares(paths).items():
        named.setdefault(talking or NOBODY, []).append((hearing or NOBODY, there, possible))
    return list(named.items())
