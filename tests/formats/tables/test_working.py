"""A workbook comes back after somebody has worked in it: sorted, filtered, renamed, with rows and columns added."""

from __future__ import annotations

import random
import re

import pytest

from showvc.document import ShowError, show_from_tree
from showvc.formats.tables.cells import Mangled
from showvc.formats.tables.opening import _Scan, as_shown
from showvc.formats.tables.plan import plan_import
from showvc.formats.tables.textfiles import read_csv, write_csv
from showvc.formats.tables.workbook import read_workbook, write_workbook
from tests.formats.tables.books import edited, rows_of, workbook

WHEN = "2026-03-04T18:30:00+01:00"

SHOW = show_from_tree(
    {
        "title": "The Salt Road",
        "lines": {"alarm": {"label": "ALARM", "critical": True}, "page": {}, "relay": {}},
        "groups": {
            "fly": {"name": "Fly Rail", "label": "FLY", "critical": True},
            "lx": {"name": "Lighting", "label": "LX"},
        },
        "users": {
            "sm": {
                "name": "Stage Manager",
                "label": "SM",
                "channels": {
                    "lx": {"number": 1, "talk": "latch"},
                    "fly": {"number": 2, "talk": "momentary", "listen": "always"},
                },
            },
            "spot-1": {"name": "Follow Spot 1", "channels": {"lx": {"number": 1, "talk": "momentary"}}},
            "spot-2": {"name": "Follow Spot 2", "channels": {"lx": {"number": 1, "talk": "momentary"}}},
        },
        "devices": {
            "desk": {"name": "Prompt desk", "kind": "desk-8", "user": "sm", "keys": {"A1": "lx", "A8": "alarm"}}
        },
        "required": {"sm-fly": {"from": "sm", "to": "fly"}},
    }
)
BOOK = rows_of(write_workbook(SHOW, "K7QF", WHEN))


def book(**sheets):
    """The exported workbook's rows, with some sheets replaced: a function takes the rows and gives new ones."""
    return {name: sheets[name]([list(row) for row in rows]) if name in sheets else rows for name, rows in BOOK.items()}


def read(sheets, merge=()):
    return read_workbook(workbook(sheets, merge), "show.xlsx")[0]


def unread(sheets, merge=()):
    with pytest.raises(ShowError) as caught:
        read(sheets, merge)
    return [str(problem) for problem in caught.value.problems]


def with_formulas(part):
    """The sheet's numbers as the outcomes of formulas."""
    return re.sub(rb"<c ([^>]*)><v>([0-9]+)</v>", rb"<c \1><f>2+1</f><v>\2</v>", part)


def with_cell(head, name, value):
    def change(rows):
        place = rows[0].index(head)
        for row in rows[1:]:
            if row[0] == name:
                row[place] = value
        return rows

    return change


def test_sorting_the_rows_changes_nothing():
    def shuffled(rows):
        random.Random(7).shuffle(rows[1:])
        return [rows[0], *sorted(rows[1:], key=str, reverse=True)]

    assert read(book(Users=shuffled, Channels=shuffled, Groups=shuffled)) == SHOW


def test_an_empty_row_in_between_and_a_row_above_the_heads_change_nothing():
    def aired(rows):
        return [["Plot of the second venue"], [], *rows[:2], [None] * 5, [" "], *rows[2:]]

    assert read(book(Users=aired, Channels=aired)) == SHOW


def test_a_repeated_head_row_is_passed_over():
    assert read(book(Users=lambda rows: [*rows[:2], rows[0], *rows[2:]])) == SHOW


def test_a_row_of_totals_is_passed_over():
    assert read(book(Users=lambda rows: [*rows, ["Total", 3]], Channels=lambda rows: [*rows, ["TOTAL: 3"]])) == SHOW


def test_a_new_position_whose_name_begins_like_a_total_is_no_total():
    def with_new(rows):
        said = {"Name": "Count Varga's Dresser", "Department": "wardrobe"}
        return [*rows, [said.get(head) for head in rows[0]]]

    found = read(book(Users=with_new, Channels=lambda rows: [*rows, [None, "Count Varga's Dresser", None, "fly M/A"]]))
    assert [*found.users["count-varga-s-dresser"].channels] == ["fly"]


def test_an_id_that_a_spreadsheet_wrote_in_capitals_is_the_same_id():
    found = read(
        book(
            Users=lambda rows: [["Spot-1" if cell == "spot-1" else cell for cell in row] for row in rows],
            Channels=lambda rows: [["SPOT-1" if cell == "spot-1" else cell for cell in row] for row in rows],
        )
    )
    assert found == SHOW


