"""Why a path is there, followed by hand; and the smallest edits that would make one, made."""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, ShowError, show_from_tree
from showvc.paths import Edit, Explanation, Hop, explain, explanation_text, free_number, hands_of, talk_paths
from tests.paths.plots import random_plot, worked

SEEDS = st.integers(0, 10**9)
Tree = dict[str, Any]


# --- ways ------------------------------------------------------------------------------------------------------------


def test_a_way_over_a_group_names_channel_key_and_listening_channel() -> None:
    users = {"sm": {"lx": "talk", "fly": "talk"}, "fly-1": {"stage": "listen", "fly": "listen"}}
    show = worked(users, "fly lx stage", keys={"sm": "lx fly"})
    assert explanation_text(show, explain(show, "sm", "fly-1")) == (
        "fly-1 hears sm, on a key:\n  1. sm talks on FLY: channel 2, key A2 of desk-sm\n  2. fly-1 hears FLY: channel 2"
    )


def test_a_way_over_bridges_names_them_and_the_circuit() -> None:
    show = worked(
        {"sm": {"fly": "talk"}, "deck": {"stage": "listen"}},
        "fly stage",
        {"a": ("fly", "House party line A", "out"), "b": ("stage", "House party line A", "in")},
    )
    assert explanation_text(show, explain(show, "sm", "deck")) == (
        "deck hears sm, in the menu only:\n"
        "  1. sm talks on FLY: channel 1, in the menu only\n"
        "  2. bridge a carries FLY into circuit House party line A\n"
        "  3. bridge b brings circuit House party line A to STAGE\n"
        "  4. deck hears STAGE: channel 1"
    )


def test_an_interface_user_passes_it_on() -> None:
    show = worked(
        {"truck": {"cams": "open"}, "port": {"stage": "open"}, "deck": {"stage": "listen"}},
        "stage cams",
        {"out": ("cams", "Truck", "out"), "in": ("port", "Truck", "in")},
    )
    assert explanation_text(show, explain(show, "truck", "deck")).splitlines()[3:5] == [
        "  3. bridge in brings circuit Truck to port",
        "  4. port passes it on to STAGE: channel 1, always open",
    ]


def test_a_direct_call_needs_no_channel_at_the_other_end() -> None:
    show = worked({"sm": {"asm": "open"}, "asm": {}})
    assert explanation_text(show, explain(show, "sm", "asm")) == (
        "asm hears sm, always open:\n"
        "  1. sm calls asm: channel 1, always open\n"
        "  2. asm hears the direct call; it needs no channel"
    )


def test_of_two_ways_of_one_length_the_one_on_a_key_is_told() -> None:
    users = {"sm": {"fly": "talk", "stage": "talk"}, "fly-1": {"fly": "listen", "stage": "listen"}}
    show = worked(users, "fly stage", keys={"sm": "stage"})
    assert explain(show, "sm", "fly-1").way[0].target == "stage"


def test_a_longer_way_on_a_key_is_told_beside_the_shortest() -> None:
    users = {"sm": {"stage": "talk", "fly": "talk"}, "deck": {"stage": "listen"}}
    bridges = {"a": ("fly", "Truck", "out"), "b": ("stage", "Truck", "in")}
    show = worked(users, "fly stage", bridges, keys={"sm": "fly"})
    found = explain(show, "sm", "deck")
    assert (found.hand, len(found.way), len(found.handy_way)) == ("key", 2, 4)
    assert "A longer way needs no menu:\n  1. sm talks on FLY: channel 2, key A1" in explanation_text(show, found)


@given(SEEDS)
def test_the_hops_can_be_followed_by_hand_to_the_listener(seed: int) -> None:
    plot = random_plot(seed)
    show = show_from_tree(plot)
    hands = hands_of(show, talk_paths(show))
    for talker, listener in hands.matrix.pairs():
        found = explain(show, talker, listener, hands.matrix)
        assert found.hand == hands.hand(talker, listener)
        for way in filter(None, (found.way, found.handy_way)):
            assert follow(plot, talker, way) == ("ear", listener)
        if found.handy_way:
            assert (found.way[0].hand, found.handy_way[0].hand) == ("menu", found.hand)


def follow(plot: Tree, talker: str, way: tuple[Hop, ...]) -> tuple[str, ...]:
    """Where the sound is after these hops; each is checked against the plain document."""
    at: tuple[str, ...] = ("mouth", talker)
    for hop in way:
        at = {"talk": after_talk, "hear": after_hear, "out": after_bridge, "in": after_bridge}[hop.step](plot, at, hop)
    return at


def entry(plot: Tree, hop: Hop) -> Tree:
    assert hop.channel is not None and hop.channel.split("#")[0] == hop.target
    found: Tree = plot["users"][hop.user]["channels"][hop.channel]
    assert found["number"] == hop.number
    return found


