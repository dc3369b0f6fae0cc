"""`paths` and required paths as they are typed: on the example show, on a file, on a show of an evening."""

from __future__ import annotations

import csv
import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from unicodedata import east_asian_width

import pytest

from tests.history.desk import Answer, Desk, run

FIXTURES = Path(__file__).parents[2] / "fixtures"
SALT_ROAD = FIXTURES / "salt-road"
WIDEST = 120


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Desk, str]:
    """The demo as a program of its own, and what it said. Only to be looked at."""
    folder = tmp_path_factory.mktemp("demo") / "tour"
    done = subprocess.run(
        [sys.executable, "-c", "from showvc.cli.app import main; main()", "demo", str(folder)],
        env={**os.environ, "PYTHONPATH": str(FIXTURES.parent)},
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    return Desk(folder), done.stdout


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def salt_road(*arguments: str, code: int = 0) -> Answer:
    answer = run(SALT_ROAD, *arguments)
    assert answer.code == code, answer
    return answer


# --- all


def test_a_small_show_is_a_table_that_lines_up_with_wide_letters(desk: Desk) -> None:
    desk("set", "users/sm/label", "舞台監督")
    desk("set", "users/asm/label", "Re\u0301gie")
    lines = desk("paths").out.splitlines()
    assert [line.split()[-4:] for line in lines[1:4]] == [
        ["(asm)", "-", "·", "K?"],
        ["(board)", "·", "-", "·"],
        ["(sm)", "K?", "·", "-"],
    ]
    width = {sum(2 if east_asian_width(char) == "W" else 1 for char in line) for line in lines[:4]}
    assert len(width) == 1
    assert lines[5].startswith("K on a key or always open   P on a key of another page   m menu only   ? unsure")


def test_a_large_show_is_a_summary_that_fits_a_terminal() -> None:
    said = salt_road("paths").out
    assert "stage management" in said and re.search(r"^fly +FLY ", said, re.MULTILINE)
    assert "can raise ALARM: ASM L (asm-left), ASM R (asm-right), AUTO OP" in said
    assert max(map(len, said.splitlines())) <= WIDEST


def test_json_has_everybody() -> None:
    users = json.loads(salt_road("paths", "--json").out)["users"]
    bodies = [*(SALT_ROAD / "users").iterdir(), *(SALT_ROAD / "circuits").iterdir()]
    assert len(users) == len([body for body in bodies if "port: true" not in body.read_text()])
    assert "fly-1" in users["sm"] and "sm" not in users["sm"]


def test_csv_has_a_row_for_every_path(tmp_path: Path) -> None:
    file = tmp_path / "paths.csv"
    said = salt_road("paths", "--csv", str(file)).out
    rows = list(csv.DictReader(file.read_text().splitlines()))
    users = json.loads(salt_road("paths", "--json").out)["users"]
    pairs = {(talker, listener) for talker, heard in users.items() for listener in heard}
    assert {(row["talker"], row["listener"]) for row in rows if row["over"] not in ("alarm", "paging")} == pairs
    assert said == f"Written: {file}, {len(pairs)} pairs, a row for each target over which one holds.\n"


# --- one user


def test_one_position_s_reach_tells_targets_and_circuits(played: tuple[Desk, str]) -> None:
    said = played[0]("paths", "sm").out
    assert said.startswith("SM is heard by 57 positions:\n  over line ALARM: ASM L (asm-left), ")
    assert "  over FLY: CARP, CART (auto-op), COMMS, DSM, FLY 1, FLY 2, FLY 3," in said
    assert "  over BAND: BAND ST (band-steward), KEYS 2, MD, MON (snd-mon), Pit talkback (pit)," in said
    assert "\nSM hears " in said
    assert max(map(len, said.splitlines())) <= WIDEST


def test_json_of_one_user() -> None:
    found = json.loads(salt_road("paths", "fly-1", "--json").out)
    assert found.keys() == {"heard_by", "hears"}
    assert {"sm", "fly-2"} <= set(found["heard_by"]) and "sm" in found["hears"]


# --- a pair


def test_why_one_hears_another() -> None:
    said = salt_road("paths", "fly-1", "sm").out
    assert said.splitlines()[:4] == [
        "SM hears FLY 1, on a key, sure:",
        "  over FLY, on a key, sure",
        "    1. FLY 1 talks on FLY: key A1 of unit-fly-1",
        "    2. SM hears FLY: channel 3",
    ]
    assert "A path says what the configuration allows." in said
    found = json.loads(salt_road("paths", "fly-1", "sm", "--json").out)
    (way,) = found["ways"]
    assert (found["holds"], way["over"], way["hand"], way["sure"], len(way["hops"])) == (True, "fly", "key", True, 2)


def test_a_missing_path_ends_with_1_and_any_edit_that_is_offered_makes_it(desk: Desk) -> None:
    desk.write("devices/spare.yaml", "kind: pack-2\nuser: board\n")
    said = desk("paths", "board", "asm", code=1).out
    assert said.startswith("Deck Manager (asm) can't hear Light Board (board).\nTo fix it, run one of:\n")
    offered = [shlex.split(line) for line in said.splitlines() if line.strip().startswith("showvc ")]
    assert 1 <= len(offered) <= 3
    for program, *words in offered:
        assert program == "showvc"
        desk(*words)
        assert desk.json("paths", "board", "asm")["holds"] is True
        desk("undo")
    assert desk.json("paths", "board", "asm", code=1)["holds"] is False


def test_who_is_off_headset_hears_nobody_and_is_given_a_spare_device(desk: Desk) -> None:
    said = desk("paths", "sm", "board", code=1).out
    assert said.startswith("Light Board (board) can't hear SM. Light Board (board) is off headset.\n")


def test_a_label_serves_for_an_id_and_a_group_for_its_members() -> None:
    assert salt_road("paths", "FLY 1", "SM").out == salt_road("paths", "fly-1", "sm").out
    found = json.loads(salt_road("paths", "sm", "fly", "--json", code=0).out)
    assert found["state"] == "met"
    assert found["missing"] == []
    fly = json.loads(salt_road("paths", "fly", "--json").out)
    assert "fly-1" in fly["talkers"]


def test_what_is_out_takes_its_paths_along() -> None:
    found = json.loads(salt_road("paths", "fly-1", "sm", "--without", "unit-fly-1", "--json", code=1).out)
    assert found["holds"] is False
    refused = salt_road("paths", "--without", "unit-fly-99", code=2).err
    assert "there is no device, bridge, circuit, carrier" in refused and "unit-fly-99" in refused


def test_a_path_in_any_source() -> None:
    file = str(FIXTURES / "salt-road.show.json")
    assert run(FIXTURES, "paths", "sm", "fly-1", "--of", file).out == salt_road("paths", "sm", "fly-1").out


# --- since when


def test_since_when_and_by_whose_edit(played: tuple[Desk, str]) -> None:
    said = played[0]("paths", "auto-right", "auto-op", "--history").out.splitlines()
    assert said[0] == "How auto-op hears auto-right, since when and by whose edit, the newest first:"
    assert [line.split("  ")[0] for line in said[1:]] == [
        "HEARD", "key or open", "can't hear", "key or open", "can't hear", "key or open"
    ]  # fmt: skip
    assert "front-of-house engineer  Tidied up listens nobody uses" in said[3]
    turns = played[0].json("paths", "auto-right", "auto-op", "--history")["history"]
    assert [turn["holds"] for turn in turns] == [True, False, True, False, True]
    assert turns[1]["who"] == "front-of-house engineer"


def test_a_path_that_never_was(desk: Desk) -> None:
    assert desk("paths", "board", "asm", "--history").out == "asm never heard board.\n"


def test_since_when_takes_what_the_displays_show(desk: Desk) -> None:
    assert desk("paths", "Stage Manager", "asm", "--history").out == desk("paths", "sm", "asm", "--history").out


def test_what_was_just_taken_away_is_offered_first(desk: Desk) -> None:
    desk("set", "users/sm/channels/fly/level", "-3")
    desk.record()
    desk("remove", "users/asm/channels/fly", code=None)
    said = " ".join(desk("paths", "sm", "asm", code=1).out.split())
    assert "Critical groups affected: FLY. Intercom is not an emergency stop." in said, "a proposal is trusted"
    taken = desk.json("paths", "sm", "asm", code=1)["proposals"][0]
    assert [edit["path"] for edit in taken] == ["/users/asm/channels/fly"]
    desk.record()
    assert desk.json("paths", "sm", "asm", code=1)["proposals"][0] == taken, (
        "recorded, it is still what was there before"
    )
    assert desk.json("paths", "sm", "asm", "--of", "last", code=1)["proposals"][0] == taken


# --- wrong input


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("smm",), "there is no user, group, circuit or line smm (did you mean sm"),
        (("sm", "fly-9"), "there is no user, group, circuit or line fly-9 (did you mean fly-"),
        (("sm", "sm"), "sm needs no path to sm (name two positions)"),
        (("sm", "--history"), "--history wants two positions (such as: showvc paths sm fly-1 --history)"),
        (("sm", "fly-1", "--history", "--of", "last"), "leave out --of"),
        (("sm", "--csv", "x.csv"), "leave out the rest"),
    ],
)
def test_wrong_input_ends_with_2_and_says_the_way_out(words: tuple[str, ...], said: str) -> None:
    answer = salt_road("paths", *words, code=2)
    assert said in answer.err
    assert answer.out == "" and len(answer.err.splitlines()) == 1


