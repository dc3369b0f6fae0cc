"""Who is alone, which groups are thin, who can raise a line."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import show_from_tree
from showvc.paths import KeyAt, LineTalker, Members, alone, group_members, line_talkers, talk_paths, thin_groups
from tests.paths.plots import random_plot, worked


def test_somebody_may_be_cut_off_one_way_or_both() -> None:
    show = worked({"sm": {"fly": "talk"}, "fly-1": {"fly": "listen"}, "spare": {}}, "fly")
    assert alone(talk_paths(show)).heard_by_nobody == ("fly-1", "spare")
    assert alone(talk_paths(show)).hears_nobody == ("sm", "spare")


@given(st.integers(0, 10**9))
def test_who_is_alone_stands_in_no_pair(seed: int) -> None:
    matrix = talk_paths(show_from_tree(random_plot(seed)))
    talkers, listeners = {pair[0] for pair in matrix.pairs()}, {pair[1] for pair in matrix.pairs()}
    assert set(alone(matrix).heard_by_nobody) == set(matrix.users) - talkers
    assert set(alone(matrix).hears_nobody) == set(matrix.users) - listeners


def test_the_members_of_a_group() -> None:
    show = worked(
        {"sm": {"fly": "both", "gone": "both"}, "fly-1": {"fly": "listen", "fly#2": "talk"}},
        "fly lx",
        {"a": ("fly", "Truck", "in"), "b": ("lx", "Truck", "out")},
    )
    assert group_members(show, talk_paths(show)) == (
        Members("fly", ("fly-1", "sm"), ("fly-1", "sm"), brought_in=True),
        Members("lx", (), (), carried_out=True),
    )


def test_a_group_with_a_single_talker_or_no_listener_is_thin() -> None:
    users = {
        "sm": {"one": "talk", "none": "talk"},
        "dsm": {"none": "talk", "full": "both"},
        "asm": {"one": "listen", "full": "both"},
    }
    show = worked(users, "one none full unused")
    assert [group.group for group in thin_groups(show, talk_paths(show))] == ["none", "one", "unused"]


def test_a_bridge_makes_up_for_talkers_and_listeners() -> None:
    users = {"sm": {"one": "talk"}, "asm": {"one": "listen"}}
    alone_on_it = worked(users, "one", {"a": ("one", "Truck", "out")})
    assert [group.single_talker for group in thin_groups(alone_on_it, talk_paths(alone_on_it))] == [True]
    brought = worked(users, "one", {"a": ("one", "Truck", "in")})
    assert thin_groups(brought, talk_paths(brought)) == ()


def test_who_can_raise_a_line_and_where() -> None:
    show = show_from_tree(
        {
            "users": {
                "sm": {"lines": {"alarm": {"talk": "momentary"}}},
                "dsm": {"lines": {"alarm": {"talk": "momentary"}}},
                "asm": {"lines": {"alarm": {"listen": "always"}, "paging": {"talk": "latch"}}},
                "deck": {},
            },
            "devices": {"desk-01": {"kind": "desk-8", "user": "sm", "keys": {"A8": "alarm"}}},
        }
    )
    assert line_talkers(show, "alarm") == (
        LineTalker("dsm", ()),
        LineTalker("sm", (KeyAt("desk-01", "A8", "A"),)),
    )
    assert [talker.user for talker in line_talkers(show, "paging")] == ["asm"]
    assert line_talkers(show, "relay") == ()
