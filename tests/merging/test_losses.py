"""What only the two sides together take: headsets, critical paths, ears that must not be, capacities; and the rest."""

from __future__ import annotations

import pytest

from showvc.document import Show, show_from_tree
from showvc.merging import Conflict, Merge, merge, plain_merge, settle
from tests.merging.cases import GONE, Edits, edited

TALKS = {"talk": "momentary"}


def position(number: int = 1, **more: object) -> dict[str, object]:
    """Somebody who talks and listens on the one group of his own department, always."""
    return {"channels": {"pyro": {"number": number, "talk": "momentary", "listen": "always"}}, **more}


SHOW = show_from_tree(
    {
        "format": 2,
        "title": "The Salt Road",
        "lines": {"alarm": {"label": "ALARM", "critical": True}, "paging": {"label": "PAGE"}},
        "groups": {
            "pyro": {"label": "PYRO", "critical": True},
            "cue": {"label": "CUE"},
            "fly": {"label": "FLY", "critical": True},
        },
        "users": {
            "sm": {
                "label": "SM",
                "channels": {
                    "pyro": {"number": 1, "talk": "momentary", "listen": "always"},
                    "cue": {"number": 2, "talk": "momentary"},
                    "cue#2": {"number": 3, "talk": "momentary"},
                    "pyro#2": {"number": 4, "talk": "momentary", "listen": "always"},
                },
                "lines": {"alarm": {"talk": "momentary"}},
            },
            "pyro-op": {"label": "PYRO OP", **position()},
            "board": {"label": "BOARD", "channels": {"cue": {"number": 1, "talk": "latch"}, "sm": {"number": 2}}},
        },
        "devices": {
            "desk": {"kind": "desk-8", "user": "sm", "keys": {"A1": "pyro", "A2": "cue"}},
            "pack-a": {"kind": "pack-4", "user": "pyro-op", "keys": {"A1": "pyro"}},
            "pack-b": {"kind": "pack-4", "user": "pyro-op", "keys": {"A1": "pyro"}},
            "pack-c": {"kind": "pack-4", "user": "board", "keys": {"A1": "cue"}},
            "if-01": {"kind": "ports-4"},
        },
        "circuits": {
            "dock": {"people": "loaders", "hears": True, "speaks": True},
            "street": {"people": "the audience", "hears": True, "public": True},
        },
        "bridges": {
            "dock-a": {"kind": "radio", "device": "if-01", "port": 1, "target": "pyro", "circuit": "dock"},
            "dock-b": {"kind": "radio", "device": "if-01", "port": 2, "target": "pyro", "circuit": "dock"},
        },
    }
)  # fmt: skip


def put_together(mine: Edits, incoming: Edits, before: Show = SHOW) -> Merge:
    return merge(before, edited(before, mine), edited(before, incoming))


def kinds(merged: Merge) -> list[tuple[str, tuple[str, ...]]]:
    return [(found.kind, found.paths) for found in merged.conflicts]


def only(merged: Merge, kind: str) -> Conflict:
    (found,) = (found for found in merged.conflicts if found.kind == kind)
    return found


def test_the_last_two_packs_of_somebody_removed_by_two_engineers_one_each() -> None:
    merged = put_together({"devices/pack-a": GONE}, {"devices/pack-b": GONE})
    places = ("/devices/pack-a", "/devices/pack-b")
    assert kinds(merged) == [("off-headset", places), ("path-lost", places)]
    assert only(merged, "off-headset").message == (
        "PYRO OP has no headset; both sides left one. Mine removed device pack-a; incoming removed device pack-b"
    )
    assert only(merged, "path-lost").losses == (
        ("dock", "pyro", "pyro-op"), ("pyro-op", "pyro", "dock"), ("pyro-op", "pyro", "sm"),
        ("sm", "alarm", "pyro-op"), ("sm", "pyro", "pyro-op"),
    )  # fmt: skip


@pytest.mark.parametrize("side", ["mine", "incoming"])
def test_one_answer_gives_the_headset_back_and_all_that_went_with_it(side: str) -> None:
    mine, incoming = edited(SHOW, {"devices/pack-a": GONE}), edited(SHOW, {"devices/pack-b": GONE})
    asked = only(merge(SHOW, mine, incoming), "off-headset")
    merged = merge(SHOW, mine, incoming, [settle(asked, side)])  # type: ignore[arg-type]
    assert merged.clean and not merged.held
    assert merged.show == (mine if side == "mine" else incoming)