def test_a_renamed_sheet_is_known_by_its_heads():
    renamed = {("Positions tour B" if name == "Users" else name): rows for name, rows in BOOK.items()}
    assert read(renamed) == SHOW


def test_a_renamed_position_is_a_rename():
    found = read(book(Users=with_cell("Name", "spot-1", "Truss Spot 1")))
    assert found.users["spot-1"].name == "Truss Spot 1"
    assert found.users["spot-1"].channels == SHOW.users["spot-1"].channels


def test_a_new_row_without_an_id_gets_one_from_its_name():
    rows = [None, "Follow Spot 3"]
    found = read(
        book(
            Users=lambda old: [old[0], rows, *old[1:]],
            Channels=lambda old: [*old, [None, "follow spot 3", None, "lx M/S"]],
        )
    )
    assert found.users["follow-spot-3"].name == "Follow Spot 3"
    assert found.users["follow-spot-3"].channels["lx"].talk == "momentary"


@pytest.mark.parametrize(
    ("cell", "talk", "listen"),
    [("FLY d/a", "dual", "always"), ("Fly Rail momentary/none", "momentary", "none"), ("fly", "none", "switchable")],
)
def test_a_channel_cell_is_read_as_people_write_it(cell, talk, listen):
    channel = read(book(Channels=with_cell("5", "spot-1", cell))).users["spot-1"].channels["fly"]
    assert (channel.number, channel.talk, channel.listen) == (5, talk, listen)


def test_the_same_target_in_a_second_cell_is_its_second_channel():
    found = read(book(Channels=with_cell("5", "spot-1", "lx -/A"))).users["spot-1"]
    assert [(name, channel.number) for name, channel in found.channels.items()] == [("lx", 1), ("lx#2", 5)]


def test_a_cell_that_cannot_be_read_is_told_with_its_sheet_its_place_and_what_is_allowed():
    said = unread(
        book(
            Channels=with_cell("3", "spot-1", "lx Q/Z"),
            Users=with_cell("Line alarm talk", "sm", "latched"),
            Groups=with_cell("Critical", "lx", "perhaps"),
            Devices=with_cell("Kind", "desk", None),
        )
    )
    assert len(said) == 4
    channels, users, groups, devices = sorted(
        said, key=lambda text: ["Chan", "User", "Grou", "Devi"].index(text.partition("sheet ")[2][:4])
    )
    assert "sheet Channels, cell F3: 'lx Q/Z'" in channels and "talk/listen" in channels
    assert "'latched'" in users and "none, momentary, latch, dual, open" in users
    assert "'perhaps'" in groups and "true or false" in groups
    assert "'kind' is missing" in devices


def test_a_date_a_power_of_ten_a_long_number_and_a_failed_formula_are_told():
    import datetime

    said = unread(
        book(
            Users=lambda rows: [
                rows[0],
                ["a", (datetime.date(2026, 3, 4), "d-mmm")],
                ["b", (1000.0, "0.00E+00")],
                ["c", 12345678901234567890],
                *rows[1:],
            ],
        )
    )
    assert [("date" in text, "power of ten" in text, "15 digits" in text) for text in said] == [
        (True, False, False),
        (False, True, False),
        (False, False, True),
    ]
    assert all("type it again" in text for text in said)


def test_of_a_mode_that_is_none_the_mode_is_named_and_not_the_target():
    told = unread(
        book(Channels=lambda rows: [[cell if cell != "fly M/A" else "fly Q/A" for cell in row] for row in rows])
    )
    assert len(told) == 1 and "'Q/A' is no talk/listen" in told[0] and "did you mean" not in told[0]


def test_a_formula_that_no_spreadsheet_has_worked_out_is_told_and_leaves_what_was_there():
    from io import BytesIO

    import openpyxl

    made = openpyxl.load_workbook(BytesIO(write_workbook(SHOW, "K7QF", WHEN)))
    cell = made["Groups"]["C2"]
    assert cell.value, "a label stood there"
    cell.value = '="FLY"&" 1"'
    made.save(out := BytesIO())
    found = plan_import(SHOW, out.getvalue(), "show.xlsx")
    assert [(unread.sheet, unread.cell, unread.value) for unread in found.unread] == [("Groups", "C2", "(formula)")]
    assert found.show == SHOW


def test_a_formula_that_says_nothing_is_an_empty_cell():
    part = b'<worksheet><sheetData><row r="1"><c r="A1" t="str"><f>""</f><v></v></c></row></sheetData></worksheet>'
    scan = _Scan("sheet", "show.xlsx", {})
    scan.run(part)
    assert not scan.odd


