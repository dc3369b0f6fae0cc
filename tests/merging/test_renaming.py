"""An id that one side changed: the other side's edits and references go to the new one."""

from __future__ import annotations

import pytest

from showvc.document import Show, ShowError
from showvc.identity.references import renamed
from showvc.merging import Conflict, Merge, merge, settle, settle_by_value
from tests.merging.cases import GONE, SMALL, Edits, edited


def under(new: str, edits: Edits = {}, old: str = "lx", section: str = "groups") -> Show:  # noqa: B006
    """The small show with one thing under another id, and edits made after that."""
    return edited(renamed(SMALL, section, old, new), edits)


def only(merged: Merge) -> Conflict:
    (conflict,) = merged.conflicts
    return conflict


@pytest.mark.parametrize(
    ("edits", "followed"),
    [
        ({"groups/lx/label": "LIGHT"}, {"groups/lighting/label": "LIGHT"}),
        ({"users/asm/channels/lx": {"number": 3}}, {"users/asm/channels/lighting": {"number": 3}}),
        ({"users/sm/channels/lx/talk": "dual"}, {"users/sm/channels/lighting/talk": "dual"}),
        ({"devices/pack-03/keys/A1": "lx"}, {"devices/pack-03/keys/A1": "lighting"}),
        ({"bridges/radio/target": "lx"}, {"bridges/radio/target": "lighting"}),
        ({"required/x": {"from": "asm", "to": "lx"}}, {"required/x": {"from": "asm", "to": "lighting"}}),
        ({"users/sm/channels/lx": GONE, "devices/desk-01/keys/A1": GONE},
         {"users/sm/channels/lighting": GONE, "devices/desk-01/keys/A1": GONE}),
        ({}, {}),
    ],
)  # fmt: skip
def test_what_the_other_side_did_goes_to_the_new_id(edits: Edits, followed: Edits) -> None:
    mine, incoming = under("lighting"), edited(SMALL, edits)
    for sides in ((mine, incoming), (incoming, mine)):
        merged = merge(SMALL, *sides)
        assert [conflict.message for conflict in merged.conflicts] == []
        assert merged.show == under("lighting", followed)


def test_both_alike_is_no_conflict() -> None:
    assert merge(SMALL, under("lighting"), under("lighting")).show == under("lighting")
    merged = merge(SMALL, under("lighting", {"groups/lighting/label": "LIGHT"}), under("lighting"))
    assert merged.show == under("lighting", {"groups/lighting/label": "LIGHT"})


def test_differently_is_one_conflict_and_the_other_edits_go_along() -> None:
    mine, incoming = under("lighting"), under("lamps", {"users/asm/channels/lamps": {"number": 3}})
    conflict = only(merge(SMALL, mine, incoming))
    assert (conflict.kind, conflict.before, conflict.mine, conflict.incoming) == (
        "both-changed", ("lx",), ("lighting",), ("lamps",)
    )  # fmt: skip
    assert conflict.message == "group LX (Lighting): mine gives it the id lighting, incoming lamps; it was lx"
    for answer, new in ((settle(conflict, "mine"), "lighting"), (settle(conflict, "incoming"), "lamps")):
        merged = merge(SMALL, mine, incoming, [answer])
        assert merged.clean
        assert merged.show == under(new, {f"users/asm/channels/{new}": {"number": 3}})
    assert "electrics" in merge(SMALL, mine, incoming, [settle_by_value(conflict, "electrics")]).show.groups


@pytest.mark.parametrize("wrong", ["Lights", "snd", "aux", "7"])
def test_an_answer_that_is_no_id_or_is_taken_is_refused(wrong: str) -> None:
    mine, incoming = under("lighting"), under("lamps")
    conflict = only(merge(SMALL, mine, incoming))
    with pytest.raises(ShowError):
        merge(SMALL, mine, incoming, [settle_by_value(conflict, wrong)])