def test_what_is_let_stand_knowingly_is_not_held_again() -> None:
    mine, incoming = edited(SHOW, {"devices/pack-a": GONE}), edited(SHOW, {"devices/pack-b": GONE})
    answers = [settle(found, "both") for found in merge(SHOW, mine, incoming).conflicts]
    merged = merge(SHOW, mine, incoming, answers)
    assert merged.clean and not merged.held
    assert not {"pack-a", "pack-b"} & merged.show.devices.keys()


def test_a_critical_path_that_each_side_had_though_no_one_required_it() -> None:
    merged = put_together(
        {"users/pyro-op/channels/pyro/listen": "none", "users/pyro-op/channels/pyro#2": {"number": 2}},
        {"users/pyro-op/label": "PYRO", "users/sm/channels/pyro/talk": "none"},
    )
    assert merged.clean, "SM still talks on his second channel, PYRO OP still listens on his"
    merged = put_together(
        {"users/sm/channels/pyro/talk": "none"},
        {"users/sm/channels/pyro#2": GONE},
    )
    assert kinds(merged) == [("path-lost", ("/users/sm/channels/pyro#2", "/users/sm/channels/pyro/talk"))]
    assert only(merged, "path-lost").message == (
        "PYRO OP and dock can no longer hear SM on group PYRO; on both sides they could. "
        "Mine set talk of PYRO on the list of SM to none; incoming took PYRO off the list of SM"
    )


def test_the_last_two_bridges_of_those_behind_a_circuit() -> None:
    merged = put_together({"bridges/dock-a": GONE}, {"bridges/dock-b/direction": "in"})
    assert kinds(merged) == [("path-lost", ("/bridges/dock-a", "/bridges/dock-b/direction"))]
    assert {loss[2] for loss in only(merged, "path-lost").losses} == {"dock"}


def test_a_critical_line_is_no_less_than_a_critical_group() -> None:
    before = edited(SHOW, {"bridges/bell-a": {"kind": "four-wire", "device": "if-01", "port": 3, "target": "alarm", "circuit": "dock", "direction": "out"}, "bridges/bell-b": {"kind": "four-wire", "device": "if-01", "port": 4, "target": "alarm", "circuit": "dock", "direction": "out"}})  # fmt: skip
    merged = put_together({"bridges/bell-a": GONE}, {"bridges/bell-b": GONE}, before)
    assert kinds(merged) == [("path-lost", ("/bridges/bell-a", "/bridges/bell-b"))]
    assert only(merged, "path-lost").losses == (("sm", "alarm", "dock"),)
    plain = edited(before, {"lines/alarm/critical": False})
    held = put_together({"bridges/bell-a": GONE}, {"bridges/bell-b": GONE}, plain)
    assert held.clean and held.held
    assert held.combined is not None
    assert held.combined.lost_over == (("sm", "alarm", "dock"),)


def test_five_of_six_packs_and_who_must_be_there() -> None:
    """Four left of six on each side are enough; the three that are left together are not."""
    crew = {f"fly-{number}": {"channels": {"fly": {"number": 1, "talk": "momentary", "listen": "always"}}} for number in range(1, 7)}  # fmt: skip
    before = edited(SHOW, {
        **{f"users/{name}": body for name, body in crew.items()},
        **{f"devices/pack-{name}": {"kind": "pack-4", "user": name, "keys": {"A1": "fly"}} for name in crew},
        "users/sm/channels/fly": {"number": 5, "talk": "momentary", "listen": "always"},
        "required/rail": {"from": "sm", "to": "fly", "over": "fly", "at-least": 4, "why": "four on the rail"},
    })  # fmt: skip
    gone = {number: {f"users/fly-{number}": GONE, f"devices/pack-fly-{number}": GONE} for number in range(1, 7)}
    merged = put_together({**gone[1], **gone[2]}, {**gone[3], **gone[4], **gone[5]}, before)
    assert [found.kind for found in merged.conflicts] == [], "incoming alone has too few already"
    assert [(found.side, found.code) for found in merged.problems] == [("incoming", "required-lost")]
    merged = put_together({**gone[1], **gone[2]}, gone[3], before)
    assert [found.kind for found in merged.conflicts] == ["path-lost"]
    assert "3 of at least 4 on" in merged.conflicts[0].message


