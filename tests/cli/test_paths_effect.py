"""What `compare` says of an edit's effect: the worst on top, in few lines, with the caution where it belongs."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.history.desk import FILES, Desk

SPOTS = {
    f"users/spot-{number}.yaml": f"label: SPOT {number}\ndepartment: spots\nchannels:\n  lx: {{number: 1}}\n"
    for number in range(1, 15)
}
PACKS = {
    f"devices/unit-{name}.yaml": f"kind: pack-2\nuser: {name}\n"
    for name in ("board", *(f"spot-{number}" for number in range(1, 15)))
}


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    desk = Desk.begun(tmp_path / "show", {**FILES, **SPOTS, **PACKS})
    desk("set", "required/sm-fly", "{from: sm, to: fly, why: fly cues are called here}")
    desk("record", "--note", "The rail is required")
    return desk


CAUTION = [
    "Critical groups affected: FLY. Intercom is not an emergency stop. Line-check every position on headset before the",
    "    show. Local rules and the responsible person decide.",
]


def effect(desk: Desk) -> list[str]:
    """The lines above the list of edits."""
    return desk("compare").out.split("\n\n")[0].splitlines()


def test_required_paths_then_critical_ones_then_the_rest(desk: Desk) -> None:
    desk("set", "users/sm/channels/fly/talk", "none", code=1)
    desk("remove", "users/sm/channels/lx", code=None)
    said = effect(desk)
    assert [line for line in said if not line.startswith(" ")] == [
        "Required paths lost:",
        "Lost on critical groups and lines:",
        "Also lost:",
        CAUTION[0],
    ]
    text = " ".join(line.strip() for line in said)
    assert (
        "SM can no longer talk on group FLY; Deck Manager (asm) hears SM no other way (edit: users/sm/channels/fly/talk)"
    ) in text
    assert (
        "All 14 of the spots department and Light Board (board) can no longer hear SM (edit: users/sm/channels/lx)"
    ) in text
    assert said[-1] == CAUTION[1]
    assert max(map(len, said)) <= 120


def test_json_names_each_of_those_whom_a_word_stands_for(desk: Desk) -> None:
    desk("set", "users/sm/channels/lx/talk", "none")
    lost = desk.json("compare")["effect"]["lost"]
    assert lost == [["sm", name] for name in sorted(["board", *(f"spot-{number}" for number in range(1, 15))])]


def test_a_key_that_is_lost_and_a_strip_to_reprint(desk: Desk) -> None:
    desk("set", "devices/desk-01/keys/A1", "fly")
    desk("remove", "devices/desk-01/keys/A2")
    said = effect(desk)
    assert said == [
        "Now menu only, no key:",
        "  All 14 of the spots department and Light Board (board) hear SM on group LX",
        "New label strips:",
        "  desk-01",
        "Critical groups affected: FLY.",
    ]


def test_limits_that_are_passed(desk: Desk) -> None:
    desk("set", "limits/devices", "1", code=1)
    assert "  17 devices; the system takes 1" in effect(desk)


def test_an_edit_that_no_headset_notices(desk: Desk) -> None:
    desk("set", "users/board/channels/lx/level", "-3")
    assert effect(desk) == ["No path is lost, gained or weaker, and no label strip needs reprinting."]