def test_a_new_id_here_and_a_clash_beside_it() -> None:
    mine, incoming = under("lighting", {"groups/lighting/label": "LITE"}), edited(SMALL, {"groups/lx/label": "LAMP"})
    conflict = only(merge(SMALL, mine, incoming))
    assert conflict.paths == ("/groups/lighting/label",)


def test_a_new_id_here_and_the_thing_removed_there_is_asked() -> None:
    gone: Edits = {"groups/lx": GONE, "users/sm/channels/lx": GONE, "users/lx-op/channels/lx": GONE,
                   "devices/desk-01/keys/A1": GONE, "bridges/party-line": GONE}  # fmt: skip
    mine, incoming = under("lighting"), edited(SMALL, gone)
    merged = merge(SMALL, mine, incoming)
    assert ("removed-and-changed", ("/groups/lighting",)) in [(each.kind, each.paths) for each in merged.conflicts]


def test_a_user_and_his_pack_under_new_ids() -> None:
    mine = under("prompt", old="sm", section="users")
    incoming = edited(SMALL, {"users/sm/channels/stage": {"number": 5}, "devices/desk-01/keys/A4": "stage"})
    merged = merge(SMALL, mine, incoming)
    assert merged.clean
    assert merged.show.users["prompt"].channels["stage"].number == 5
    assert merged.show.devices["desk-01"].user == "prompt"


def test_the_new_id_is_something_else_on_the_other_side() -> None:
    """Then nothing is laid over it: the two stand as what they are."""
    merged = merge(SMALL, under("lighting"), edited(SMALL, {"groups/lighting": {"name": "Light Bridge"}}))
    assert not merged.clean


# --- doubtful

# One channel went away in the same breath, so that not everything moved along.
DOUBTFUL: Edits = {"users/lx-op/channels/lighting": GONE}


def test_a_doubtful_one_is_asked_where_the_other_side_went_on_with_it() -> None:
    mine, incoming = under("lighting", DOUBTFUL), edited(SMALL, {"groups/lx/label": "LIGHT"})
    conflict = only(merge(SMALL, mine, incoming))
    assert (conflict.kind, conflict.paths) == ("twin", ("/groups/lighting", "/groups/lx"))
    assert conflict.sides == ("mine", "incoming", "both")
    one = merge(SMALL, mine, incoming, [settle(conflict, "mine")])
    assert one.clean
    assert one.show == under("lighting", {**DOUBTFUL, "groups/lighting/label": "LIGHT"})
    kept = merge(SMALL, mine, incoming, [settle(conflict, "incoming")]).show
    assert kept == edited(SMALL, {"groups/lx/label": "LIGHT", "users/lx-op/channels/lx": GONE})
    two = merge(SMALL, mine, incoming, [settle(conflict, "both")])
    assert [each.kind for each in two.conflicts] == ["removed-and-changed"]


def test_a_doubtful_one_that_concerns_nobody_else_is_not_asked() -> None:
    merged = merge(SMALL, under("lighting", DOUBTFUL), edited(SMALL, {"groups/snd/label": "SOUND"}))
    assert merged.clean


def test_a_rename_that_is_written_down_is_believed() -> None:
    """Everything about the group is another word, and yet it is the same one."""
    mine = under("lighting", {"groups/lighting": {"name": "Electrics", "label": "ELEC"}})
    incoming = edited(SMALL, {"groups/lx/critical": True})
    assert not merge(SMALL, mine, incoming).clean
    merged = merge(SMALL, mine, incoming, renamed=[("/groups/lx", "/groups/lighting")])
    assert merged.clean
    assert merged.show.groups["lighting"].critical


@pytest.mark.parametrize(
    "pair", [("/groups/lx", "/users/lx"), ("/groups/lx/name", "/groups/x/name"), ("/title", "/notes"), ("~", "/")]
)
def test_a_pair_that_is_none_is_refused(pair: tuple[str, str]) -> None:
    with pytest.raises(ShowError):
        merge(SMALL, SMALL, SMALL, renamed=[pair])


# --- an id used again


