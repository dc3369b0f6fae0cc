"""What is a conflict of the combination, and what one side had alone."""

from __future__ import annotations

from hypothesis import given

from showvc.document import Show
from showvc.merging import merge, settle, settle_by_value, value_place
from tests.merging.cases import GONE, SMALL, Edits, edited
from tests.wild import wild_sides

LINE_A = {"kind": "four-wire", "device": "if-01", "target": "lx", "circuit": "house-a"}
TIED = edited(SMALL, {"bridges/radio": GONE, "bridges/party-line": GONE, "bridges/b1": {**LINE_A, "port": 1, "direction": "out"}, "bridges/b2": {**LINE_A, "port": 2}})  # fmt: skip
B3: Edits = {"bridges/b3": {**LINE_A, "port": 3}}


def test_a_ring_that_one_side_closed_is_no_conflict_though_check_tells_it_there_by_others() -> None:
    """With b1, the rings b1 b2 and b1 b3 stand for all of incoming's; without it, b2 b3 is what is left of them."""
    merged = merge(TIED, edited(TIED, {"bridges/b1": GONE}), edited(TIED, B3))
    assert [found.message for found in merged.conflicts] == []
    assert set(merged.show.bridges) == {"b2", "b3"}
    assert [finding.code for finding in merged.stops] == ["ring"]


def test_a_ring_with_a_bridge_that_is_disputed_waits_until_it_is_settled() -> None:
    before = edited(TIED, {"bridges/b1/circuit": "tie"})
    mine = edited(before, {"bridges/b2/circuit": "town"})
    incoming = edited(before, {"bridges/b2/circuit": "radio-base", **B3})
    (conflict,) = merge(before, mine, incoming).conflicts  # on the value from before, b2 and b3 are a ring
    assert conflict.paths == ("/bridges/b2/circuit",)
    assert merge(before, mine, incoming, [settle(conflict, "incoming")]).clean


def test_too_many_targets_are_settled_by_those_that_only_one_side_has_and_that_are_there() -> None:
    before = edited(SMALL, {"limits/targets": 9})
    gone: Edits = {"groups/stage": GONE, "users/asm/channels/stage": GONE}
    mine = edited(before, {**gone, "groups/pit": {}, "groups/truck": {}})
    incoming = edited(before, {"groups/cams": {}})
    (conflict,) = merge(before, mine, incoming).conflicts
    assert (conflict.kind, conflict.paths) == ("over-limit", ("/groups/cams", "/groups/pit", "/groups/truck"))


def test_the_stops_are_those_that_mine_did_not_have() -> None:
    mine = edited(SMALL, {"users/sm/channels/band": {"number": 5}})
    incoming = edited(SMALL, {"users/asm/channels/band": {"number": 5}})
    assert [stop.path for stop in merge(SMALL, mine, incoming).stops] == ["/users/asm/channels/band"]


def test_of_a_bridge_that_came_from_another_device_too_it_is_the_port_that_takes_a_value() -> None:
    before = edited(SMALL, {"devices/if-02": {"kind": "ports-4"}, "bridges/radio/device": "if-02"})
    mine = edited(before, {"bridges/party-line/port": 3})
    incoming = edited(before, {"bridges/radio/port": 3, "bridges/radio/device": "if-01"})
    (conflict,) = merge(before, mine, incoming).conflicts
    assert value_place(conflict) == "/bridges/radio/port"
    merged = merge(before, mine, incoming, [settle_by_value(conflict, 4)])
    assert merged.clean
    assert (merged.show.bridges["radio"].device, merged.show.bridges["radio"].port) == ("if-01", 4)


def test_an_answer_that_settles_nothing_leaves_the_question_open() -> None:
    mine = edited(SMALL, {"users/sm/channels/stage": {"number": 5}})
    incoming = edited(SMALL, {"users/sm/channels/lx-op": {"number": 5}})
    (conflict,) = merge(SMALL, mine, incoming).conflicts
    (again,) = merge(SMALL, mine, incoming, [settle_by_value(conflict, 5)]).conflicts
    assert again.key == conflict.key
    assert merge(SMALL, mine, incoming, [settle_by_value(conflict, 6)]).clean


# --- one decision, one conflict

ONLY_FLY: Edits = {"required/sm-fly": GONE, "users/fly-1/channels/sm": {"number": 2, "talk": "momentary"}}
TWO_WAYS: Edits = {**ONLY_FLY, "users/sm/channels/fly-1": {"number": 5, "talk": "momentary"}}
MINE: Edits = {"users/sm/channels/fly/talk": "none"}
INCOMING: Edits = {"users/sm/channels/fly-1/talk": "none"}
CUES = {"from": "sm", "to": "fly-1", "why": "fly cues"}
STOPS = {"from": "sm", "to": "fly-1", "why": "stop calls"}


def lost_together(required: Edits) -> tuple[Show, Show, Show]:
    before = edited(SMALL, {**TWO_WAYS, **required})
    return before, edited(before, MINE), edited(before, INCOMING)


def test_two_required_paths_that_the_same_edits_lose_are_one_conflict_that_tells_both() -> None:
    (conflict,) = merge(*lost_together({"required/cues": CUES, "required/stops": STOPS})).conflicts
    assert conflict.kind == "path-lost"
    assert conflict.paths == ("/users/sm/channels/fly-1/talk", "/users/sm/channels/fly/talk")
    assert conflict.message == (
        "SM -> FLY 1: lost, FLY 1 can't hear SM (required path cues: fly cues); "
        "SM -> FLY 1: lost, FLY 1 can't hear SM (required path stops: stop calls). "
        "Mine set talk of FLY on the list of SM to none; incoming set talk of FLY 1 on the list of SM to none"
    )


def test_one_lost_path_let_stand_lets_no_other_stand() -> None:
    one = lost_together({"required/cues": CUES})
    (conflict,) = merge(*one).conflicts
    answer = settle(conflict, "both")
    assert merge(*one, [answer]).clean
    assert not merge(*lost_together({"required/cues": CUES, "required/stops": STOPS}), [answer]).clean
    assert not merge(*lost_together({"required/stops": STOPS}), [answer]).clean


@given(wild_sides())
def test_no_two_conflicts_have_the_same_key(case: tuple[Show, Show, Show]) -> None:
    keys = [conflict.key for conflict in merge(*case).conflicts]
    assert len(keys) == len(set(keys))


def test_what_no_place_can_settle_yet_waits_for_the_places_that_are_disputed() -> None:
    """Each end of a required path stands only until it is known whether it goes, and neither side has both."""
    before = edited(SMALL, {"required": {"sm-asm": {"from": "sm", "to": "asm"}}})
    mine = edited(before, {"users/asm": GONE, "users/sm/channels/asm": GONE, "users/sm/channels/snd/talk": "none"})
    incoming = edited(before, {"users/sm": GONE, "users/asm/label": "DEPUTY"})
    merged = merge(before, mine, incoming)
    assert {(found.kind, found.paths) for found in merged.conflicts if found.kind != "dangling"} == {
        ("removed-and-changed", ("/users/asm",)),
        ("removed-and-changed", ("/users/sm",)),
    }
