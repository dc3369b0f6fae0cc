"""Which panels are drawn otherwise, and what became of each key."""

from __future__ import annotations

from hypothesis import given

from showvc.document import Show
from showvc.release.keysheets import sheet_of
from showvc.report.panels import marks_of, panel_changes
from tests.report.plots import PLOT, plot
from tests.strategies import shows


def changed(**sections: object) -> dict[str, dict[str, str]]:
    return {panel.device: dict(panel.marks) for panel in panel_changes(plot(), plot(**sections))}


def desk(**fields: object) -> dict[str, object]:
    return {**PLOT["devices"], "desk-01": {**PLOT["devices"]["desk-01"], **fields}}


def test_keys_that_came_went_and_hold_something_else_each_have_their_word() -> None:
    keys = {"A1": "fly", "A3": "lx", "A8": "alarm"}
    assert changed(devices=desk(keys=keys)) == {"desk-01": {"A1": "changed", "A2": "now empty", "A3": "new"}}


def test_a_new_label_reaches_every_panel_that_shows_it() -> None:
    groups = {**PLOT["groups"], "lx": {"name": "Lights", "label": "LIGHT"}}
    assert changed(groups=groups) == {"desk-01": {"A1": "changed"}, "panel-01": {"B15": "changed"}}


def test_another_way_to_talk_and_a_group_that_becomes_critical_are_drawn_too() -> None:
    users = {**PLOT["users"], "flyman": {"channels": {"fly": {"number": 1, "talk": "latch", "listen": "always"}}}}
    assert changed(users=users)["pack-01"] == {"A1": "changed"}
    groups = {**PLOT["groups"], "lx": {**PLOT["groups"]["lx"], "critical": True}}
    assert changed(groups=groups)["desk-01"] == {"A1": "changed"}


def test_ports_of_an_interface() -> None:
    bridges = {"old": {**PLOT["bridges"]["old"], "circuit": "house-b"}}
    assert changed(bridges=bridges) == {"if-01": {}}


def test_devices_that_came_and_went() -> None:
    panels = panel_changes(plot(), plot(devices={"new-01": {"kind": "pack-2"}}, bridges={}))
    assert {panel.device: (panel.before is None, panel.after is None) for panel in panels} == {
        "desk-01": (False, True), "if-01": (False, True), "new-01": (True, False), "pack-01": (False, True),
        "panel-01": (False, True),
    }  # fmt: skip


def test_a_place_or_a_hardware_address_changes_no_drawing() -> None:
    assert changed(devices=desk(place="Wings", hardware="02-00-5E-10-00-07")) == {}


def test_the_strip_to_reprint_says_the_label_now_and_before() -> None:
    (panel,) = panel_changes(plot(), plot(devices=desk(keys={"A1": "fly", "A2": "fly", "A8": "alarm"})))
    assert panel.relabelled == (("A1", "FLY", "LX"),)
    assert panel.before_marks == {"A1": "was"}


@given(before=shows(), after=shows())
def test_looking_only_where_an_edit_may_reach_misses_no_panel(before: Show, after: Show) -> None:
    found = {panel.device for panel in panel_changes(before, after)}
    for name in {*before.devices, *after.devices}:
        old, new = (sheet_of(show, name) if name in show.devices else None for show in (before, after))
        drawn = [sheet and (sheet.pages, sheet.ports) for sheet in (old, new)]
        assert (drawn[0] != drawn[1]) == (name in found), name
        assert bool(marks_of(old, new)) <= (name in found)


@given(show=shows())
def test_a_show_beside_itself_has_no_panel(show: Show) -> None:
    assert panel_changes(show, show) == []
