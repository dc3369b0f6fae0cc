"""The matrix on a screen, as a summary, and as rows for a spreadsheet."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from showvc.document import Show
from showvc.document.lining import columns, cut, lined_up, wrapped
from showvc.paths.keys import HANDS, Hand, Hands
from showvc.paths.matrix import Matrix
from showvc.paths.members import Members, alone, group_members, line_talkers
from showvc.paths.naming import spoken
from showvc.paths.pairs import bits_of, slots_of
from showvc.paths.reaching import Way, Web, ways_out

WIDTH = 110
"""Columns of a line of names, where nothing else is asked for: fits a terminal of 120."""
SMALL = 24
"""The most users whose matrix is drawn in full."""
HAND_WORDS: dict[Hand, str] = {"key": "on a key", "open": "always open", "menu": "in the menu only"}
LETTERS: dict[Hand | None, str] = {"key": "K", "open": "o", "menu": "m", None: "·"}
LEGEND = "K on a key   o always open, needs no key   m in the menu only   · not heard"
_CORNER = "talks \\ hears"
CSV_HEAD = ("listener", "talker", "talker has it", "by way of")


def matrix_text(show: Show, hands: Hands, width: int = WIDTH) -> str:
    """Who hears whom: the table of a small show, the summary of a large one; then who is alone, and the lines.

    Lists of names are broken at `width` columns, and so is a table: its columns go on in another below.
    """
    if not show.users:
        return "This show has no users yet."
    body = matrix_table(show, hands, width) if len(show.users) <= SMALL else summary_text(show, hands, width)
    names = [*_alone(show, hands.matrix), *_lines(show, hands)]
    return "\n".join([body, "", *(line for title, found in names for line in names_line(title, found, width))])


def matrix_table(show: Show, hands: Hands, width: int = WIDTH) -> str:
    """One letter for each pair: the row talks, the column hears. The legend stands below."""
    users = hands.matrix.users
    head = ["", _CORNER, *(str(number) for number in range(1, len(users) + 1))]
    rows = [
        [str(number), spoken(show, talker), *(_letter(hands, talker, listener) for listener in users)]
        for number, talker in enumerate(users, 1)
    ]
    return "\n".join([*_crossed([head, *rows], width), "", *wrapped(LEGEND, width)])


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


def _letter(hands: Hands, talker: str, listener: str) -> str:
    return "-" if talker == listener else LETTERS[hands.hand(talker, listener)]


# --- a large show ----------------------------------------------------------------------------------------------------


def summary_text(show: Show, hands: Hands, width: int = WIDTH) -> str:
    """How much of each department hears each other department, and how many talk and listen on each group."""
    return "\n".join([*_department_lines(show, hands.matrix, width), "", *_group_lines(show, hands.matrix)])


def department_shares(show: Show, matrix: Matrix) -> dict[tuple[str, str], tuple[int, int]]:
    """For each two departments, of talkers and of listeners: the pairs that hold, and all pairs that could.

    Users without a department stand under the empty name.
    """
    members: dict[str, list[int]] = {}
    for name, user in show.users.items():
        members.setdefault(user.department or "", []).append(matrix.ears.place[name])
    masks = {name: bits_of(slots, len(matrix.ears.order)) for name, slots in sorted(members.items())}
    return {
        (talking, hearing): (
            sum((matrix.rows[slot] & mask).bit_count() for slot in slots_of(masks[talking])),
            len(members[talking]) * len(members[hearing]) - (len(members[talking]) if talking == hearing else 0),
        )
        for talking in masks
        for hearing, mask in masks.items()
    }


def _department_lines(show: Show, matrix: Matrix, width: int) -> list[str]:
    shares = department_shares(show, matrix)
    names = list(dict.fromkeys(talking for talking, _ in shares))
    head = ["", _CORNER, *(str(number) for number in range(1, len(names) + 1))]
    rows = [
        [str(number), talking or "(no department)", *(_share(*shares[talking, hearing]) for hearing in names)]
        for number, talking in enumerate(names, 1)
    ]
    legend = "of all pairs of two users, how many are heard: all, a part in per cent, or · none"
    return [*_crossed([head, *rows], width), "", *wrapped(legend, width)]


def _share(there: int, possible: int) -> str:
    if not there:
        return "·" if possible else "-"
    return "all" if there == possible else f"{min(99, max(1, there * 100 // possible))}%"


def _group_lines(show: Show, matrix: Matrix) -> list[str]:
    rows = [_group_row(show, group) for group in group_members(show, matrix)]
    return lined_up([["group", "", "talk", "listen", "bridges", ""], *rows], right=(2, 3))


def _group_row(show: Show, group: Members) -> list[str]:
    ways = " ".join(word for word, there in (("in", group.brought_in), ("out", group.carried_out)) if there)
    critical = "critical" if show.groups[group.group].critical else ""
    label = show.label(group.group)
    return [group.group, label, str(len(group.talkers)), str(len(group.listeners)), ways, critical]


def _alone(show: Show, matrix: Matrix) -> Iterator[tuple[str, list[str]]]:
    cut_off = alone(matrix)
    yield "heard by nobody", [spoken(show, name) for name in cut_off.heard_by_nobody]
    yield "hears nobody", [spoken(show, name) for name in cut_off.hears_nobody]


def _lines(show: Show, hands: Hands) -> Iterator[tuple[str, list[str]]]:
    for line in show.lines:
        talkers = line_talkers(show, line, hands.keys)
        in_menu = [spoken(show, name) for name, keys in talkers if not keys]
        yield f"can use {show.label(line)}", [spoken(show, name) for name, keys in talkers if keys]
        if in_menu:
            yield f"can use {show.label(line)}, in the menu only", in_menu


# --- rows ------------------------------------------------------------------------------------------------------------


def csv_rows(show: Show, hands: Hands) -> Iterator[tuple[str, str, str, str]]:
    """A row for each path, under `CSV_HEAD`: listener, talker, how the talker comes to it, and the ways it takes.

    Sorted by talker, then listener. Every way is there: groups, `direct`, and the bridges that carry it out first.
    """
    web, order = Web(hands), hands.matrix.ears.order
    for talker in hands.matrix.users:
        found: dict[int, list[str]] = {}
        best: dict[Hand, int] = dict.fromkeys(HANDS, 0)
        for way in ways_out(hands, talker, web):
            best[way.hand] |= way.bits
            words = way_words(way)
            for slot in slots_of(way.bits):
                found.setdefault(slot, []).append(words)
        found.pop(hands.matrix.ears.place[talker], None)
        for slot in sorted(found, key=order.__getitem__):
            hand = next(hand for hand in HANDS if best[hand] >> slot & 1)
            yield order[slot], talker, HAND_WORDS[hand], "; ".join(found[slot])


def way_words(way: Way) -> str:
    """A way in a word or two: the group's id, `direct`, or the bridge."""
    return f"bridge {way.by}" if way.kind == "bridge" else way.by or "direct"


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
