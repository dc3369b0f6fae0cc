"""An export through a mapping says what it leaves out: one sentence for each kind, and none where nothing is lost."""

from __future__ import annotations

from typing import Any

import pytest

from showvc.document import Show, show_from_tree
from showvc.formats.tables.leaving_out import left_out
from showvc.formats.tables.mapping import read_mapping
from tests.formats.tables.test_plots import LAYOUTS, exported, imported, mapping, without_extra

SHOWS = {layout: imported(layout).show for layout in LAYOUTS}


def edited(show: Show, path: str, value: Any) -> Show:
    tree = show.tree()
    *around, last = path.split("/")
    place = tree
    for step in around:
        place = place.setdefault(step, {})
    place[last] = value
    return show_from_tree(tree)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_plot_goes_back_into_its_own_layout_with_nothing_left_out(layout):
    assert left_out(SHOWS[layout], mapping(layout)) == []


@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("groups/fly-rail/tags", ["rig"], "tags of 1 group"),
        ("users/stage-manager/lines", {"alarm": {"talk": "momentary"}}, "use of the lines of 1 position"),
        ("users/stage-manager/channels/fly-rail/level", -3, "level of 1 channel"),
        ("users/stage-manager/channels/fly-rail/label", "RAIL", "label of 1 channel"),
        ("users/stage-manager/extra", {"Seat": "4"}, "further columns of 1 position, which are not of this plot"),
        ("required", {"a": {"from": "stage-manager", "to": "fly-rail"}}, "1 required path"),
        ("kinds", {"wide": {"keys": 15, "pages": 2}}, "1 kind of device"),
        ("lines", {"alarm": {"label": "HELP"}}, "1 line"),
        ("notes", "by the road", "the show's notes"),
    ],
)
def test_what_a_mapping_has_no_place_for_is_told(layout, path, value, said):
    assert left_out(edited(SHOWS[layout], path, value), mapping(layout)) == [said]


BRIDGE = {"kind": "two-wire", "device": "if-1", "port": 1, "target": "fly-rail"}


def test_things_without_a_table_are_counted():
    show = edited(SHOWS["list"], "bridges/house", BRIDGE)
    assert left_out(show, mapping("list")) == ["1 bridge: the mapping has no table of bridges"]


def grid(**codes: str) -> Any:
    said = ", ".join(f"{code}: {meaning}" for code, meaning in codes.items())
    text = "mapping: 1\ntables:\n  plot: {each: user, columns: {Position: name}, across: {is: target}, codes: {mode: {%s}}}\n"
    return read_mapping((text % said).encode(), "plot.yaml")


def test_a_grid_of_targets_says_neither_numbers_nor_what_its_codes_leave_open():
    channels = {"lx": {"number": 4, "talk": "latch"}, "fly": {"number": 2, "talk": "momentary", "listen": "always"}}
    show = show_from_tree(
        {
            "groups": {"lx": {}, "fly": {}},
            "users": {"sm": {"name": "Stage Manager", "channels": channels}},
            "devices": {"desk": {"kind": "desk-8", "user": "sm", "keys": {"A1": "lx"}}},
        }
    )
    assert left_out(show, grid(TL="talks/listens")) == [
        "2 groups: the mapping has no table of groups",
        "1 device: the mapping has no table of devices",
        "how people talk or listen on 1 channel: the codes say only that they do",
        "the numbers of 2 channels",
        "1 key: the mapping has no place for keys",
    ]
    told = left_out(show, grid(TL="momentary/always", LT="latch/switchable"))
    assert not any("the codes say only" in line for line in told)


def test_keys_and_channels_that_a_layout_cannot_tell_apart_are_counted():
    """Where channels are keys by their number, other keys are lost; where keys are channels, those under none."""
    show = edited(SHOWS["matrix"], "devices/pack-01/keys", {"A2": "fly-rail"})
    assert left_out(show, mapping("matrix")) == ["the keys of 1 device that do not stand by their channels' numbers"]
    more = {"number": 12, "talk": "momentary", "listen": "always"}
    show = edited(SHOWS["panels"], "users/stage-manager/channels/follow-spot-1", more)
    assert left_out(show, mapping("panels")) == ["1 channel under no key"]


def test_devices_that_nobody_wears_have_no_place_within_positions_and_stay():
    show = edited(SHOWS["json"], "devices/spare", {"name": "Spare", "kind": "pack-4"})
    said = "1 device that nobody wears: devices stand within positions here"
    assert left_out(show, mapping("json")) == [said]
    assert "spare" in imported("json", current=show).show.devices


def test_a_show_that_never_was_this_plot_is_written_as_one():
    """Nothing is known of the places of its columns: the mapping's own order is taken."""
    bare = show_from_tree({**SHOWS["matrix"].tree(), "extra": {}})
    again = imported("xml", exported(bare, "xml"))
    assert without_extra(again.show) == without_extra(bare)
    assert not again.unread
