"""The Salt Road is a production of real size that passes every check, in every town; its story holds what it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.changes import compare
from showvc.demo.plot import KINDS
from showvc.demo.production import production
from showvc.demo.tour import BAD, DECK, FRONT_OF_HOUSE, GOOD_AFTER, STOPS, Step
from showvc.document import BUILT_IN_KINDS, Show
from showvc.document.references import dangling
from showvc.formats import read
from showvc.formats.files import canonical
from showvc.formats.folder import folder_texts
from showvc.merging import merge
from showvc.paths import talk_paths
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
    assert {device.kind for device in show.devices.values()} == {*BUILT_IN_KINDS, *KINDS}
    assert {group for group, body in show.groups.items() if body.critical} == {"fly", "rig", "auto", "pyro"}
    assert len(show.required) >= 8
    assert show.accepted


def test_it_uses_every_kind_of_thing_that_a_show_can_have() -> None:
    show = production()
    assert {name for name, user in show.users.items() if user.port} == {"fire-post"}
    assert {name: bridge.standby for name, bridge in show.bridges.items() if bridge.standby} == {
        "house-line-spare": "house-line"
    }
    assert [name for name, device in show.devices.items() if device.lent] == ["belt-comms"]
    assert [name for name, device in show.devices.items() if device.away] == ["spare-3"]
    assert {line for line, body in show.lines.items() if body.critical} == {"alarm"}
    assert show.bridges["paging-out"].target in show.lines
    assert {word for carrier in show.carriers.values() for word in carrier.gives} == {"watts", "slots"}
    assert any(carrier.on for carrier in show.carriers.values())
    assert any(isinstance(need, tuple) for device in show.devices.values() for need in device.on)
    assert {circuit for circuit, body in show.circuits.items() if body.public} == {"foyer-speakers"}
    assert all(body.people and None not in (body.hears, body.speaks, body.carries) for body in show.circuits.values())
    assert {(path.ways, path.at_least, path.over) for path in show.required.values()} >= {
        (2, None, None),
        (1, 3, "fly"),
        (1, None, "alarm"),
    }
    assert show.head.apart and show.head.standards
    assert any(not kind.menu for kind in show.head.kinds.values())


def test_each_required_path_and_each_path_apart_has_its_reason() -> None:
    show = production()
    rules = (*show.required.values(), *show.head.apart.values(), *show.head.standards.values(), *show.accepted.values())
    assert all(rule.why for rule in rules)


@pytest.mark.parametrize("stops", range(len(STOPS) + 1))
def test_nothing_refers_to_what_is_not_there(stops: int) -> None:
    assert list(dangling(after(*STOPS[:stops]))) == []


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
        ("twin", ("/groups/house-radio", "/groups/radio-house")),
    }


def test_a_second_way_hides_what_the_front_of_house_engineer_takes_away() -> None:
    effect = compare(after(*STOPS), after(*STOPS, FRONT_OF_HOUSE)).effect
    assert ("sm", "fly", "fly-1") in effect.lost_over
    assert ("sm", "fly-1") not in effect.lost
    assert ("fly-1", "sm") in effect.lost  # SM no longer hears the rail: it has no other talk group.


def test_the_bad_edit_takes_paths_that_people_depend_on() -> None:
    assert {line for line in loud(after(*STOPS, BAD)) if line.startswith("required-lost")} == {
        "required-lost /required/loaders",
        "required-lost /required/watch-auto",
        "required-lost /required/watch-auto-right",
        "required-lost /required/winch-auto",
    }


def test_the_bad_edit_cuts_off_those_behind_a_circuit() -> None:
    before, bad = after(*STOPS), after(*STOPS, BAD)
    assert {talker for talker, listener in compare(before, bad).effect.lost if listener == "dock-base"} == {
        talker for talker in before.users if "dock" in before.users[talker].channels
    }
    assert talk_paths(bad).surely.holds("dock-base", "dock-1")


TRUCK = ("sm", "recording-truck")
ON_THE_WAY = {"bridges": "truck-", "devices": "if-", "carriers": ""}


@pytest.mark.parametrize("stops", range(len(STOPS) + 1))
def test_the_truck_has_two_ways_but_in_velmoor_both_hang_on_one_switch(stops: int) -> None:
    show = after(*STOPS[:stops])
    singles = [
        f"{section}/{name}"
        for section, begins in ON_THE_WAY.items()
        for name in show.section(section)
        if name.startswith(begins)
    ]
    fatal = [out for out in singles if not talk_paths(show, frozenset({out})).surely.holds(*TRUCK)]
    assert fatal == (
        ["carriers/deck-switch", "carriers/deck-ups"] if stops and STOPS[stops - 1].mark == "velmoor" else []
    )


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
        "circuits/house-ring.yaml", "carriers/deck-switch.yaml",
    }  # fmt: skip
    assert canonical(production().head) == texts["show.yaml"]
