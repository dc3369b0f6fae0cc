"""What only the two sides together lose, and no conflict tells: shown, and not recorded before somebody says yes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.terminal import ended
from tests.history.desk import FILES, Desk, run

SM = (
    "name: Stage Manager\nlabel: SM\ndepartment: stage\nchannels:\n"
    "  lx: {number: 1, talk: latch}\n  fly: {number: 2, talk: momentary}\n  'lx#2': {number: 3, talk: latch}\n"
)
LOST = {"lost_over": [["sm", "lx", "board"]], "lost": [["sm", "board"]]}


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """SM talks to the light board on two channels of one group, and nobody requires it."""
    board = {"devices/pack-02.yaml": "kind: pack-2\nuser: board\nkeys: {A1: lx}\n"}
    return Desk.begun(tmp_path / "show", {**FILES, **board, "users/sm.yaml": SM})


@pytest.fixture
def apart(desk: Desk) -> Desk:
    """A draft takes the one channel away, main the other."""
    desk("draft", "open", "deck")
    desk("set", "users/sm/channels/lx/talk", "none")
    desk.record("No talk on the first")
    desk("draft", "go", "main")
    desk("set", "users/sm/channels/lx#2/talk", "none")
    desk.record("No talk on the second")
    return desk


def history(desk: Desk) -> list[str]:
    return [each["code"] for each in desk.json("history")["snapshots"]]


def test_a_merge_is_not_recorded_and_nothing_else_either(apart: Desk) -> None:
    apart("set", "users/board/label", "BOARD")
    before, files = history(apart), apart.files()
    said = apart("merge", "deck", code=1).out
    assert "Lost only by the two sides together" in said
    assert "BOARD can no longer hear SM" in said or "SM can no longer talk on group LX" in said
    assert "users/sm/channels/lx/talk" in said and "users/sm/channels/lx#2/talk" in said
    assert "--yes" in said
    assert (history(apart), apart.files()) == (before, files), "not even the unrecorded edit is"
    assert apart.json("now", code=None)["conflicts"] in (0, [], None)


def test_the_answer_as_json(apart: Desk) -> None:
    told = apart.json("merge", "deck", code=1)
    assert told.keys() == {"clean", "conflicts", "problems", "snapshot", "combined", "verdict"}
    assert (told["clean"], told["conflicts"], told["snapshot"]) == (True, [], None)
    assert {name: told["combined"][name] for name in LOST} == LOST
    assert told["combined"]["because"][0] == {
        "loss": ["sm", "lx", "board"],
        "edits": ["/users/sm/channels/lx#2/talk", "/users/sm/channels/lx/talk"],
        "remains": [],
    }


def test_yes_records_it_with_its_effect_first(apart: Desk) -> None:
    lines = apart("merge", "deck", "--yes").out.splitlines()
    effect = next(number for number, line in enumerate(lines) if "can no longer" in line)
    recorded = next(number for number, line in enumerate(lines) if line.startswith("Recorded"))
    assert effect < recorded
    assert len(history(apart)) == 5


def test_at_a_terminal_it_is_asked(apart: Desk) -> None:
    before = history(apart)
    code, lines = ended(apart.folder, 100, "merge", "deck", typed=("n",))
    assert code == 1 and history(apart) == before
    assert any("Lost only by the two sides together" in line for line in lines)
    code, _ = ended(apart.folder, 100, "merge", "deck", typed=("y",))
    assert code == 0 and len(history(apart)) == len(before) + 2


def test_what_one_side_loses_alone_is_recorded_as_ever(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk("set", "users/sm/channels/lx/talk", "none")
    desk("set", "users/sm/channels/lx#2/talk", "none")
    desk.record("SM off LX")
    desk("draft", "go", "main")
    desk("set", "users/board/label", "BOARD")
    desk.record("A label")
    assert desk.json("merge", "deck", code=None)["snapshot"]


def test_a_carry_and_a_rollback_are_held_too(apart: Desk) -> None:
    apart("draft", "go", "deck")
    edit = history(apart)[0]
    apart("draft", "go", "main")
    before = history(apart)
    apart("carry", edit, code=1)
    assert history(apart) == before
    apart("carry", edit, "--yes")
    assert len(history(apart)) == len(before) + 1


def test_a_rollback_that_only_together_with_later_edits_loses_a_path(desk: Desk) -> None:
    desk("set", "users/sm/channels/lx#2/talk", "none")
    desk.record("One channel is enough")
    desk("set", "users/sm/channels/lx#2/talk", "latch")
    added = desk.record("Both again")
    desk("set", "users/sm/channels/lx/talk", "none")
    desk.record("The second alone")
    before = history(desk)
    said = desk("rollback", added, code=1).out
    assert "Lost only by the two sides together" in said
    assert history(desk) == before
    desk("rollback", added, "--yes")
    assert len(history(desk)) == len(before) + 1


def test_without_a_history_no_file_is_written(apart: Desk, tmp_path: Path) -> None:
    for name, source in (("b", "last-1"), ("m", "last"), ("i", "deck")):
        apart("export", str(tmp_path / f"{name}.show.json"), source)
    files = [str(tmp_path / f"{name}.show.json") for name in "ibm"]
    out = tmp_path / "out.show.json"
    three = ("merge", files[0], "--before", files[1], "--mine", files[2], "--into", str(out))
    held = run(tmp_path, *three)
    assert held.code == 1 and not out.exists()
    assert "Lost only by the two sides together" in held.out
    assert {name: run(tmp_path, *three, "--json").data["combined"][name] for name in LOST} == LOST
    assert run(tmp_path, *three, "--yes").code == 0 and out.exists()


def test_a_sync_is_held_and_sends_nothing(desk: Desk, tmp_path: Path) -> None:
    hub, other = str(tmp_path / "hub"), tmp_path / "other"
    desk("hub", hub)
    desk("sync")
    assert run(tmp_path, "join", hub, str(other), "--who", "Ben Spot").code == 0
    ben = Desk(other, "Ben Spot")
    desk("set", "users/sm/channels/lx/talk", "none")
    desk.record("No talk on the first")
    desk("sync")
    ben("set", "users/sm/channels/lx#2/talk", "none")
    ben.record("No talk on the second")
    before = history(ben)
    told = ben.json("sync", code=1)
    assert (told["sent"], told["snapshot"]) == (0, None)
    assert {name: told["combined"][name] for name in LOST} == LOST
    assert history(ben) == before
    assert "Lost only by the two sides together" in ben("sync", code=1).out
    assert ben.json("sync", "--yes")["sent"] > 0
    desk("sync")
    assert desk.files() == ben.files()


def test_two_engineers_take_the_last_two_packs_and_the_sync_asks(desk: Desk, tmp_path: Path) -> None:
    hub, other = str(tmp_path / "hub"), tmp_path / "other"
    desk.write("devices/pack-03.yaml", "kind: pack-2\nuser: asm\nkeys: {A1: fly}\n")
    desk.record("A second pack")
    desk("hub", hub)
    desk("sync")
    assert run(tmp_path, "join", hub, str(other), "--who", "Ben Spot").code == 0
    ben = Desk(other, "Ben Spot")
    desk("remove", "devices/pack-01")
    desk.record("One pack")
    desk("sync")
    ben("remove", "devices/pack-03")
    ben.record("The other")
    told = ben.json("sync", code=1)
    assert [each["kind"] for each in told["conflicts"]] == ["off-headset", "path-lost"]
    assert told["conflicts"][0]["sides"]["incoming"]["who"] == "Ada Rook"
    assert told["sent"] == 0
