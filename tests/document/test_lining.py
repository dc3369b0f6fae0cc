"""Text lines up whatever its letters are, and is cut and broken by what a terminal shows of it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document.lining import columns, counted, cut, lined_up, padded, printable, table, wrapped


@pytest.mark.parametrize(("text", "wide"), [("", 0), ("FLY", 3), ("舞台", 4), ("e\u0301", 1), ("é", 1), ("👷", 2)])
def test_columns_are_what_a_terminal_takes(text: str, wide: int) -> None:
    assert columns(text) == wide


@given(st.text(max_size=30), st.integers(2, 20))
def test_padding_makes_every_text_as_wide_as_asked(text: str, width: int) -> None:
    assert columns(padded(text, width)) == width
    assert cut(text, columns(text)) == text


@given(st.text(st.characters(categories=("L", "Zs")), max_size=60), st.integers(2, 20))
def test_wrapping_loses_no_letter(text: str, width: int) -> None:
    lines = wrapped(text, width)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(columns(line) <= width for line in lines)


@given(st.text(st.characters(categories=("L", "Zs")), max_size=60), st.integers(2, 20), st.integers(1, 3))
def test_wrapping_to_a_number_of_lines_says_what_it_left_out(text: str, width: int, most: int) -> None:
    lines = wrapped(text, width, most)
    assert len(lines) <= most
    assert "".join("".join(lines).split()) == "".join(text.split()) or lines[-1].endswith("…")


def test_a_table_lines_up_and_leaves_its_last_column_alone() -> None:
    assert table(("device", "holds"), [("desk-01", "x" * 50), ("p", "y")]) == [
        "device   holds",
        "-------  -----",
        "desk-01  " + "x" * 50,
        "p        y",
    ]
    assert table(("device",), []) == []


def test_columns_stand_below_each_other_to_the_left_or_to_the_right() -> None:
    rows = [["who", "hears", "note"], ["舞台", "7", "stage"], ["sm", "12", ""]]
    assert lined_up(rows) == ["who   hears  note", "舞台  7      stage", "sm    12"]
    assert lined_up(rows, right=(1,)) == ["who   hears  note", "舞台      7  stage", "sm       12"]
    assert lined_up([]) == []


def test_things_are_counted_in_words() -> None:
    assert [counted(number, "more device") for number in (0, 1, 2)] == [
        "0 more devices",
        "1 more device",
        "2 more devices",
    ]


def test_what_would_garble_a_line_is_escaped_and_what_joins_letters_is_not() -> None:
    assert printable("a\x1b[2Jb\u202ec") == r"a\u001b[2Jb\u202ec"
    assert printable("👩\u200d🎤 می\u200cشود") == "👩\u200d🎤 می\u200cشود"


def test_columns_stay_below_each_other_where_a_cell_holds_what_is_shown_as_an_escape() -> None:
    assert lined_up([["a\x9bb", "x"], ["c", "y"]]) == [r"a\u009bb  x", "c         y"]
