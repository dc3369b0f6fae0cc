"""Fields of every kind in a cell of our own workbook: what it looks like, and that one cell changes one field."""

from __future__ import annotations

import datetime

import pytest

from showvc.changes import compare
from showvc.document import show_from_tree
from showvc.formats.tables.drafts import value_at
from showvc.formats.tables.plan import plan_import
from showvc.formats.tables.workbook import write_workbook
from tests.formats.tables.books import rows_of, workbook
from tests.formats.tables.test_working import SHOW, WHEN, with_cell

WHOLE = show_from_tree(
    {
        **SHOW.tree(),
        "devices": {
            "desk": {
                **SHOW.tree()["devices"]["desk"],
                "on": ["switch", ["ups-1", "ups-2"]],
                "lent": {"to": "house crew", "until": "2026-12-04"},
            }
        },
        "circuits": {"house": {"name": "House line", "hears": False, "carries": True}},
        "carriers": {"switch": {"gives": {"watts": 240, "slots": 2.5}}, "ups-1": {}, "ups-2": {"on": ["switch"]}},
        "limits": {"targets": 900, "floor": -40},
    }
)


def whole(sheet, head, name, value):
    sheets = rows_of(write_workbook(WHOLE, None, WHEN))
    with_cell(head, name, value)(sheets[sheet])
    return plan_import(WHOLE, workbook(sheets), "show.xlsx")


def test_what_a_cell_of_each_kind_looks_like():
    sheets = {name: [dict(zip(rows[0], row, strict=False)) for row in rows] for name, rows in rows_of(
        write_workbook(WHOLE, None, WHEN)
    ).items() if rows}  # fmt: skip
    desk, house, switch = sheets["Devices"][1], sheets["Circuits"][1], sheets["Carriers"][1]
    assert (desk["Hangs on"], desk["Lent to"], desk["Lent until"]) == (
        "switch, ups-1 / ups-2",
        "house crew",
        "2026-12-04",
    )
    assert (house["Hears"], house["Speaks"], house["Carries"]) == ("no", None, "yes")
    assert switch["Gives"] == "slots: 2.5, watts: 240"
    said = {row["What"]: row["Value"] for row in sheets["About"]}
    assert (said["Limit of targets"], said["Limit of floor"], said["Limit of devices"]) == (900, -40, None)


@pytest.mark.parametrize(
    ("sheet", "head", "name", "value", "place", "expected"),
    [
        ("Devices", "Lent until", "desk", "2027-01-02", ("devices", "desk", "lent"), {"to": "house crew", "until": "2027-01-02"}),
        ("Devices", "Lent until", "desk", None, ("devices", "desk", "lent"), {"to": "house crew"}),
        ("Devices", "Hangs on", "desk", "ups-1", ("devices", "desk", "on"), ["ups-1"]),
        ("Devices", "Hangs on", "desk", None, ("devices", "desk", "on"), None),
        ("Circuits", "Hears", "house", None, ("circuits", "house", "hears"), None),
        ("Circuits", "Speaks", "house", "yes", ("circuits", "house", "speaks"), True),
        ("Carriers", "Gives", "switch", "watts: 60", ("carriers", "switch", "gives"), {"watts": 60}),
        ("About", "Value", "Limit of targets", 30, ("limits", "targets"), 30),
        ("About", "Value", "Limit of targets", None, ("limits", "targets"), None),
        ("Users", "Line alarm talk", "sm", "latch", ("users", "sm", "lines"), {"alarm": {"talk": "latch"}}),
    ],
)  # fmt: skip
def test_one_cell_changes_one_field(sheet, head, name, value, place, expected):
    found = whole(sheet, head, name, value)
    assert not found.unread
    assert value_at(found.show.tree(), place) == expected
    (change,) = {change.path.split("/")[1:3][0] for change in compare(WHOLE, found.show).changes}
    assert change == place[0]


def test_a_day_that_a_spreadsheet_made_a_date_of_is_that_day():
    found = whole("Devices", "Lent until", "desk", (datetime.date(2027, 1, 2), "yyyy-mm-dd"))
    assert not found.unread and found.show.devices["desk"].lent.until == "2027-01-02"


def test_who_a_device_is_lent_to_cannot_be_cleared_alone():
    """A loan without its borrower is none: the cell is told, and what was there stays."""
    found = whole("Devices", "Lent to", "desk", None)
    assert found.unread and found.show == WHOLE
