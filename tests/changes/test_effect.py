"""What edits do to people: its parts beside the paths, its JSON, and what it costs to leave it unasked."""

from __future__ import annotations

import pytest

from showvc.changes import Effect, compare, effect_of
from tests.merging.cases import GONE, SMALL, Edits, edited

# In the small show: SM talks on LX, FLY (FLY 1), SND (ASM) and to ASM; ASM on SND (SM) and STAGE; FLY 1 answers on FLY.
# LX OP has no device. FLY and the line ALARM are critical.


def effect(after: Edits, before: Edits | None = None) -> Effect:
    show = edited(SMALL, before or {})
    return effect_of(show, edited(show, after))


def test_an_edit_that_no_headset_notices_has_no_effect() -> None:
    found = effect({"devices/desk-01/place": "Prompt corner", "notes": "Load-in at nine.\n"})
    assert not found
    assert found.plain() == {
        "off_headset": [], "lost_over": [], "lost": [], "gained": [], "weaker": [], "overheard": [], "fragile": [],
        "members": [], "limits": [], "strips": [], "because": [],
    }  # fmt: skip


def test_compare_has_edits_and_effect() -> None:
    plain = compare(SMALL, edited(SMALL, {"users/sm/channels/fly/talk": "none"})).plain()
    assert [change["path"] for change in plain["changes"]] == ["/users/sm/channels/fly/talk"]
    assert plain["effect"] == {
        "off_headset": [],
        "lost_over": [["sm", "fly", "fly-1"]],
        "lost": [["sm", "fly-1"]],
        "gained": [],
        "weaker": [],
        "overheard": [],
        "fragile": [],
        "members": [],
        "limits": [],
        "strips": [],
        "because": [
            {"loss": ["sm", "fly", "fly-1"], "edits": ["/users/sm/channels/fly/talk"], "remains": []},
            {"loss": ["sm", "fly-1"], "edits": ["/users/sm/channels/fly/talk"], "remains": []},
        ],
    }


def test_any_group_is_told_on_request() -> None:
    found = effect({"users/asm/channels/snd": GONE})
    assert found.lost_over == ()
    assert ("sm", "snd", "asm") in found.lost_over_targets({"snd"})


def test_those_who_come_back_on_headset() -> None:
    found = effect({"devices/pack-03/user": "lx-op"})
    assert (found.back_on_headset, found.off_headset) == (("lx-op",), ())
    assert ("sm", "lx-op") in found.gained and found


def test_what_is_gained_over_a_critical_group_though_the_pair_was_there() -> None:
    found = effect({"users/asm/channels/fly": {"number": 3, "listen": "always"}})
    assert ("sm", "fly", "asm") in found.gained_over
    assert ("sm", "asm") not in found.gained


# --- required paths


@pytest.mark.parametrize(
    ("edit", "state"),
    [
        ({"users/sm/channels/fly/talk": "none"}, ("met", "lost")),
        ({"devices/pack-02": GONE}, ("met", "lost")),
        ({"users/fly-1/channels/fly/listen": "switchable"}, ("met", "unsure")),
        ({"devices/desk-01/keys/A2": GONE}, ("met", "menu only")),
        ({"required/sm-lx": {"from": "sm", "to": "asm"}}, (None, "unsure")),
        ({"required/sm-lx": {"from": "asm", "to": "fly"}}, (None, "lost")),
        ({"required/sm-fly/to": "fly-1"}, ("met", "met")),
        ({"required/sm-fly": GONE}, ("met", None)),
    ],
)
def test_required_paths_whose_state_or_ends_changed(edit: Edits, state: tuple[str | None, str | None]) -> None:
    (change,) = effect(edit).required
    assert (change.before and change.before.state, change.after and change.after.state) == state


def test_a_required_path_that_stays_as_it_was_is_not_told() -> None:
    assert effect({"users/asm/channels/snd": GONE}).required == ()


# --- limits


