"""The smallest edits that would make a path: each really makes it, and none closes a ring."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, show_from_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import parse
from showvc.paths import Proposal, closes_ring, free_number, proposals, talk_paths
from tests.paths.oracle.building import GONE, bridge, but, circuit, port, show, user
from tests.paths.oracle.shows import document_pairs
from tests.paths.oracle.there import Doc
from tests.paths.ours import paths_of

HEADSETS = [user("sm", "fly:mn"), user("a", "cue:na")]


def done(show: Show, proposal: Proposal) -> Show:
    return put(show, {parse(edit.pointer): ABSENT if edit.value is None else edit.value for edit in proposal})


def commands(
    doc: Doc, talker: str, listener: str, before: Doc | None = None, over: str | None = None
) -> list[list[str]]:
    was = show_from_tree({"format": 2, **before}) if before is not None else None
    found = proposals(paths_of(doc), talker, listener, over, was)
    return [[edit.command.removeprefix("showvc ") for edit in each] for each in found]


@given(document_pairs, st.randoms(use_true_random=False), st.booleans())
def test_what_is_proposed_makes_the_path_and_closes_no_ring(pair: tuple[Doc, Doc], rng: Any, lately: bool) -> None:
    before, paths = map(paths_of, pair)
    positions = paths.surely.positions
    missing = [(x, y) for x in positions for y in positions if x != y and not paths.surely.holds(x, y)]
    for talker, listener in rng.sample(missing, min(2, len(missing))):
        found = proposals(paths, talker, listener, before=before.show if lately else None)
        assert len(found) <= 3
        assert len({len(each) for each in found}) <= 1
        for proposal in found:
            after = talk_paths(done(paths.show, proposal))
            assert after.surely.holds(talker, listener)
            assert not closes_ring(paths, after)


def test_an_ear_or_a_talk_for_what_is_on_a_list_comes_before_a_new_channel() -> None:
    doc = show(user("sm", "fly:mn"), user("a", "fly:nn", "cue:na"))
    assert commands(doc, "sm", "a")[0] == ["set users/a/channels/fly/listen switchable"]


def test_what_was_just_taken_away_comes_first() -> None:
    before = show(user("sm", "fly:mn", "a:nn"), user("a", "fly:na", "cue:na"))
    after = but(before, ("users/a/channels/fly", GONE))
    first, *_ = commands(after, "sm", "a", before)
    assert first == ["set users/a/channels/fly '{number: 1, listen: always}'"]


def test_who_is_off_headset_is_given_back_his_device_or_a_spare_one() -> None:
    doc = show(user("sm", "fly:mn"), user("a", "fly:na", away="at repair"), {"devices": {"pack-9": {"kind": "belt"}}})
    assert commands(doc, "sm", "a") == [["remove devices/pack-a/away"], ["set devices/pack-9/user a"]]


def test_a_bridge_that_was_removed_is_brought_back() -> None:
    before = show(user("sm", "fly:mn"), circuit("truck", "hs"), bridge("b1", "fly", "truck"))
    after = but(before, ("bridges", GONE))
    (proposal,) = commands(after, "sm", "truck", before)
    assert proposal[0].startswith("set bridges/b1 ")


def test_what_is_not_written_of_a_circuit_can_be_written() -> None:
    doc = show(user("sm", "fly:mn"), circuit("truck"), bridge("b1", "fly", "truck"))
    assert commands(doc, "sm", "truck") == [["set circuits/truck/hears true"]]


def test_no_direction_is_turned_where_that_closes_a_ring() -> None:
    doc = show(
        *HEADSETS, circuit("house", "hsc"), circuit("far", "hsc"),
        bridge("b1", "fly", "house", "in"), bridge("b2", "cue", "house"),
        bridge("b3", "cue", "far"), bridge("b4", "fly", "far", "in"),
    )  # fmt: skip
    assert not any("direction" in command for each in commands(doc, "sm", "a") for command in each)


def test_a_path_over_a_target_is_made_over_that_target() -> None:
    doc = show(user("sm", "cue:mn", "fly:nn"), user("a", "cue:na", "fly:na"))
    assert commands(doc, "sm", "a", over="fly")[0] == ["set users/sm/channels/fly/talk momentary"]


def test_a_panel_without_a_menu_needs_a_key() -> None:
    doc = show(user("sm", "fly:mn", keys="", kind="plate"), user("a", "fly:na"))
    assert ["set devices/pack-sm/keys/A1 fly"] in commands(doc, "sm", "a")


def test_a_port_may_be_opened() -> None:
    doc = show(port("box", "cue:nn"), user("a", "cue:na"), circuit("truck", "s"), bridge("b1", "box", "truck", "in"))
    assert ["set users/box/channels/cue/talk open"] in commands(doc, "truck", "a")


def test_nothing_is_proposed_where_the_lists_are_full() -> None:
    doc = show(user("sm", "fly:mn"), user("a", "cue:na"), {"limits": {"channels": 1}})
    assert commands(doc, "sm", "a") == []


def test_the_lowest_free_number_is_taken() -> None:
    assert free_number(show_from_tree(show(user("sm", "fly:mn", "cue:mn"))), "sm") == 3
    full = show(user("sm", "fly:mn"), {"limits": {"channels": 1}})
    assert free_number(show_from_tree(full), "sm") is None
