"""An import is planned over the show that is there: what the file says nothing of stays, doubts stop it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.changes import compare
from showvc.document import Channel, ShowError, User, show_from_tree
from showvc.formats.tables.answers import answers_text, read_answers
from showvc.formats.tables.mapping import read_mapping
from showvc.formats.tables.plan import plan_import
from showvc.formats.tables.workbook import write_workbook
from tests.formats.tables.books import rows_of, workbook

WHEN = "2026-03-04T18:30:00+01:00"
MAPPING = """\
mapping: 1
tables:
  plot:
    sheet: Plot
    each: user
    columns: {Position: name, Dept.: department}
    across: {is: target, except: [Remarks]}
    codes:
      mode: {T: momentary/none, TL: momentary/always}
"""
CURRENT = show_from_tree(
    {
        "title": "The Salt Road",
        "notes": "kept",
        "lines": {"alarm": {"label": "ALARM"}},
        "groups": {
            "fly": {"name": "Fly Rail", "label": "FLY", "critical": True},
            "stage": {"name": "Stage"},
            "snd": {"name": "Sound"},
        },
        "users": {
            "sm": {
                "name": "Stage Manager",
                "label": "SM",
                "channels": {
                    "stage": {
                        "number": 1,
                        "talk": "momentary",
                        "listen": "always",
                        "level": -3,
                        "label": "STG",
                        "extra": {"a": 1},
                    },
                    "fly": {"number": 2, "talk": "momentary", "listen": "always"},
                },
                "lines": {"alarm": {"talk": "momentary"}},
                "extra": {"seat": 4},
            },
            "spot-1": {
                "name": "Follow Spot 1",
                "channels": {"stage": {"number": 1, "talk": "momentary"}, "fly": {"number": 2}},
            },
            "spot-2": {"name": "Follow Spot 2", "channels": {"stage": {"number": 1}}},
        },
        "devices": {"desk": {"kind": "desk-8", "user": "sm", "keys": {"A1": "stage"}}},
        "required": {"sm-fly": {"from": "sm", "to": "fly", "why": "fly cues are called here"}},
    }
)
HEAD = ["Position", "Dept.", "Stage", "Fly Rail", "Remarks"]


def plan(*rows, current=CURRENT, mapping=MAPPING, answers=None):
    data = workbook({"Plot": [HEAD, *rows]})
    return plan_import(current, data, "plot.xlsx", read_mapping(mapping.encode(), "plot.yaml"), answers)


SM = ["Stage Manager", "Stage", "TL", "TL", "calls"]
SPOT_1 = ["Follow Spot 1", "LX", "T", "TL"]
SPOT_2 = ["Follow Spot 2", "LX", "T", None]


def test_what_the_plot_says_nothing_of_stays():
    show = plan(SM, SPOT_1, SPOT_2).show
    user = show.users["sm"]
    assert (user.label, user.lines, user.department) == ("SM", CURRENT.users["sm"].lines, "Stage")
    assert user.extra == {"seat": 4, "Remarks": "calls"}
    assert user.channels["stage"] == CURRENT.users["sm"].channels["stage"]
    assert (show.head.notes, show.head.required, show.devices) == ("kept", CURRENT.head.required, CURRENT.devices)
    assert show.groups == CURRENT.groups


# A grid of targets says who is with whom, and no more.

LOOSE = MAPPING.replace("T: momentary/none", "T: talks/none").replace("TL: momentary/always", "TL: talks/listens")


def grid(heads, *rows, mapping=LOOSE, current=CURRENT):
    data = workbook({"Plot": [["Position", "Dept.", *heads], *rows]})
    return plan_import(current, data, "plot.xlsx", read_mapping(mapping.encode(), "plot.yaml")).show


def numbers(show, user):
    return {name: channel.number for name, channel in show.users[user].channels.items()}


def test_channels_that_are_there_keep_their_numbers_whatever_the_order_of_the_columns():
    show = grid(["Sound", "Fly Rail", "Stage"], ["Stage Manager", None, "TL", "TL", "TL"], SPOT_1[:1], SPOT_2[:1])
    assert numbers(show, "sm") == {"stage": 1, "fly": 2, "snd": 3}
    assert numbers(
        grid(["Sound", "Fly Rail", "Stage"], [*SM[:1], None, "TL", "TL", "TL"], current=None), "stage-manager"
    ) == {
        "sound": 1,
        "fly-rail": 2,
        "stage": 3,
    }


def test_a_target_without_a_column_is_not_spoken_of():
    show = grid(["Stage", "Sound"], ["Stage Manager", None, None, "TL"], ["Follow Spot 1", None, "T"], SPOT_2[:1])
    assert numbers(show, "sm") == {"fly": 2, "snd": 1}
    assert show.users["sm"].channels["fly"] == CURRENT.users["sm"].channels["fly"]
    assert numbers(show, "spot-1") == {"stage": 1, "fly": 2}
    assert numbers(show, "spot-2") == {}


def test_a_code_that_says_only_that_somebody_talks_keeps_how():
    way = {"number": 1, "talk": "latch", "listen": "switchable"}
    current = CURRENT.with_section(
        "users", {"sm": User(name="Stage Manager", channels={"stage": Channel(**way), "fly": Channel(number=2)})}
    )
    show = grid(["Stage", "Fly Rail"], ["Stage Manager", None, "TL", "TL"], current=current)
    user = show.users["sm"].channels
    assert (user["stage"].talk, user["stage"].listen) == ("latch", "switchable")
    assert (user["fly"].talk, user["fly"].listen) == ("momentary", "switchable")
    assert grid(["Stage"], ["Stage Manager", None, "T"], current=current).users["sm"].channels["stage"].listen == "none"


def test_a_group_of_the_show_is_meant_before_a_position_of_the_same_name():
    current = CURRENT.with_section("users", {"stage-hand": User(name="Stage")})
    show = grid(["Stage"], ["Stage", None, None], ["Stage Manager", None, "TL"], current=current)
    assert "stage" in show.users["sm"].channels and "stage-hand" not in show.users["sm"].channels


def test_what_the_plot_lists_no_longer_is_removed_or_kept_as_the_mapping_says():
    assert {*plan(SM, SPOT_1).show.users} == {"sm", "spot-1"}
    assert {*plan(SM, SPOT_1, mapping=MAPPING + "missing: keep\n").show.users} == {"sm", "spot-1", "spot-2"}


def test_a_renamed_position_keeps_its_id_and_its_device():
    show = plan(["Show Caller", "Stage", "TL", "TL"], SPOT_1, SPOT_2, answers={"users": {"Show Caller": "sm"}}).show
    assert show.users["sm"].name == "Show Caller"
    assert show.devices["desk"].user == "sm"


def test_a_rename_is_found_by_the_same_channels():
    text = MAPPING.replace("Dept.: department", "Dept.: department, Remarks: label").replace(", except: [Remarks]", "")
    current = CURRENT.with_section("users", {"spot-1": None, "spot-2": None})
    found = plan(["Show Caller", "Stage", "TL", "TL", "SM"], current=current, mapping=text)
    assert [(row, name) for _, row, name, _ in found.matches if name == "sm"] == [("Show Caller", "sm")]
    assert {*found.show.users} == {"sm"}


def test_an_open_doubt_gives_no_show_and_a_file_to_answer_in():
    found = plan(SM, ["Follow Spot", "LX", None, "TL"], SPOT_2)
    assert found.show is None
    (doubt,) = found.doubts
    assert doubt.candidates[0][0] == "spot-1"
    text = answers_text(found.doubts)
    assert "spot-1 (0." in text
    answers = read_answers(text.encode(), "answers.yaml")
    assert answers == {"users": {"Follow Spot": "spot-1"}}
    assert {*plan(SM, ["Follow Spot", "LX", None, "TL"], SPOT_2, answers=answers).show.users} == {
        "sm",
        "spot-1",
        "spot-2",
    }
    new = plan(SM, ["Follow Spot", "LX", None, "TL"], SPOT_2, answers={"users": {"Follow Spot": "new"}}).show
    assert {*new.users} == {"sm", "follow-spot", "spot-2"}


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("usrs:\n  A: b\n", 1, "unknown section"),
        ("users:\n  - a\n", 2, "NAME OF THE ROW"),
        ("users:\n  A: [b]\n", 2, "'new' is wanted"),
    ],
)
def test_mistakes_in_answers_are_told_with_their_place(text, line, said):
    with pytest.raises(ShowError) as caught:
        read_answers(text.encode(), "answers.yaml")
    assert caught.value.problems[0].line == line
    assert said in str(caught.value)


def test_where_a_cell_cannot_be_read_what_was_there_stays():
    found = plan(["Stage Manager", "Stage", "QQ", "TL"], SPOT_1, SPOT_2)
    assert [(cell.sheet, cell.cell, cell.value) for cell in found.unread] == [("Plot", "C2", "QQ")]
    assert found.show.users["sm"].channels["stage"] == CURRENT.users["sm"].channels["stage"]


def own(change, current=CURRENT):
    sheets = rows_of(write_workbook(CURRENT, "K7QF", WHEN))
    change(sheets)
    return plan_import(current, workbook(sheets), "show.xlsx")


def test_our_own_workbook_names_the_snapshot_that_it_came_from():
    found = own(lambda sheets: None)
    assert (found.show, found.stamp, found.when, found.unread) == (CURRENT, "K7QF", WHEN, ())


def test_in_our_own_workbook_an_unreadable_cell_leaves_what_was_there():
    def change(sheets):
        sheets["Users"][1][4] = "latched"
        sheets["Channels"][1][3] = "stage ?/?"
        sheets["Devices"][1][2] = "Two keys!"

    found = own(change)
    assert sorted(cell.cell for cell in found.unread) == ["C2", "D2", "E2"]
    assert found.show.users["sm"].channels == CURRENT.users["sm"].channels
    assert found.show.users["sm"].lines == CURRENT.users["sm"].lines
    assert found.show.devices["desk"] == CURRENT.devices["desk"]


def test_a_sheet_that_was_taken_out_changes_nothing_of_what_it_held():
    for name in ("Channels", "Keys", "Groups", "Devices", "Required", "About", "Users"):
        found = own(lambda sheets, name=name: sheets.pop(name))
        assert found.show == CURRENT, name


def without_column(sheets, sheet, head):
    place = sheets[sheet][0].index(head)
    return {**sheets, sheet: [row[:place] + row[place + 1 :] for row in sheets[sheet]]}


@pytest.mark.parametrize(
    ("sheet", "head"),
    [
        ("Users", "Label"),
        ("Users", "Line alarm talk"),
        ("Channels", "1"),
        ("Keys", "A1"),
        ("Devices", "User"),
        ("Groups", "Critical"),
        ("Required", "Why"),
        ("Required", "From"),
    ],
)
def test_a_column_that_was_taken_out_or_headed_anew_takes_nothing_away(sheet, head):
    sheets = rows_of(write_workbook(CURRENT, None, WHEN))
    found = plan_import(CURRENT, workbook(without_column(sheets, sheet, head)), "show.xlsx")
    assert found.show == CURRENT
    assert f"sheet {sheet}: no column {head}; what was there stays" in found.notes
    sheets[sheet][0][sheets[sheet][0].index(head)] = "Ours"
    anew = plan_import(CURRENT, workbook(sheets), "show.xlsx").show
    assert [change.path for change in compare(CURRENT, anew).changes if "extra" not in change.path] == []


def test_a_sheet_whose_heads_are_not_found_changes_nothing_of_what_it_held():
    sheets = rows_of(write_workbook(CURRENT, None, WHEN))
    for other in (["Number", *sheets["Users"][0][1:]], []):
        found = plan_import(
            CURRENT, workbook({**sheets, "Users": [other, *sheets["Users"][1:] * bool(other)]}), "show.xlsx"
        )
        assert found.show == CURRENT


@pytest.mark.parametrize("value", [None, "two words!"], ids=["empty", "not to be read"])
def test_a_required_path_whose_cell_cannot_be_read_stays(value):
    sheets = rows_of(write_workbook(CURRENT, None, WHEN))
    sheets["Required"][1][sheets["Required"][0].index("To")] = value
    found = plan_import(CURRENT, workbook(sheets), "show.xlsx")
    assert found.unread and found.show == CURRENT


@pytest.mark.parametrize("name", ["Follow Spot 1", "FOLLOW  SPOT 1"])
def test_a_row_of_ours_that_lost_its_id_is_known_by_its_name(name):
    sheets = rows_of(write_workbook(CURRENT, None, WHEN))
    for sheet in ("Users", "Channels"):
        row = next(row for row in sheets[sheet] if row[0] == "spot-1")
        row[0], row[1] = None, name
    found = plan_import(CURRENT, workbook(sheets), "show.xlsx")
    assert found.show.users["spot-1"].channels == CURRENT.users["spot-1"].channels
    assert [*found.show.users] == [*CURRENT.users]
    assert any("stands without an id, and is spot-1" in note for note in found.notes)


def test_a_new_row_of_a_name_that_is_there_is_another_thing():
    sheets = rows_of(write_workbook(CURRENT, None, WHEN))
    sheets["Users"].append([None, "Follow Spot 1"])
    found = plan_import(CURRENT, workbook(sheets), "show.xlsx")
    assert [*found.show.users] == sorted([*CURRENT.users, "follow-spot-1"])


def test_a_row_that_was_taken_out_is_a_removal():
    found = own(lambda sheets: sheets["Groups"].pop())
    assert {*found.show.groups} == {"fly", "snd"}


CELLS = st.sampled_from(
    ["Stage", "Position", "TL", "x", 1, 2.5, None, True, "=a", "012", "Total", "", "Fly Rail", "fly", "-"]
)


@given(st.lists(st.lists(CELLS, max_size=6), max_size=8))
def test_whatever_a_sheet_holds_the_plan_is_made_or_the_file_refused_in_words(rows):
    data = workbook({"Plot": rows})
    try:
        found = plan_import(CURRENT, data, "plot.xlsx", read_mapping(MAPPING.encode(), "plot.yaml"))
    except ShowError as error:
        assert "no column is headed" in str(error)
    else:
        assert found.show is not None or found.doubts


def told(current, data, name, mapping=None):
    """What the progress of a read was told."""
    found = []
    plan_import(current, data, name, mapping, progress=lambda done, total: found.append((done, total)))
    return found


def test_progress_is_told_of_every_row_up_to_the_last():
    rows = workbook({"Plot": [HEAD, SM, SPOT_1, [None], SPOT_2]})
    assert told(CURRENT, rows, "plot.xlsx", read_mapping(MAPPING.encode(), "plot.yaml")) == [(1, 3), (2, 3), (3, 3)]
    ours = told(None, write_workbook(CURRENT, None, WHEN), "show.xlsx")
    assert ours == [(done, len(ours)) for done in range(1, len(ours) + 1)]
    assert len(ours) == 1 + 3 + 3 + 1 + 1 + 3 + 1  # lines, groups, users, devices, required; channels and keys


# What a plot has no place for stays

PACKS = """\
mapping: 1
tables:
  packs:
    each: device
    columns: {Unit: name, Type: kind, Worn by: user}
    across: {is: key, heads: "Key {}", cell: "{target} ({mode})"}
    codes: {mode: {TL: talks/listens}}
    also: channels