def test_an_id_that_is_another_thing_now_is_told_where_the_other_side_points_at_what_was() -> None:
    mine = edited(SMALL, {"groups/stage": {"name": "Pit", "label": "PIT"}})
    incoming = edited(SMALL, {"users/lx-op/channels/stage": {"number": 2}})
    (problem,) = merge(SMALL, mine, incoming).problems
    assert (problem.side, problem.code, problem.path) == ("mine", "id-reused", "/groups/stage")
    assert "was group STAGE (Stage Crew), is group PIT (Pit)" in problem.message
    assert merge(SMALL, incoming, mine).problems[0].side == "incoming"


def test_a_new_name_alone_makes_no_other_thing() -> None:
    mine = edited(SMALL, {"groups/stage/name": "Deck Crew"})
    incoming = edited(SMALL, {"users/lx-op/channels/stage": {"number": 2}})
    assert merge(SMALL, mine, incoming).problems == ()


# --- one new id for two things


def test_two_groups_that_got_one_id_stay_two_whoever_has_it() -> None:
    """Merged field by field, two conferences would be one, and half of the crew on the wrong one."""
    mine, incoming = under("lights"), under("lights", old="snd")
    conflict = only(merge(SMALL, mine, incoming))
    assert (conflict.kind, conflict.paths) == ("same-id", ("/groups/lx", "/groups/snd"))
    assert (conflict.mine, conflict.incoming) == (("lights", "snd"), ("lx", "lights"))
    said = "lights: mine gives this id to group LX (Lighting), incoming to group SND (Sound): which of them has it?"
    assert conflict.message == said
    assert merge(SMALL, mine, incoming, [settle(conflict, "mine")]).show == mine
    assert merge(SMALL, mine, incoming, [settle(conflict, "incoming")]).show == incoming
    assert only(merge(SMALL, incoming, mine)).key == conflict.key


def test_a_new_id_that_the_other_side_gave_to_something_new() -> None:
    added: Edits = {"groups/lighting": {"name": "Light Bridge"}, "users/asm/channels/lighting": {"number": 3}}
    mine, incoming = under("lighting"), edited(SMALL, added)
    conflict = only(merge(SMALL, mine, incoming))
    assert (conflict.kind, conflict.paths) == ("same-id", ("/groups/lighting", "/groups/lx"))
    moved: Edits = {"groups/lighting-2": {"name": "Light Bridge"}, "users/asm/channels/lighting-2": {"number": 3}}
    assert merge(SMALL, mine, incoming, [settle(conflict, "mine")]).show == under("lighting", moved)
    assert merge(SMALL, mine, incoming, [settle(conflict, "incoming")]).show == incoming


def test_a_rename_that_one_side_made_surely_and_the_other_with_an_edit_more_is_one() -> None:
    mine, incoming = under("lighting"), under("lighting", DOUBTFUL)
    for sides in ((mine, incoming), (incoming, mine)):
        merged = merge(SMALL, *sides)
        assert merged.clean
        assert merged.show == incoming


def test_a_circuit_without_a_name_is_known_by_all_that_it_says() -> None:
    before = edited(
        SMALL, {"circuits/dock": {"people": "dock loaders", "hears": True}, "bridges/radio/circuit": "dock"}
    )
    mine = renamed(before, "circuits", "dock", "ramp")
    incoming = edited(before, {"circuits/dock/speaks": True})
    merged = merge(before, mine, incoming)
    assert merged.clean
    assert merged.show.circuits["ramp"].speaks


def test_of_a_new_id_and_a_removal_it_is_said_what_each_side_did() -> None:
    gone: Edits = {"groups/lx": GONE, "users/sm/channels/lx": GONE, "users/lx-op/channels/lx": GONE,
                   "devices/desk-01/keys/A1": GONE, "bridges/party-line": GONE}  # fmt: skip
    mine, incoming = under("lighting"), edited(SMALL, gone)
    said = {each.message for sides in ((mine, incoming), (incoming, mine)) for each in merge(SMALL, *sides).conflicts}
    assert "group LX (Lighting): mine gave it another id, incoming removed it" in said
    assert "group LX (Lighting): incoming gave it another id, mine removed it" in said
