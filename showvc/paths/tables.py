"""The matrix on a screen, as a summary, and as rows for a spreadsheet. All read surely."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from showvc.document.lining import columns, cut, lined_up, wrapped
from showvc.paths.grades import graded
from showvc.paths.hands import HANDS, Hand
from showvc.paths.model import Paths
from showvc.paths.naming import spoken
from showvc.paths.pairs import bits_of, slots_of
from showvc.paths.reach import Members, alone, line_talkers, target_members
from showvc.paths.reading import ANY, SURE

WIDTH = 110
"""Columns of a line of names, where nothing else is asked for: fits a terminal of 120."""
SMALL = 24
"""The most positions whose matrix is drawn in full."""
HAND_WORDS: dict[Hand, str] = {
    "key": "on a key",
    "open": "always open",
    "page": "on a key of another page",
    "menu": "menu only",
}
LETTERS = {(False, False): "K", (False, True): "P", (True, False): "m"}
LEGEND = "K on a key or always open   P on a key of another page   m menu only   ? unsure   · can't hear"
_CORNER = "talks \\ hears"
CSV_HEAD = ("listener", "talker", "talker has it", "sure", "over")


def matrix_text(paths: Paths, width: int = WIDTH) -> str:
    """Who hears whom: the table of a small show, the summary of a large one; then who is alone, and the lines.

    Lists of names are broken at `width` columns, and so is a table: its columns go on in another below.
    """
    positions = paths.surely.positions
    if not positions:
        return "This show has no users yet."
    body = matrix_table(paths, width) if len(positions) <= SMALL else summary_text(paths, width)
    names = [*_alone(paths), *_lines(paths)]
    return "\n".join([body, "", *(line for title, found in names for line in names_line(title, found, width))])


def matrix_table(paths: Paths, width: int = WIDTH) -> str:
    """A letter or two for each pair: the row talks, the column hears. The legend stands below."""
    positions = paths.surely.positions
    head = ["", _CORNER, *(str(number) for number in range(1, len(positions) + 1))]
    rows = [
        [str(number), spoken(paths.show, talker), *letters(paths, talker, positions)]
        for number, talker in enumerate(positions, 1)
    ]
    return "\n".join([*_crossed([head, *rows], width), "", *wrapped(LEGEND, width)])


def letters(paths: Paths, talker: str, listeners: Iterable[str]) -> list[str]:
    """For each of these positions the letters of how it hears the talker, `-` for the talker."""
    place = paths.lists.place
    grades = graded(paths.surely, talker)
    found = []
    for listener in listeners:
        grade = next((grade for grade, bits in grades.items() if bits >> place[listener] & 1), None)
        letter = "·" if grade is None else LETTERS[grade.menu, grade.paged] + "?" * grade.unsure
        found.append("-" if listener == talker else letter)
    return found


def _crossed(rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """A table with a number and a name before the cells of each row; too wide a one in parts, one below the other."""
    rows = [[row[0], cut(row[1], max(width // 2, len(_CORNER))), *row[2:]] for row in rows]
    named, *cells = (max(map(columns, column)) + 2 for column in list(zip(*rows, strict=True))[1:])
    named += max(columns(row[0]) for row in rows)
    fitting = max(1, (width - named) // max(cells, default=1))
    parts = [range(start, min(start + fitting, len(rows[0]))) for start in range(2, len(rows[0]), fitting)]
    tables = (
        lined_up([[*row[:2], *(row[at] for at in part)] for row in rows], {*range(len(part) + 2)} - {1})
        for part in parts
    )
    return [line for number, table in enumerate(tables) for line in ([""] * bool(number) + table)]


# --- a large show ----------------------------------------------------------------------------------------------------


def summary_text(paths: Paths, width: int = WIDTH) -> str:
    """How much of each department hears each other department, and how many talk and listen on each group."""
    return "\n".join([*_department_lines(paths, width), "", *_group_lines(paths)])


CIRCUITS = "(circuits)"
"""The department that circuits stand under."""


def department_shares(paths: Paths) -> dict[tuple[str, str], tuple[int, int]]:
    """For each two departments, of talkers and of listeners: the pairs that hold, and all pairs that could.

    Users without a department stand under the empty name, circuits under `CIRCUITS`.
    """
    members: dict[str, list[str]] = {}
    for name in paths.surely.positions:
        user = paths.show.users.get(name)
        members.setdefault(CIRCUITS if user is None else user.department or "", []).append(name)
    place, width = paths.lists.place, len(paths.lists.order)
    masks = {name: bits_of((place[each] for each in found), width) for name, found in sorted(members.items())}
    return {
        (talking, hearing): (
            sum((paths.surely.row(name) & mask).bit_count() for name in members[talking]),
            len(members[talking]) * len(members[hearing]) - (len(members[talking]) if talking == hearing else 0),
        )
        for talking in masks
        for hearing, mask in masks.items()
    }


def _department_lines(paths: Paths, width: int) -> list[str]:
    shares = department_shares(paths)
    names = list(dict.fromkeys(talking for talking, _ in shares))
    head = ["", _CORNER, *(str(number) for number in range(1, len(names) + 1))]
    rows = [
        [str(number), talking or "(no department)", *(_share(*shares[talking, hearing]) for hearing in names)]
        for number, talking in enumerate(names, 1)
    ]
    legend = "Share of talker-listener pairs with a path; · means none."
    return [*_crossed([head, *rows], width), "", *wrapped(legend, width)]


def _share(there: int, possible: int) -> str:
    if not there:
        return "·" if possible else "-"
    return "all" if there == possible else f"{min(99, max(1, there * 100 // possible))} %"


def _group_lines(paths: Paths) -> list[str]:
    groups = paths.facts.groups
    rows = [_group_row(paths, members) for members in target_members(paths) if members.target in groups]
    return lined_up([["GROUP", "", "TALK", "LISTEN", ""], *rows], right=(2, 3))


def _group_row(paths: Paths, group: Members) -> list[str]:
    critical = "critical" if paths.show.groups[group.target].critical else ""
    label = paths.show.label(group.target)
    return [group.target, label, str(len(group.talkers)), str(len(group.listeners)), critical]


def _alone(paths: Paths) -> Iterator[tuple[str, list[str]]]:
    cut_off, show = alone(paths), paths.show
    off = [name for name in paths.lists.parts if name not in paths.lists.ports]
    off = [name for name in off if not paths.surely.is_on_headset(name)]
    yield "off headset", [spoken(show, name) for name in off]
    yield "heard by nobody", [spoken(show, name) for name in cut_off.heard_by_nobody if name not in off]
    yield "hears nobody", [spoken(show, name) for name in cut_off.hears_nobody if name not in off]


def _lines(paths: Paths) -> Iterator[tuple[str, list[str]]]:
    for line in sorted(paths.surely.line_names):
        talkers = line_talkers(paths, line)
        in_menu = [spoken(paths.show, name) for name, hand in talkers if hand == "menu"]
        named = spoken(paths.show, line)
        yield f"can raise {named}", [spoken(paths.show, name) for name, hand in talkers if hand != "menu"]
        if in_menu:
            yield f"can raise {named}, menu only", in_menu


# --- rows ------------------------------------------------------------------------------------------------------------


def csv_rows(paths: Paths) -> Iterator[tuple[str, str, str, str, str]]:
    """A row for each path and target, under `CSV_HEAD`, sorted by talker, listener and target; lines among them."""
    read, order = paths.surely, paths.lists.order
    for talker in read.positions:
        found: list[tuple[str, str, Hand, bool]] = []
        for target, hand in read.hands(talker).items():
            sure = read.over(talker, target, SURE)
            found += [
                (order[slot], target, hand, bool(sure >> slot & 1)) for slot in slots_of(read.over(talker, target, ANY))
            ]
        for listener, target, hand, is_sure in sorted(found, key=lambda row: (row[0], row[1], HANDS.index(row[2]))):
            yield listener, talker, HAND_WORDS[hand], "yes" if is_sure else "no", target


# --- names -----------------------------------------------------------------------------------------------------------


MOST_NAMED = 60


def names_line(title: str, names: Iterable[str], width: int = WIDTH) -> Iterator[str]:
    """A title and its names in order, `MOST_NAMED` of them, broken into lines between names; `none` without any."""
    found = sorted(names, key=_by_word_and_number)
    said, more = found[:MOST_NAMED], len(found) - MOST_NAMED
    pieces = [*(f"{name}," for name in said[:-1]), *said[-1:]] or ["none"]
    indent = " " * (len(title) - len(title.lstrip()))
    *above, line = (indent + part for part in wrapped(f"{title}:", width - len(indent)))
    yield from above
    room = indent + " " * 4
    for piece in [*pieces, f"and {more} more"] if more > 0 else pieces:
        if columns(line) + 1 + columns(piece) > width:
            yield line
            line = room + piece
        else:
            line = f"{line} {piece}"
    yield line


def _by_word_and_number(name: str) -> tuple[list[str], list[int]]:
    """Orders `FLY 2` before `FLY 10`."""
    return re.split(r"\d+", name.casefold()), [int(number) for number in re.findall(r"\d+", name)]
