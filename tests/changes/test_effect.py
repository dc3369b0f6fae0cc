"""What edits do to those on headset."""

from __future__ import annotations

from typing import Any

import pytest

from showvc.changes import Effect, compare, effect_of
from tests.merging.cases import GONE, SMALL, Edits, edited

# In the small show: SM talks on LX (LX OP listens), FLY (FLY 1), SND (ASM) and to ASM; ASM on SND (SM) and STAGE;
# FLY 1 and LX OP answer on FLY and LX. FLY is critical.


def effect(after: Edits, before: Edits | None = None) -> Effect:
    show = edited(SMALL, before or {})
    return effect_of(show, edited(show, after))


def pairs(found: Any) -> set[str]:
    return {f"{talker} > {listener}" for talker, listener in found}


def test_an_edit_that_no_headset_notices_has_no_effect() -> None:
    found = effect({"devices/desk-01/place": "Prompt corner", "notes": "Load-in at nine.\n"})
    assert not found
    assert found.plain() == {
        "lost": [], "gained": [], "menu": [], "critical": [], "required": [], "lines": [], "strips": [], "limits": []
    }  # fmt: skip


# --- paths


def test_a_path_lost_over_a_critical_group_is_critical() -> None:
    found = effect({"users/sm/channels/fly/talk": "none"})
    assert pairs(found.lost) == {"sm > fly-1"}
    assert pairs(found.critical) == {"sm > fly-1"}
    assert pairs(found.gained) == set()
    assert found


def test_a_path_lost_over_another_group_is_not() -> None:
    found = effect({"users/lx-op/channels/lx": GONE})
    assert pairs(found.lost) == {"sm > lx-op", "lx-op > sm"}
    assert pairs(found.critical) == set()


def test_a_path_that_has_a_second_way_is_not_lost() -> None:
    second = {
        "users/sm/channels/stage": {"number": 5, "talk": "latch"},
        "users/lx-op/channels/stage": {"number": 2, "listen": "always"},
    }
    assert pairs(effect({"users/sm/channels/lx/talk": "none"}).lost) == {"sm > lx-op"}
    assert pairs(effect({"users/sm/channels/lx/talk": "none"}, second).lost) == set()


def test_a_path_gained() -> None:
    found = effect({"users/lx-op/channels/stage": {"number": 2, "listen": "always"}})
    assert pairs(found.gained) == {"asm > lx-op"}
    assert pairs(found.lost) == set()


def test_all_paths_of_a_user_who_is_gone_are_lost_and_no_label_of_his_is_asked_for() -> None:
    found = effect({"users/lx-op": GONE})
    assert pairs(found.lost) == {"sm > lx-op", "lx-op > sm"}


def test_a_path_that_loses_its_key_is_only_in_the_menu() -> None:
    found = effect({"devices/desk-01/keys/A2": GONE})
    assert pairs(found.to_menu) == {"sm > fly-1"}
    assert pairs(found.lost) == set()
    back = effect({"devices/desk-01/keys/A2": "fly"}, {"devices/desk-01/keys/A2": GONE})
    assert pairs(back.to_key) == {"sm > fly-1"}
    assert pairs(back.to_menu) == set()


def test_a_path_that_is_gone_is_lost_and_not_also_in_the_menu() -> None:
    found = effect({"devices/desk-01/keys/A2": GONE, "users/sm/channels/fly": GONE})
    assert pairs(found.lost) == {"sm > fly-1", "fly-1 > sm"}
    assert pairs(found.to_menu) == set()


# --- required paths


@pytest.mark.parametrize(
    ("edit", "state"),
    [
        ({"users/sm/channels/fly/talk": "none"}, ("holds", "lost")),
        ({"devices/desk-01/keys/A2": GONE}, ("holds", "menu")),
        ({"required/sm-lx": {"from": "sm", "to": "lx"}}, (None, "holds")),
        ({"required/sm-lx": {"from": "asm", "to": "lx"}}, (None, "lost")),
        ({"required/sm-fly/to": "fly-1"}, ("holds", "holds")),
        ({"required/sm-fly": GONE}, ("holds", None)),
    ],
)
def test_required_paths_whose_state_or_ends_changed(edit: Edits, state: tuple[str | None, str | None]) -> None:
    (change,) = effect(edit).required
    assert (change.before and change.before.state, change.after and change.after.state) == state


