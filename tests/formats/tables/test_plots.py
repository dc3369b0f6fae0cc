"""Five plots of one production, laid out in five ways, are one document; each goes back into its own layout."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from showvc.document import Show, show_from_tree
from showvc.formats.tables.mapping import read_mapping
from showvc.formats.tables.plan import open_source, plan_import
from showvc.formats.tables.plotwriting import write_plot

PLOTS = Path(__file__).parents[3] / "fixtures" / "plots"
LAYOUTS = {"matrix": "matrix.xlsx", "list": "list", "panels": "panels.xlsx", "json": "plot.json", "xml": "plot.xml"}
ENDINGS = {"matrix": ".xlsx", "list": ".csv", "panels": ".xlsx", "json": ".json", "xml": ".xml"}


def source(layout):
    place = PLOTS / LAYOUTS[layout]
    return {file.name: file.read_bytes() for file in place.iterdir()} if place.is_dir() else place.read_bytes()


def mapping(layout):
    name = f"{LAYOUTS[layout]}.mapping.yaml"
    return read_mapping((PLOTS / name).read_bytes(), name)


def imported(layout, data=None, current=None):
    return plan_import(current, data or source(layout), LAYOUTS[layout], mapping(layout))


def exported(show, layout):
    files = write_plot(show, mapping(layout), ENDINGS[layout])
    return files if len(files) > 1 else next(iter(files.values()))


def without_extra(show: Show):
    """The document without what each plot alone carried."""

    def bare(tree):
        return {
            name: bare(inner) if isinstance(inner, dict) else inner for name, inner in tree.items() if name != "extra"
        }

    return bare(show.tree())


def test_all_five_import_to_the_same_document():
    shows = [imported(layout).show for layout in LAYOUTS]
    first = without_extra(shows[0])
    assert all(without_extra(show) == first for show in shows)
    assert first["title"] == "The Salt Road"
    assert {name: len(first[name]) for name in ("groups", "users", "devices")} == {
        "groups": 4,
        "users": 7,
        "devices": 7,
    }
    assert first["groups"]["fly-rail"] == {"name": "Fly Rail", "label": "FLY", "critical": True}
    assert first["users"]["follow-spot-2"]["label"] == "012"
    assert first["users"]["repetiteur"]["department"] == "Régie"
    assert first["users"]["repetiteur"]["channels"] == {
        "stage": {"number": 1, "talk": "momentary", "listen": "none"},
        "sound": {"number": 3, "listen": "always"},
    }
    assert first["devices"]["pack-03"]["keys"] == {"A1": "stage", "A2": "lighting"}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_every_cell_of_the_plots_is_read(layout):
    plan = imported(layout)
    assert plan.unread == ()
    assert plan.doubts == ()


@pytest.mark.parametrize("layout", LAYOUTS)
def test_exported_through_its_mapping_and_read_again_there_is_no_difference(layout):
    show = imported(layout).show
    again = imported(layout, exported(show, layout)).show
    assert again == show
    assert json.dumps(again.tree(), sort_keys=True) == json.dumps(show.tree(), sort_keys=True)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_imported_over_what_it_made_nothing_changes(layout):
    show = imported(layout).show
    assert imported(layout, current=show).show == show


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("other", LAYOUTS)
def test_a_plot_imported_over_that_of_another_layout_changes_nothing_but_extra(layout, other):
    show = imported(other).show
    plan = imported(layout, current=show)
    assert plan.doubts == ()
    assert without_extra(plan.show) == without_extra(show)


UNKNOWN = {
    "matrix": lambda show: [show.users["follow-spot-2"].extra["Remarks"], show.devices["pack-01"].extra["Cue light"], show.head.extra["Revision"]],
    "list": lambda show: [show.users["repetiteur"].channels["sound"].extra["Checked"]],
    "panels": lambda show: [show.devices["pack-06"].extra["Battery"], show.groups["stage"].extra["Colour"]],
    "json": lambda show: [
        show.users["stage-manager"].extra["shift"],
        show.devices["pack-01"].extra["battery"],
        show.head.extra["export"],
    ],
    "xml": lambda show: [show.users["stage-manager"].extra["@colour"], show.devices["pack-01"].extra["battery"], show.head.extra["@revision"]],
}  # fmt: skip
CARRIED = {
    "matrix": ["=new lamp", "red", 7],
    "list": ["ok"],
    "panels": [12.5, "-blue"],
    "json": [{"from": "17:30", "crew": [1, 2]}, 0.5, {"made": "2026-03-04", "by": "office"}],
    "xml": ["#a013", {"@level": "12"}, "7"],
}


@pytest.mark.parametrize("layout", LAYOUTS)
def test_what_we_do_not_know_is_carried(layout):
    assert UNKNOWN[layout](imported(layout).show) == CARRIED[layout]


@pytest.mark.parametrize("layout", ["matrix", "panels"])
def test_sheets_come_back_with_their_columns_and_rows_in_order(layout):
    before = open_source(source(layout), "plot.xlsx").book
    after = open_source(exported(imported(layout).show, layout), "plot.xlsx").book
    assert [*after] == [*before]
    for name, sheet in before.items():
        number = 2 if name == "Crosspoints" else 0
        heads = [*sheet.rows[number]]
        assert [*after[name].rows[number]] == heads
        assert after[name].rows[:number] == sheet.rows[:number]
        wanted = [row[0] for row in sheet.rows[number + 1 :] if row[0] not in (None, "Position", "Total")]
        assert [row[0] for row in after[name].rows[number + 1 :]] == wanted


def test_a_json_file_comes_back_in_its_order():
    before = json.loads(source("json"))
    after = json.loads(exported(imported("json").show, "json"))
    assert after == before
    assert [*after] == [*before]
    assert [[*position] for position in after["positions"]] == [[*position] for position in before["positions"]]


def test_an_xml_file_comes_back_with_its_attributes_and_elements():
    from showvc.formats.tables.trees import read_xml

    before = read_xml(source("xml"), "plot.xml")
    after = read_xml(exported(imported("xml").show, "xml"), "plot.xml")
    for unit in (unit for position in before["plot"]["position"] for unit in [position["unit"]]):
        unit["@mac"] = unit["@mac"].upper()
    for position in before["plot"]["position"]:
        position["key"] = position["key"] if isinstance(position["key"], list) else [position["key"]]
    for position in after["plot"]["position"]:
        position["key"] = position["key"] if isinstance(position["key"], list) else [position["key"]]
    assert after == before


def test_a_renamed_group_and_a_new_one_reach_the_plot():
    show = imported("matrix").show
    lighting, stage = show.groups["lighting"], show.users["stage-manager"]
    channel = stage.channels["lighting"].model_copy(update={"number": 5})
    show = show.with_section(
        "groups",
        {
            "lighting": lighting.model_copy(update={"name": "Electrics"}),
            "video": lighting.model_copy(update={"name": "Video", "label": "VID"}),
        },
    )
    show = show.with_section(
        "users", {"stage-manager": stage.model_copy(update={"channels": {**stage.channels, "video": channel}})}
    )
    rows = open_source(exported(show, "matrix"), "plot.xlsx").book["Crosspoints"].rows
    assert rows[2] == ["Position", "Short", "Dept.", "Stage", "Electrics", "Sound", "Fly Rail", "Video", "Remarks"]
    assert rows[3] == ["Stage Manager", "SM", "Stage", "TL", "TL", "TL", "TL", "TL", "calls the show"]
    again = without_extra(imported("matrix", exported(show, "matrix"), show).show)
    assert again["devices"]["prompt-desk"]["keys"].pop("A5") == "video"  # the mapping says `also: keys`
    assert again == without_extra(show)


# What is passed over is told


def test_comments_in_an_xml_file_are_counted_and_told():
    text = source("xml").replace(b"</plot>", b"<!-- the rail moves at 19:10 --><?tool keep?></plot><!-- Velmoor -->")
    found = imported("xml", text)
    assert found.show == imported("xml").show
    count = text.count(b"<!--") + 1
    said = f"comments between the elements: {count}. They are not kept: what matters in them belongs in a column"
    assert found.notes == (said,)


def test_comments_on_cells_are_counted_and_told():
    openpyxl = pytest.importorskip("openpyxl")
    from openpyxl.comments import Comment

    book = openpyxl.load_workbook(io.BytesIO(source("matrix")))
    book["Crosspoints"]["A4"].comment = Comment("leaves after the flood", "deck")
    book["Packs"]["A2"].comment = Comment("spare", "deck")
    out = io.BytesIO()
    book.save(out)
    assert "comments on cells: 2. They are not kept" in imported("matrix", out.getvalue()).notes[0]


LINES = "mapping: 1\ntables:\n  keys: {each: channel, columns: {Position: user, Key: number, Target: target}}\n"


def test_a_line_as_a_channel_is_refused_with_the_place_that_it_has():
    data = b"Position,Key,Target\nStage Manager,1,ALARM\n"
    show = show_from_tree({"lines": {"alarm": {"label": "ALARM"}}})
    (unread,) = plan_import(show, data, "plot.csv", read_mapping(LINES.encode(), "plot.yaml")).unread
    assert (unread.cell, unread.value) == ("C2", "ALARM")
    assert "its use is a column of the positions ('ALARM: lines/alarm'), its key stands in" in unread.allowed
