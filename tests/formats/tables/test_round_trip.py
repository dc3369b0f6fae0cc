"""Whatever a show holds, its tables hold: show → tables → show is the identity, comments aside."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import SECTIONS, Show, ShowError, show_from_tree, to_tree
from showvc.document.editing import put
from showvc.formats.single import read_single, single_text
from showvc.formats.tables.drafts import rows_of_head, value_at
from showvc.formats.tables.layout import NUMBER, VERSION, columns_of
from showvc.formats.tables.plan import plan_import
from showvc.formats.tables.textfiles import read_csv, write_csv
from showvc.formats.tables.workbook import read_workbook, write_workbook
from showvc.merging import merge
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
            "lines": {"relay": {"name": text, "label": text}, "paging": {}},
            "required": {"a-b": {"from": "sm", "to": "lx", "why": text}},
            "apart": {"c-d": {"from": "everyone", "to": f"department:x{key}", "why": text}},
            "accepted": {"q": {"rule": text, "at": "/users/sm", "facts": text, "why": text or "because"}},
            "standards": {"s": {"for": "users/*", "where": {"label": text}, "must": {"name": text, "label": ""}}},
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
                "d": {
                    "kind": "pack-2",
                    "place": text,
                    "name": text,
                    "away": text,
                    "lent": {"to": text or "x", "until": "2026-12-04"},
                    "on": ["s", ["p", "q"]],
                    "extra": {f"Keys: {key}": text, "A1": text},
                }
            },
            "bridges": {"b": {"kind": "radio", "device": "d", "port": 1, "target": "lx", "circuit": "c", "away": text}},
            "circuits": {"c": {"name": text, "people": text, "hears": False, "one-at-a-time": True}},
            "carriers": {"s": {"name": text, "gives": {"watts": 12.5, "slots": 3}}},
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


def test_tables_of_an_older_layout_and_of_a_newer_one_are_told_apart():
    """A number that stands in the tables says how they are laid out."""
    tables = write_csv(show_from_tree({"title": "The Salt Road"}))
    for number, said in ((NUMBER + 1, "a newer showvc wrote it: update showvc"), (1, "export the show anew")):
        other = {
            name: data.replace(VERSION.encode(), f"showvc tables {number}".encode()) for name, data in tables.items()
        }
        with pytest.raises(ShowError, match=said):
            read_csv(other, "tables")


# Over another show


def columns_only_of(other: Show, show: Show) -> dict[str, list[tuple[str, ...]]]:
    """By sheet with things of their own: the places of `other` for which the tables of `show` have no column."""
    made: dict[str, list[tuple[str, ...]]] = {}
    for section in SECTIONS:
        here = {column.path for column in columns_of(show, section)}
        made[section] = [column.path for column in columns_of(other, section) if column.path not in here]
        extras = [{key for body in found.section(section).values() for key in body.extra} for found in (other, show)]
        made[section] += [("extra", key) for key in extras[0] - extras[1]]
    return made


@given(shows(), shows())
def test_tables_over_any_other_show_give_what_they_say_and_touch_nothing_else(show, other):
    """What a table says is so afterwards; of who is in it, all that it has no column for is as it was."""
    for data, name in ((write_workbook(show, None, WHEN), "show.xlsx"), (write_csv(show), "tables")):
        found = plan_import(other, data, name).show
        assert found is not None
        said = plan_import(show, data, name).show
        assert said is not None and same(said, show)
        left = columns_only_of(other, show)
        for section in SECTIONS:
            assert [*found.section(section)] == [*show.section(section)]
            for name_of, body in found.section(section).items():
                tree, wanted = to_tree(body), to_tree(show.section(section)[name_of])
                was = to_tree(other.section(section)[name_of]) if name_of in other.section(section) else {}
                for path in left[section]:
                    assert value_at(tree, path) == value_at(was, path), (section, name_of, path)
                for column in columns_of(show, section):
                    assert value_at(tree, column.path) == value_at(wanted, column.path), (section, name_of, column.path)
        heads = {name: getattr(found.head, name) for name in rows_of_head()}
        assert heads == {name: getattr(show.head, name) for name in rows_of_head()}


@given(shows(), st.data())
def test_an_edit_in_a_table_and_one_in_the_show_are_put_together(show, data):
    """Three sides: the show that was exported, a cell of it edited in the table, and another field edited meanwhile."""
    if not show.groups:
        return
    name = data.draw(st.sampled_from([*show.groups]))
    edited = put(show, {("groups", name, "name"): "Edited here"})
    meanwhile = put(show, {("groups", name, "critical"): not show.groups[name].critical})
    read = plan_import(show, write_workbook(edited, None, WHEN), "show.xlsx").show
    assert read is not None and same(read, edited)
    merged = merge(show, meanwhile, read)
    assert merged.show is not None
    assert merged.show.groups[name].name == "Edited here"
    assert merged.show.groups[name].critical == meanwhile.groups[name].critical
