"""What an edit brings is said when it is made or recorded, and most edits are known to bring nothing at no cost."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from showvc.changes import effect_of
from showvc.document import Show, show_from_tree
from showvc.history.brought import Brought, brought, may_bring
from showvc.rules import new_findings
from tests.generator import apply_edits, random_edits, random_show
from tests.history.desk import FILES, Desk


def _wholly(before: Show, after: Show) -> Brought:
    """The same from the whole of both shows."""
    effect = effect_of(before, after)
    lost = [each for each in effect.required if each.after is not None and each.after.state == "lost"]
    names = tuple(each.name for each in lost if each.before is None or each.before.state != "lost")
    blocks = sum(found.severity == "block" for found in new_findings(before, after))
    unasked = tuple(each for each in effect.required if each.after is None)
    there = [loss for loss in effect.critical_losses if not {loss[0], loss[2]} & {*effect.off_headset}]
    return Brought(blocks, names, len(there), effect.off_headset, unasked)


@given(show=st.integers(0, 40), edits=st.integers(0, 10_000), count=st.integers(1, 3))
def test_an_edit_of_which_it_is_said_that_it_can_bring_nothing_brings_nothing(
    show: int, edits: int, count: int
) -> None:
    before = random_show(seed=show, users=12, groups=6, devices=6)
    after = apply_edits(before, random_edits(before, edits, count))
    assert brought(before, after) == _wholly(before, after)


@given(show=st.integers(0, 40), data=st.data())
def test_giving_up_a_way_to_talk_or_listen(show: int, data: st.DataObject) -> None:
    before = random_show(seed=show, users=12, groups=6, devices=6)
    users = [name for name, body in before.users.items() if body.channels]
    assume(users)
    user = data.draw(st.sampled_from(users))
    tree = before.tree()
    channel = data.draw(st.sampled_from(sorted(tree["users"][user]["channels"])))
    tree["users"][user]["channels"][channel] |= data.draw(st.sampled_from([{"talk": "none"}, {"listen": "none"}]))
    after = show_from_tree(tree)
    assert brought(before, after) == _wholly(before, after)


HARMLESS = {
    "a name": ("users/sm/name", "SM"),
    "a level": ("users/sm/channels/fly/level", "-3"),
    "another talk mode": ("users/sm/channels/fly/talk", "latch"),
    "a place": ("users/sm/department", "deck"),
    "notes": ("notes", "Doors at seven"),
    "a way on a group that is not critical": ("users/sm/channels/lx/talk", "none"),
}


@pytest.mark.parametrize("name", HARMLESS)
def test_most_edits_are_known_to_bring_nothing(name: str, tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    before = desk.shows.at(desk.archive.tree_of(desk.archive.last or ""))
    desk("set", *HARMLESS[name])
    desk.record()
    assert not may_bring(before, desk.shows.at(desk.archive.tree_of(desk.archive.last or "")))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """The stage manager must be heard by the deck manager, over the critical group FLY."""
    desk = Desk.begun(tmp_path / "show")
    desk("set", "required/sm-asm", "{from: sm, to: asm, why: cues}")
    desk.record("Required")
    return desk


def test_record_says_what_an_edit_by_hand_brings_and_where_to_look_closer(desk: Desk) -> None:
    desk.write("users/sm.yaml", FILES["users/sm.yaml"].replace("{number: 2, talk: momentary}", "{number: 1}"))
    answer = desk("record", "--note", "By hand", code=1)  # a block needs a person, as it does after `set`
    assert "New with this: 2 blocks." in answer.out
    assert "showvc check" in answer.out
    said = " ".join(answer.out.split())
    assert "LOST: required path sm-asm; 1 critical path. Details: showvc compare last-1 last" in said
    desk("set", "users/board/name", "Board")
    quiet = desk("record", "--note", "A name")
    assert len(quiet.out.splitlines()) == 2
    assert "New with this" not in quiet.out
    desk("set", "users/board/name", "Boards")
    assert desk.json("record", "--note", "Again")["lost"] == {"required": [], "critical": 0, "off_headset": []}


@pytest.mark.parametrize(
    "command",
    [("set", "users/sm/channels/fly/talk", "none"), ("remove", "users/sm/channels/fly"), ("remove", "users/asm")],
    ids=" ".join,
)
def test_set_and_remove_say_whom_they_cut_off(desk: Desk, command: tuple[str, ...]) -> None:
    answer = desk(*command, code=1)
    assert "BLOCK" in answer.out
    assert "LOST: " in answer.out
    assert "Details: showvc compare" in answer.out


def test_a_whole_thing_that_is_set_says_that_it_replaces_and_what_goes(desk: Desk) -> None:
    answer = desk("set", "users/sm", "{name: SM}", code=1)
    assert "The whole of it is replaced" in answer.out
    assert "channel 1, LX, is gone" in answer.out
    assert "department is gone, was stage" in answer.out
    assert "replaced" not in desk("set", "users/new", "{name: New}").out
    assert "replaced" not in desk("set", "users/new/name", "Newer").out


def test_whoever_is_taken_out_is_named_and_their_paths_are_not_counted_beside_that(desk: Desk) -> None:
    desk("remove", "required/sm-asm")
    desk.record()
    lost = desk.json("remove", "users/asm", code=None)["lost"]
    assert lost == {"required": [], "critical": 0, "off_headset": ["asm"]}
    said = desk("record", "--note", "One fewer", code=None).out
    assert "LOST: off headset: Deck Manager (asm). Details: showvc compare last-1 last" in " ".join(said.split())


def test_a_path_that_is_no_longer_required_is_told_with_the_reason_it_had(desk: Desk) -> None:
    desk("set", "required/sm-asm", "{from: sm, to: asm, why: fly cues are called here}")
    desk.record()
    answer = desk("remove", "required/sm-asm")
    assert "No longer required: SM -> Deck Manager (asm) (required path sm-asm: fly cues are called here)" in answer.out
    assert "No longer required: SM -> Deck Manager" in desk("record", "--note", "Less").out
    desk("undo")
    desk("undo")
    assert "required" not in desk("set", "users/sm/name", "S").out


def test_a_finding_that_is_accepted_for_a_critical_group_is_told(desk: Desk) -> None:
    loud = desk("set", "accepted/one", "{rule: group-single-talker, at: groups/fly, why: known}", code=None).out
    assert "Accepted at groups/fly: group-single-talker (known)" in loud
    assert (
        "Accepted at"
        not in desk("set", "accepted/two", "{rule: group-single-talker, at: groups/lx, why: x}", code=None).out
    )
