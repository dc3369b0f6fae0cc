"""What is looked at fits the terminal, and says no more than it knows."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.document.lining import columns as wide
from tests.cli.terminal import on_terminal
from tests.history.desk import Desk

LONG = "Rail off the cue group, because everybody there hears every cue on the group of the rail as well, " * 2


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


# --- fits the terminal


@pytest.mark.parametrize("columns", [40, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(desk: Desk, columns: int) -> None:
    desk("set", "users/sm/name", "Stage Manager, Prompt Corner and Everything Else", code=None)
    desk("set", "users/asm/name", "舞台監督 Régie 下手 " * 9, code=None)
    desk.record(LONG)
    desk("remove", "groups/fly", code=1)
    for command in (
        ("now",),
        ("verify",),
        ("history",),
        ("compare",),
        ("check",),
        ("trace", "users/sm/channels/fly"),
        ("paths", "sm"),
        ("paths", "sm", "board"),
    ):
        lines = [line.rpartition("\r")[2] for line in on_terminal(desk.folder, columns, *command)]
        assert lines
        broken = [line for line in lines if not line.startswith("    Accept: ")]  # a command is whole, to be run
        assert [line for line in broken if wide(line) > columns] == [], command


def test_what_now_tells_stands_below_itself_where_it_is_long(desk: Desk) -> None:
    desk("set", "users/sm/name", "Prompt")
    desk.record(LONG)
    lines = on_terminal(desk.folder, 80, "now")
    last = next(number for number, line in enumerate(lines) if line.startswith("Last:"))
    assert lines[last + 1].startswith(" " * 11) and lines[last + 1].strip() in LONG


def test_on_a_narrow_terminal_a_finding_stands_below_its_head(desk: Desk) -> None:
    desk("remove", "groups/fly", code=1)
    lines = on_terminal(desk.folder, 40, "check")
    at = lines.index("BLOCK    channel-to-nothing")
    assert lines[0].startswith("BLOCKED: ")
    assert lines[at + 1].startswith("    ") and lines[at + 1].strip()


def test_on_a_narrow_terminal_nothing_of_the_history_is_lost(desk: Desk) -> None:
    desk("set", "users/sm/name", "Prompt")
    desk.record(LONG)
    words = " ".join(" ".join(on_terminal(desk.folder, 80, "history")).split())
    assert LONG.strip() in words
    assert "1 renamed" in words


def test_a_long_value_is_cut_on_a_terminal_and_whole_in_a_pipe(desk: Desk) -> None:
    desk("set", "groups/lx/name", "Lights " * 12)
    desk.record()
    whole = ("Lights " * 12).strip()
    assert whole in desk("trace", "groups/lx/name").out
    shown = "\n".join(on_terminal(desk.folder, 120, "trace", "groups/lx/name"))
    assert "…" in shown
    assert whole not in shown


def test_of_a_thing_a_trace_tells_what_became_another_and_not_all_that_stands_there(desk: Desk) -> None:
    desk("set", "users/sm/channels/lx/talk", "dual")
    desk.record()
    desk("remove", "users/sm/channels/lx/talk")
    desk.record()
    values = [line.split("  ")[-2:] for line in on_terminal(desk.folder, 120, "trace", "users/sm")[1:]]
    shown = " ".join(" ".join(each) for each in values)
    assert "…, no channels lx talk" in shown
    assert "…, channels lx talk dual" in shown


# --- many of one cause


def test_many_channels_to_one_removed_group_are_one_finding_on_the_screen_and_all_in_json(desk: Desk) -> None:
    for number in range(30):
        desk.write(f"users/fly-{number:02}.yaml", "channels:\n  fly: {number: 1, talk: latch}\n")
    desk("remove", "groups/fly", code=1)
    said = desk("check", code=1).out
    assert said.count("channel-to-nothing") == 1
    assert "32 like this, e.g.: " in said
    assert "and 20 more; all of them: --json" in " ".join(said.split())
    assert "BLOCKED: 32 blocks" in said
    found = [each for each in desk.json("check", code=1)["findings"] if each["code"] == "channel-to-nothing"]
    assert len(found) == 32


def test_paths_that_are_lost_are_each_told(desk: Desk) -> None:
    for number in range(8):
        desk("set", f"required/r{number}", "{from: board, to: asm}", code=None)
    assert desk("check", code=1).out.count("required-lost") == 8


# --- compare


def test_a_label_that_nobody_has_under_a_key_needs_no_strip(desk: Desk) -> None:
    desk("set", "groups/snd/label", "SOUND")
    assert desk("compare").out.startswith("No path is lost, gained or weaker, and no label strip needs reprinting.\n")


def test_nothing_is_said_of_paths_where_nothing_changed(desk: Desk) -> None:
    assert "No path" not in desk("compare").out


def test_an_alarm_that_can_no_longer_be_raised_stands_on_top_with_the_caution(desk: Desk) -> None:
    desk("set", "lines/alarm", "{label: ALARM, critical: true}", code=None)
    desk("set", "users/sm/lines/alarm", "{talk: momentary}", code=None)
    desk.record()
    desk("remove", "users/sm/lines/alarm", code=None)
    said = desk("compare").out
    assert said.startswith("Lost on critical groups and lines:\n  SM can no longer talk on line ALARM; ")
    assert "Critical groups affected: ALARM. Intercom is not an emergency stop." in said


def test_a_check_that_blocks_nothing_says_what_a_path_does_not_know_where_something_is_critical(desk: Desk) -> None:
    said = " ".join(desk("check").out.split())
    assert "It knows no levels in the room" in said and said.endswith("the responsible person decide.")
    desk("set", "groups/fly/critical", "no", code=None)
    assert "responsible person" not in desk("check").out


# --- what undo and rollback do to people


def test_undo_tells_what_it_does_to_people_like_a_comparison(desk: Desk) -> None:
    desk("remove", "users/asm/channels/fly", code=None)
    effect = desk.json("undo")["effect"]
    assert ["sm", "asm"] in effect["gained"] and effect["lost"] == []
    said = desk("undo", code=None).out
    assert "can no longer hear" in said and said.index("can no longer") < said.index("Undone: undo")
    assert "Critical groups affected: FLY." in said
    desk("set", "groups/lx/name", "Lamps")
    assert desk.json("undo")["effect"]["lost"] == []


def test_undo_of_what_cannot_be_read_knows_no_effect(desk: Desk) -> None:
    desk("set", "groups/lx/name", "Lamps")
    desk.write("groups/snd.yaml", "nmae: X\n")
    assert desk.json("undo", code=None)["effect"] is None


def test_rollback_tells_what_it_does_to_people_in_json_too(desk: Desk) -> None:
    desk("remove", "users/asm/channels/fly", code=None)
    code = desk.record()
    assert ["sm", "asm"] in desk.json("rollback", code, code=None)["effect"]["gained"]


# --- what was kept


def test_edits_that_were_kept_are_listed_on_request(desk: Desk) -> None:
    assert desk.json("history", "--kept") == {"snapshots": []}
    assert "No edits were ever kept." in desk("history", "--kept").out
    desk("set", "groups/lx/name", "Lamps")
    answer = desk("restore", "last")
    assert "showvc history --kept" in answer.out
    (kept,) = desk.json("history", "--kept")["snapshots"]
    assert f"kept as {kept['code']}" in answer.out
    assert desk.json("history")["snapshots"][0]["code"] != kept["code"]
    desk("restore", kept["code"])
    assert "Lamps" in desk.read("groups/lx.yaml")
    desk("history", "--kept", "--of", "last", code=2)


# --- what can be marked


@pytest.mark.parametrize("command", [("mark", "stop"), ("carry",), ("rollback",), ("draft", "open", "x", "--at")])
def test_what_is_not_recorded_is_no_snapshot(desk: Desk, command: tuple[str, ...]) -> None:
    said = desk(*command, "working", code=2).err
    assert "only what is recorded" in said
    assert "record it first: showvc record --note TEXT" in said


def test_draft_alone_lists_the_drafts(desk: Desk) -> None:
    assert desk.json("draft") == desk.json("draft", "list")
    assert desk("draft").out == desk("draft", "list").out
    assert desk("draft", "--json", "list", code=2).err.startswith("showvc: --show and --json come last")


# --- where values and columns stand


def test_a_trace_in_a_pipe_has_the_long_value_last(desk: Desk) -> None:
    """A whole user is hundreds of characters wide: what is short stands ahead of it, and is found."""
    desk("set", "users/sm/name", "Prompt")
    code = desk.record()
    head, newest, _ = desk("trace", "users/sm").out.splitlines()
    assert head.split() == ["CODE", "WHEN", "WHO", "NOTE", "VALUE"]
    assert newest.startswith(f"{code}  ")
    assert newest.index("name Prompt") == head.index("VALUE")


def test_the_columns_of_several_plots_are_one_line_on_the_screen_and_each_in_json(desk: Desk) -> None:
    desk("set", "extra/plots", "{old: {heads: [Position]}}")
    desk.record()
    for plot in ("crew", "spare"):
        desk("set", f"extra/plots/{plot}", "{heads: [Position, LX]}")
    said = desk("compare").out
    assert said.splitlines()[-1] == "  + the columns of the plots crew, spare are kept, for their export"
    assert said.count("the columns of") == 1
    assert [each["path"] for each in desk.json("compare")["changes"]] == ["/extra/plots/crew", "/extra/plots/spare"]
