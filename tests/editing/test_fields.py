"""Many places at once: what a pattern and its conditions name, and that it equals the single edits."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show, ShowError
from showvc.document.editing import ABSENT, get, put
from showvc.document.pointers import join
from showvc.editing import conditions, places, remove_fields, set_fields
from showvc.history.editing import read_value
from tests.editing.salt import salt
from tests.strategies import plain_shows


def found(path: str, *where: str, there: bool = False) -> list[str]:
    return [join(*steps)[1:] for steps in places(salt(), path, conditions(where), there)]


@pytest.mark.parametrize(
    ("path", "where", "named"),
    [
        ("users/fly-*/channels/fly/listen", (), [f"users/fly-{n}/channels/fly/listen" for n in (1, 2, 3)]),
        ("users/*/channels/CUE/listen", (), ["users/fly-1/channels/cue/listen"]),
        ("users/SM/channels/*/talk", (), ["users/sm/channels/fly/talk", "users/sm/channels/lx/talk"]),
        ("devices/*/place", ("kind=pack-4",), ["devices/pack-1/place", "devices/pack-2/place"]),
        ("devices/*/place", ("department=Rail", "kind=rack"), ["devices/pack-3/place"]),
        ("devices/*/place", ("place=corner",), ["devices/desk/place"]),
        ("users/*/department", ("group=CUE",), ["users/fly-1/department"]),
        ("users/*/department", ("group=alarm",), ["users/fly-1/department"]),
        ("groups/*/critical", ("tag=rig",), ["groups/fly/critical"]),
        ("users/*/name", ("port=true",), ["users/box/name"]),
        ("devices/*/keys/A1", ("group=cue",), ["devices/pack-1/keys/A1"]),
        ("users/sm/label", ("department=stage",), ["users/sm/label"]),
    ],
)
def test_places(path: str, where: tuple[str, ...], named: list[str]) -> None:
    assert sorted(found(path, *where)) == named


def test_a_place_that_holds_nothing_is_named_only_where_something_may_be_put() -> None:
    assert len(found("users/fly-*/channels/lx")) == 3
    with pytest.raises(ShowError, match="nothing in this show matches"):
        found("users/fly-*/channels/lx", there=True)


@pytest.mark.parametrize(
    ("path", "where", "words"),
    [
        ("users/spot-*/label", (), "users/spot-*/label: nothing in this show matches"),
        ("users/fly-*/lable", (), "did you mean label?"),
        ("*/sm", (), "a pattern begins with a section"),
        ("users/*/label", ("department=none",), "nothing there has department=none"),
        ("users/*/label", ("kind=desk-8",), "users have no such field"),
        ("bridges/*/port", ("department=rail",), "bridges belong to no department"),
        ("users/*/label", ("department",), "FIELD=VALUE is wanted"),
        ("users/*/label", ("group=none",), "there is no group, user or line none"),
    ],
)
def test_errors(path: str, where: tuple[str, ...], words: str) -> None:
    with pytest.raises(ShowError, match=re.escape(words)):
        found(path, *where)


def test_a_label_that_two_things_have_names_both() -> None:
    show = put(salt(), {("users", "fly-2", "label"): "FLY 1"})
    with pytest.raises(ShowError, match=re.escape("'fly 1' may be fly-1, fly-2 (name one of them by its id)")):
        places(show, "users/fly 1/label")


def test_an_exact_id_comes_before_a_label_and_values_are_resolved_too() -> None:
    show = put(salt(), {("users", "fly-2", "label"): "sm"})
    assert places(show, "users/sm/label") == [("users", "sm", "label")]
    done = set_fields(salt(), [("devices/spare/user", "Stage Manager"), ("devices/spare/keys/A1", "LX")], read_value)
    assert (done.show.devices["spare"].user, done.show.devices["spare"].keys["A1"]) == ("sm", "lx")


def test_pairs_are_done_one_after_the_other() -> None:
    done = set_fields(salt(), [("users/new", "{name: New}"), ("users/new/label", "N")], read_value)
    assert (done.show.users["new"].name, done.show.users["new"].label) == ("New", "N")
    with pytest.raises(ShowError, match="there is no /users/other"):
        set_fields(salt(), [("users/other/label", "N")], read_value)


_PATTERNS = {
    "users/*/channels/*/listen": "always",
    "users/u*/department": "deck",
    "devices/*/place": "Store",
    "groups/*/critical": "true",
    "users/*/channels/*/level": "-3",
}


@given(show=plain_shows(), pattern=st.sampled_from(sorted(_PATTERNS)))
def test_a_pattern_equals_the_single_edits(show: Show, pattern: str) -> None:
    value = _PATTERNS[pattern]
    try:
        named = places(show, pattern)
    except ShowError:
        return
    single = show
    for steps in named:
        single = set_fields(single, [(join(*steps), value)], read_value).show
    assert set_fields(show, [(pattern, value)], read_value).show == single
    removed, held = single, [steps for steps in named if get(single, steps) is not ABSENT]
    for steps in held:
        removed = remove_fields(removed, [join(*steps)]).show
    assert remove_fields(single, [pattern]).show == removed
