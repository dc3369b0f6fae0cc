"""The Salt Road is a production of real size that passes every check, in every town; its story holds what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.changes import compare
from showvc.demo.production import BAD, DECK, FRONT_OF_HOUSE, GOOD_AFTER, STOPS, Step, production
from showvc.document import BUILT_IN_KINDS, Show
from showvc.formats import read
from showvc.formats.files import canonical
from showvc.formats.folder import folder_texts
from showvc.merging import merge
from showvc.rules import check

FIXTURES = Path(__file__).parents[2] / "fixtures"


def after(*steps: Step) -> Show:
    show = production()
    for step in steps:
        show = step.change(show)
    return show


def loud(show: Show) -> list[str]:
    """What the check finds and the show does not accept with a reason."""
    return [f"{finding.code} {finding.path}" for finding in check(show) if finding.accepted is None]


def test_it_has_the_size_of_a_touring_production() -> None:
    show = production()
    assert len(show.users) >= 45
    assert len(show.groups) >= 15
    assert len(show.devices) >= 45
    assert len(show.bridges) >= 6
    assert {bridge.kind for bridge in show.bridges.values()} == {"two-wire", "four-wire", "audio-network", "radio"}
    assert {device.kind for device in show.devices.values()} == {*BUILT_IN_KINDS, "panel-15x2"}
    assert {group for group, body in show.groups.items() if body.critical} == {"fly", "rig", "auto", "pyro"}
    assert len(show.required) >= 8
    assert show.accepted


@pytest.mark.parametrize("stops", range(len(STOPS) + 1))
def test_it_passes_every_check_in_every_town(stops: int) -> None:
    assert loud(after(*STOPS[:stops])) == []


@pytest.mark.parametrize("stop", range(len(STOPS)))
def test_every_town_changes_the_plot(stop: int) -> None:
    assert len(compare(after(*STOPS[:stop]), after(*STOPS[: stop + 1])).changes) >= 5


def test_each_of_the_two_engineers_alone_is_right() -> None:
    for step in (DECK, FRONT_OF_HOUSE):
        assert loud(after(*STOPS, step)) == []


@pytest.mark.parametrize("stops", range(1, len(STOPS) + 1))
def test_put_together_the_two_clash_in_three_places_and_added_one_thing_twice(stops: int) -> None:
    towns = STOPS[:stops]
    merged = merge(after(*towns), after(*towns, DECK), after(*towns, FRONT_OF_HOUSE))
    clashes = {(conflict.kind, conflict.paths) for conflict in merged.conflicts}
    assert clashes == {
        ("both-changed", ("/users/dsm/channels/lx/talk",)),
        ("double-booked", ("/users/sm/channels/dock", "/users/sm/channels/sec")),
        ("path-lost", ("/users/fly-1/channels/cue", "/users/sm/channels/fly")),
    }
    assert [problem.paths for problem in merged.problems if problem.code == "twin"] == [
        ("/groups/house-radio", "/groups/radio-house")
    ]


def test_the_bad_edit_takes_a_path_that_a_person_depends_on() -> None:
    assert [line for line in loud(after(*STOPS, BAD)) if line.startswith("required-lost")][:2] == [
        "required-lost /required/watch-auto",
        "required-lost /required/watch-auto-right",
    ]


def test_taking_the_bad_edit_back_keeps_the_good_ones_after_it() -> None:
    before, bad = after(*STOPS), after(*STOPS, BAD)
    rolled_back = merge(bad, after(*STOPS, BAD, *GOOD_AFTER), before)
    assert not rolled_back.conflicts
    assert rolled_back.show == after(*STOPS, *GOOD_AFTER)
    assert loud(rolled_back.show) == []


# --- the fixtures ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["salt-road", "salt-road.show.yaml", "salt-road.show.json"])
def test_the_fixtures_hold_it(name: str) -> None:
    assert read(FIXTURES / name) == production()


def test_some_files_of_the_fixture_are_as_people_leave_them() -> None:
    folder = FIXTURES / "salt-road"
    texts = folder_texts(production())
    assert {str(path.relative_to(folder)) for path in folder.rglob("*.yaml")} == set(texts)
    typed = {path for path, text in texts.items() if (folder / path).read_text() != text}
    assert typed == {
        "show.yaml", "users/sm.yaml", "groups/fly.yaml", "groups/foh.yaml", "devices/unit-sm.yaml", "bridges/house-line.yaml",
    }  # fmt: skip
    assert canonical(production().head) == texts["show.yaml"]