def test_a_required_path_that_stays_as_it_was_is_not_told() -> None:
    assert effect({"users/lx-op/channels/lx": GONE}).required == ()


# --- limits


@pytest.mark.parametrize(
    ("edit", "before", "told"),
    [
        ({"devices/pack-04": {"kind": "pack-2"}}, {}, ()),
        ({"devices/pack-04": {"kind": "pack-2"}, "devices/pack-05": {"kind": "pack-2"}}, {},
         ("7 devices; the system takes 6",)),
        ({"limits/devices": 4}, {}, ("5 devices; the system takes 4",)),
        ({"devices/pack-04": {"kind": "pack-2"}}, {"limits/devices": 4}, ()),
        ({"limits/targets": 7}, {}, ("8 groups and users; the system takes 7",)),
        ({"limits/channels": 3}, {}, ("4 channels of SM; the system takes 3",)),
        ({"users/sm/channels/stage": {"number": 5}}, {"limits/channels": 4}, ("5 channels of SM; the system takes 4",)),
    ],
)  # fmt: skip
def test_limits_that_are_passed_now_and_were_not_before(edit: Edits, before: Edits, told: tuple[str, ...]) -> None:
    assert effect(edit, before).limits == told


# --- critical groups


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
        ({"devices/desk-01/user": "asm"}, ("fly",)),
        ({"devices/desk-01/place": "Prompt corner"}, ()),
        ({"devices/desk-01/kind": "pack-4"}, ("fly",)),
        ({"devices/desk-01": GONE}, ("fly",)),
        ({"devices/pack-01/user": "sm"}, ("fly",)),
        ({"bridges/radio/target": "fly"}, ("fly",)),
        ({"bridges/radio/direction": "in"}, ()),
    ],
)
def test_critical_groups_that_an_edit_touches(edit: Edits, touched: tuple[str, ...]) -> None:
    assert effect(edit).critical_groups == touched


def test_a_critical_group_that_a_bridge_leaves_is_touched() -> None:
    for edit in ({"bridges/radio/target": "lx"}, {"bridges/radio": GONE}):
        assert effect(edit, {"bridges/radio/target": "fly"}).critical_groups == ("fly",)


# --- the whole


def test_compare_has_edits_and_effect() -> None:
    found = compare(SMALL, edited(SMALL, {"users/sm/channels/fly/talk": "none"}))
    assert found.effect is not None
    assert [change.path for change in found.changes] == ["/users/sm/channels/fly/talk"]
    plain = found.plain()
    assert plain["effect"]["lost"] == [["sm", "fly-1"]]
    assert plain["effect"]["critical"] == [["sm", "fly-1"]]
    assert plain["effect"]["required"] == [{"id": "sm-fly", "before": "holds", "after": "lost"}]


# --- lines


def said(after: Edits, before: Edits | None = None) -> list[str]:
    show = edited(edited(SMALL, before or {}), after)
    return [change.words(show) for change in effect(after, before).lines]


def test_an_emergency_that_can_no_longer_be_raised_is_told_first() -> None:
    before = {"users/sm/lines": {"alarm": {"talk": "momentary"}, "paging": {"talk": "momentary"}}}
    assert said({"users/sm/lines": {}}, before) == ["SM CAN NO LONGER use ALARM", "SM CAN NO LONGER use PAGE"]
    assert said({"users/sm/lines/alarm/talk": "none"}, before) == ["SM CAN NO LONGER use ALARM"]


def test_an_emergency_without_its_key_is_told() -> None:
    before = {"users/sm/lines/alarm": {"talk": "momentary"}, "devices/desk-01/keys/A8": "alarm"}
    assert said({"devices/desk-01/keys/A8": GONE}, before) == ["SM can use ALARM from the menu only, without a key"]
    assert said({"devices/desk-01/place": "Left"}, before) == []


def test_an_emergency_that_is_always_open_needs_no_key() -> None:
    edit = {"users/asm/lines/alarm": {"talk": "open"}}
    assert [(change.before, change.after) for change in effect(edit).lines] == [(None, "open")]
    assert said(edit) == ["ASM can now use ALARM"]


def test_an_emergency_that_can_be_raised_now_is_told() -> None:
    assert said({"users/sm/lines/alarm": {"talk": "momentary"}}) == ["SM can now use ALARM"]
