"""What looks like one thing under two ids, and making one of the two."""

from __future__ import annotations

import pytest

from showvc.document import Show, ShowError
from showvc.document.pointers import parse
from showvc.merging import Merge, Side, merge, settle, unify
from showvc.rules import check
from tests.merging.cases import SMALL, Edits, edited

LATCH = {"talk": "latch"}
RADIO = {"kind": "radio", "device": "if-01", "target": "stage"}


def stops(show: Show) -> list[tuple[str, str]]:
    return [(found.code, found.path) for found in check(show) if found.severity == "block"]


# --- what looks like one


@pytest.mark.parametrize(
    ("mine", "incoming", "twin"),
    [
        ({"groups/crew": {"name": "House  Crew"}}, {"groups/house": {"name": "house-crew"}}, True),
        ({"groups/crew": {"name": "House Crew"}}, {"groups/house": {"name": "House Crew 2"}}, False),
        ({"users/spot-1": {"name": "Follow Spot 1"}}, {"users/f-spot-1": {"name": "Followspot 1"}}, True),
        ({"users/spot-1": {"name": "Follow Spot 1"}}, {"users/f-spot-2": {"name": "Followspot 2"}}, False),
        ({"users/b": {"name": "Booth B"}}, {"users/c": {"name": "Booth C"}}, False),
        ({"groups/crew": {"name": "House Radio", "label": "RADIO"}}, {"groups/house": {"name": "Radio Base", "label": "Radio"}}, True),
        ({"groups/crew": {"name": "Automation"}}, {"groups/house": {"name": "Automaton"}}, True),  # a slip of the pen
        # one renamed into what the other added
        ({"groups/lx/name": "Electrics"}, {"groups/elec": {"name": "electrics"}}, True),
        ({"groups/lx/label": "ELEC"}, {"groups/elec": {"label": "Elec"}}, True),
        ({"groups/lx/name": "Electrics"}, {"groups/snd/name": "Electrics"}, False),  # both there before: check tells it
        # the same target on one list twice, under two names
        ({"users/sm/channels/stage": {"number": 5}}, {"users/sm/channels/stage#2": {"number": 6}}, True),
        ({"users/sm/channels/lx#2": {"number": 5}}, {"users/sm/channels/lx#3": {"number": 6}}, True),
        ({"users/sm/channels/lx#2": {"number": 5}}, {"users/sm/channels/snd#2": {"number": 6}}, False),
        ({"users/sm/channels/stage": {"number": 5}, "users/sm/channels/stage#2": {"number": 6}},
         {"users/sm/channels/stage": {"number": 5}}, False),
        ({"devices/p8": {"kind": "pack-2", "name": "Deck", "hardware": "02-00-5E-10-00-08"}},
         {"devices/p9": {"kind": "pack-2", "name": "Deck", "hardware": "02-00-5E-10-00-09"}}, False),
        ({"groups/crew": {}}, {"groups/house": {}}, False),  # no name is no likeness
        ({"groups/crew": {"name": "Crew"}}, {"users/house": {"name": "Crew"}}, False),
        ({"groups/crew": {"name": "Crew"}}, {"groups/crew": {"name": "Crew"}}, False),
        ({"groups/crew": {"name": "Crew"}}, {"groups/crew": {"name": "Crew"}, "groups/house": {"name": "Crew"}}, False),
        ({"devices/p8": {"kind": "pack-2", "hardware": "02-00-5E-10-00-08"}},
         {"devices/p9": {"kind": "pack-4", "hardware": "02:00:5e:10:00:08"}}, True),
        ({"devices/p8": {"kind": "pack-2"}}, {"devices/p9": {"kind": "pack-2"}}, False),
        ({"bridges/b8": {**RADIO, "port": 3, "circuit": "town"}}, {"bridges/b9": {**RADIO, "port": 4, "circuit": "town"}}, True),
        ({"bridges/b8": {**RADIO, "port": 3, "circuit": "town"}},
         {"bridges/b9": {**RADIO, "port": 4, "circuit": "town", "target": "lx"}}, False),
        ({"bridges/b8": {**RADIO, "port": 3}}, {"bridges/b9": {**RADIO, "port": 4}}, False),
    ],
)  # fmt: skip
def test_twins_have_one_name_one_address_or_one_circuit(mine: Edits, incoming: Edits, twin: bool) -> None:
    merged = merge(SMALL, edited(SMALL, mine), edited(SMALL, incoming))
    assert ("twin" in {conflict.kind for conflict in merged.conflicts}) is twin


