"""Whatever a show holds, its tables hold: show → tables → show is the identity, comments aside."""

from __future__ import annotations

import json

import pytest
from hypothesis import given

from showvc.document import Show, show_from_tree
from showvc.formats.single import read_single, single_text
from showvc.formats.tables.textfiles import read_csv, write_csv
from showvc.formats.tables.workbook import read_workbook, write_workbook
from tests.strategies import shows

WHEN = "2026-03-04T18:30:00+01:00"

AWKWARD = [
    " ", "012", "1E3", "1E+03", "12-Mar", "Mar-12", "3/4", "12:30", "=1+1", "+x", "-x", "-3", "@x", "'", "'=x", "''a", "'012",
    "'#REF!", "#REF!", "TRUE", "true", "yes", "json: 1", "→Long 1", '""', '"', '"a"', 'a"b', "1.50", "1.5", "12345678901234567",
    "Total", "Id", "éø", "٣", "\ufffe", "_x0041_", "a;b", "a,b", "null", "~", "Name", "x" * 500, "0.30000000000000004",
]  # fmt: skip


def same(found: Show, show: Show) -> bool:
    """Equal, and equal in the types of the JSON values as well (1 is not 1.0 is not true)."""
    return found == show and json.dumps(found.tree(), sort_keys=True) == json.dumps(show.tree(), sort_keys=True)


def through_workbook(show: Show) -> Show:
    return read_workbook(write_workbook(show, "K7QF", WHEN), "show.xlsx")[0]


def through_text(show: Show) -> Show:
    return read_csv(write_csv(show, "K7QF", WHEN), "tables")[0]


def through_json(show: Show) -> Show:
    return read_single(single_text(show, ".json").encode(), "show.json")


@given(shows())
def test_any_show_survives_its_workbook(show):
    assert same(through_workbook(show), show)


@given(shows())
def test_any_show_survives_its_text_tables(show):
    assert same(through_text(show), show)


@given(shows())
def test_any_show_survives_its_json_document(show):
    assert same(through_json(show), show)


@pytest.mark.parametrize("through", [through_workbook, through_text])
@pytest.mark.parametrize("text", ["", *AWKWARD], ids=lambda text: ascii(text[:20]))
def test_text_that_spreadsheets_mangle_survives_in_every_field(through, text):
    key = text[:150]
    show = show_from_tree(
        {
            "title": text,
            "notes": f"{text}\n {text}\n",
            "extra": {key: text, "of numbers": [1, 1.0, 0.1, True, None, text], "columns": text},
            "lines": {"relay": {"label": text}, "paging": {}},
            "required": {"a-b": {"from": "sm", "to": "lx", "why": text}},
            "accepted": {"q": {"rule": text, "at": text, "why": text or "because"}},
            "groups": {
                "lx": {"name": text, "label": text, "tags": [text, "b"], "extra": {key: text, f"{key}2": {"a": text}}}
            },
            "users": {
                "sm": {
                    "name": text,
                    "label": text,
                    "department": text,
                    "channels": {
                        "lx": {"number": 3, "label": text, "level": -1e-7, "priority": "high", "extra": {key: 1.0}},
                        "lx#2": {"number": 3, "talk": "dual", "listen": "none", "level": 0.1},
                        "gone": {"number": 999},
                    },
                    "lines": {"alarm": {}, "relay": {"talk": "open", "level": 0.30000000000000004}},
                    "extra": {key: 1, f"Channels: {key}": 2.5, "Name": True, "3": None, "a;b": 10**30},
                }
            },
            "devices": {
                "d": {"kind": "pack-2", "place": text, "name": text, "extra": {f"Keys: {key}": text, "A1": text}}
            },
            "bridges": {"b": {"kind": "radio", "device": "d", "port": 1, "target": "lx", "circuit": text}},
        }
    )
    assert same(through(show), show)


@pytest.mark.parametrize("through", [through_workbook, through_text])
def test_text_longer_than_a_cell_survives_wherever_it_may_be_so_long(through):
    text = "x" * 40_000  # a cell holds 32,767 characters at most, from memory
    show = show_from_tree({"title": "x", "notes": text, "groups": {"lx": {"extra": {"a": text, "b": [text]}}}})
    assert same(through(show), show)


def test_tables_say_which_snapshot_they_are_of():
    show = show_from_tree({"title": "The Salt Road"})
    for about in (
        read_workbook(write_workbook(show, "K7QF", WHEN), "show.xlsx")[1],
        read_csv(write_csv(show, "K7QF", WHEN), "tables")[1],
    ):
        assert (about.stamp, about.when) == ("K7QF", WHEN)
    assert read_workbook(write_workbook(show, None, WHEN), "show.xlsx")[1].stamp is None