def after_talk(plot: Tree, at: tuple[str, ...], hop: Hop) -> tuple[str, ...]:
    talk = entry(plot, hop)["talk"]
    assert at[1] == hop.user
    assert talk != "none" if at[0] == "mouth" else (at[0], talk) == ("port", "open")
    keys = [
        (name, key)
        for name, body in plot["devices"].items()
        if body["user"] == hop.user
        for key, held in body["keys"].items()
        if held == hop.channel
    ]
    assert sorted((place.device, place.key) for place in hop.keys) == sorted(keys)
    assert hop.hand == ("key" if keys else "open" if talk == "open" else "menu")
    return ("group", hop.target) if hop.target in plot["groups"] else ("call", str(hop.user), hop.target)


def after_hear(plot: Tree, at: tuple[str, ...], hop: Hop) -> tuple[str, ...]:
    if at[0] == "call":
        assert at[1:] == (hop.target, hop.user)
        on_list = [channel for channel in plot["users"][hop.user]["channels"] if channel.split("#")[0] == hop.target]
        if hop.channel is None:
            assert not on_list or hop.target in plot["groups"]
            return "ear", str(hop.user)
    else:
        assert at == ("group", hop.target)
    assert entry(plot, hop)["listen"] != "none"
    return "ear", str(hop.user)


def after_bridge(plot: Tree, at: tuple[str, ...], hop: Hop) -> tuple[str, ...]:
    bridge = plot["bridges"][hop.bridge]
    outside = ("circuit", bridge["circuit"]) if bridge["circuit"] else ("bridge", str(hop.bridge))
    assert (hop.circuit, hop.target) == (outside, bridge["target"])
    is_group = hop.target in plot["groups"]
    assert bridge["direction"] in ("both", hop.step)
    if hop.step == "out":
        assert at == ("group" if is_group else "ear", hop.target)
        return outside
    assert at == outside
    return "group" if is_group else "port", hop.target


# --- what it would take ----------------------------------------------------------------------------------------------


def missing(found: Explanation) -> list[str]:
    return [" and ".join(edit.missing for edit in proposal) for proposal in found.proposals]


def test_a_listener_who_is_not_on_the_group() -> None:
    show = worked({"sm": {"fly": "talk"}, "fly-2": {"stage": "listen", "lx": "listen"}}, "fly stage lx")
    found = explain(show, "sm", "fly-2")
    assert missing(found)[0] == "fly-2 does not listen on FLY"
    assert found.proposals[0] == (
        Edit("/users/fly-2/channels/fly", {"number": 3, "listen": "switchable"}, "fly-2 does not listen on FLY"),
    )
    assert (
        "  - fly-2 does not listen on FLY\n      showvc set users/fly-2/channels/fly '{number: 3, listen: switchable}'\n"
    ) in explanation_text(show, found)


def test_a_talker_whose_channel_has_no_talk() -> None:
    show = worked({"sm": {"fly": "listen"}, "fly-2": {"fly": "listen"}}, "fly")
    found = explain(show, "sm", "fly-2")
    assert missing(found)[0] == "sm has no talk on FLY"
    assert found.proposals[0][0].command == "showvc set users/sm/channels/fly/talk momentary"


def test_what_stands_on_a_list_comes_before_new_channels_and_a_direct_call_after() -> None:
    show = worked({"sm": {"fly": "talk", "lx": "talk"}, "fly-2": {"fly": "neither", "stage": "listen"}}, "fly lx stage")
    assert missing(explain(show, "sm", "fly-2")) == [
        "fly-2 does not listen on FLY",
        "fly-2 does not listen on LX",
        "sm has no talk on STAGE",
        "sm has no talk to fly-2",
    ]


def test_a_bridge_that_carries_one_way_is_turned_both_ways() -> None:
    show = worked(
        {"sm": {"fly": "talk"}, "deck": {"stage": "listen"}},
        "fly stage",
        {"a": ("fly", "House party line A", "in"), "b": ("stage", "House party line A", "in")},
    )
    found = explain(show, "sm", "deck")
    turned = Edit("/bridges/a/direction", "both", "bridge a does not carry FLY into circuit House party line A")
    assert (turned,) in found.proposals


def test_a_shut_out_caller_takes_two_edits_where_there_is_no_group() -> None:
    show = worked({"sm": {}, "asm": {"sm": "neither"}})
    found = explain(show, "sm", "asm")
    assert missing(found) == ["sm has no talk to asm and asm does not listen to sm"]
    assert "It takes 2 edits together:" in explanation_text(show, found)


