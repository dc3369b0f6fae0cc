"""The matrix sentence by sentence, from one show to the next, and what is lost and gained."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, show_from_tree
from showvc.paths import advance, lost_and_gained, talk_paths
from tests.generator import apply_edits, random_edits, random_show
from tests.paths.plots import neighbour, paths_in, random_plot, worked

SEEDS = st.integers(0, 10**9)


# --- sentence by sentence --------------------------------------------------------------------------------------------


def test_what_is_said_to_a_group_is_heard_by_its_listeners() -> None:
    show = worked({"sm": {"fly": "talk"}, "fly-1": {"fly": "listen"}, "fly-2": {"fly": "neither"}}, "fly")
    assert paths_in(show) == {"sm > fly-1"}


@pytest.mark.parametrize("talk", ["none", "momentary", "latch", "dual", "open"])
@pytest.mark.parametrize("listen", ["none", "switchable", "always"])
def test_every_way_to_talk_is_one_and_every_way_to_listen(talk: str, listen: str) -> None:
    users = {
        "sm": {"fly": {"number": 1, "talk": talk, "listen": "none"}},
        "fly-1": {"fly": {"number": 1, "listen": listen}},
    }
    show = show_from_tree({"groups": {"fly": {}}, "users": {name: {"channels": on} for name, on in users.items()}})
    assert paths_in(show) == (set() if "none" in (talk, listen) else {"sm > fly-1"})


def test_nobody_needs_a_path_to_himself() -> None:
    assert paths_in(worked({"sm": {"fly": "both", "sm": "both"}}, "fly")) == set()


def test_a_direct_call_is_heard_without_a_channel_for_the_caller() -> None:
    assert paths_in(worked({"sm": {"asm": "talk"}, "asm": {}})) == {"sm > asm"}


def test_a_caller_who_is_on_the_list_and_not_listened_to_is_shut_out() -> None:
    assert paths_in(worked({"sm": {"asm": "talk"}, "asm": {"sm": "neither"}})) == set()
    assert paths_in(worked({"sm": {"asm": "talk"}, "asm": {"sm": "talk"}})) == set(), "each has shut out the other"
    assert paths_in(worked({"sm": {"asm": "talk"}, "asm": {"sm": "listen"}})) == {"sm > asm"}


def test_one_of_two_channels_for_a_target_is_enough() -> None:
    show = worked({"sm": {"lx": "neither", "lx#2": "talk"}, "lx-op": {"lx": "neither", "lx#2": "listen"}}, "lx")
    assert paths_in(show) == {"sm > lx-op"}
    assert paths_in(worked({"sm": {"asm": "talk"}, "asm": {"sm": "neither", "sm#2": "listen"}})) == {"sm > asm"}


def test_what_is_not_there_reaches_nobody() -> None:
    users = {"sm": {"gone": "both", "gone#2": "both"}, "fly-1": {"gone": "both"}}
    bridges = {"a": ("gone", "Truck", "both"), "b": ("gone", "Truck", "both")}
    assert paths_in(worked(users, "", bridges)) == set()


def test_where_one_id_is_group_and_user_the_group_is_meant() -> None:
    show = worked({"lx": {}, "sm": {"lx": "talk"}, "deck": {"lx": "listen"}}, "lx")
    assert paths_in(show) == {"sm > deck"}


def test_lines_are_kept_out() -> None:
    tree = random_plot(7)
    silent = talk_paths(show_from_tree(tree))
    lines = {"alarm": {"talk": "momentary", "listen": "always"}, "paging": {"talk": "latch"}}
    for body in tree["users"].values():
        body["lines"] = lines
    assert talk_paths(show_from_tree(tree)) == silent


def test_an_empty_show_has_an_empty_matrix() -> None:
    matrix = talk_paths(worked({}))
    assert (matrix.users, len(matrix.pairs()), list(matrix.pairs())) == ((), 0, [])


def test_the_matrix_is_asked_by_name() -> None:
    matrix = talk_paths(worked({"sm": {"fly": "talk"}, "fly-2": {"fly": "listen"}, "fly-1": {"fly": "listen"}}, "fly"))
    assert matrix.users == ("fly-1", "fly-2", "sm")
    assert matrix.heard_by("sm") == ("fly-1", "fly-2")
    assert matrix.hears("fly-2") == ("sm",)
    assert matrix.holds("sm", "fly-1") and not matrix.holds("fly-1", "sm")
    assert not matrix.holds("sm", "nobody") and not matrix.holds("nobody", "sm")
    assert list(matrix.pairs()) == [("sm", "fly-1"), ("sm", "fly-2")]
    assert ("sm", "fly-1") in matrix.pairs() and ("fly-1", "sm") not in matrix.pairs()
    assert ("sm", "nobody") not in matrix.pairs() and "sm" not in matrix.pairs()
    with pytest.raises(KeyError):
        matrix.heard_by("nobody")


# --- from one show to the next ---------------------------------------------------------------------------------------


@given(SEEDS, SEEDS, SEEDS)
def test_advancing_gives_the_full_matrix(first: int, second: int, third: int) -> None:
    plot = random_plot(first)
    matrix = talk_paths(show_from_tree(plot))
    for seed in (second, third):
        following = neighbour(plot, seed)
        before, after = show_from_tree(plot), show_from_tree(following)
        matrix = advance(matrix, before, after)
        full = talk_paths(after)
        assert matrix == full and full == matrix
        assert set(matrix.pairs()) == set(full.pairs())
        assert [matrix.heard_by(name) for name in full.users] == [full.heard_by(name) for name in full.users]
        assert [matrix.hears(name) for name in full.users] == [full.hears(name) for name in full.users]
        plot = following


@given(SEEDS, SEEDS)
def test_advancing_over_an_engineers_edits_gives_the_full_matrix(seed: int, edits: int) -> None:
    before = random_show(seed, users=20, groups=5, devices=6, bridges=8)
    after = apply_edits(before, random_edits(before, edits, 12))
    assert advance(talk_paths(before), before, after) == talk_paths(after)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        # asm shuts sm out: neither what sm says nor who hears what is said to asm is another
        (worked({"sm": {"asm": "talk"}, "asm": {}}), worked({"sm": {"asm": "talk"}, "asm": {"sm": "neither"}})),
        # lx was meant as the group, and is the user now, who has shut sm out; who hears lx is the same bit
        (worked({"sm": {"lx": "talk"}, "lx": {"lx": "listen", "sm": "neither"}}, "lx"),
         worked({"sm": {"lx": "talk"}, "lx": {"lx": "listen", "sm": "neither"}})),
        # sm was meant as the group, whom nobody can shut out
        (worked({"sm": {"asm": "talk"}, "asm": {"sm": "neither"}}, "sm"),
         worked({"sm": {"asm": "talk"}, "asm": {"sm": "neither"}})),
    ],
)  # fmt: skip
def test_advancing_sees_who_was_shut_out(before: Show, after: Show) -> None:
    assert len(talk_paths(before).pairs()) == 1 and not talk_paths(after).pairs()
    assert advance(talk_paths(before), before, after) == talk_paths(after)
    assert advance(talk_paths(after), after, before) == talk_paths(before)


def test_nothing_is_worked_out_again_where_nothing_changed() -> None:
    show = random_show(1)
    matrix = talk_paths(show)
    same = advance(matrix, show, show)
    assert all(new is old for new, old in zip(same.rows, matrix.rows, strict=True))


def test_a_user_who_comes_back_has_his_paths_again() -> None:
    full = worked({"sm": {"fly": "talk"}, "fly-1": {"fly": "listen"}}, "fly")
    without = full.with_section("users", {"fly-1": None})
    matrix = advance(talk_paths(full), full, without)
    assert matrix.users == ("sm",) and not matrix.holds("sm", "fly-1")
    assert advance(matrix, without, full) == talk_paths(full)


# --- two shows -------------------------------------------------------------------------------------------------------


@given(SEEDS, SEEDS)
def test_lost_and_gained_are_the_two_differences(first: int, second: int) -> None:
    plot = random_plot(first)
    before, after = show_from_tree(plot), show_from_tree(neighbour(plot, second))
    old, new = talk_paths(before), talk_paths(after)
    for other in (new, advance(old, before, after)):
        change = lost_and_gained(old, other)
        assert set(change.lost) == set(old.pairs()) - set(new.pairs())
        assert set(change.gained) == set(new.pairs()) - set(old.pairs())
        assert len(change.lost) == len(list(change.lost))
        back = lost_and_gained(other, old)
        assert (set(back.lost), set(back.gained)) == (set(change.gained), set(change.lost))


def test_shows_of_different_users_are_told_apart_though_nobody_hears() -> None:
    assert talk_paths(worked({"sm": {}})) != talk_paths(worked({"dsm": {}}))
    assert talk_paths(worked({"sm": {}})) != "a matrix"