def test_what_was_there_before_is_no_twin() -> None:
    before = edited(SMALL, {"groups/crew": {"name": "House Crew"}})
    merged = merge(
        before, edited(before, {"groups/crew/label": "CREW"}), edited(before, {"groups/h": {"name": "House Crew"}})
    )
    assert merged.conflicts == ()


# --- what goes by making them one

HARDWARE = "02-00-5E-10-00-08"
PACK = {"kind": "pack-2", "hardware": HARDWARE}


def answered(mine: Edits, incoming: Edits, take: Side) -> Merge:
    """The merge with its twins answered: one thing, under the id of this side, or both."""
    shows = SMALL, edited(SMALL, mine), edited(SMALL, incoming)
    return merge(*shows, [settle(each, take) for each in merge(*shows).conflicts if each.kind == "twin"])


def kinds(merged: Merge) -> list[str]:
    return [conflict.kind for conflict in merged.conflicts]


@pytest.mark.parametrize(
    ("mine", "incoming", "pair"),
    [
        ({"devices/p8": PACK}, {"devices/p9": PACK}, ("devices/p8", "devices/p9")),
        ({"bridges/b8": {**RADIO, "port": 4, "circuit": "town"}}, {"bridges/b9": {**RADIO, "port": 4, "circuit": "town"}},
         ("/bridges/b8", "/bridges/b9")),
        ({"groups/crew": {"name": "Crew"}, "users/sm/channels/crew": {"number": 5, **LATCH}},
         {"groups/house": {"name": "crew"}, "users/sm/channels/house": {"number": 5, **LATCH}},
         ("groups/crew", "groups/house")),
    ],
)  # fmt: skip
def test_one_place_that_the_twins_share_is_no_conflict_once_they_are_one(
    mine: Edits, incoming: Edits, pair: tuple[str, str]
) -> None:
    assert "double-booked" in kinds(answered(mine, incoming, "both"))
    merged = answered(mine, incoming, "mine")
    assert (merged.conflicts, merged.problems, merged.stops) == ((), (), ())
    assert stops(merged.show) == []
    assert parse(pair[1])[1] not in merged.show.section(parse(pair[1])[0])


def test_a_third_thing_at_the_place_of_the_twins_is_a_conflict_still() -> None:
    """The twin that is kept has no address of its own, and takes over the one that a third device has."""
    mine = {"devices/p8": {"kind": "pack-2", "name": "Deck"}, "devices/p7": PACK}
    shows = SMALL, edited(SMALL, mine), edited(SMALL, {"devices/p9": {**PACK, "name": "Deck"}})
    answers = [settle(each, "mine" if "/devices/p8" in each.paths else "both") for each in merge(*shows).conflicts]
    assert kinds(merge(*shows, answers)) == ["double-booked"]


def test_another_conflict_stays_when_twins_are_made_one() -> None:
    mine, incoming = {"devices/p8": PACK, "groups/lx/label": "LITE"}, {"devices/p9": PACK, "groups/lx/label": "LAMP"}
    assert kinds(answered(mine, incoming, "mine")) == ["both-changed"]


def test_one_channel_of_two_to_the_same_target_takes_the_keys_along() -> None:
    mine = {"users/sm/channels/stage": {"number": 5}, "devices/desk-01/keys/A4": "stage"}
    incoming = {"users/sm/channels/stage#2": {"number": 6}, "devices/desk-01/keys/A5": "stage#2"}
    one = answered(mine, incoming, "mine").show
    assert "stage#2" not in one.users["sm"].channels
    assert one.devices["desk-01"].keys["A5"] == "stage"
    other = answered(mine, incoming, "incoming").show
    assert (list(other.users["sm"].channels)[-1], other.devices["desk-01"].keys["A4"]) == ("stage#2", "stage#2")
    assert {"stage", "stage#2"} <= answered(mine, incoming, "both").show.users["sm"].channels.keys()


def test_renamed_into_what_was_added_becomes_one_under_either_id() -> None:
    mine, incoming = {"groups/lx/name": "Electrics"}, {"groups/elec": {"name": "Electrics", "label": "ELEC"}}
    kept = answered(mine, incoming, "mine").show
    assert "elec" not in kept.groups
    moved = answered(mine, incoming, "incoming").show
    assert "lx" not in moved.groups
    assert moved.devices["desk-01"].keys["A1"] == "elec"