def test_paths_over_other_groups_are_no_conflict_and_hold_the_merge() -> None:
    merged = put_together({"users/sm/channels/cue/talk": "none"}, {"users/sm/channels/cue#2": GONE})
    assert merged.clean and merged.held
    told = plain_merge(merged)["combined"]
    assert told["lost_over"] == [["sm", "cue", "board"]]
    assert told["lost"] == [["sm", "board"]]
    assert told["because"][0]["edits"] == ["/users/sm/channels/cue#2", "/users/sm/channels/cue/talk"]


def test_a_pair_that_each_side_held_over_another_target_holds_the_merge_too() -> None:
    before = edited(SHOW, {"users/sm/channels/cue#2": GONE, "users/sm/channels/board": {"number": 7, "talk": "momentary"}})  # fmt: skip
    merged = put_together({"users/sm/channels/cue/talk": "none"}, {"users/sm/channels/board/talk": "none"}, before)
    assert merged.held and merged.combined is not None
    assert (list(merged.combined.lost), merged.combined.lost_over) == ([("sm", "board")], ())


def test_what_one_side_takes_alone_is_its_own_affair() -> None:
    merged = put_together({"users/sm/channels/cue": GONE, "users/sm/channels/cue#2": GONE}, {"devices/pack-a": GONE})
    assert merged.clean and not merged.held
    assert plain_merge(merged)["combined"]["lost_over"] == []


def test_an_ear_that_must_not_be_which_neither_side_had() -> None:
    before = edited(SHOW, {"apart/quiet": {"from": "sm", "to": "board", "over": "fly", "why": "no fly calls there"}})
    joins = {"number": 9, "talk": "momentary", "listen": "always"}
    merged = put_together({"users/sm/channels/fly": joins}, {"users/board/channels/fly": joins}, before)
    assert kinds(merged) == [("overheard", ("/users/board/channels/fly", "/users/sm/channels/fly"))]


def test_an_open_microphone_on_a_public_circuit_which_neither_side_had() -> None:
    merged = put_together(
        {"users/board/channels/cue/talk": "open"},
        {"bridges/street": {"kind": "two-wire", "device": "if-01", "port": 3, "target": "cue", "circuit": "street"}},
    )
    assert kinds(merged) == [("overheard", ("/users/board/channels/cue", "/bridges/street"))]


def test_a_latch_on_a_public_circuit_is_a_warning_and_no_conflict() -> None:
    street = {"kind": "two-wire", "device": "if-01", "port": 3, "target": "cue", "circuit": "street"}
    assert put_together({"users/board/channels/cue/label": "Q"}, {"bridges/street": street}).clean


@pytest.mark.parametrize("watts, clashes", [(20, True), (30, False)])
def test_what_a_carrier_gives_is_passed_by_the_sum_of_two_edits(watts: int, clashes: bool) -> None:
    before = edited(SHOW, {
        "kinds/rack": {"keys": 8, "needs": {"watts": 10}},
        "carriers/deck": {"gives": {"watts": watts}},
        "devices/rack-1": {"kind": "rack", "on": ["deck"]},
    })  # fmt: skip
    more = {"kind": "rack", "on": ["deck"]}
    merged = put_together({"devices/rack-2": more}, {"devices/rack-3": {**more, "hardware": "02-00-5E-10-00-09"}}, before)  # fmt: skip
    found = [found for found in merged.conflicts if found.kind == "over-limit"]
    assert [found.paths for found in found] == ([("/devices/rack-2", "/devices/rack-3")] if clashes else [])


def test_keys_and_ports_of_the_kind() -> None:
    merged = put_together({"devices/pack-c/kind": "pack-2"}, {"devices/pack-c/keys/A4": "sm"})
    assert ("over-limit", ("/devices/pack-c/keys/A4", "/devices/pack-c/kind")) in kinds(merged)
    fourth = {"kind": "radio", "device": "if-01", "port": 4, "target": "cue", "circuit": "dock"}
    merged = put_together({"devices/if-01/kind": "ports-2"}, {"bridges/dock-c": fourth})
    assert [found.kind for found in merged.conflicts] == ["over-limit"]


def test_the_sides_turned_are_the_same_conflicts() -> None:
    mine, incoming = edited(SHOW, {"devices/pack-a": GONE}), edited(SHOW, {"devices/pack-b": GONE})
    one, other = merge(SHOW, mine, incoming), merge(SHOW, incoming, mine)
    assert [found.key for found in one.conflicts] == [found.key for found in other.conflicts]
