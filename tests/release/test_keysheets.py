"""A key sheet shows every key of every device in its place, and its lines line up."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from showvc.changes.caution import CAUTION
from showvc.document import Show, show_from_tree
from showvc.document.lining import columns
from showvc.release.keysheets import WIDTH, key_sheet, key_sheets

SALT: dict[str, Any] = {
    "title": "The Salt Road",
    "kinds": {"panel-15x2": {"keys": 15, "pages": 2}, "wall": {"keys": 200}},
    "groups": {
        "lx": {"name": "Lighting", "label": "LX"},
        "fly": {"name": "Fly Rail", "label": "FLY", "critical": True},
        "snd": {"name": "Sound"},
    },
    "users": {
        "sm": {
            "name": "Stage Manager",
            "channels": {
                "lx": {"number": 1, "talk": "latch"},
                "fly": {"number": 2, "talk": "momentary"},
                "snd": {"number": 3, "talk": "dual", "label": "SOUND"},
                "sm": {"number": 4, "listen": "none"},
            },
            "lines": {"alarm": {"talk": "momentary"}},
        }
    },
    "devices": {
        "desk-01": {
            "name": "Prompt desk",
            "kind": "desk-8",
            "user": "sm",
            "place": "Prompt corner",
            "keys": {"A1": "lx", "A2": "fly", "A8": "alarm"},
        },
        "if-01": {"kind": "ports-2"},
        "panel-01": {"kind": "panel-15x2", "user": "sm", "keys": {"B15": "lx"}},
    },
    "bridges": {"old": {"kind": "two-wire", "device": "if-01", "port": 2, "target": "fly", "circuit": "house-a"}},
}


def salt(**sections: dict[str, Any]) -> Show:
    return show_from_tree({**SALT, **sections})


def test_a_desk_is_drawn_with_its_keys_in_place() -> None:
    assert key_sheet(salt(), "desk-01").splitlines() == [
        "== desk-01 · Prompt desk ==",
        "kind desk-8 · worn by Stage Manager (sm) · Prompt corner",
        "",
        "Page A",
        "+-----------+-----------+-----------+-----------+-----------+-----------+-----------+-----------+",
        "| A1        | A2      ! | A3        | A4        | A5        | A6        | A7        | A8        |",
        "| LX        | FLY       |           |           |           |           |           | ALARM     |",
        "| latch     | momentary |           |           |           |           |           | momentary |",
        "+-----------+-----------+-----------+-----------+-----------+-----------+-----------+-----------+",
        "",
        "Not under a key: 3 SOUND (dual), 4 Stage Manager (silent)",
    ]


def test_an_interface_shows_its_ports_used_and_free() -> None:
    assert key_sheet(salt(), "if-01").splitlines() == [
        "== if-01 ==",
        "kind ports-2",
        "",
        "Ports",
        "  1  not used",
        "  2  House party line A (two-wire) to and from FLY !",
    ]


def test_a_panel_of_two_pages_shows_both_and_every_key_once() -> None:
    sheet = key_sheet(salt(), "panel-01")
    for page in "AB":
        for number in range(1, 16):
            assert sheet.count(f"| {page}{number} ") == 1


def test_every_device_has_its_sheet_and_the_head_says_what_it_is() -> None:
    sheets = key_sheets(salt(), heading=["Stamp K7F-2R4-W36H", "OVERRIDDEN: no fly rail in this venue"])
    assert sheets.startswith("KEY SHEETS · The Salt Road\nStamp K7F-2R4-W36H\nOVERRIDDEN: no fly rail in this venue\n")
    assert [line.split()[1] for line in sheets.splitlines() if line.startswith("== ")] == [
        "desk-01",
        "if-01",
        "panel-01",
    ]


def test_the_caution_stands_where_a_group_is_critical_and_only_there() -> None:
    def said(show: Show) -> str:
        return " ".join(key_sheets(show).split())

    calm = salt(groups={"lx": {}, "fly": {"name": "Fly Rail"}, "snd": {}})
    assert CAUTION in said(salt())
    assert CAUTION not in said(calm)


def test_broken_plots_are_drawn_and_said() -> None:
    devices = {
        "a": {"kind": "desk-8", "user": "sm", "keys": {"A1": "gone", "C3": "lx"}},
        "b": {"kind": "unheard-of", "user": "nobody", "keys": {"A7": "lx"}},
        "c": {"kind": "pack-2"},
    }
    broken = salt(devices=devices, bridges={})
    assert "no channel" in key_sheet(broken, "a")
    assert "Page C, not on this kind" in key_sheet(broken, "a")
    assert "| A7 " in key_sheet(broken, "b")
    assert "no user" in key_sheet(broken, "b")
    assert "worn by nobody" in key_sheet(broken, "c")


def test_a_page_of_hundreds_of_keys_says_in_a_line_what_is_not_set() -> None:
    sheet = key_sheet(salt(devices={"wall-01": {"kind": "wall", "user": "sm", "keys": {"A50": "lx"}}}), "wall-01")
    assert "A1 to A48: not set" in sheet
    assert "| A50 " in sheet
    assert "A57 to A200: not set" in sheet
    assert len(sheet.splitlines()) < 20


def test_a_show_without_devices_has_no_sheets() -> None:
    assert "==" not in key_sheets(show_from_tree({}))


labels = st.text(
    st.characters(categories=("L", "N", "P", "S", "Mn", "Zs"), exclude_characters="\u2028\u2029"),
    min_size=1,
    max_size=40,
)


@given(label=labels, name=labels, width=st.integers(40, 120))
@example(label="|", name="0", width=42)
def test_no_line_is_wider_than_the_page_and_all_boxes_line_up(label: str, name: str, width: int) -> None:
    groups = {**SALT["groups"], "lx": {"label": label, "name": name}}
    devices = {
        **SALT["devices"],
        "pack-01": {"name": name, "place": label, "kind": "pack-4", "user": "sm", "keys": {"A2": "lx"}},
    }
    sheets = key_sheets(salt(groups=groups, devices=devices), width)
    assert max(columns(line) for line in sheets.splitlines()) <= width
    drawn = list(boxes(sheets))
    assert drawn
    for box in drawn:
        assert len({columns(line) for line in box}) == 1


def boxes(sheets: str) -> Iterator[list[str]]:
    """The drawn rows of keys, from rule to rule; other lines may begin with any character that somebody typed."""
    box: list[str] = []
    for line in sheets.splitlines():
        rule = re.fullmatch(r"\+(-+\+)+", line)
        if rule or box:
            box.append(line)
        if rule and len(box) > 1:
            yield box
            box = []


@pytest.mark.parametrize("typed", ["|", "+"])
def test_a_place_that_looks_like_the_edge_of_a_key_is_text(typed: str) -> None:
    devices = {"pack-01": {"name": "0", "place": typed, "kind": "pack-4", "user": "sm", "keys": {"A2": "lx"}}}
    sheet = key_sheet(salt(devices=devices), "pack-01", 42)
    assert f"\n{typed}\n" in sheet
    assert len(list(boxes(sheet))) == 2


def test_the_printed_width_is_that_of_a_page() -> None:
    assert WIDTH == 100
    assert max(columns(line) for line in key_sheets(salt()).splitlines()) <= WIDTH
