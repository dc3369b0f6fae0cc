"""One wording for the terminal, the report and the page: titled parts, the grave ones first."""

from __future__ import annotations

import pytest
from hypothesis import given

from showvc.changes import compare, edits
from showvc.document import SECTIONS, Show
from showvc.document.lining import when_words
from showvc.report.words import change_parts, first_line, told_findings
from showvc.rules import check
from tests.report.plots import PLOT, plot
from tests.strategies import shows


def test_a_thing_with_several_edits_is_named_once() -> None:
    groups = {**PLOT["groups"], "lx": {"name": "Lamps", "label": "LAMP"}}
    (part,) = change_parts(compare(plot(), plot(groups=groups)))
    (thing,) = part.things
    assert (part.title, thing.name) == ("Groups", "group LAMP (Lamps)")
    assert [(edit.sign, edit.text) for edit in thing.edits] == [
        ("~", "name is now Lamps, was Lights"),
        ("~", "label is now LAMP, was LX"),
    ]


def test_circuits_and_carriers_are_parts_of_their_own() -> None:
    things = {"circuits": {"tape": {"name": "Tape return"}}, "carriers": {"ups-1": {"gives": {"watts": 60}}}}
    parts = change_parts(compare(plot(), plot(**things)))
    assert [part.title for part in parts] == ["Circuits", "Carriers"]


@given(before=shows(), after=shows())
def test_every_edit_is_in_one_part(before: Show, after: Show) -> None:
    found = compare(before, after)
    told = [edit.change for part in change_parts(found) for thing in part.things for edit in thing.edits]
    assert sorted(map(repr, told)) == sorted(map(repr, found.changes))


def test_many_findings_of_one_cause_are_one_and_stops_are_told_each() -> None:
    devices = {f"spare-{number}": {"kind": "pack-2"} for number in range(9)}
    told = [
        each for each in told_findings(check(plot(devices={**PLOT["devices"], **devices}))) if "spare" in each.reason
    ]
    assert len([each for each in told if each.message.startswith("9 like this, e.g.: ")]) == 1
    assert all(each.word in ("BLOCK", "warning", "note") for each in told)


def test_a_time_is_told_to_the_minute_on_the_clock_where_it_was_taken() -> None:
    assert when_words("2026-11-25T19:30:59+01:00") == "2026-11-25 19:30"
    assert (first_line("one\ntwo"), first_line("")) == ("one", "")


NEEDED = {"devices": {"kind": "pack-2"}, "bridges": {"kind": "radio", "device": "if-01", "port": 1, "target": "fly"}}


@pytest.mark.parametrize("section", SECTIONS)
def test_an_edit_of_every_kind_of_thing_stands_under_a_title(section: str) -> None:
    new = SECTIONS[section].model_validate(NEEDED.get(section, {}))
    (part,) = change_parts(edits(Show(), Show().with_section(section, {"x": new})))
    assert part.title == section.capitalize()