def test_a_free_number_is_the_lowest_and_there_is_none_on_a_list_that_is_full_though_numbers_are_free() -> None:
    plot = worked({"sm": {"lx": "talk", "fly": "talk"}}, "lx fly", limits={"channels": 4}).tree()
    plot["users"]["sm"]["channels"]["fly"]["number"] = 9  # beyond the limit: it takes a place all the same
    show = show_from_tree(plot)
    assert free_number(show, "sm") == 2
    assert free_number(show, "sm", [2]) == 3
    assert free_number(show, "sm", [2, 3]) is None


def test_full_lists_are_said_to_be_full() -> None:
    show = worked({"sm": {"lx": "talk"}, "asm": {"fly": "listen"}}, "lx fly", limits={"channels": 1})
    found = explain(show, "sm", "asm")
    assert found.proposals == ()
    assert explanation_text(show, found) == (
        "asm cannot hear sm.\nNo edit makes it: the lists are full. Take a channel out first."
    )


def test_a_long_list_of_proposals_is_cut_in_words_and_whole_in_data() -> None:
    groups = [f"g{number}" for number in range(9)]
    show = worked({"sm": dict.fromkeys(groups, "talk"), "asm": {}}, " ".join(groups))
    found = explain(show, "sm", "asm")
    assert len(found.proposals) == 10
    assert explanation_text(show, found).endswith("  and 5 more; all: showvc paths sm asm --json")


def test_names_that_are_no_user_s_are_refused_with_near_ones() -> None:
    show = worked({"sm": {}, "fly-1": {"fly": "listen"}}, "fly")
    for talker, listener, words in (
        ("sm", "fly-2", "there is no user fly-2 (did you mean fly-1?)"),
        ("alarm", "sm", "alarm is a line"),
        ("sm", "fly", "fly is a group; a path begins and ends at a user (name a user; on it are fly-1)"),
        ("sm", "sm", "sm needs no path to sm"),
    ):
        with pytest.raises(ShowError) as refused:
            explain(show, talker, listener)
        assert words in str(refused.value)


@given(SEEDS, st.sampled_from([1, 2, 3, 32]))
def test_making_the_proposed_edits_makes_the_path(seed: int, most: int) -> None:
    plot = {**random_plot(seed), "limits": {"channels": most}}
    show = show_from_tree(plot)
    matrix = talk_paths(show)
    for talker, listener in not_there(show):
        for proposal in explain(show, talker, listener, matrix).proposals:
            edited = plot
            for edit in proposal:
                assert_free(edited, edit, most)
                edited = put(edited, edit.pointer, edit.value)
            assert talk_paths(show_from_tree(edited)).holds(talker, listener)


@given(SEEDS, st.sampled_from([1, 2, 32]))
def test_no_single_edit_does_what_is_proposed_in_several(seed: int, most: int) -> None:
    plot = {**random_plot(seed, bridges=5), "limits": {"channels": most}}
    show = show_from_tree(plot)
    needing = {
        pair for pair in not_there(show) if [len(proposal) for proposal in explain(show, *pair).proposals[:1]] != [1]
    }
    for edited in single_edits(plot, most) if needing else ():
        assert not needing & set(talk_paths(show_from_tree(edited)).pairs())


def not_there(show: Show) -> set[tuple[str, str]]:
    everyone = {(talker, listener) for talker in show.users for listener in show.users if talker != listener}
    return everyone - set(talk_paths(show).pairs())


def assert_free(plot: Tree, edit: Edit, most: int) -> None:
    if isinstance(edit.value, dict):
        channels = plot["users"][edit.pointer.split("/")[2]]["channels"]
        assert len(channels) < most
        assert 1 <= edit.value["number"] <= most
        assert edit.value["number"] not in {channel["number"] for channel in channels.values()}


def put(plot: Tree, pointer: str, value: Any) -> Tree:
    changed = deepcopy(plot)
    *steps, last = pointer.split("/")[1:]
    at = changed
    for step in steps:
        at = at[step]
    at[last] = value
    return changed


def single_edits(plot: Tree, most: int) -> Iterator[Tree]:
    """The plot after each edit to one talk, listen or direction, and after each channel that could be added."""
    for name, bridge in plot["bridges"].items():
        if bridge["direction"] != "both":
            yield put(plot, f"/bridges/{name}/direction", "both")
    for user, body in plot["users"].items():
        for channel in body["channels"]:
            yield put(plot, f"/users/{user}/channels/{channel}/talk", "open")
            yield put(plot, f"/users/{user}/channels/{channel}/listen", "always")
        for target in (*plot["groups"], *plot["users"]):
            held = {channel.split("#")[0] for channel in body["channels"]}
            if target not in held and len(body["channels"]) < most:
                yield put(plot, f"/users/{user}/channels/{target}", {"number": 99, "talk": "open", "listen": "always"})
