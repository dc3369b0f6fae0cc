"""A mapping is proposed from heads and content, and shown with the rows that it reads."""

from __future__ import annotations

import json

import pytest

from showvc.document import ShowError
from showvc.formats.tables.guess import guess
from showvc.formats.tables.mapping import mapping_text, read_mapping
from showvc.formats.tables.plan import open_source, plan_import
from showvc.formats.tables.plots import preview
from showvc.formats.tables.plotwriting import write_plot
from tests.formats.tables.books import workbook
from tests.formats.tables.test_plots import LAYOUTS, imported, source, without_extra


def proposed(layout):
    return guess(open_source(source(layout), LAYOUTS[layout]))


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_proposal_for_a_plot_reads_it_as_its_own_mapping_does(layout):
    found = plan_import(None, source(layout), LAYOUTS[layout], proposed(layout))
    assert found.unread == ()
    wanted, made = without_extra(imported(layout).show), without_extra(found.show)
    if layout == "matrix":  # no head of a crosspoint grid can tell that its columns are key numbers as well
        for device in (device for show in (wanted, made) for device in show["devices"].values()):
            device.pop("keys", None)
    assert made == wanted


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_proposal_is_a_mapping_file_to_be_edited(layout):
    mapping = proposed(layout)
    assert read_mapping(mapping_text(mapping).encode(), "plot.yaml") == mapping


def test_the_proposal_is_shown_with_the_rows_that_it_reads():
    found = preview(open_source(source("matrix"), "matrix.xlsx"), proposed("matrix"), 3)[0]
    assert found.heads == ("name", "label", "department", "Stage", "Lighting", "Sound", "Fly Rail", "(Remarks)")
    assert [row[0] for row in found.rows] == ["Stage Manager", "Deputy Stage Manager", "Fly Operator"]
    assert found.rows[0][3:] == ("TL", "TL", "TL", "TL", "calls the show")


def test_codes_that_nobody_knows_are_listed_for_editing():
    rows = [["Position", "Stage", "Fly"], ["Caller", "Q", "TL"], ["Op", "TL", "Q"]]
    mapping = guess(open_source(workbook({"Plot": rows}), "plot.xlsx"))
    assert mapping.tables["plot"].codes["mode"] == {"Q": "none/switchable", "TL": "talks/listens"}


CREW = [
    {
        "role": "Stage Manager",
        "talks": [{"party": "FLY", "ch": 1, "mode": "TL"}, {"party": "LX", "ch": 2, "mode": "T"}],
    },
    {"role": "Fly Operator", "talks": [{"party": "FLY", "ch": 1, "mode": "L"}]},
]


@pytest.mark.parametrize("tree", [{"crew": CREW}, CREW, {"plot": {"crew": CREW}}], ids=["named", "a list", "deeper"])
def test_a_list_within_a_position_is_of_the_position_whatever_its_name_is_called(tree):
    data = json.dumps(tree).encode()
    mapping = guess(open_source(data, "plot.json"))
    found = plan_import(None, data, "plot.json", mapping)
    assert found.unread == ()
    assert {name: [*user.channels] for name, user in found.show.users.items()} == {
        "stage-manager": ["fly", "lx"],
        "fly-operator": ["fly"],
    }
    assert json.loads(write_plot(found.show, mapping, ".json")["plot.json"]) == tree


def test_a_remark_within_a_channel_is_not_its_target_where_an_attribute_says_that():
    data = b"<plot><who name='Caller'><talk to='FLY' ch='1'>by hand</talk></who><who name='Op'/></plot>"
    mapping = guess(open_source(data, "plot.xml"))
    assert read_mapping(mapping_text(mapping).encode(), "plot.yaml") == mapping
    assert [*plan_import(None, data, "plot.xml", mapping).show.users["caller"].channels] == ["fly"]


def test_a_file_without_a_plot_is_refused():
    for data, file in (
        (workbook({"Sheet": [["a", "b"], [1, 2]]}), "x.xlsx"),
        (b"{}", "x.json"),
        (b"<a/>", "x.xml"),
        (b"", "x.csv"),
    ):
        with pytest.raises(ShowError, match="looks like a plot"):
            guess(open_source(data, file))


def test_what_is_only_carried_along_is_shown_as_json_writes_it():
    shown = {table.table: table for table in preview(open_source(source("json"), "plot.json"), proposed("json"))}
    assert "(shift)" in shown["positions"].heads
    assert '{"from": "17:30", "crew": [1, 2]}' in shown["positions"].rows[0]


def test_a_kind_that_nobody_knows_is_left_to_the_person_and_a_number_of_keys_is_known():
    rows = [["Unit", "Model", "Person"], ["BP 1", "2-key", "Caller"], ["BP 2", "wide thing", "Op"]]
    mapping = guess(open_source(workbook({"Packs": rows}), "plot.xlsx"))
    (table,) = mapping.tables.values()
    assert table.columns == {"Unit": "name", "Model": "kind", "Person": "user"}
    assert table.codes == {"kind": {"2-key": "pack-2"}}


def test_a_proposal_takes_nothing_away():
    assert proposed("matrix").missing == "keep"
