"""A fleet that was edited apart, brought together by the commands that `fleet` prints, copied as they are."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from showvc.changes.caution import CAUTION
from showvc.document import Show
from showvc.release.stamp import stamp_of
from showvc.release.store import release
from tests.release.desk import Desk, desk
from tests.release.salt import edited, salt

__all__ = ["desk"]

ROOT = Path(__file__).parents[2]
PROGRAM = [sys.executable, "-c", "from showvc.cli import main; main()"]
LEFT = edited(edited(salt(), "users", "sm", label="STAGE"), "groups", "fly", label="RAIL")
RIGHT = edited(edited(salt(), "users", "lxop", label="BOARD"), "groups", "fly", label="FLIES")


class Deck:
    """Two halves of a network, in a folder with a space in its name, as sticks have."""

    def __init__(self, desk: Desk, place: Path) -> None:
        self.desk, self.place = desk, place
        self.dumps = place / "stage left" / "dumps"
        self.dumps.mkdir(parents=True)

    def dump(self, device: str, show: Show) -> None:
        (self.dumps / f"{device}.show.json").write_text(json.dumps(show.tree()))

    def typed(self, line: str) -> tuple[int, str]:
        """A line typed into a shell beside the show folder."""
        first, *words = shlex.split(line)
        assert first == "showvc"
        environment = {**os.environ, "PYTHONPATH": str(ROOT), "NO_COLOR": "1", "SHOWVC_WHO": "Ada Deck"}
        done = subprocess.run(
            [*PROGRAM, *words], cwd=self.place, env=environment, capture_output=True, text=True, check=False
        )
        assert "Traceback" not in done.stderr
        return done.returncode, done.stdout + done.stderr

    def fleet(self, *more: str) -> tuple[int, str]:
        return self.typed(shlex.join(["showvc", "fleet", "stage left/dumps", *more, "--show", "show"]))

    def commands(self, said: str) -> list[str]:
        return [line.strip() for line in said.splitlines() if line.startswith("  showvc ")]

    @property
    def show(self) -> Show:
        return self.desk.shows.at(self.desk.last)


@pytest.fixture
def deck(desk: Desk, tmp_path: Path) -> Deck:
    release(desk.archive, desk.shows, desk.last)
    return Deck(desk, tmp_path)


def test_the_command_that_fleet_prints_starts_the_merge_of_both_halves(deck: Deck) -> None:
    base = deck.desk.last
    deck.dump("desk-01", LEFT)
    deck.dump("pack-01", RIGHT)
    deck.dump("pack-02", RIGHT)
    code, said = deck.fleet()
    assert code == 1
    assert f"All parts came from snapshot {base[:7]}." in said
    together, *_ = deck.commands(said)
    code, said = deck.typed(together)
    assert code == 1
    assert said.count(f"from {base[:7]}, the nearest snapshot") == 2
    assert "mine says 'FLIES', incoming says 'RAIL'" in said, "the larger half went in first"
    assert deck.typed("showvc settle --all --take incoming --show show")[0] == 0
    assert (deck.show.users["sm"].label, deck.show.users["lxop"].label) == ("STAGE", "BOARD")
    assert deck.show.groups["fly"].label == "RAIL"
    assert deck.typed(together)[0] == 0, "given again, there is nothing left to take in"
    assert "recorded, not released" in deck.fleet()[1]


def test_each_part_alone_is_merged_by_its_own_command(deck: Deck) -> None:
    deck.dump("desk-01", LEFT)
    deck.dump("pack-01", RIGHT)
    _, first, second = deck.commands(deck.fleet()[1])
    assert [deck.typed(first)[0], deck.typed(second)[0]] == [0, 1]


def test_what_waits_behind_a_conflict_is_said_and_taken_when_the_command_is_given_again(deck: Deck) -> None:
    third = edited(salt(), "groups", "snd", label="NOISE")
    for device, show in (("desk-01", LEFT), ("pack-01", RIGHT), ("pack-02", third)):
        deck.dump(device, show)
    code, said = deck.fleet("--merge")
    assert code == 1
    assert "Waiting behind these conflicts: part C." in said
    assert deck.fleet("--merge")[0] == 2, "one merge at a time"
    assert deck.typed("showvc settle --all --take mine --show show")[0] == 0
    assert deck.fleet("--merge")[0] == 0
    assert deck.show.groups["snd"].label == "NOISE"


def test_json_tells_each_merge_as_merge_does(deck: Deck) -> None:
    deck.dump("desk-01", LEFT)
    deck.dump("pack-01", RIGHT)
    code, said = deck.fleet("--merge", "--json")
    told: dict[str, Any] = json.loads(said)
    assert code == 1
    assert [(each["part"], each["clean"]) for each in told["merged"]] == [("A", True), ("B", False)]
    assert [each["paths"] for each in told["merged"][1]["conflicts"]] == [["/groups/fly/label"]]
    assert (told["waiting"], told["caution"]) == ([], CAUTION)


def test_a_fleet_without_edits_of_its_own_changes_nothing(deck: Deck) -> None:
    before = deck.desk.last
    deck.dump("desk-01", salt())
    code, said = deck.fleet("--merge")
    assert (code, deck.desk.last) == (0, before)
    assert "nothing changes" in said


def test_a_device_put_up_since_counts_with_its_edits(deck: Deck) -> None:
    new = edited(salt(), "devices", "pack-03", kind="pack-2", user="lxop")
    for device in salt().devices:
        deck.dump(device, salt())
    deck.dump("pack-03", new)
    told = json.loads(deck.fleet("--json")[1])
    assert {each["device"]: each["state"] for each in told["devices"]}["pack-03"] == "edited"
    assert not told["unknown"]


# Dumps of another system


MAPPING = "mapping: 1\ntables:\n  plot: {each: user, columns: {Position: name, Label: label}}\nmissing: keep\n"
PLOT = "Position,Label\r\nStage Manager,{}\r\nFly 1,\r\nBoard op,\r\n"


def test_dumps_are_read_through_a_mapping(deck: Deck) -> None:
    (deck.place / "how.yaml").write_text(MAPPING)
    (deck.dumps / "desk-01.csv").write_text(PLOT.format("STAGE"))
    (deck.dumps / "pack-01.csv").write_text(PLOT.format("SM"))
    code, said = deck.fleet("--mapping", "how.yaml", "--json")
    told = json.loads(said)
    held = {each["device"]: (each["state"], each["stamp"]) for each in told["devices"]}
    assert code == 1
    assert held["pack-01"] == ("current", stamp_of(salt())), "how the table is laid out is no edit"
    assert held["desk-01"][0] == "edited"
    edits = {each["part"]: each["edits"] for each in told["parts"]}
    assert [(each["path"], each["after"]) for each in edits["B"] or edits["A"]] == [("/users/sm/label", "STAGE")]
    (together,) = deck.commands(deck.fleet("--mapping", "how.yaml")[1])
    assert deck.typed(together)[0] == 0
    assert deck.show.users["sm"].label == "STAGE"


def test_a_mapping_beside_a_dump_needs_no_naming_and_is_no_dump_itself(deck: Deck) -> None:
    (deck.dumps / "desk-01.csv").write_text(PLOT.format("SM"))
    (deck.dumps / "desk-01.csv.mapping.yaml").write_text(MAPPING)
    told = json.loads(deck.fleet("--json")[1])
    assert [(each["device"], each["state"]) for each in told["devices"]] == [("desk-01", "current")]
    assert not told["unknown"]
    alone = json.loads(deck.typed("showvc fleet 'stage left/dumps/desk-01.csv' --json --show show")[1])
    assert alone["devices"] == [{**told["devices"][0]}]


def test_tables_without_a_mapping_say_what_is_missing(deck: Deck) -> None:
    (deck.dumps / "desk-01.csv").write_text(PLOT.format("SM"))
    code, said = deck.fleet()
    assert code == 2
    assert "--mapping FILE" in said
    (deck.place / "desk-01.xml").write_text("<plot/>")
    code, said = deck.typed("showvc fleet desk-01.xml --show show")
    assert code == 2
    assert "--mapping FILE" in said


# What is printed


def test_all_but_the_commands_fits_a_terminal_and_carries_the_caution(deck: Deck) -> None:
    long = {"name": "Chief of the " + "very " * 30 + "long name", "label": "X"}
    deck.dump("desk-01", edited(salt(), "groups", "lx", **long))
    deck.dump("pack-01", RIGHT)
    _, said = deck.fleet()
    assert all(len(line) <= 110 for line in said.splitlines() if not line.startswith("  showvc "))
    assert " ".join(CAUTION.split()) in " ".join(said.split())
    _, said = deck.fleet("--csv")
    assert CAUTION in said