# --- made one


def test_whatever_pointed_at_the_one_points_at_the_other() -> None:
    show = edited(SMALL, {
        "groups/light": {"name": "Light", "tags": ["rig"]},
        "users/sm/channels/light#2": {"number": 5, **LATCH}, "users/asm/channels/light": {"number": 3, **LATCH},
        "devices/pack-01/keys/A2": "light", "bridges/party-line/target": "light",
        "required/sm-light": {"from": "sm", "to": "light"}, "devices/pack-03/user": "lx-op",
    })  # fmt: skip
    one = unify(show, "/groups/lx", "/groups/light")
    assert "light" not in one.groups
    assert sorted(one.groups["lx"].tags) == ["rig"]  # a field that it lacked
    assert one.groups["lx"].name == "Lighting"
    assert list(one.users["sm"].channels) == ["lx", "fly", "snd", "asm", "lx#2"]
    assert "lx" in one.users["asm"].channels
    assert one.devices["pack-01"].keys["A2"] == "lx"
    assert one.bridges["party-line"].target == "lx"
    assert one.required["sm-light"].to == "lx"
    assert stops(one) == []


def test_where_a_list_has_both_the_channel_of_the_kept_one_stands() -> None:
    show = edited(SMALL, {"groups/light": {}, "users/sm/channels/light": {"number": 5, "talk": "open"}})
    one = unify(show, "/groups/lx", "/groups/light")
    assert one.users["sm"].channels["lx"] == SMALL.users["sm"].channels["lx"]
    assert len(one.users["sm"].channels) == 4


def test_a_user_takes_over_the_devices_and_the_channels_that_he_lacks() -> None:
    show = edited(SMALL, {"users/sm-2": {
        "channels": {"lx": {"number": 7}, "stage": {"number": 2, **LATCH}, "lx-op": {"number": 6, **LATCH}},
        "lines": {"paging": LATCH},
    }, "devices/pack-03/user": "sm-2", "devices/pack-03/keys": {"A1": "stage", "A2": "lx-op"}})  # fmt: skip
    one = unify(show, "/users/sm", "/users/sm-2")
    assert {name: channel.number for name, channel in one.users["sm"].channels.items()} == {
        "lx": 1, "fly": 2, "snd": 3, "asm": 4, "stage": 5, "lx-op": 6,  # 2 was taken
    }  # fmt: skip
    assert one.users["sm"].lines["paging"].talk == "latch"
    assert one.devices["pack-03"].user == "sm"
    assert stops(one) == []


def test_nobody_has_himself_on_his_list_afterwards() -> None:
    for keep, gone in (("sm", "asm"), ("asm", "sm")):
        show = edited(SMALL, {"users/asm/channels/sm": {"number": 3, **LATCH}, "devices/desk-01/keys/A4": "asm",
                              "devices/pack-01/keys/A2": "sm", "users/lx-op/channels/asm": {"number": 2}})  # fmt: skip
        one = unify(show, f"/users/{keep}", f"/users/{gone}")
        assert not {"sm", "asm"} & one.users[keep].channels.keys()
        assert keep in one.users["lx-op"].channels
        assert stops(one) == []


def test_a_device_takes_over_the_bridges_and_the_keys() -> None:
    show = edited(SMALL, {"devices/if-02": {"kind": "ports-4", "place": "Rack 2"}, "bridges/radio/device": "if-02"})
    one = unify(show, "/devices/if-01", "/devices/if-02")
    assert one.bridges["radio"].device == "if-01"
    assert one.devices["if-01"].place == "Rack 2"
    assert stops(one) == []


def test_two_users_of_one_required_path() -> None:
    one = unify(edited(SMALL, {"users/sm-2": {}, "required/sm-fly/from": "sm-2"}), "/users/sm", "/users/sm-2")
    assert one.required["sm-fly"].from_ == "sm"


@pytest.mark.parametrize(
    ("keep", "other"),
    [("/groups/lx", "/groups/lx"), ("/groups/lx", "/users/sm"), ("/groups/lx", "/groups/none"), ("/groups/none", "/groups/lx"),
     ("/groups", "/groups"), ("/title", "/notes"), ("/groups/lx/name", "/groups/snd/name"), ("/kinds/a", "/kinds/b")],
)  # fmt: skip
def test_only_two_things_of_one_kind_can_be_made_one(keep: str, other: str) -> None:
    with pytest.raises(ShowError):
        unify(SMALL, keep, other)