@pytest.mark.parametrize(
    ("edit", "before", "told"),
    [
        ({"devices/pack-04": {"kind": "pack-2"}}, {}, ()),
        ({"devices/pack-04": {"kind": "pack-2"}, "devices/pack-05": {"kind": "pack-2"}}, {},
         (("/limits/devices", "7 devices; the system takes 6"),)),
        ({"limits/devices": 4}, {}, (("/limits/devices", "5 devices; the system takes 4"),)),
        ({"devices/pack-04": {"kind": "pack-2"}}, {"limits/devices": 4}, ()),
        ({"limits/targets": 7}, {}, (("/limits/targets", "8 groups and users; the system takes 7"),)),
        ({"limits/channels": 3}, {}, (("/users/sm/channels", "4 channels of SM; the system takes 3"),)),
        ({"users/sm/channels/stage": {"number": 5}}, {"limits/channels": 4},
         (("/users/sm/channels", "5 channels of SM; the system takes 4"),)),
    ],
)  # fmt: skip
def test_limits_that_are_passed_now_and_were_not_before(
    edit: Edits, before: Edits, told: tuple[tuple[str, str], ...]
) -> None:
    assert effect(edit, before).crossed == told


def test_a_carrier_that_gives_too_little_now() -> None:
    before = {
        "kinds/radio-2": {"keys": 2, "needs": {"slots": 1}},
        "carriers/antenna": {"gives": {"slots": 1}},
        "devices/pack-02/kind": "radio-2",
        "devices/pack-02/on": ["antenna"],
    }
    found = effect({"devices/pack-04": {"kind": "radio-2", "on": ["antenna"]}}, before)
    assert found.plain()["limits"] == ["/carriers/antenna/gives/slots"]
    assert ("sm", "fly", "fly-1", "ear") in found.weaker


# --- critical groups and lines


@pytest.mark.parametrize(
    ("edit", "touched"),
    [
        ({"groups/fly/name": "Fly Floor"}, ("fly",)),
        ({"users/sm/channels/fly/level": -3}, ("fly",)),
        ({"groups/fly/critical": False}, ("fly",)),
        ({"groups/lx/critical": True}, ("lx",)),
        ({"groups/fly": GONE}, ("fly",)),
        ({"users/sm/channels/lx/level": -3}, ()),
        ({"groups/lx/name": "Lights"}, ()),
        ({"devices/desk-01/keys/A2": GONE}, ("fly",)),
        ({"devices/desk-01/user": "asm"}, ("alarm", "fly")),
        ({"devices/desk-01/place": "Prompt corner"}, ()),
        ({"devices/desk-01/kind": "pack-4"}, ("alarm", "fly")),
        ({"devices/pack-02/away": "at repair"}, ("alarm", "fly")),
        ({"devices/desk-01": GONE}, ("alarm", "fly")),
        ({"devices/pack-01/user": "sm"}, ("alarm", "fly")),
        ({"bridges/radio/target": "fly"}, ("fly",)),
        ({"bridges/radio/direction": "in"}, ()),
        ({"users/asm/lines/alarm": {"talk": "momentary"}}, ("alarm",)),
        ({"users/asm/lines/paging": {"talk": "momentary"}}, ()),
        ({"lines/alarm/critical": False}, ("alarm",)),
    ],
)
def test_critical_groups_and_lines_that_an_edit_touches(edit: Edits, touched: tuple[str, ...]) -> None:
    assert effect(edit).critical_touched == touched


def test_a_critical_group_that_a_bridge_leaves_is_touched() -> None:
    for edit in ({"bridges/radio/target": "lx"}, {"bridges/radio": GONE}):
        assert effect(edit, {"bridges/radio/target": "fly"}).critical_touched == ("fly",)


def test_a_circuit_that_falls_silent_on_a_critical_group_is_touched_through_its_paths() -> None:
    found = effect({"circuits/radio-base/hears": False}, {"bridges/radio/target": "fly"})
    assert found.critical_touched == ("fly",)
