"""The matrix as a table that lines up, as a summary, and as rows."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, show_from_tree
from showvc.document.lining import columns
from showvc.paths import (
    HAND_WORDS,
    csv_rows,
    department_shares,
    hands_of,
    matrix_table,
    matrix_text,
    summary_text,
    talk_paths,
)
from showvc.paths.keys import Hands
from showvc.paths.tables import names_line
from tests.generator import random_show
from tests.paths.plots import random_plot, worked


def hands(show: Show) -> Hands:
    return hands_of(show, talk_paths(show))


CREW = worked(
    {"sm": {"fly": "both", "port": "talk"}, "fly-1": {"fly": "listen"}, "port": {"fly": "open"}},
    "fly",
    keys={"sm": "fly"},
)


def test_a_small_show_is_a_table_of_letters() -> None:
    assert matrix_table(CREW, hands(CREW)) == (
        "   talks \\ hears  1  2  3\n"
        "1  fly-1          -  ·  ·\n"
        "2  port           o  -  o\n"
        "3  sm             K  m  -\n"
        "\n"
        "K on a key   o always open, needs no key   m in the menu only   · not heard"
    )


def test_below_it_stands_who_is_alone_and_who_has_the_lines() -> None:
    assert matrix_text(CREW, hands(CREW)).splitlines()[-4:] == [
        "heard by nobody: fly-1",
        "hears nobody: none",
        "can raise ALARM: none",
        "can use PAGE: none",
    ]


def test_a_line_that_is_in_the_menu_only_is_told_apart() -> None:
    talk = {"lines": {"alarm": {"talk": "momentary"}}}
    desk = {"kind": "desk-8", "user": "sm", "keys": {"A1": "alarm"}}
    show = show_from_tree({"users": {"sm": talk, "asm": talk}, "devices": {"desk-1": desk}})
    assert matrix_text(show, hands(show)).splitlines()[-3:-1] == [
        "can raise ALARM: sm",
        "can raise ALARM, in the menu only: asm",
    ]


def test_names_of_wide_letters_and_accents_line_up() -> None:
    show = show_from_tree({"users": {"sm": {"label": "舞台"}, "fly": {"label": "Re\u0301gie"}, "deck": {}}})
    lines = matrix_table(show, hands(show)).splitlines()[1:4]
    ends = {
        sum(2 if unicodedata.east_asian_width(c) == "W" else not unicodedata.combining(c) for c in line)
        for line in lines
    }
    assert len(ends) == 1


def test_a_large_show_is_a_summary_by_department_and_group() -> None:
    show = show_from_tree(
        {
            "groups": {"fly": {"label": "FLY", "critical": True}, "lx": {"label": "LX"}},
            "users": {
                "sm": {"department": "stage", "channels": {"fly": {"number": 1, "talk": "latch", "listen": "none"}}},
                "fly-1": {"department": "fly", "channels": {"fly": {"number": 1}}},
                "fly-2": {"department": "fly"},
                "spare": {},
            },
            "bridges": {"a": {"kind": "radio", "device": "if-01", "port": 1, "target": "lx"}},
        }
    )
    assert summary_text(show, hands(show)) == (
        "   talks \\ hears    1    2  3\n"
        "1  (no department)  -    ·  ·\n"
        "2  fly              ·    ·  ·\n"
        "3  stage            ·  50%  -\n"
        "\n"
        "of all pairs of two users, how many are heard: all, a part in per cent, or · none\n"
        "\n"
        "group       talk  listen  bridges\n"
        "fly    FLY     1       1           critical\n"
        "lx     LX      0       0  in out"
    )


def test_a_part_is_never_called_all_or_none() -> None:
    users = {"sm": {"lx": "talk"}, **{f"u{number}": {} for number in range(200)}, "op": {"lx": "listen"}}
    show = worked(users, "lx")
    assert "1%" in summary_text(show, hands(show))
    everyone = worked({"a": {"lx": "both"}, "b": {"lx": "both"}}, "lx")
    assert "all" in summary_text(everyone, hands(everyone)).splitlines()[1]


def test_the_large_show_gets_the_summary() -> None:
    small, large = random_show(1, users=24), random_show(1, users=25)
    assert matrix_text(small, hands(small)).startswith(matrix_table(small, hands(small)))
    assert matrix_text(large, hands(large)).startswith(summary_text(large, hands(large)))


def test_rows_name_the_listener_the_talker_the_hand_and_every_way() -> None:
    users = {"sm": {"fly": "talk", "fly-1": "talk", "stage": "talk"}, "fly-1": {"fly": "listen", "stage": "listen"}}
    show = worked(
        users, "fly stage", {"a": ("fly", "Truck", "out"), "b": ("stage", "Truck", "in")}, keys={"sm": "fly-1"}
    )
    assert list(csv_rows(show, hands(show))) == [("fly-1", "sm", "on a key", "fly; stage; direct; bridge a")]


@given(st.integers(0, 10**9))
def test_there_is_a_row_for_every_path(seed: int) -> None:
    show = show_from_tree(random_plot(seed))
    known = hands(show)
    rows = list(csv_rows(show, known))
    assert [(talker, listener) for listener, talker, _, _ in rows] == list(known.matrix.pairs())
    assert all(HAND_WORDS.get(known.hand(talker, listener)) == hand for listener, talker, hand, _ in rows)


@given(st.integers(0, 10**9))
def test_department_shares_count_every_path_once(seed: int) -> None:
    show = random_show(seed % 1000, users=15)
    known = hands(show)
    shares = department_shares(show, known.matrix)
    assert sum(there for there, _ in shares.values()) == len(known.matrix.pairs())
    assert sum(possible for _, possible in shares.values()) == 15 * 14


def test_long_lists_of_names_break_between_names() -> None:
    names = [f"FLY {number}" for number in range(40)]
    lines = list(names_line("  on FLY", names))
    assert len(lines) > 2 and max(map(len, lines)) <= 110
    assert lines[0].startswith("  on FLY: FLY 0, FLY 1,") and lines[1].startswith("      FLY ")
    assert " ".join(line.strip() for line in lines) == f"on FLY: {', '.join(names)}"
    assert list(names_line("on FLY", [str(number) for number in range(70)]))[-1].endswith(" 59 and 10 more")
    assert list(names_line("hears nobody", [])) == ["hears nobody: none"]


def test_a_table_that_is_too_wide_goes_on_below_itself() -> None:
    users = {f"user-{number:02}": {"lx": "both"} for number in range(20)}
    show = worked(users, "lx")
    known = hands(show)
    for table in (matrix_table(show, known, 40), matrix_text(show, known, 60)):
        assert len([line for line in table.splitlines() if line.startswith(" 5  user-04")]) > 1
    wide, narrow = matrix_table(show, known, 200).splitlines(), matrix_table(show, known, 40).splitlines()
    assert max(map(columns, narrow)) <= 40
    rows = {line.split()[1]: line.split()[2:] for line in wide[1:21]}
    again: dict[str, list[str]] = {name: [] for name in rows}
    for line in narrow:
        if "  user-" in line:
            again[line.split()[1]] += line.split()[2:]
    assert again == rows, "no cell is lost"


def test_names_that_leave_no_room_for_the_table_are_cut() -> None:
    show = show_from_tree(
        {"users": {"sm": {"name": "The one who stands behind the second wing on the left"}, "asm": {}}}
    )
    lines = matrix_table(show, hands(show), 40).splitlines()
    assert max(map(columns, lines)) <= 40 and "…" in lines[2]


def test_a_show_without_users_has_no_table() -> None:
    empty = show_from_tree({})
    assert matrix_text(empty, hands(empty)) == "This show has no users yet."


def test_a_long_title_breaks_too() -> None:
    lines = list(names_line("  by bridge house-line to circuit Tide House line 1", ["outside only"], 40))
    assert max(map(len, lines)) <= 40
    assert " ".join(" ".join(lines).split()) == "by bridge house-line to circuit Tide House line 1: outside only"
