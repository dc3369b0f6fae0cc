"""Who hears one user and whom he hears, grouped by the way."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError, show_from_tree
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
        Via("bridge", "a", (("deck", "key"), ("fly-1", "key"))),
    )
    assert reach.hears == (
        Via("group", "fly", (("fly-1", "menu"),)),
        Via("group", "lx", (("lx-op", "open"),)),
        Via("bridge", "a", (("deck", "key"), ("fly-1", "menu"))),
    )


def test_the_ways_in_words() -> None:
    assert reach_text(SHOW, reach_of(SHOW, "sm")) == (
        "sm is heard by 3 users:\n"
        "  on FLY: fly-1\n"
        "  direct: asm (menu)\n"
        "  by bridge a: deck, fly-1\n"
        "sm hears 3 users:\n"
        "  on FLY: fly-1 (menu)\n"
        "  on LX: lx-op (open)\n"
        "  by bridge a: deck, fly-1 (menu)"
    )
    alone = worked({"sm": {}})
    assert reach_text(alone, reach_of(alone, "sm")) == "sm is heard by nobody\nsm hears nobody"


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