# --- required paths, set and removed like any field


FLY_CUES = "{from: sm, to: fly, both: true, why: fly cues are called here}"


def test_a_required_path_is_set_checked_and_removed_like_any_field(desk: Desk) -> None:
    said = desk("set", "required/sm-fly", FLY_CUES).out
    assert "required path sm-fly is new: from sm, to fly, both yes, why fly cues are called here" in said
    assert "BLOCK" not in said
    asked = " ".join(desk("compare").out.split())
    assert asked.startswith("Required paths: SM -> group FLY, both ways: unsure; ")
    assert "(required path sm-fly: fly cues are called here); newly required" in asked
    desk("record", "--note", "The rail is required")
    broken = desk("set", "users/sm/channels/fly/talk", "none", code=1).out
    sentence = "SM -> group FLY, both ways: lost, Deck Manager (asm) can't hear SM (required path sm-fly: fly cues are"
    assert f"BLOCK required-lost {sentence}" in " ".join(broken.split())
    assert "showvc paths sm asm" in " ".join(broken.split())
    assert " ".join(desk("compare").out.split()).startswith(f"Required paths lost: LOST: {sentence}")
    assert desk.json("compare")["effect"]["lost_over"] == [["sm", "fly", "asm"]]
    desk("remove", "required/sm-fly")
    unasked = " ".join(desk("compare").out.split())
    assert "no longer required" in unasked and "sm-fly" in unasked


