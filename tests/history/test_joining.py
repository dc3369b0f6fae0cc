"""Merging by history: clean, with conflicts that wait for a person, of a file, crosswise; taking back, taking over."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from showvc.formats import read
from showvc.formats.single import single_text
from tests.history.desk import FILES, Desk, run


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def on_draft(desk: Desk, draft: str, *edits: tuple[str, str], note: str = "An edit") -> None:
    """Edits recorded on a draft, which is opened at this one's last snapshot; the folder comes back to main."""
    desk("draft", "open", draft)
    for path, value in edits:
        desk("set", path, value, code=None)
    desk("record", "--note", note)
    desk("draft", "go", "main")


def edited(desk: Desk, *edits: tuple[str, str], note: str = "An edit") -> str:
    for path, value in edits:
        desk("set", path, value, code=None)
    return desk.record(note)


TALK = "users/sm/channels/fly/talk"
LEVEL = "users/sm/channels/lx/level"


# --- clean ---


def test_edits_of_two_drafts_come_together_with_both_parents(desk: Desk) -> None:
    on_draft(desk, "deck", (TALK, "dual"))
    edited(desk, (LEVEL, "-3"))
    outcome = desk.json("merge", "deck")
    assert outcome["clean"]
    assert outcome["conflicts"] == []
    parents = desk.git("rev-list", "--parents", "-1", outcome["snapshot"]).split()[1:]
    assert parents == [desk.git("rev-parse", f"{outcome['snapshot']}^1").strip(), desk.git("rev-parse", "deck").strip()]
    user = read(desk.folder).users["sm"]
    assert (user.channels["fly"].talk, user.channels["lx"].level) == ("dual", -3)
    assert desk.json("now")["unrecorded"] == {}


def test_a_draft_that_only_went_on_is_taken_as_it_is(desk: Desk) -> None:
    on_draft(desk, "deck", (TALK, "dual"))
    outcome = desk.json("merge", "deck")
    assert outcome["snapshot"] == desk.git("rev-parse", "--short=7", "deck").strip()
    assert desk.json("merge", "deck")["snapshot"] is None
    assert "here already" in desk("merge", "deck").out


def test_edits_not_recorded_are_recorded_before_a_merge(desk: Desk) -> None:
    on_draft(desk, "deck", (TALK, "dual"))
    desk("set", LEVEL, "-3")
    desk("merge", "deck")
    notes = [each["note"] for each in desk.json("history")["snapshots"]]
    assert "Edits kept before merging deck" in notes
    assert read(desk.folder).users["sm"].channels["lx"].level == -3


def test_comments_of_both_sides_survive(desk: Desk) -> None:
    text = FILES["users/sm.yaml"]
    desk("draft", "open", "deck")
    desk.write("users/sm.yaml", text.replace("channels:", "# deck: ask Bo before moving these\nchannels:"))
    desk("set", TALK, "dual")
    desk.record("Deck")
    desk("draft", "go", "main")
    desk.write("users/sm.yaml", "# house: she sits at the prompt desk\n" + text)
    desk("set", LEVEL, "-3")
    desk.record("House")
    desk("merge", "deck")
    merged = desk.read("users/sm.yaml")
    assert "# deck: ask Bo before moving these" in merged
    assert "# house: she sits at the prompt desk" in merged
    assert "talk: dual" in merged
    assert "level: -3" in merged


def test_a_file_that_only_they_changed_is_taken_byte_for_byte(desk: Desk) -> None:
    odd = 'label:   "LX"   # odd spacing\nname: Lights\n'
    desk("draft", "open", "deck")
    desk.write("groups/lx.yaml", odd)
    desk.record("Deck")
    desk("draft", "go", "main")
    edited(desk, (LEVEL, "-3"))
    desk("merge", "deck")
    assert desk.read("groups/lx.yaml") == odd


def test_drafts_without_a_common_snapshot_are_refused_with_the_way_out(desk: Desk, tmp_path: Path) -> None:
    other = Desk.begun(tmp_path / "other", title="Another")
    desk.git("fetch", "-q", str(other.folder), "main:refs/heads/foreign")
    answer = desk("merge", "foreign", code=2)
    assert "no snapshot in common" in answer.err


# --- conflicts ---