def test_a_formula_says_what_it_was_worked_out_to():
    made = workbook({**BOOK, "Bridges": [BOOK["Bridges"][0], ["il", "two-wire", "desk", 3, "fly", "a-line"]]})
    worked_out = edited(made, "xl/worksheets/sheet6.xml", with_formulas)
    assert worked_out != edited(made, "xl/worksheets/sheet6.xml", bytes), "there is a number"
    found = read_workbook(worked_out, "show.xlsx")[0]
    assert found.bridges["il"].port == 3


def test_a_formula_that_failed_is_told_as_such():
    assert as_shown(None, "=error") == as_shown(None, "error") == Mangled("(error)", "the formula behind it failed")


def test_a_cell_of_a_column_of_somebody_else_is_told_where_a_spreadsheet_replaced_what_was_typed():
    def with_column(rows):
        return [[*row, "Ours" if not number else (1000.0 + number, "0.00E+00")] for number, row in enumerate(rows)]

    found = plan_import(SHOW, workbook(book(Users=with_column)), "show.xlsx")
    cells = ", ".join(f"{chr(65 + len(BOOK['Users'][0]))}{row}" for row in (2, 3, 4))
    told = f"sheet Users, cells {cells}: kept as shown, but a spreadsheet made a power of ten of what was typed"
    assert told in found.notes


@pytest.mark.parametrize(
    ("value", "form", "label"),
    [(0.5, "0%", "50%"), (0.555, "0.00%", "55.5%"), (1.0, "0%", "100%"), (-0.07, "0%", "-7%"), (10.0, "0%", "1000%")],
)
def test_a_percentage_is_read_as_it_was_typed(value, form, label):
    found = read(book(Users=lambda rows: [rows[0], ["a", "A", (value, form)], *rows[1:]]))
    assert found.users["a"].label == label


def test_zeros_in_front_that_only_the_format_shows_are_kept():
    found = read(book(Users=lambda rows: [rows[0], ["a", (12, "000"), 12], *rows[1:]]))
    assert (found.users["a"].name, found.users["a"].label) == ("012", "12")


def test_a_merged_pair_of_cells_counts_for_each_of_its_rows():
    place = BOOK["Users"][0].index("Department")
    column = "ABCDEFGH"[place]
    found = read(BOOK, [("Users", f"{column}3:{column}4", "Lighting")])
    assert [user.department for user in found.users.values()] == [None, "Lighting", "Lighting"]


def test_cells_merged_over_two_columns_count_for_the_first():
    found = read(book(Channels=with_cell("7", "sm", None)), [("Channels", "J2:K2", "spot-1 M/S")])
    assert {name: channel.number for name, channel in found.users["sm"].channels.items()} == {
        "lx": 1,
        "fly": 2,
        "spot-1": 7,
    }


def test_two_rows_of_one_id_are_told():
    assert "each id once" in unread(book(Users=lambda rows: [*rows, ["sm", "Somebody else"]]))[0]


def test_a_name_changed_where_it_is_only_shown_is_noted_and_not_taken():
    from showvc.formats.tables.own import read_tables
    from showvc.formats.tables.sheets import read_xlsx

    data = workbook(book(Channels=with_cell("Name", "sm", "Deputy")))
    assert read_workbook(data, "show.xlsx")[0] == SHOW
    notes = read_tables(read_xlsx(data, "show.xlsx"), "show.xlsx")[0].skipped
    assert notes == ["sheet Channels, cell B2: 'Deputy' is only shown here; it is read in the sheet Users"]


def with_column(head, at, values):
    def change(rows):
        return [[*row[:at], head if number == 0 else values.get(row[0]), *row[at:]] for number, row in enumerate(rows)]

    return change


@pytest.mark.parametrize("kind", ["workbook", "text tables"])
def test_columns_of_somebody_else_come_back_in_their_column_and_order(kind):
    sheets = book(
        Users=lambda rows: with_column("Cue light", 0, {"sm": "red"})(
            with_column("Seat", 2, {"sm": 12, "spot-1": "012"})(rows)
        ),
        Channels=with_column("Checked by", 2, {"spot-2": "=sum"}),
        Required=with_column("Colour", 1, {"sm-fly": "@x"}),
        Groups=with_column("Nobody filled this", 1, {}),
    )
    found = read(sheets)
    assert found.users["sm"].extra == {"Cue light": "red", "Seat": 12}
    assert found.users["spot-1"].extra == {"Seat": "012"}
    if kind == "workbook":
        again = rows_of(write_workbook(found, None, WHEN))
        assert read_workbook(write_workbook(found, None, WHEN), "show.xlsx")[0] == found
    else:
        from showvc.formats.tables.textfiles import csv_book

        again = {name: sheet.rows for name, sheet in csv_book(write_csv(found), "").items()}
        assert read_csv(write_csv(found), "")[0] == found
    for name in ("Users", "Channels", "Required", "Groups"):
        assert again[name][0] == sheets[name][0]
    assert [row[0] for row in again["Users"]] == ["Cue light", "red", None, None]