def test_a_key_that_a_required_path_needs(desk: Desk) -> None:
    desk("set", "required/sm-fly", "{from: sm, to: fly}")
    desk("record", "--note", "The rail is required")
    said = desk("remove", "devices/desk-01/keys/A2").out
    assert "warning required-in-menu" in " ".join(said.split())
    assert "menu only" in said


def test_a_required_path_to_what_is_not_there_names_near_ones(desk: Desk) -> None:
    said = desk("set", "required/sm-fly", "{from: sm, to: flyy}", code=1).out
    assert "BLOCK    required-to-nothing" in said and "did you mean fly" in " ".join(said.split())
    assert desk("paths", "sm", "flyy", code=2).err.startswith("showvc: there is no user, group, circuit or line flyy")
    desk("undo")
    desk("set", "required/sm-asm", "{from: sm, to: asm}")
    desk("remove", "devices/pack-01", code=1)
    gone = desk("remove", "users/asm", code=1).out
    assert "required path sm-asm: to 'asm', which is no user, group" in " ".join(gone.split())
    assert "did you mean sm?" in " ".join(gone.split())


def test_a_required_path_that_is_no_path(desk: Desk) -> None:
    assert "field '/required/r/to' is missing" in desk("set", "required/r", "{from: sm}", code=2).err
    assert "nothing at /required/r" in desk("remove", "required/r", code=2).err


