"""Ids that changed, recognised by what a thing is called and by what points at it."""

from __future__ import annotations

import pytest

from showvc.document import Show
from showvc.identity.references import references, renamed
from showvc.identity.renames import Rename, renames
from tests.merging.cases import GONE, SMALL, Edits, edited

LIGHTING = Rename("groups", "lx", "lighting")


def moved(show: Show = SMALL) -> Show:
    return renamed(show, "groups", "lx", "lighting")


def test_an_id_changes_everywhere_at_once() -> None:
    before = edited(SMALL, {
        "users/asm/channels/lx": {"number": 3}, "users/asm/channels/lx#2": {"number": 4},
        "required/sm-lx": {"from": "sm", "to": "lx"}, "accepted/one": {"rule": "single-talker", "at": "/groups/lx", "why": "x"},
        "accepted/two": {"rule": "x", "at": "users/sm/channels/lx", "why": "x"},
    })  # fmt: skip
    after = moved(before)
    assert "lx" not in after.groups
    assert after.groups["lighting"] == before.groups["lx"]
    assert list(after.users["asm"].channels) == ["snd", "stage", "lighting", "lighting#2"]
    assert after.devices["desk-01"].keys["A1"] == "lighting"
    assert after.bridges["party-line"].target == "lighting"
    assert after.required["sm-lx"].to == "lighting"
    assert (after.accepted["one"].at, after.accepted["two"].at) == ("/groups/lighting", "users/sm/channels/lighting")
    assert not references(after, "groups")["lx"]
    assert renamed(after, "groups", "lighting", "lx") == before


@pytest.mark.parametrize(("section", "old", "new"), [("users", "sm", "prompt"), ("devices", "if-01", "rack"), ("bridges", "radio", "base")])  # fmt: skip
def test_things_of_every_section_can_have_another_id(section: str, old: str, new: str) -> None:
    after = renamed(SMALL, section, old, new)
    assert renames(SMALL, after).sure == (Rename(section, old, new),)
    assert renamed(after, section, new, old) == SMALL


def test_an_id_that_is_taken_or_not_there_changes_nothing() -> None:
    assert renamed(SMALL, "groups", "lx", "snd") == SMALL
    assert renamed(SMALL, "groups", "none", "lamps") == SMALL


@pytest.mark.parametrize(
    "edits",
    [
        {},
        {"groups/lighting/label": "LIGHT"},  # the name is the same
        {"groups/lighting/name": "Lights"},  # the label is
        {"users/lx-op/channels/lighting/talk": "dual"},
        {"users/lx-op": GONE, "bridges/party-line/target": "lighting"},  # who pointed at it is gone
    ],
)
def test_sure_is_what_is_called_alike_and_has_all_its_references(edits: Edits) -> None:
    assert renames(SMALL, edited(moved(), edits)).sure == (LIGHTING,)


@pytest.mark.parametrize(
    "edits",
    [
        {"groups/lighting/name": "Lights", "groups/lighting/label": "LIGHT"},  # nothing is alike
        {"groups/lighting/name": "Lighting 2"},  # a number that differs
        {"groups/lighting/label": "LX B"},  # a letter that differs
    ],
)
def test_what_is_called_otherwise_is_another_thing(edits: Edits) -> None:
    found = renames(SMALL, edited(moved(), edits))
    assert (found.sure, found.doubtful) == ((), ())


@pytest.mark.parametrize(
    "edits",
    [
        {"bridges/party-line/target": "snd"},  # one reference went elsewhere
        {"users/lx-op/channels/lighting": GONE},
        {"users/sm/channels/lx": {"number": 6}},  # one was left behind
        {"groups/lamps": {"name": "Lighting"}},  # two may be it
    ],
)
def test_doubtful_is_what_has_not_all_references_or_is_not_the_one_fit(edits: Edits) -> None:
    found = renames(SMALL, edited(moved(), edits))
    assert found.sure == ()
    assert LIGHTING in found.doubtful


def test_another_address_is_another_unit() -> None:
    before = edited(SMALL, {"devices/pack-03/hardware": "02-00-5E-10-00-03"})
    other = {"kind": "pack-4", "name": "Spare pack", "hardware": "02-00-5E-10-00-04"}
    assert renames(before, edited(before, {"devices/pack-03": GONE, "devices/spare": other})).sure == ()
    same = {**other, "hardware": "02-00-5E-10-00-03", "name": "Deck pack"}
    after = edited(before, {"devices/pack-03": GONE, "devices/deck": same})
    assert renames(before, after).sure == (Rename("devices", "pack-03", "deck"),)


def test_two_positions_that_differ_in_a_number_are_never_one() -> None:
    before = edited(SMALL, {"users/spot-1": {"name": "Follow Spot", "label": "SPOT"}})
    after = edited(before, {"users/spot-1": GONE, "users/spot-2": {"name": "Follow Spot", "label": "SPOT"}})
    assert renames(before, after).sure == ()


def test_several_ids_at_once() -> None:
    after = renamed(renamed(moved(), "users", "sm", "prompt"), "devices", "desk-01", "prompt-desk")
    assert renames(SMALL, after).sure == (
        Rename("devices", "desk-01", "prompt-desk"),
        LIGHTING,
        Rename("users", "sm", "prompt"),
    )