def test_a_moved_column_stays_where_it_was_put():
    def moved(rows):
        return [[row[0], row[2], row[1], *row[3:]] for row in rows]

    found = read(book(Users=moved))
    assert found.users == SHOW.users
    assert rows_of(write_workbook(found, None, WHEN))["Users"][0][:3] == ["Id", "Label", "Name"]


def test_a_later_layout_is_refused():
    with pytest.raises(ShowError, match="update showvc"):
        read(
            book(
                About=lambda rows: [
                    [cell if cell != "showvc tables 2" else "showvc tables 3" for cell in row] for row in rows
                ]
            )
        )


def test_a_sheet_without_our_heads_is_told():
    assert "a head row with the column Id" in unread(book(Groups=lambda rows: [["x"], ["y"]]))[0]


def test_the_workbook_is_made_to_be_worked_in():
    from io import BytesIO

    import openpyxl

    made = openpyxl.load_workbook(BytesIO(write_workbook(SHOW, "K7QF", WHEN)))
    assert [*made.sheetnames] == [
        "Users", "Channels", "Keys", "Groups", "Devices", "Bridges", "Circuits", "Carriers",
        "Lines", "Kinds", "Required", "Apart", "Accepted", "Standards", "About", "Lists",
    ]  # fmt: skip
    assert made["Channels"].freeze_panes == "C2"
    assert made["Users"].freeze_panes == "B2"
    offered = {str(rule.sqref): rule.formula1 for rule in made["Bridges"].data_validations.dataValidation}
    assert '"two-wire,four-wire,audio-network,radio"' in offered.values()
    assert '"both,in,out"' in offered.values()
    assert sum("Lists!$A$2:$A$9" in formula for formula in offered.values()) == 1
    talks = [rule.formula1 for rule in made["Users"].data_validations.dataValidation]
    assert talks.count('"none,momentary,latch,dual,open"') == 3
    assert made["Channels"].conditional_formatting


def test_the_workbook_prints_with_nothing_cut_off():
    from io import BytesIO

    import openpyxl

    name = "Assistant Stage Manager, Left and Right"
    notes = "Intercom is not a safety stop. Line-check every position on headset before the show.\nSpares in case 4."
    channels = {"lx": {"number": 3, "talk": "latch"}}
    tree = {"title": "x", "notes": notes, "groups": {"lx": {}}, "users": {"asm": {"name": name, "channels": channels}}}
    made = openpyxl.load_workbook(BytesIO(write_workbook(show_from_tree(tree), None, WHEN)))
    users, channels_sheet, about = made["Users"], made["Channels"], made["About"]
    assert users.column_dimensions["B"].width > len(name)
    assert users.page_setup.orientation == "landscape" and users.sheet_properties.pageSetUpPr.fitToPage
    assert users.print_title_rows == "$1:$1" and channels_sheet.print_title_cols == "$A:$B"
    assert channels_sheet.print_area.endswith("$A$1:$F$2"), "channels 1 to 3 after id, name and label; no empty ones"
    assert made["Lists"].sheet_state == "hidden"
    row = next(row for row in about.iter_rows() if row[0].value == "Notes")
    assert about.row_dimensions[row[0].row].height == 45, "two lines, the first of which wraps"


def test_no_cell_of_the_workbook_is_a_formula():
    from io import BytesIO

    import openpyxl

    show = show_from_tree({"title": "=cmd()", "groups": {"lx": {"name": "=1+1", "label": "@x", "extra": {"=a": "+b"}}}})
    made = openpyxl.load_workbook(BytesIO(write_workbook(show, None, WHEN)))
    cells = [cell for sheet in made for row in sheet.iter_rows() for cell in row if cell.value is not None]
    assert cells and not [cell for cell in cells if cell.data_type == "f"]
    started = [cell for cell in cells if isinstance(cell.value, str) and cell.value[0] in "=+-@" and cell.row > 1]
    assert len(started) == 4 and all(cell.quotePrefix for cell in started)


def test_no_field_of_the_text_tables_begins_like_a_formula():
    show = show_from_tree(
        {"title": "=cmd()", "groups": {"lx": {"name": "=1+1", "label": "\u00a0x", "extra": {"=a": "+b", "-c": "@d"}}}}
    )
    for data in write_csv(show).values():
        for line in data.decode("utf-8-sig").split("\r\n"):
            assert not [field for field in line.split(",") if field.strip('"')[:1] in tuple("=+-@\t")]
    assert read_csv(write_csv(show), "")[0] == show
