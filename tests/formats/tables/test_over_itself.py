"""A plot taken back into the show that it was exported from changes nothing, whatever the plot has no place for."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings

from showvc.changes import edits
from showvc.demo.production import production
from showvc.document import PLOTS, Device, Show, show_from_tree
from showvc.formats.tables.mapping import PlotMapping, read_mapping
from showvc.formats.tables.plan import plan_import
from showvc.formats.tables.plotwriting import write_plot
from tests.strategies import plain_shows

PEOPLE = "positions: {each: user, %scolumns: {Id: id, Position: name, Dept.: department}%s}"
PACKS = "packs: {each: device, %scolumns: {Unit: id, Name: name, Type: kind, Worn by: user}%s}"
GRID = ", across: {is: target, except: [Id]}, codes: {mode: {TL: talks/listens, T: talks/none, L: none/listens, x: none/none}}"
NUMBERED = ', across: {is: number, heads: "Ch {}", cell: "{target} ({mode})"}'
KEYED = ', across: {is: key, heads: "Key {}", cell: "{target} ({mode})"}, also: channels'
BRIDGES = "bridges: {each: bridge, sheet: C, columns: {Kind: kind, Unit: device, Port: port, To: target, Circuit: circuit, Way: direction}}"
CHANNELS = (
    "channels: {each: channel, %scolumns: {Position: user, No: number, Target: target, Talk: talk, Listen: listen}}"
)

LAYOUTS = {
    "a grid of targets": (".xlsx", [PEOPLE % ("sheet: A, ", GRID)]),
    "a grid of numbers": (".xlsx", [PEOPLE % ("sheet: A, ", NUMBERED), PACKS % ("sheet: B, ", ""), BRIDGES]),
    "a row for each device": (".xlsx", [PEOPLE % ("sheet: A, ", ""), PACKS % ("sheet: B, ", KEYED)]),
    "a list of channels": (".csv", [PEOPLE % ("file: a.csv, ", ""), CHANNELS % "file: b.csv, "]),
}


def mapping_of(layout: str) -> PlotMapping:
    tables = "".join(f"  {table}\n" for table in LAYOUTS[layout][1])
    return read_mapping(f"mapping: 1\ntables:\n{tables}".encode(), "plot.yaml")


def over_itself(show: Show, layout: str) -> list[str]:
    """What an export and an import of it change, but for where the columns stand."""
    ending, mapping = LAYOUTS[layout][0], mapping_of(layout)
    files = write_plot(show, mapping, ending)
    data = files if len(files) > 1 else next(iter(files.values()))
    found = plan_import(show, data, "plot" + ("" if len(files) > 1 else ending), mapping)
    assert found.show is not None, found.doubts
    assert not found.unread, [unread.problem("plot") for unread in found.unread]
    return [change.text for change in edits(show, found.show).changes if not change.path.startswith(f"/extra/{PLOTS}")]


@pytest.mark.parametrize("layout", LAYOUTS)
def test_the_production_goes_out_and_comes_back_unchanged(layout):
    assert over_itself(production(), layout) == []


@pytest.mark.parametrize("layout", LAYOUTS)
@given(show=plain_shows())
@settings(max_examples=15)
def test_so_does_any_show(layout, show):
    assert over_itself(show, layout) == []


NESTED = {
    ".json": """
  show: {rows: ., each: show, columns: {title: title, notes: notes}}
  users: {rows: who, each: user, columns: {id: id, name: name, label: label, dept: department}}
  channels: {rows: who/list, each: channel, columns: {../id: user, no: number, to: target, talk: talk, listen: listen}}
  devices: {rows: units, each: device, columns: {id: id, name: name, type: kind, worn: user, mac: hardware, at: place}}
  keys: {rows: units/keys, each: key, columns: {../id: device, key: key, holds: target}}
""",
    ".xml": """
  show: {rows: plot, each: show, columns: {title: title, notes: notes}}
  users: {rows: plot/who, each: user, columns: {"@id": id, name: name, label: label, dept: department}}
  channels: {rows: plot/who/to, each: channel, columns: {"../@id": user, "@no": number, "#text": target, "@talk": talk, "@listen": listen}}
  devices: {rows: plot/unit, each: device, columns: {"@id": id, name: name, type: kind, worn: user, mac: hardware, at: place}}
  keys: {rows: plot/unit/key, each: key, columns: {"../@id": device, "@key": key, "#text": target}}
""",
}


@pytest.mark.parametrize("ending", NESTED)
@given(show=plain_shows())
@settings(max_examples=25)
def test_any_show_comes_back_from_lists_within_lists(ending, show):
    mapping = read_mapping(f"mapping: 1\ntables:{NESTED[ending]}".encode(), "plot.yaml")
    (data,) = write_plot(show, mapping, ending).values()
    found = plan_import(show, data, f"plot{ending}", mapping)
    assert found.show is not None and not found.unread, found.unread
    left = [change.text for change in edits(show, found.show).changes if not change.path.startswith(f"/extra/{PLOTS}")]
    assert left == []


def test_a_second_device_of_a_position_finds_its_place_where_there_was_one():
    mapping = read_mapping(
        b"""
mapping: 1
tables:
  users: {rows: who, each: user, columns: {name: name}}
  devices: {rows: who/unit, each: device, columns: {../name: user, name: name, type: kind}}
  keys: {rows: who/unit/keys, each: key, columns: {../name: device, key: key, holds: target}}
""",
        "plot.yaml",
    )
    unit = {"name": "Desk", "type": "desk-8", "keys": [{"key": "A1", "holds": "FLY"}]}
    data = json.dumps({"who": [{"name": "Caller", "unit": unit}]}).encode()
    show = plan_import(None, data, "plot.json", mapping).show
    pack = Device(name="Pack", kind="pack-2", user="caller", keys={"A2": "fly"})
    show = show.with_section("devices", {"pack": pack})
    (data,) = write_plot(show, mapping, ".json").values()
    more = {"name": "Pack", "type": "pack-2", "keys": [{"key": "A2", "holds": "FLY"}]}
    assert json.loads(data) == {"who": [{"name": "Caller", "unit": [unit, more]}]}
    assert plan_import(show, data, "plot.json", mapping).show.devices == show.devices


def twice(first: int, second: int) -> Show:
    channels = {"fly": {"number": first, "talk": "latch"}, "fly#2": {"number": second, "listen": "always"}}
    users = {"sm": {"name": "Stage Manager", "channels": {**channels, "lx": {"number": 3}}}}
    return show_from_tree({"groups": {"fly": {"name": "Fly Rail"}, "lx": {"name": "Lights"}}, "users": users})


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("numbers", [(1, 2), (2, 1), (7, 5)])
def test_so_does_a_second_channel_to_the_same_target(layout, numbers):
    assert over_itself(twice(*numbers), layout) == []


def test_a_position_taken_off_a_target_loses_its_second_channel_there_too():
    mapping = mapping_of("a grid of targets")
    data = b"Id,Position,Dept.,Fly Rail,Lights\r\nsm,Stage Manager,,,x\r\n"
    made = plan_import(twice(1, 2), data, "A.csv", mapping).show
    assert made is not None
    assert [*made.users["sm"].channels] == ["lx"]
