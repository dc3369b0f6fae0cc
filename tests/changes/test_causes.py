"""Which edits bring a loss, worked by hand; the laws are in `test_effect_against_oracle.py`."""

from __future__ import annotations

from importlib import import_module
from typing import Any

import pytest

from showvc.changes import effect_of
from showvc.changes.causes import heard_edits, taken_back
from showvc.document import show_from_tree
from showvc.document.pointers import join, parse
from tests.paths.oracle.building import GONE, bridge, but, circuit, critical, show, user

searching = import_module("showvc.changes.causes")  # the package exports a function of this name

Tree = dict[str, Any]

RAIL = show(
    critical("fly"),
    user("sm", "fly:ma", "cue:ma", "a:mn"), user("a", "fly:ma", "cue:na"), user("b", "fly:na"),
    circuit("truck", "hs"), bridge("feed", "cue", "truck"),
)  # fmt: skip


def because(before: Tree, *edits: tuple[str, Any]) -> dict[str, tuple[set[str], list[str]]]:
    found = effect_of(show_from_tree(before), show_from_tree(but(before, *edits))).because
    return {
        ">".join(cause.loss): ({edit.removeprefix("/") for edit in cause.edits}, [*cause.remains]) for cause in found
    }


def test_of_two_edits_each_loss_has_its_own() -> None:
    assert because(RAIL, ("users/b/channels/fly/listen", "none"), ("bridges/feed/direction", "in")) == {
        "sm>fly>b": ({"users/b/channels/fly/listen"}, []),
        "a>fly>b": ({"users/b/channels/fly/listen"}, []),
        "sm>b": ({"users/b/channels/fly/listen"}, []),
        "a>b": ({"users/b/channels/fly/listen"}, []),
        "sm>truck": ({"bridges/feed/direction"}, []),
    }


def test_where_both_ends_let_go_either_alone_brings_nothing_back() -> None:
    edits = (("users/sm/channels/fly/talk", "none"), ("users/b/channels/fly", GONE))
    assert because(RAIL, *edits)["sm>fly>b"] == ({"users/sm/channels/fly/talk", "users/b/channels/fly"}, [])
    assert because(RAIL, *edits)["sm>fly>a"] == ({"users/sm/channels/fly/talk"}, ["a", "cue"])


def test_of_two_ways_that_are_gone_one_is_enough() -> None:
    edits = (("users/b/channels", {}), ("users/sm/channels/fly/talk", "none"), ("users/a/department", "rail"))
    assert because(RAIL, *edits)["a>b"] == ({"users/b/channels/fly"}, [])
    both = (
        ("users/sm/channels/a/talk", "none"),
        ("users/sm/channels/cue/talk", "none"),
        ("users/a/channels/fly", GONE),
    )
    assert len(because(RAIL, *both)["sm>a"][0]) == 1


def test_who_is_removed_with_his_pack_comes_back_with_both() -> None:
    found = because(RAIL, ("users/b", GONE), ("devices/pack-b", GONE))
    assert found["b"] == ({"users/b", "devices/pack-b"}, [])
    assert found["sm>b"] == ({"users/b", "devices/pack-b"}, [])


def test_a_circuit_comes_back_with_its_bridge() -> None:
    found = because(RAIL, ("circuits/truck", GONE), ("bridges/feed", GONE), ("groups/cue/label", "CUES"))
    assert found["sm>truck"] == ({"circuits/truck", "bridges/feed"}, [])


@pytest.mark.parametrize(
    ("edit", "heard"),
    [
        (("users/sm/name", "Stage Manager"), []),
        (("users/sm/channels/fly/level", -60), []),
        (("users/sm/channels/fly/listen", "switchable"), ["/users/sm/channels/fly/listen"]),
        (("devices/pack-sm/place", "Left"), []),
        (("devices/pack-sm/away", "at repair"), ["/devices/pack-sm/away"]),
        (("devices/pack-sm/keys/A1", GONE), ["/devices/pack-sm/keys/A1"]),
        (("circuits/truck/people", "the recordist"), []),
        (("circuits/truck/hears", False), ["/circuits/truck/hears"]),
        (("groups/fly", {}), []),
        (("groups/fly", GONE), ["/groups/fly"]),
        (("kinds/belt/keys", 2), ["/kinds/belt/keys"]),
        (("lines", {"alarm": {}}), ["/lines/alarm"]),
        (("required", {"r": {"from": "sm", "to": "a"}}), []),
    ],
)
def test_edits_by_which_a_path_can_come_or_go(edit: tuple[str, Any], heard: list[str]) -> None:
    before, after = show_from_tree(RAIL), show_from_tree(but(RAIL, edit))
    assert [join(*steps) for steps in heard_edits(before, after)] == heard


def test_the_search_ends_and_says_where_it_told_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    crew = [user(f"f{turn}", "fly:mn", "cue:na") for turn in range(12)]
    before = show(*crew, user("sm", "fly:na", "cue:mn"))
    gone = [(f"users/f{turn}/channels/{target}", GONE) for turn in range(12) for target in ("fly", "cue")]
    after = but(before, *gone, ("users/sm/channels", {}))
    old, new = show_from_tree(before), show_from_tree(after)
    full = effect_of(old, new).because
    assert all(cause.fewest and len(cause.edits) == 2 for cause in full)
    monkeypatch.setattr(searching, "MOST_TRIALS", 6)
    monkeypatch.setattr(searching, "TRIED_POSITIONS", 0)
    short = effect_of(old, new).because
    assert [cause.loss for cause in short] == [cause.loss for cause in full]
    assert not all(cause.fewest for cause in short)
    for cause in short:
        assert cause.loss not in effect_of(old, taken_back(old, new, map(parse, cause.edits))).losses
