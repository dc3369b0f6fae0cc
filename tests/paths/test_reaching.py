"""Who hears one user and whom he hears, grouped by the way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, ShowError, show_from_tree
from showvc.paths import Reach, Via, hands_of, reach_of, reach_text, talk_paths
from tests.paths.plots import random_plot, worked

SHOW = worked(
    {
        "sm": {"fly": "both", "asm": "talk", "lx": "listen"},
        "asm": {},
        "fly-1": {"fly": "both"},
        "lx-op": {"lx": "open"},
        "deck": {"stage": "both"},
    },
    "fly lx stage",
    {"a": ("fly", "House party line A", "both"), "b": ("stage", "House party line A", "both")},
    keys={"sm": "fly", "deck": "stage"},
)


def test_the_ways_stand_as_groups_direct_calls_and_bridges() -> None:
    reach = reach_of(SHOW, "sm")
    assert reach.heard_by == (
        Via("group", "fly", (("fly-1", "key"),)),
        Via("direct", None, (("asm", "menu"),)),
        Via("bridge", "a", (("deck", "key"),)),
    )
    assert reach.hears == (
        Via("group", "fly", (("fly-1", "menu"),)),
        Via("group", "lx", (("lx-op", "open"),)),
        Via("bridge", "a", (("deck", "key"),)),
    )


def test_the_ways_in_words() -> None:
    assert reach_text(SHOW, reach_of(SHOW, "sm")) == (
        "sm is heard by 3 users:\n"
        "  on FLY: fly-1\n"
        "  direct: asm (menu)\n"
        "  by bridge a to circuit House party line A: deck\n"
        "sm hears 3 users:\n"
        "  on FLY: fly-1 (menu)\n"
        "  on LX: lx-op (open)\n"
        "  by bridge a from circuit House party line A: deck"
    )
    alone = worked({"sm": {}})
    assert reach_text(alone, reach_of(alone, "sm")) == "sm is heard by nobody\nsm hears nobody"


def test_positions_are_called_as_the_displays_call_them_with_the_id_where_it_is_not_plain() -> None:
    users = {"sm": {"fly": "talk"}, "fly-1": {"fly": "listen"}, "auto-op": {"fly": "listen"}}
    tree = worked(users, "fly", keys={"sm": "fly"}).tree()
    for name, label in (("sm", "SM"), ("fly-1", "FLY 1"), ("auto-op", "CART")):
        tree["users"][name]["label"] = label
    show = show_from_tree(tree)
    assert reach_text(show, reach_of(show, "sm")) == (
        "SM is heard by 2 users:\n  on FLY: CART (auto-op), FLY 1\nSM hears nobody"
    )
    assert "  on FLY: SM" in reach_text(show, reach_of(show, "auto-op"))
    assert reach_text(show, reach_of(show, "auto-op")).startswith("CART (auto-op) is heard by nobody")


# --- a bridge does not give back what it took ---


PARTY_LINE = {"a": ("fly", "House party line A", "both")}
RAIL = {"sm": {"fly": "both"}, "fly-1": {"fly": "both"}}


def bridges(show: Show, user: str) -> tuple[dict[str | None, list[str]], dict[str | None, list[str]]]:
    """Who stands under each bridge: those who hear the user, and those whom he hears."""
    reach = reach_of(show, user)
    one, other = (
        {via.by: [name for name, _ in via.users] for via in ways if via.kind == "bridge"}
        for ways in (reach.heard_by, reach.hears)
    )
    return one, other


def test_a_two_way_bridge_to_one_group_leads_outside_only() -> None:
    show = worked(RAIL, "fly", PARTY_LINE)
    assert bridges(show, "sm") == ({"a": []}, {"a": []})
    assert "by bridge a to circuit House party line A: outside only" in reach_text(show, reach_of(show, "sm"))


def test_a_second_bridge_brings_it_back_to_the_group() -> None:
    # That is a ring, and it howls: it is not to be hidden.
    show = worked(RAIL, "fly", {**PARTY_LINE, "b": ("fly", "House party line A", "both")})
    assert bridges(show, "sm") == ({"a": ["fly-1"], "b": ["fly-1"]}, {"a": ["fly-1"], "b": ["fly-1"]})


def test_a_listener_on_the_group_who_is_also_beyond_the_bridge_stands_under_it() -> None:
    users = {**RAIL, "deck": {"fly": "listen", "stage": "listen"}}
    show = worked(users, "fly stage", {**PARTY_LINE, "b": ("stage", "House party line A", "in")})
    assert bridges(show, "sm")[0] == {"a": ["deck"]}


def test_an_interface_user_gives_back_to_another_group_than_it_heard() -> None:
    users = {"sm": {"fly": "talk"}, "port": {"fly": "listen", "stage": "open"}, "deck": {"stage": "listen"}}
    show = worked(users, "fly stage", {"a": ("port", "Truck", "both")})
    assert bridges(show, "sm")[0] == {"a": ["deck"]}


def test_a_group_in_the_menu_is_reached_on_a_key_by_way_of_a_bridge() -> None:
    users = {"sm": {"fly": "talk", "stage": "talk"}, "deck": {"stage": "listen"}, "port": {"fly": "listen"}}
    users["port"] |= {"stage": "open and listen"}
    show = worked(users, "fly stage", {"a": ("port", "Truck", "both")}, keys={"sm": "fly"})
    found = {via.by: dict(via.users) for via in reach_of(show, "sm").heard_by}
    assert (found["stage"]["deck"], found["a"]["deck"]) == ("menu", "key")


def test_an_unknown_user_is_refused() -> None:
    with pytest.raises(ShowError, match="there is no user fly-11"):
        reach_of(SHOW, "fly-11")


def union(ways: tuple[Via, ...]) -> dict[str, str]:
    best: dict[str, str] = {}
    for via in ways:
        for user, hand in via.users:
            best[user] = min(hand, best.get(user, "menu"), key=["key", "open", "menu"].index)
    return best


@given(st.integers(0, 10**9))
def test_all_ways_together_are_the_row_and_the_column_of_the_matrix(seed: int) -> None:
    show = show_from_tree(random_plot(seed))
    hands = hands_of(show, talk_paths(show))
    for user in show.users:
        reach: Reach = reach_of(show, user, hands)
        assert union(reach.heard_by) == {other: hands.hand(user, other) for other in hands.matrix.heard_by(user)}
        assert union(reach.hears) == {other: hands.hand(other, user) for other in hands.matrix.hears(user)}