# --- merge


def test_the_edit_that_takes_the_stage_manager_from_the_rail_is_caught_in_one_sentence(
    played: tuple[Desk, str],
) -> None:
    said = played[1]
    assert "Together they take the fly rail from the stage manager" in said
    assert (
        "SM -> FLY 1: lost, FLY 1 can't hear SM (required path sm-fly-1: the header flies over the quick change). "
        "Mine took CUE off the list of FLY 1; incoming took FLY off the list of SM"
    ) in " ".join(said.split())


def test_a_path_lost_by_two_edits_and_a_ring_of_two_bridges(desk: Desk) -> None:
    desk.write("users/sm.yaml", desk.read("users/sm.yaml") + "  snd: {number: 3, talk: momentary}\n")
    desk.write("users/asm.yaml", desk.read("users/asm.yaml") + "  snd: {number: 2}\n")
    desk.write("devices/if-01.yaml", "kind: ports-4\n")
    desk.write("circuits/house-a.yaml", "name: House party line A\nhears: true\nspeaks: true\ncarries: true\n")
    desk("set", "required/sm-asm", "{from: sm, to: asm, why: the deck is called here}")
    desk("record", "--note", "Two ways to the deck")
    bridge = "kind: two-wire\ndevice: if-01\nport: {port}\ntarget: fly\ncircuit: house-a\n"
    desk("draft", "open", "house")
    desk("remove", "users/sm/channels/fly", code=None)
    desk.write("bridges/left.yaml", bridge.format(port=1))
    desk("record", "--note", "House", code=None)  # the stage manager reaches nobody on FLY: a block of this draft
    desk("draft", "go", "main")
    desk("remove", "users/asm/channels/snd", code=None)
    desk.write("bridges/right.yaml", bridge.format(port=2))
    desk("record", "--note", "Deck", code=None)
    asked = {conflict["kind"]: conflict["id"] for conflict in desk.json("merge", "house", code=1)["conflicts"]}
    desk("settle", asked["twin"], "--take", "both", code=1)  # two of one shape: a ring only where they stay two
    found = {conflict["kind"]: conflict for conflict in desk.json("settle", code=1)["conflicts"]}
    lost, ring = found["path-lost"], found["audio-loop"]
    assert sorted(lost["paths"]) == ["/users/asm/channels/snd", "/users/sm/channels/fly"]
    assert lost["message"].startswith("SM -> Deck Manager (asm): lost, Deck Manager (asm) can't hear SM (required path")
    assert sorted(ring["paths"]) == ["/bridges/left", "/bridges/right"]
    assert "FLY - bridge left - circuit House party line A (house-a) - bridge right - FLY" in ring["message"]


def test_a_large_show_says_how_to_have_it_user_by_user() -> None:
    said = " ".join(salt_road("paths").out.split())
    assert "showvc paths X" in said
    assert "showvc paths --csv FILE" in said
    assert "talker has it" not in said


def test_the_heads_of_the_csv_are_words(tmp_path: Path) -> None:
    salt_road("paths", "--csv", str(tmp_path / "paths.csv"))
    rows = list(csv.DictReader((tmp_path / "paths.csv").read_text().splitlines()))
    assert list(rows[0]) == ["listener", "talker", "talker has it", "sure", "over"]
    assert {row["talker has it"] for row in rows} <= {
        "on a key",
        "always open",
        "on a key of another page",
        "menu only",
    }