"""


def packs(*rows, missing="keep", heads=("Key 1", "Key 2")):
    desk = {"name": "Prompt desk", "kind": "desk-8", "user": "sm", "keys": {"A1": "fly", "A3": "alarm"}}
    current = show_from_tree({**CURRENT.tree(), "devices": {"desk": desk}})
    data = workbook({"Plot": [["Unit", "Type", "Worn by", *heads], *rows]})
    text = PACKS + f"missing: {missing}\n"
    return plan_import(current, data, "plot.xlsx", read_mapping(text.encode(), "plot.yaml")).show


def test_a_plot_of_keys_takes_away_only_channels_that_were_under_its_own_keys():
    other = packs(["Pack 7", "pack-4", "Stage Manager", "Sound (TL)"])
    assert numbers(other, "sm") == {"stage": 1, "fly": 2, "snd": 3}
    assert other.devices["desk"].keys == {"A1": "fly", "A3": "alarm"}
    same = packs(["Prompt desk", "desk-8", "Stage Manager", "Sound (TL)"])
    assert numbers(same, "sm") == {"stage": 1, "snd": 2}
    assert same.devices["desk"].keys == {"A1": "snd", "A3": "alarm"}


def test_an_empty_key_in_a_plot_of_keys_is_empty():
    show = packs(["Prompt desk", "desk-8", "Stage Manager", None, "Fly Rail (TL)"])
    assert show.devices["desk"].keys == {"A2": "fly", "A3": "alarm"}


def test_devices_of_one_name_are_told_apart_by_their_hardware_addresses():
    text = "mapping: 1\ntables:\n  packs: {each: device, columns: {Unit: name, Type: kind, MAC: hardware}}\n"
    rows = [["Spare", "pack-4", "02-00-5E-10-00-07"], ["Spare", "pack-4", "02:00:5e:10:00:08"]]
    data = workbook({"Plot": [["Unit", "Type", "MAC"], *rows]})
    found = plan_import(None, data, "plot.xlsx", read_mapping(text.encode(), "plot.yaml"))
    assert {*found.show.devices} == {"spare", "spare-2"} and not found.unread
    again = plan_import(found.show, data, "plot.xlsx", read_mapping(text.encode(), "plot.yaml"))
    assert again.show == found.show
    same = workbook({"Plot": [["Unit", "Type", "MAC"], rows[0], ["Spare", "pack-4", "02005E100007"]]})
    assert [
        unread.cell for unread in plan_import(None, same, "plot.xlsx", read_mapping(text.encode(), "p")).unread
    ] == ["A3"]


# What leads nowhere is taken as it is written, and told


def test_references_that_lead_nowhere_are_told_by_cell():
    sheets = rows_of(write_workbook(CURRENT, None, WHEN))
    sheets["Channels"][1][sheets["Channels"][0].index("3")] = "flyy M/A"
    sheets["Devices"][1][sheets["Devices"][0].index("Kind")] = "desk-9"
    found = plan_import(CURRENT, workbook(sheets), "show.xlsx")
    assert found.show.users["sm"].channels["flyy"].number == 3
    assert found.notes[1:] == (
        "sheet Channels, cell F2: 'flyy M/A' points at flyy, which is not there; did you mean fly?",
        "sheet Devices, cell C2: 'desk-9' points at desk-9, which is not there; did you mean desk-8?",
    )
    assert plan_import(found.show, workbook(sheets), "show.xlsx").notes == found.notes[:1]


def test_keys_that_an_import_leaves_without_a_channel_are_told():
    found = plan(["Stage Manager", "Stage", None, "TL"], SPOT_1, SPOT_2)
    assert found.notes == ("device desk, key A1: stage is not on the list of SM any more",)
    assert plan(["Stage Manager", "Stage", None, "TL"], SPOT_1, SPOT_2, current=found.show).notes == ()
    keys = {f"A{number}": "stage" for number in range(1, 31)}
    device = {"kind": "wide", "user": "sm", "keys": keys}
    many = show_from_tree({**CURRENT.tree(), "devices": {"wall": device}, "kinds": {"wide": {"keys": 30}}})
    notes = plan(["Stage Manager", "Stage", None, "TL"], SPOT_1, SPOT_2, current=many).notes
    assert (len(notes), notes[-1]) == (21, "and 10 more such keys")
