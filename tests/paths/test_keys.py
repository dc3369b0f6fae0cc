"""Is a path on a key, always open, or in the menu only? And what an edit does to that."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, show_from_tree
from showvc.paths import KeyAt, advance, hands_of, key_changes, keys_of, talk_paths
from showvc.paths.keys import Hands
from tests.paths.plots import neighbour, random_plot, worked

SEEDS = st.integers(0, 10**9)


def hands(show: Show) -> Hands:
    return hands_of(show, talk_paths(show))


CREW = {"sm": {"fly": "talk", "lx": "talk"}, "fly-1": {"fly": "listen"}, "lx-op": {"lx": "listen"}}


def test_a_path_is_on_a_key_of_a_device_that_the_talker_wears() -> None:
    known = hands(worked(CREW, "fly lx", keys={"sm": "lx fly alarm"}))
    assert known.hand("sm", "fly-1") == "key"
    assert known.keys["sm"]["fly"] == (KeyAt("desk-sm", "A2", "A"),)
    assert known.hand("fly-1", "sm") is None


def test_a_key_of_somebody_else_does_not_help() -> None:
    assert hands(worked(CREW, "fly lx", keys={"lx-op": "fly"})).hand("sm", "fly-1") == "menu"


def test_every_device_that_a_user_wears_counts() -> None:
    show = worked(CREW, "fly lx", keys={"sm": "lx"})
    desk = show.devices["desk-sm"].model_copy(update={"keys": {"B10": "fly", "B2": "fly"}})
    both = show.with_section("devices", {"pack-9": desk})
    assert keys_of(both)["sm"]["fly"] == (KeyAt("pack-9", "B2", "B"), KeyAt("pack-9", "B10", "B"))
    assert hands(both).hand("sm", "fly-1") == "key"


def test_a_key_serves_its_own_channel_alone() -> None:
    # LX under the key is the listening one; the one that talks is in the menu.
    users = {"sm": {"lx": "listen", "lx#2": "talk"}, "lx-op": {"lx": "listen"}}
    assert hands(worked(users, "lx", keys={"sm": "lx"})).hand("sm", "lx-op") == "menu"
    assert hands(worked(users, "lx", keys={"sm": "lx#2"})).hand("sm", "lx-op") == "key"


def test_an_open_channel_needs_no_key_and_is_told_apart_from_one() -> None:
    users = {"port": {"fly": "open"}, "fly-1": {"fly": "listen"}}
    assert hands(worked(users, "fly")).hand("port", "fly-1") == "open"
    assert hands(worked(users, "fly", keys={"port": "fly"})).hand("port", "fly-1") == "key"


def test_a_direct_call_has_its_own_key() -> None:
    users = {"sm": {"fly": "talk", "fly-1": "talk"}, "fly-1": {"fly": "listen"}}
    assert hands(worked(users, "fly", keys={"sm": "fly-1"})).hand("sm", "fly-1") == "key"


def test_what_a_bridge_carries_on_is_on_the_key_of_its_group() -> None:
    users = {"sm": {"fly": "talk"}, "deck": {"stage": "listen"}}
    bridges = {"a": ("fly", "House party line A", "out"), "b": ("stage", "House party line A", "in")}
    assert hands(worked(users, "fly stage", bridges, keys={"sm": "fly"})).hand("sm", "deck") == "key"
    assert hands(worked(users, "fly stage", bridges)).hand("sm", "deck") == "menu"


@given(SEEDS)
def test_the_row_at_hand_is_of_those_reached_on_a_key_or_always_open(seed: int) -> None:
    known = hands(show_from_tree(random_plot(seed)))
    for talker, listener in known.matrix.pairs():
        at_hand = bool(known.row(talker) >> known.matrix.ears.place[listener] & 1)
        assert at_hand == (known.hand(talker, listener) in ("key", "open"))


# --- between two shows -----------------------------------------------------------------------------------------------


def test_a_lost_key_is_told_apart_from_a_lost_path() -> None:
    before = hands(worked(CREW, "fly lx", keys={"sm": "lx fly"}))
    after = hands(worked(CREW, "fly lx", keys={"sm": "lx"}))
    change = key_changes(before, after)
    assert (set(change.to_menu), set(change.to_key)) == ({("sm", "fly-1")}, set())
    back = key_changes(after, before)
    assert (set(back.to_menu), set(back.to_key)) == (set(), {("sm", "fly-1")})


def test_a_path_that_is_gone_lost_no_key() -> None:
    before = hands(worked(CREW, "fly lx", keys={"sm": "lx fly"}))
    after = hands(worked({**CREW, "fly-1": {}}, "fly lx", keys={"sm": "lx"}))
    assert not key_changes(before, after).to_menu


def test_a_path_that_stays_in_the_menu_when_its_keyed_group_is_left() -> None:
    # fly-1 leaves FLY, which sm has on a key, and is still on STAGE, which sm has in the menu. No row changes.
    users = {"sm": {"fly": "talk", "stage": "talk"}, "fly-1": {"fly": "listen", "stage": "listen"}}
    before = worked(users, "fly stage", keys={"sm": "fly"})
    after = worked({**users, "fly-1": {"stage": "listen"}}, "fly stage", keys={"sm": "fly"})
    matrix = talk_paths(before)
    following = advance(matrix, before, after)
    assert following == matrix
    change = key_changes(hands_of(before, matrix), hands_of(after, following))
    assert set(change.to_menu) == {("sm", "fly-1")}


def test_a_path_that_stays_in_the_menu_when_the_called_shuts_the_caller_out() -> None:
    users = {"sm": {"asm": "talk", "stage": "talk"}, "asm": {"stage": "listen"}}
    before = worked(users, "stage", keys={"sm": "asm"})
    after = worked({**users, "asm": {"stage": "listen", "sm": "neither"}}, "stage", keys={"sm": "asm"})
    matrix = talk_paths(before)
    change = key_changes(hands_of(before, matrix), hands_of(after, advance(matrix, before, after)))
    assert set(change.to_menu) == {("sm", "asm")}


@pytest.mark.parametrize("now", [None, "lx-op"])
def test_a_device_that_goes_or_changes_hands_takes_its_keys_from_the_one_who_wore_it(now: str | None) -> None:
    before = worked(CREW, "fly lx", keys={"sm": "fly"})
    desk = before.devices["desk-sm"].model_copy(update={"user": now})
    for device in (desk, None):
        after = before.with_section("devices", {"desk-sm": device})
        matrix = talk_paths(before)
        change = key_changes(hands_of(before, matrix), hands_of(after, advance(matrix, before, after)))
        assert set(change.to_menu) == {("sm", "fly-1")}


@pytest.mark.parametrize("advanced", [True, False])
@given(SEEDS, SEEDS)
def test_key_changes_are_the_differences_among_the_paths_that_stayed(advanced: bool, first: int, second: int) -> None:
    plot = random_plot(first)
    before, after = show_from_tree(plot), show_from_tree(neighbour(plot, second))
    matrix = talk_paths(before)
    old = hands_of(before, matrix)
    new = hands_of(after, advance(matrix, before, after) if advanced else talk_paths(after))
    stayed = set(old.matrix.pairs()) & set(new.matrix.pairs())
    change = key_changes(old, new)
    was, now = ({pair for pair in stayed if known.hand(*pair) == "menu"} for known in (old, new))
    assert set(change.to_menu) == now - was
    assert set(change.to_key) == was - now