@pytest.fixture
def clashing(desk: Desk) -> Desk:
    """Three clashes between main and deck: a talk mode, a label, and a group removed and changed."""
    desk("draft", "open", "deck")
    for path, value in ((TALK, "dual"), ("groups/lx/label", "LAMP"), ("groups/snd/name", "Sound Desk")):
        desk("set", path, value)
    desk("set", "users/board/name", "Board One")
    desk.record("Deck")
    desk("draft", "go", "main")
    desk("set", TALK, "open")
    desk("set", "groups/lx/label", "LITE")
    desk("remove", "groups/snd")
    desk.record("House")
    return desk


def test_open_conflicts_change_no_file_and_no_draft(clashing: Desk) -> None:
    before, last = clashing.files(), clashing.git("rev-parse", "main")
    outcome = clashing.json("merge", "deck", code=1)
    assert not outcome["clean"]
    assert outcome["snapshot"] is None
    assert sorted(each["kind"] for each in outcome["conflicts"]) == [
        "both-changed",
        "both-changed",
        "removed-and-changed",
    ]
    assert clashing.files() == before
    assert clashing.git("rev-parse", "main") == last
    assert clashing("merge", "deck", code=2).err.count("still open") == 1
    assert clashing("draft", "go", "deck", code=2).err.count("a merge is open") == 1
    assert clashing("draft", "open", "rig", code=2).err.count("a merge is open") == 1


