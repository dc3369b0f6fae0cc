"""Each change between two sources is traced to the snapshot that brought it."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.changes import edits
from showvc.history.sources import find
from showvc.report.origins import Between, between, origins
from tests.history.desk import Desk

TALK = "/users/sm/channels/lx/talk"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def traced(desk: Desk, before: str, after: str) -> tuple[dict[str, tuple[str, str]], Between]:
    """By path of the change: the code of its snapshot, and the side that has it."""
    archive, shows = desk.archive, desk.shows
    old, new = (find(archive, name, shows) for name in (before, after))
    changes = edits(old.show, new.show).changes
    apart = between(archive, old, new, changes)
    return {path: (found.snapshot.code, found.where) for path, found in origins(shows, apart, changes).items()}, apart


def edited(desk: Desk, path: str, value: str, note: str) -> str:
    desk("set", path, value)
    return desk.record(note)


def test_of_several_snapshots_the_one_counts_that_set_the_value_which_stands_now(desk: Desk) -> None:
    start = desk.json("history")["snapshots"][0]["code"]
    edited(desk, TALK, "none", "one")
    wanted = edited(desk, TALK, "dual", "two")
    edited(desk, "users/sm/channels/lx/level", "3", "another field of the same file")
    found, apart = traced(desk, start, "last")
    assert found[TALK] == (wanted, "after")
    assert [each.note for each in apart.after] == ["another field of the same file", "two", "one"]
    assert apart.before == ()


def test_a_value_that_went_and_came_back_is_of_the_last_who_set_it(desk: Desk) -> None:
    start = desk.json("history")["snapshots"][0]["code"]
    for value in ("dual", "none"):
        edited(desk, TALK, value, value)
    wanted = edited(desk, TALK, "dual", "dual again")
    assert traced(desk, start, "last")[0][TALK] == (wanted, "after")


def test_things_that_came_and_went(desk: Desk) -> None:
    start = desk.json("history")["snapshots"][0]["code"]
    desk("set", "groups/foh", "{name: Front}")
    came = desk.record("a new group")
    desk("remove", "devices/pack-01", code=1)  # nobody on headset hears FLY then
    went = desk.record("a pack less")
    edited(desk, "groups/foh/name", "House", "renamed")
    found, _ = traced(desk, start, "last")
    assert found["/groups/foh"][0] == came
    assert found["/devices/pack-01"][0] == went


def test_the_head_of_the_show(desk: Desk) -> None:
    start = desk.json("history")["snapshots"][0]["code"]
    wanted = edited(desk, "limits/devices", "12", "a small system")
    assert traced(desk, start, "last")[0] == {"/limits/devices": (wanted, "after")}


def test_what_was_swapped(desk: Desk) -> None:
    desk.write(
        "devices/desk-01.yaml", desk.read("devices/desk-01.yaml").replace("{A1: lx, A2: fly}", "{A1: fly, A2: lx}")
    )
    wanted = desk.record("swapped")
    assert traced(desk, "last-1", "last")[0] == {"/devices/desk-01/keys": (wanted, "after")}


def test_seen_backwards_the_snapshot_is_on_the_side_before(desk: Desk) -> None:
    wanted = edited(desk, TALK, "none", "one")
    found, apart = traced(desk, "last", "last-1")
    assert found == {TALK: (wanted, "before")}
    assert apart.after == () and [each.code for each in apart.before] == [wanted]


def test_an_edit_that_a_merge_brought_is_of_the_engineer_who_made_it(desk: Desk) -> None:
    start = desk.json("history")["snapshots"][0]["code"]
    desk("draft", "open", "house")
    wanted = edited(desk, TALK, "none", "the house edit")
    desk("draft", "go", "main")
    edited(desk, "groups/snd/label", "SOUND", "the deck edit")
    desk("merge", "house")
    assert traced(desk, start, "last")[0][TALK] == (wanted, "after")


def test_a_value_that_only_the_merge_has_is_of_the_merge(desk: Desk) -> None:
    start = desk.json("history")["snapshots"][0]["code"]
    desk("draft", "open", "house")
    edited(desk, TALK, "none", "house")
    desk("draft", "go", "main")
    edited(desk, TALK, "dual", "deck")
    desk("merge", "house", code=1)
    desk("settle", "1", "--value", "momentary")
    merge = desk.json("history")["snapshots"][0]["code"]
    assert traced(desk, start, "last")[0][TALK] == (merge, "after")


def test_edits_that_are_not_recorded_have_no_snapshot(desk: Desk) -> None:
    wanted = edited(desk, TALK, "none", "recorded")
    desk("set", "groups/snd/label", "SOUND")
    found, _ = traced(desk, "last-1", "working")
    assert found == {TALK: (wanted, "after")}


def test_against_a_file_the_last_who_set_each_value_is_wanted(desk: Desk) -> None:
    file = desk.folder.parent / "mailed.show.yaml"
    desk("export", str(file))
    file.write_text(file.read_text().replace("# snapshot ", "# no stamp ").replace("talk: latch", "talk: open"))
    wanted = edited(desk, TALK, "none", "later")
    assert traced(desk, str(file), "last")[0][TALK] == (wanted, "after")
