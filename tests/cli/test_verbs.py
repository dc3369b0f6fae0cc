"""Many edits in one command: what each does, tells and waits for; and the step back over it."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from showvc.document.schema import document_schema
from tests.history.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


NAMED = {
    "give": (("give", "SND", "sm", "asm"), "users/asm.yaml", "snd: {number: 3, talk: momentary}"),
    "rename": (("rename", "asm", "deck"), "devices/pack-01.yaml", "user: deck"),
    "copy": (("copy", "asm", "dep", "--label", "DEP"), "users/dep.yaml", "label: DEP"),
    "swap": (("swap", "devices/desk-01/keys/A1", "devices/desk-01/keys/A2"), "devices/desk-01.yaml", "A1: fly"),
    "pairs": (("set", "users/sm/label", "A", "users/asm/label", "B"), "users/asm.yaml", "label: B"),
    "labels": (("set", "users/stage manager/channels/LX/level", "-3"), "users/sm.yaml", "level: -3"),
}


@pytest.mark.parametrize("name", NAMED)
def test_what_is_named_is_done_at_once_and_is_one_step_back(desk: Desk, name: str) -> None:
    command, file, text = NAMED[name]
    before = desk.files()
    answer = desk(*command, code=None)
    assert answer.code in (0, 1) and text in desk.read(file), answer
    desk("undo", code=None)
    assert desk.files() == before


MANY = {
    "a pattern": ("set", "users/*/channels/fly/listen", "always"),
    "a condition": ("set", "users/sm/department", "deck", "--where", "department=stage"),
    "everywhere": ("remove", "LX", "--everywhere"),
    "a pattern removed": ("remove", "users/*/channels/LX"),
    "a department": ("give", "snd", "department:stage"),
    "positions by pattern": ("give", "snd", "*sm"),
}


@pytest.mark.parametrize("name", MANY)
def test_what_names_many_is_shown_first_and_done_with_yes(desk: Desk, name: str) -> None:
    before = desk.files()
    shown = desk(*MANY[name], code=1)
    assert desk.files() == before and "--yes" in shown.out.splitlines()[-1]
    preview = desk.json(*MANY[name], code=1)
    desk(*MANY[name], "--yes", code=None)
    assert desk.files() != before
    desk("undo", code=None)
    done = desk.json(*MANY[name], "--yes", code=None)
    assert done["changes"] == preview["changes"] and (preview["written"], done["written"]) == (False, True)
    assert done["verdict"] == preview["verdict"] and done["effect"] == preview["effect"]


def test_a_spare_takes_the_place_of_a_broken_unit(desk: Desk) -> None:
    desk.write("devices/spare.yaml", "name: Spare\nkind: desk-8\n")
    desk("replace", "Prompt desk", "spare", "--remove")
    assert "user: sm" in desk.read("devices/spare.yaml") and "devices/desk-01.yaml" not in desk.files()


def test_a_patch_from_a_file_and_from_a_comparison(desk: Desk, tmp_path: Path) -> None:
    desk("set", "users/sm/label", "CALL")
    file = tmp_path / "edit.json"
    file.write_text(desk("compare", "--patch").out)
    edited = desk.files()
    desk("undo")
    desk("set", "--patch", str(file))
    assert desk.files() == edited


def test_a_renamed_file_keeps_its_comments(desk: Desk) -> None:
    desk.write("users/asm.yaml", "# called from the deck\n" + desk.read("users/asm.yaml"))
    desk("rename", "asm", "deck")
    assert desk.read("users/deck.yaml").startswith("# called from the deck\n")
    assert "users/asm.yaml" not in desk.files()


def _facts(desk: Desk) -> object:
    found = re.search(r"^Facts: (.*)$", desk.git("log", "-1", "--format=%B"), re.MULTILINE)
    return json.loads(found[1])["renamed"] if found else None


def test_the_next_snapshot_writes_a_renaming_down(desk: Desk) -> None:
    desk("rename", "asm", "deck")
    desk("rename", "deck", "crew")
    desk("rename", "snd", "sound")
    desk.record()
    assert _facts(desk) == [["/users/asm", "/users/crew"], ["/groups/snd", "/groups/sound"]]
    desk("set", "users/sm/label", "X")
    desk.record()
    assert _facts(desk) is None


@pytest.mark.parametrize("back", [("undo",), ("rename", "deck", "asm"), ("restore", "last")])
def test_a_renaming_that_was_taken_back_is_not_written_down(desk: Desk, back: tuple[str, ...]) -> None:
    desk("rename", "asm", "deck")
    desk(*back, code=None)
    desk("set", "users/sm/label", "X")
    desk.record()
    assert _facts(desk) is None


def test_a_merge_follows_a_renaming_that_nobody_would_recognise(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk("set", "users/asm/channels/fly/talk", "latch")
    desk.record()
    desk("draft", "go", "main")
    desk("rename", "asm", "crew")
    desk("set", "users/crew/name", "Somebody else", "users/crew/department", "music", code=None)
    desk("merge", "deck", code=None)
    assert "talk: latch" in desk.read("users/crew.yaml") and "users/asm.yaml" not in desk.files()


@pytest.mark.parametrize(
    ("command", "words"),
    [
        (("rename", "fly", "lx"), "lx is taken: groups/lx has it"),
        (("set", "users/spot-*/label", "X"), "users/spot-*/label: nothing in this show matches"),
        (("set", "users/sm/label"), "users/sm/label has no value"),
        (("set",), "no field is named"),
        (("give", "fly", "asm", "--key", "A1", "--no-key"), "exclude each other"),
        (("set", "--patch", "none.json"), "none.json: is not there"),
        (("set", "a", "b", "--patch", "x"), "--patch stands alone"),
        (("schema", "documnt"), "did you mean document?"),
    ],
)
def test_errors_change_nothing(desk: Desk, command: tuple[str, ...], words: str) -> None:
    before = desk.files()
    answer = desk(*command, code=2)
    assert words in answer.err and desk.files() == before


def test_a_label_that_two_things_have_names_both(desk: Desk) -> None:
    desk("set", "users/asm/label", "SM", code=None)
    assert "'sm' may be" not in desk("set", "users/sm/name", "X", code=None).err
    assert "asm" in desk("set", "devices/pack-01/user", "Sm", code=2).err


def test_looking_takes_labels_too(desk: Desk) -> None:
    assert desk.json("trace", "users/STAGE MANAGER/channels/FLY/talk")["values"][0]["value"] == "momentary"
    assert desk.json("history", "users/Stage Manager")["snapshots"][0]["note"] == "First plot"


def test_a_folder_that_may_not_be_written_shows_and_refuses(desk: Desk) -> None:
    before = desk.files()
    for place in (desk.folder, desk.folder / "users"):
        place.chmod(0o555)
    try:
        desk("set", "users/*/department", "deck", code=1)
        answer = desk("give", "snd", "sm", code=None)
    finally:
        for place in (desk.folder, desk.folder / "users"):
            place.chmod(0o755)
    if os.geteuid() != 0:
        assert answer.code in (2, 3) and desk.files() == before


def test_no_id_changes_while_a_merge_is_open(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk("set", "users/sm/channels/fly/talk", "dual")
    desk.record()
    desk("draft", "go", "main")
    desk("set", "users/sm/channels/fly/talk", "latch")
    desk.record()
    desk("merge", "deck", code=1)
    assert "the merge of deck is open" in desk("rename", "asm", "crew", code=2).err
    desk("give", "snd", "asm", code=None)
    assert "snd" in desk.read("users/asm.yaml")


def test_the_schema_of_the_document(desk: Desk) -> None:
    assert json.loads(desk("schema").out) == document_schema()