def test_a_pending_merge_survives_a_new_process(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    command = [str(Path(sys.executable).with_name("showvc")), "settle", "--show", str(clashing.folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL)
    assert done.returncode == 1
    assert "3 conflicts to settle" in done.stdout
    assert clashing.json("now", code=1)["conflicts"] == 3


def test_settled_one_by_one_by_side_and_by_value(clashing: Desk) -> None:
    conflicts = {each["paths"][0]: each["id"] for each in clashing.json("merge", "deck", code=1)["conflicts"]}
    last = clashing.git("rev-parse", "main").strip()
    left = clashing.json("settle", conflicts["/groups/lx/label"], "--value", "LIGHT", code=1)
    assert len(left["conflicts"]) == 2
    left = clashing.json("settle", conflicts[f"/{TALK}"], "--take", "incoming", code=1)
    assert [each["id"] for each in left["conflicts"]] == [conflicts["/groups/snd"]]
    done = clashing.json("settle", conflicts["/groups/snd"], "--take", "mine")
    show = read(clashing.folder)
    assert show.groups["lx"].label == "LIGHT"
    assert show.users["sm"].channels["fly"].talk == "dual"
    assert "snd" not in show.groups
    assert show.users["board"].name == "Board One"
    assert clashing.git("rev-parse", f"{done['snapshot']}^1", f"{done['snapshot']}^2").split() == [
        last,
        clashing.git("rev-parse", "deck").strip(),
    ]
    assert "no merge is open" in clashing("settle", code=2).err


@pytest.mark.parametrize(
    ("side", "talk", "label", "there"), [("mine", "open", "LITE", False), ("incoming", "dual", "LAMP", True)]
)
def test_all_settled_for_one_side(clashing: Desk, side: str, talk: str, label: str, there: bool) -> None:
    clashing("merge", "deck", code=1)
    clashing("settle", "--all", "--take", side)
    show = read(clashing.folder)
    assert show.users["sm"].channels["fly"].talk == talk
    assert show.groups["lx"].label == label
    assert ("snd" in show.groups) is there


def test_taken_at_once(clashing: Desk) -> None:
    outcome = clashing.json("merge", "deck", "--take", "incoming")
    assert outcome["clean"]
    assert read(clashing.folder).groups["lx"].label == "LAMP"


def test_a_conflict_of_several_places_takes_a_value(desk: Desk) -> None:
    """Both give number 3 to another channel: the value moves the incoming one."""
    on_draft(desk, "deck", ("users/sm/channels/snd", "{number: 3}"))
    edited(desk, ("users/sm/channels/asm", "{number: 3}"))
    outcome = desk.json("merge", "deck", code=1)
    assert [each["kind"] for each in outcome["conflicts"]] == ["double-booked"]
    desk("settle", "1", "--value", "4")
    channels = read(desk.folder).users["sm"].channels
    assert {name: entry.number for name, entry in channels.items()} == {"lx": 1, "fly": 2, "asm": 3, "snd": 4}


@pytest.mark.parametrize("taken", ["3", "1"])
def test_a_value_that_is_taken_too_settles_nothing_and_a_free_one_is_named(desk: Desk, taken: str) -> None:
    """Number 3 is the one that clashes, 1 is that of LX: neither is free for the incoming channel."""
    on_draft(desk, "deck", ("users/sm/channels/snd", "{number: 3}"))
    edited(desk, ("users/sm/channels/asm", "{number: 3}"))
    desk("merge", "deck", code=1)
    answer = desk("settle", "1", "--value", taken, code=2)
    assert f"{taken} is taken too; 1 stays open" in answer.err
    assert "free is 4: showvc settle 1 --value 4" in answer.err
    assert "Settled" not in answer.out
    assert [each["id"] for each in desk.json("settle", code=1)["conflicts"]] == ["1"]
    desk("settle", "1", "--value", "4")


def test_a_port_that_is_taken_too_settles_nothing(desk: Desk) -> None:
    edited(desk, ("devices/if-01", "{kind: ports-4}"), ("bridges/stage", bridge(1)))
    on_draft(desk, "deck", ("bridges/town", bridge(2)))
    edited(desk, ("bridges/house", bridge(2)))
    desk("merge", "deck", code=1)
    assert "free is 3" in desk("settle", "1", "--value", "1", code=2).err
    assert "free is 3" in desk("settle", "1", "--value", "2", code=2).err
    desk("settle", "1", "--value", "3")
    assert read(desk.folder).bridges["town"].port == 3


def test_an_address_that_is_taken_too_settles_nothing(desk: Desk) -> None:
    on_draft(desk, "deck", ("devices/pack-09", pack("09")), ("devices/pack-10", pack("10")))
    edited(desk, ("devices/pack-08", pack("09")))
    desk("merge", "deck", code=1)
    assert "take one of: mine, incoming, both" in desk("settle", "1", "--value", "02-00-5E-10-00-11", code=2).err
    desk("settle", "1", "--take", "both", code=1)  # two packs, one of which was read wrongly
    for taken in ("09", "10"):
        answer = desk("settle", "2", "--value", f"02-00-5E-10-00-{taken}", code=2)
        assert "is taken too; 2 stays open (give another, or take mine or incoming)" in answer.err
    desk("settle", "2", "--value", "02-00-5E-10-00-11")


def bridge(port: int) -> str:
    return f"{{kind: radio, device: if-01, port: {port}, target: lx}}"


def pack(end: str) -> str:
    return f"{{kind: pack-2, hardware: 02-00-5E-10-00-{end}}}"


def cascade(desk: Desk) -> None:
    """A group is removed here and changed there; to keep it removed would leave the new channel there dangling."""
    desk("draft", "open", "deck")
    desk("set", "groups/snd/name", "Sound Desk")
    desk("set", "users/board/channels/snd", "{number: 2}")
    desk.record("Deck")
    desk("draft", "go", "main")
    desk("remove", "groups/snd")
    desk.record("House")


def test_a_settlement_may_bring_up_a_conflict_and_never_records_a_broken_show(desk: Desk) -> None:
    cascade(desk)
    desk("merge", "deck", code=1)
    desk("settle", "--all", "--take", "mine")
    show = read(desk.folder)
    assert "snd" not in show.groups
    assert "snd" not in show.users["board"].channels
    assert not [each for each in desk.json("check", code=None)["findings"] if each["severity"] == "block"]


def test_dropped_leaves_all_as_it_was(clashing: Desk) -> None:
    before = clashing.files()
    clashing("merge", "deck", code=1)
    clashing("settle", "1", "--take", "mine", code=1)
    clashing("settle", "--drop")
    assert clashing.files() == before
    assert clashing.json("now")["merge"] is None
    assert "no merge is open" in clashing("settle", "--drop", code=2).err
    assert clashing("merge", "deck", code=1)


def test_wrong_answers_are_refused(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    assert "no open conflict 17" in clashing("settle", "17", "--take", "mine", code=2).err
    assert "take one of: mine, incoming" in clashing("settle", "1", "--take", "theirs", code=2).err
    assert "take one of: mine, incoming" in clashing("settle", "1", "--take", "both", code=2).err
    assert "showvc settle 1 --take mine" in clashing("settle", "1", code=1).out
    assert "say how" in clashing("settle", "1", "--take", "mine", "--value", "x", code=2).err
    assert "for which side?" in clashing("settle", "--all", code=2).err
    assert "is no side" in clashing("settle", "--all", "--take", "both", code=2).err
    labels = next(each for each in clashing.json("settle", code=1)["conflicts"] if each["paths"] == [f"/{TALK}"])
    assert clashing("settle", labels["id"], "--value", "shout", code=2).err
    assert len(clashing.json("settle", code=1)["conflicts"]) == 3


def test_recorded_edits_under_an_open_merge_are_kept_by_settling(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    clashing("set", "users/asm/name", "Deck Manager Two")
    clashing("settle", "--all", "--take", "mine")
    assert read(clashing.folder).users["asm"].name == "Deck Manager Two"


def open_ids(desk: Desk) -> list[str]:
    return [each["id"] for each in desk.json("settle", code=1)["conflicts"]]


def test_what_is_listed_is_what_can_be_settled_whatever_was_edited_meanwhile(clashing: Desk) -> None:
    """The folder's edits are mine: `now`, the list and the answers reckon with them alike."""
    clashing("merge", "deck", code=1)
    clashing("set", "groups/lx/label", "LAMP")  # as incoming has it
    clashing("set", TALK, "latch")  # another value than the one that clashed
    listed = open_ids(clashing)
    assert len(listed) == clashing.json("now", code=1)["conflicts"] == 2
    for number in listed[:-1]:
        clashing("settle", number, "--take", "mine", code=1)
    clashing("settle", listed[-1], "--take", "mine")
    assert read(clashing.folder).users["sm"].channels["fly"].talk == "latch"
    assert clashing.json("now")["merge"] is None


@pytest.fixture
def waiting(clashing: Desk) -> Desk:
    """A merge of which the folder's edits have left nothing to settle."""
    clashing("merge", "deck", code=1)
    clashing("set", "groups/lx/label", "LAMP")
    clashing("set", TALK, "dual")
    clashing("set", "groups/snd", "{name: Sound Desk, label: SND}")
    return clashing


def test_edits_that_leave_nothing_to_settle_are_told_with_the_way_to_finish(waiting: Desk) -> None:
    finish = "showvc settle --finish"
    assert f"nothing left to settle: {finish}" in waiting("now", code=1).out
    assert waiting.json("now", code=1)["conflicts"] == 0
    said = waiting("settle", code=1).out
    assert "Nothing is left to settle" in said
    assert finish in said
    assert finish in waiting("settle", "1", "--take", "mine", code=2).err
    assert finish in waiting("settle", "--take", "mine", code=2).err


@pytest.mark.parametrize("how", [("--finish",), ("--all", "--take", "incoming"), ("--remembered",)])
def test_a_merge_with_nothing_left_to_settle_is_finished(waiting: Desk, how: tuple[str, ...]) -> None:
    done = waiting.json("settle", *how)
    assert waiting.git("rev-parse", f"{done['snapshot']}^2") == waiting.git("rev-parse", "deck")
    assert read(waiting.folder).users["board"].name == "Board One"
    assert waiting.json("now")["merge"] is None


def test_a_release_counts_what_is_open_as_settle_does(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    clashing("set", "groups/lx/label", "LAMP")
    for said, value in (("2 conflicts of a merge stand open", "latch"), ("1 conflict of a merge stands open", "dual")):
        clashing("set", TALK, value)
        answer = clashing("release", "last", code=None)
        assert answer.code != 0
        assert said in answer.out + answer.err


def test_a_merge_with_open_conflicts_is_not_finished(clashing: Desk) -> None:
    assert "no merge is open" in clashing("settle", "--finish", code=2).err
    clashing("merge", "deck", code=1)
    assert "open are 1, 2, 3" in clashing("settle", "--finish", code=2).err


def test_an_unreadable_file_keeps_the_list_and_stops_the_answer(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    clashing.write("users/sm.yaml", "name: [\n")
    assert len(open_ids(clashing)) == 3
    assert "users/sm.yaml" in clashing("settle", "1", "--take", "mine", code=2).err
    clashing("restore", "last")
    clashing("settle", "1", "--take", "mine", code=1)


def test_under_an_open_merge_the_folder_goes_back_to_last_only(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    before = clashing.files()
    said = clashing("restore", "last-1", code=2).err
    assert "the merge of deck is open" in said
    assert "showvc settle --drop" in said
    assert clashing.files() == before
    clashing("set", "users/asm/name", "Deck Manager Two")
    clashing("restore", "last")
    assert clashing.files() == before
    assert open_ids(clashing) == ["1", "2", "3"]


def test_the_same_conflict_is_offered_settled_next_time(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    clashing("settle", "--all", "--take", "incoming")
    merged = clashing.files()
    back_before(clashing, "merge deck")
    assert clashing.json("now")["merge"] is None
    again = clashing("merge", "deck", code=1)
    assert again.out.count("settled before by Ada Rook") == 3
    clashing("settle", "--remembered")
    assert clashing.files() == merged


def back_before(desk: Desk, command: str) -> None:
    number = next(each["number"] for each in desk.json("undo", "--list")["operations"] if each["command"] == command)
    desk("undo", "--to", str(number))


def test_remembered_at_once(clashing: Desk) -> None:
    clashing("merge", "deck", code=1)
    clashing("settle", "--all", "--take", "incoming")
    merged = clashing.files()
    back_before(clashing, "merge deck")
    assert clashing.files() != merged
    said = clashing("merge", "deck", "--remembered").out
    assert said.count("Settled as Ada Rook did, 20") == 3, "who decided it, and when, is said of each"
    assert clashing.files() == merged


def test_remembered_too_is_what_only_comes_up_by_a_settlement(desk: Desk) -> None:
    cascade(desk)
    desk("merge", "deck", code=1)
    desk("settle", "1", "--take", "mine", code=1)
    desk("settle", "--all", "--take", "mine")
    merged = desk.files()
    back_before(desk, "merge deck")
    assert "Recorded" in desk("merge", "deck", "--remembered").out
    assert desk.files() == merged


# --- crosswise ---


def test_two_who_merged_each_others_work_crosswise_merge_again(desk: Desk) -> None:
    """Two common snapshots, neither older than the other: the base is what they make together."""
    on_draft(desk, "deck", (TALK, "dual"), note="Deck 1")
    edited(desk, (LEVEL, "-3"), note="House 1")
    house = desk.git("rev-parse", "main").strip()
    desk("merge", "deck")  # main = house 1 + deck 1
    desk("draft", "go", "deck")
    desk("merge", house)  # deck = deck 1 + house 1
    edited(desk, ("groups/lx/name", "Lamps"), note="Deck 2")
    desk("draft", "go", "main")
    edited(desk, ("groups/fly/name", "Flies"), note="House 2")
    assert len(desk.git("merge-base", "--all", "main", "deck").split()) == 2
    outcome = desk.json("merge", "deck")
    assert outcome["clean"], outcome
    show = read(desk.folder)
    assert (show.groups["lx"].name, show.groups["fly"].name) == ("Lamps", "Flies")
    assert (show.users["sm"].channels["fly"].talk, show.users["sm"].channels["lx"].level) == ("dual", -3)


def test_crosswise_with_a_conflict_settled_differently_asks_again(desk: Desk) -> None:
    on_draft(desk, "deck", (TALK, "dual"))
    edited(desk, (TALK, "open"))
    house = desk.git("rev-parse", "main").strip()
    desk("merge", "deck", "--take", "mine")
    desk("draft", "go", "deck")
    desk("merge", house, "--take", "mine", code=None)
    desk("draft", "go", "main")
    assert len(desk.git("merge-base", "--all", "main", "deck").split()) == 2
    conflicts = desk.json("merge", "deck", code=1)["conflicts"]
    assert [(each["mine"], each["incoming"]) for each in conflicts] == [("open", "dual")]


# --- a file without a history ---


def mailed(desk: Desk, tmp_path: Path, source: str, old: str, new: str, stamp: str = "") -> Path:
    """A single document as an engineer mailed it: what a source held, edited in a text editor."""
    from showvc.history.sources import find

    text = single_text(find(desk.archive, source, desk.shows).show, ".yaml")
    assert old in text
    file = tmp_path / "mailed.show.yaml"
    file.write_text(stamp + text.replace(old, new))
    return file


def test_a_file_is_merged_from_the_snapshot_that_it_names(desk: Desk, tmp_path: Path) -> None:
    code = edited(desk, (LEVEL, "-3"))
    edited(desk, ("groups/fly/name", "Flies"))
    file = mailed(desk, tmp_path, code, "talk: momentary", "talk: dual", stamp=f"# snapshot {code}\n")
    answer = desk("merge", str(file))
    assert f"from {code}, the snapshot that the file names" in answer.out
    show = read(desk.folder)
    assert show.groups["fly"].name == "Flies", "an edit after the file's base is not taken back"
    assert show.users["sm"].channels["fly"].talk == "dual"


def test_a_file_that_names_nothing_is_merged_from_the_nearest_snapshot(desk: Desk, tmp_path: Path) -> None:
    edited(desk, (LEVEL, "-3"))
    code = edited(desk, ("groups/lx/name", "Lamps"))
    edited(desk, ("groups/fly/name", "Flies"))
    edited(desk, ("users/asm/name", "ASM"), ("users/board/name", "Board"))
    file = mailed(desk, tmp_path, code, "talk: latch", "talk: dual")
    answer = desk("merge", str(file))
    assert f"from {code}, the nearest snapshot of the history: " in answer.out
    assert "of its files differ" in answer.out
    show = read(desk.folder)
    assert (show.groups["fly"].name, show.users["asm"].name) == ("Flies", "ASM")


def test_of_snapshots_equally_near_the_earlier_is_taken_so_that_an_older_value_is_asked_about(
    desk: Desk, tmp_path: Path
) -> None:
    """From the newest of them, the file's older level would take the newer one back without a word."""
    first = desk.json("history")["snapshots"][0]["code"]
    code = edited(desk, (LEVEL, "-3"))
    edited(desk, (LEVEL, "-6"))
    file = mailed(desk, tmp_path, code, "talk: momentary", "talk: dual")
    answer = desk("merge", str(file), code=1)
    assert f"from {first}, the nearest snapshot of the history: 2 of its files differ" in answer.out
    assert "mine says -6, incoming says -3; it was 0" in answer.out
    assert read(desk.folder).users["sm"].channels["lx"].level == -6


def test_a_file_equal_to_a_snapshot_says_so_and_changes_nothing(desk: Desk, tmp_path: Path) -> None:
    code = edited(desk, (LEVEL, "-3"))
    edited(desk, ("groups/fly/name", "Flies"))
    before = desk.files()
    file = mailed(desk, tmp_path, code, "title", "title")
    last = desk.archive.last
    assert desk("merge", str(file)).out.endswith("\nAll of that is here already; nothing changes.\n")
    assert (desk.files(), desk.archive.last) == (before, last)


def test_a_file_and_an_edit_here_clash_like_any_two(desk: Desk, tmp_path: Path) -> None:
    code = desk.json("history")["snapshots"][0]["code"]
    edited(desk, ("groups/fly/label", "FLYS"))
    file = mailed(desk, tmp_path, code, "label: FLY", "label: RAIL", stamp=f"# snapshot {code}\n")
    conflicts = desk.json("merge", str(file), code=1)["conflicts"]
    assert [(each["before"], each["mine"], each["incoming"]) for each in conflicts] == [("FLY", "FLYS", "RAIL")]
    file.unlink()  # the merge no longer needs it
    desk("settle", "1", "--take", "incoming")
    assert read(desk.folder).groups["fly"].label == "RAIL"


def test_another_show_folder_is_merged_like_a_file(desk: Desk, tmp_path: Path) -> None:
    other = Desk.begun(tmp_path / "stick", FILES)
    other("set", "groups/fly/name", "Flies")
    edited(desk, (LEVEL, "-3"))
    desk("merge", str(other.folder))
    assert read(desk.folder).groups["fly"].name == "Flies"
    assert read(desk.folder).users["sm"].channels["lx"].level == -3


# --- taking one edit back, taking one edit over ---


def test_rollback_takes_one_edit_back_and_keeps_the_good_ones(desk: Desk) -> None:
    bad = edited(desk, (TALK, "none"), ("groups/lx/name", "Lamps"), note="The bad one")
    edited(desk, (LEVEL, "-3"), ("groups/fly/name", "Flies"), note="A good one")
    outcome = desk.json("rollback", bad)
    show = read(desk.folder)
    assert (show.users["sm"].channels["fly"].talk, show.groups["lx"].name) == ("momentary", "Lights")
    assert (show.users["sm"].channels["lx"].level, show.groups["fly"].name) == (-3, "Flies")
    newest = desk.json("history")["snapshots"][0]
    assert newest["code"] == outcome["snapshot"]
    assert newest["note"] == f"Rolled back {bad}: The bad one"
    assert len(desk.git("rev-list", "--parents", "-1", "main").split()) == 2, "one parent: nothing was joined"


def test_rollback_of_one_place_only(desk: Desk) -> None:
    bad = edited(desk, (TALK, "none"), ("groups/lx/name", "Lamps"))
    desk("rollback", bad, "--only", TALK)
    show = read(desk.folder)
    assert (show.users["sm"].channels["fly"].talk, show.groups["lx"].name) == ("momentary", "Lamps")
    assert "changed nothing at" in desk("rollback", bad, "--only", LEVEL, code=2).err


def test_rollback_of_what_was_edited_again_asks(desk: Desk) -> None:
    bad = edited(desk, (TALK, "none"))
    edited(desk, (TALK, "dual"))
    conflicts = desk.json("rollback", bad, code=1)["conflicts"]
    assert [(each["before"], each["mine"], each["incoming"]) for each in conflicts] == [("none", "dual", "momentary")]
    desk("settle", "--all", "--take", "mine", code=None)
    assert read(desk.folder).users["sm"].channels["fly"].talk == "dual"


def test_rollback_of_a_removal_brings_the_thing_back_with_its_comments(desk: Desk) -> None:
    desk.write("groups/snd.yaml", "# the desk at row Q\n" + FILES["groups/snd.yaml"])
    desk.record("A remark")
    desk("remove", "groups/snd")
    bad = desk.record("Sound goes")
    edited(desk, (LEVEL, "-3"))
    desk("rollback", bad)
    assert desk.read("groups/snd.yaml") == "# the desk at row Q\n" + FILES["groups/snd.yaml"]


def test_the_first_snapshot_is_not_rolled_back(desk: Desk) -> None:
    assert "first snapshot" in desk("rollback", "last-1", code=2).err


def test_rolling_back_twice_changes_nothing_the_second_time(desk: Desk) -> None:
    bad = edited(desk, (TALK, "none"))
    desk("rollback", bad)
    before = desk.git("rev-parse", "main")
    assert "here already" in desk("rollback", bad).out
    assert desk.git("rev-parse", "main") == before


def test_carry_takes_one_edit_over_and_no_other(desk: Desk) -> None:
    desk("draft", "open", "deck")
    edited(desk, ("groups/lx/name", "Lamps"), note="Not wanted")
    wanted = edited(desk, (TALK, "dual"), note="Wanted")
    edited(desk, ("groups/fly/name", "Flies"), note="Not wanted either")
    desk("draft", "go", "main")
    desk("carry", wanted)
    show = read(desk.folder)
    assert show.users["sm"].channels["fly"].talk == "dual"
    assert (show.groups["lx"].name, show.groups["fly"].name) == ("Lights", "Fly Rail")
    assert desk.json("history")["snapshots"][0]["note"] == f"Carried over {wanted}: Wanted"


def test_a_first_snapshot_is_not_carried(desk: Desk) -> None:
    assert "whole show" in desk("carry", "last-1", code=2).err


def test_nobody_is_needed_for_a_merge_that_only_looks(clashing: Desk) -> None:
    """Without a name nothing is signed: the merge is refused before anything happens."""
    before = clashing.files()
    answer = run(clashing.folder, "merge", "deck", "--take", "mine", who=None, HOME=str(clashing.folder))
    assert answer.code == 2
    assert 'showvc now --who "Your name"' in answer.err
    assert clashing.files() == before
