"""`undo` steps back over every command, itself included; what was not recorded is kept first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from showvc.history import operations
from showvc.history.operations import current_view, log, read_operation
from tests.history.desk import FILES, Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def view(desk: Desk) -> dict[str, Any]:
    """All that a command can change: draft, refs, files, the open merge."""
    return {**current_view(desk.archive).plain(), "files": desk.files()}


@dataclass(frozen=True)
class Case:
    command: tuple[str, ...]
    prepare: Callable[[Desk], None] = lambda desk: None
    code: int = 0


def _edit(desk: Desk) -> None:
    desk.write("groups/rig.yaml", "name: Rigging\n")


def _two_drafts(desk: Desk, talk: str = "latch") -> None:
    desk("draft", "open", "deck")
    desk("set", "users/sm/channels/fly/talk", "dual")
    desk.record("Deck")
    desk("draft", "go", "main")
    desk("set", "users/sm/channels/lx/level", "-3")
    desk("set", "users/sm/channels/fly/talk", talk)
    desk.record("House")


def _agreeing(desk: Desk) -> None:
    _two_drafts(desk, "momentary")


def _open(desk: Desk) -> None:
    _two_drafts(desk)
    desk("merge", "deck", code=1)


def _marked(desk: Desk) -> None:
    desk("mark", "opening-night", "last-1")


CASES = {
    "set": Case(("set", "users/sm/name", "SM")),
    "remove": Case(("remove", "groups/snd")),
    "record": Case(("record", "--note", "x"), _edit),
    "restore": Case(("restore", "last-1")),
    "draft open": Case(("draft", "open", "deck"), _edit),
    "draft open elsewhere": Case(("draft", "open", "deck", "--at", "last-1")),
    "draft go": Case(("draft", "go", "deck"), _two_drafts),
    "draft close": Case(("draft", "close", "deck"), _two_drafts),
    "mark": Case(("mark", "opening-night")),
    "mark --move": Case(("mark", "opening-night", "--move"), _marked),
    "mark --remove": Case(("mark", "opening-night", "--remove"), _marked),
    "merge": Case(("merge", "deck"), _agreeing),
    "merge with conflicts": Case(("merge", "deck"), _two_drafts, 1),
    "settle": Case(("settle", "1", "--take", "incoming"), _open),
    "settle --drop": Case(("settle", "--drop"), _open),
    "rollback": Case(("rollback", "last"), _agreeing),
    "carry": Case(("carry", "deck"), _agreeing),
}


@pytest.mark.parametrize("name", CASES)
def test_every_command_is_stepped_back_over_and_done_again(desk: Desk, name: str) -> None:
    case = CASES[name]
    case.prepare(desk)
    before = view(desk)
    desk(*case.command, code=case.code)
    after = view(desk)
    assert after != before
    desk("undo")
    assert view(desk) == before
    desk("undo")
    assert view(desk) == after
    desk("undo")
    assert view(desk) == before
    assert desk.fsck() == []


def test_back_to_before_an_operation(desk: Desk) -> None:
    before = view(desk)
    number = desk.json("undo", "--list")["operations"][0]["number"] + 1
    _two_drafts(desk)
    after = view(desk)
    answer = desk("undo", "--to", str(number))
    assert "and all after it" in answer.out
    assert view(desk) == before
    desk("undo")
    assert view(desk) == after


def test_of_a_long_list_only_what_was_done_since_is_read(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """A season has 40,000 operations: going back to a late one is as quick as to the last, and any can be reached."""
    for level in range(6):
        desk("set", "users/sm/channels/lx/level", str(-level - 1))
    done = log(desk.archive, None)
    read: list[int] = []

    def counted(*arguments: Any) -> Any:
        found = read_operation(*arguments)
        read.append(found.number)
        return found

    monkeypatch.setattr(operations, "read_operation", counted)
    operations.undo(desk.archive, done[1].number)
    assert min(read) == done[1].number
    operations.undo(desk.archive, 1)
    assert current_view(desk.archive).refs == done[-1].before.refs


def test_a_new_show_has_one_operation_and_undo_past_it_is_refused(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show", {})
    assert [each["command"] for each in desk.json("undo", "--list")["operations"]] == ["start"]
    assert "there is no operation 99" in desk("undo", "--to", "99", code=2).err


def test_the_list_tells_what_was_done_newest_first(desk: Desk) -> None:
    _two_drafts(desk)
    desk("undo")
    commands = [each["command"] for each in desk.json("undo", "--list")["operations"]]
    number = log(desk.archive)[1].number
    assert commands[:3] == [f"undo {number}: record: House", "record: House", "set /users/sm/channels/fly/talk latch"]
    assert len(commands) == len(log(desk.archive))
    numbers = [each["number"] for each in desk.json("undo", "--list")["operations"]]
    assert numbers == sorted(numbers, reverse=True)


def test_a_command_that_failed_or_changed_nothing_is_no_operation(desk: Desk) -> None:
    count = len(log(desk.archive))
    desk("set", "users/sm/channels/fly/talk", "shout", code=2)
    desk("record", "--note", "nothing new")
    desk("restore", "last")
    desk("draft", "go", "nowhere", code=2)
    assert len(log(desk.archive)) == count


# --- safety snapshots ---


def edited_by_hand(desk: Desk) -> str:
    text = FILES["users/sm.yaml"].replace("Stage Manager", "Somebody Else") + "# by hand\n"
    desk.write("users/sm.yaml", text)
    return text


@pytest.mark.parametrize(
    ("command", "prepare"),
    [
        (("restore", "last-1"), lambda desk: None),
        (("draft", "go", "deck"), lambda desk: desk("draft", "open", "deck") and desk("draft", "go", "main")),
        (("draft", "open", "rig", "--at", "last-1"), lambda desk: None),
        (("undo",), lambda desk: desk("set", "users/asm/name", "ASM")),
    ],
    ids=["restore", "draft go", "draft open", "undo"],
)
def test_edits_not_recorded_are_kept_before_they_are_overwritten(
    desk: Desk, command: tuple[str, ...], prepare: Callable[[Desk], object]
) -> None:
    prepare(desk)
    text = edited_by_hand(desk)
    answer = desk(*command)
    if "kept" in answer.out:
        kept = answer.out.split("kept as ")[1].split(":")[0]
        desk("restore", kept)
    assert desk.read("users/sm.yaml") == text


def test_what_is_kept_stays_reachable_whatever_comes_after(desk: Desk) -> None:
    text = edited_by_hand(desk)
    kept = desk.json("restore", "last-1")["kept"]
    for note in ("one", "two"):
        desk.write("groups/rig.yaml", f"name: {note}\n")
        desk.record(note)
    desk("undo", "--to", "2")
    desk.git("gc", "-q", "--prune=now")
    desk("restore", kept)
    assert desk.read("users/sm.yaml") == text


def test_undo_leaves_edits_alone_that_its_command_did_not_touch(desk: Desk) -> None:
    desk("mark", "opening-night")
    text = edited_by_hand(desk)
    desk("undo")
    assert desk.read("users/sm.yaml") == text
    assert "opening-night" not in desk("history").out


def test_a_broken_file_is_kept_as_it_is_and_put_right_by_restore(desk: Desk) -> None:
    desk.write("users/sm.yaml", "name: [never closed\n")
    answer = desk.json("restore", "last")
    assert desk.read("users/sm.yaml") == FILES["users/sm.yaml"]
    assert desk.git("show", f"{answer['kept']}:users/sm.yaml") == "name: [never closed\n"
    assert desk("now").code == 0


def test_a_file_that_changes_in_the_very_moment_is_not_overwritten(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """An editor saves between the look at the folder and the writing: what he saved stays."""
    from showvc.history import operations

    real = operations.write_work

    def saved_meanwhile(*arguments: Any) -> list[str]:
        desk.write("users/sm.yaml", "name: Saved just now\n")
        return real(*arguments)

    monkeypatch.setattr(operations, "write_work", saved_meanwhile)
    desk("restore", "last-1")
    monkeypatch.undo()
    assert desk.read("users/sm.yaml") == "name: Saved just now\n"
    assert "users/asm.yaml" not in desk.files()


def test_a_value_with_an_empty_line_is_undone_like_any_other(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk("set", "notes", "a\n\nb")
    desk("record", "--note", "First\n\nand more")
    assert desk.json("undo")["command"].startswith("record: First")
    desk("undo", "--list")


def test_an_undo_of_an_undo_is_called_after_what_it_brings_about(desk: Desk) -> None:
    desk("mark", "velmoor")
    desk("mark", "velmoor", "last-1", "--move")
    for _ in range(3):
        desk("undo")
    commands = [each["command"] for each in desk.json("undo", "--list")["operations"]]
    assert commands[:5] == [
        "undo 6: mark velmoor --move",
        "undo 5: done again: mark velmoor --move",
        "undo 4: mark velmoor --move",
        "mark velmoor --move",
        "mark velmoor",
    ]


def test_the_list_is_lined_up_in_the_time_of_history_and_has_no_line_of_its_own_for_a_long_value(desk: Desk) -> None:
    desk("set", "notes", "one\n\n" + "two " * 100)
    lines = desk("undo", "--list").out.splitlines()
    assert lines[0].split() == ["NO", "WHEN", "COMMAND"]
    when = desk.json("undo", "--list")["operations"][0]["when"][:16].replace("T", " ")
    assert lines[1].startswith(f" 3  {when}  set /notes one")
    assert len(lines) == 1 + len(log(desk.archive))
