"""Answers in histories that cross, merges taken back, and ids that changed on one draft."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.formats import read
from showvc.history.snapshots import Facts, message_of, snapshot_of
from showvc.merging import Conflict
from tests.history.desk import Desk

CUE = ("users/sm/channels/snd", "{number: 3}")
SND = ("users/sm/channels/asm", "{number: 3}")


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def edited(desk: Desk, *edits: tuple[str, str], note: str = "An edit", who: str | None = None) -> str:
    for path, value in edits:
        desk("set", path, value, code=None)
    desk.who = who or desk.who
    return desk.record(note)


def crossed(desk: Desk, ours: tuple[str, str], theirs: tuple[str, str], take: str = "mine") -> None:
    """Main and deck clash, and each merges the other's earlier snapshot and answers for this side."""
    desk("draft", "open", "deck")
    edited(desk, theirs)
    desk("draft", "go", "main")
    edited(desk, ours)
    main = desk.git("rev-parse", "main").strip()
    desk("merge", "deck", "--take", take)
    desk("draft", "go", "deck")
    desk("merge", main, "--take", take)
    desk("draft", "go", "main")


def channels(desk: Desk) -> dict[str, int]:
    return {name: entry.number for name, entry in read(desk.folder).users["sm"].channels.items()}


def test_two_channels_on_one_number_settled_oppositely_meet_as_a_conflict(desk: Desk) -> None:
    crossed(desk, CUE, SND)
    (conflict,) = desk.json("merge", "deck", code=1)["conflicts"]
    assert conflict["kind"] == "double-booked"
    assert "settled differently on the two sides" in conflict["message"]
    desk("settle", "1", "--take", "incoming")
    assert channels(desk) == {"lx": 1, "fly": 2, "asm": 3}


def test_what_was_settled_alike_is_not_asked_again(desk: Desk) -> None:
    desk("draft", "open", "deck")
    edited(desk, SND)
    desk("draft", "go", "main")
    edited(desk, CUE)
    main = desk.git("rev-parse", "main").strip()
    desk("merge", "deck", "--take", "mine")
    desk("draft", "go", "deck")
    desk("merge", main, "--take", "incoming")
    desk("draft", "go", "main")
    desk("merge", "deck")
    assert channels(desk) == {"lx": 1, "fly": 2, "snd": 3}


def test_an_answer_is_not_taken_for_the_answer_to_the_second_meeting(desk: Desk) -> None:
    crossed(desk, CUE, SND)
    desk("merge", "deck", "--remembered", code=1)


def test_an_answer_stands_where_the_other_side_only_went_on(desk: Desk) -> None:
    """The merge that gave it held the other side's value, and the other side left that alone."""
    desk("draft", "open", "deck")
    edited(desk, SND)
    desk("draft", "go", "main")
    edited(desk, CUE)
    desk("merge", "deck", "--take", "mine")
    desk("draft", "go", "deck")
    edited(desk, ("groups/fly/name", "Flies"))
    desk("draft", "go", "main")
    desk("merge", "deck")
    assert channels(desk) == {"lx": 1, "fly": 2, "snd": 3}


def test_three_times_crossed(desk: Desk) -> None:
    crossed(desk, CUE, SND)
    main = desk.git("rev-parse", "main").strip()
    desk("merge", "deck", "--take", "mine")
    desk("draft", "go", "deck")
    desk("merge", main, "--take", "mine")
    desk("draft", "go", "main")
    assert len(desk.json("merge", "deck", code=1)["conflicts"]) == 1


def test_a_remembered_answer_knows_the_snapshots_that_it_put_together(desk: Desk) -> None:
    from showvc.history.remembered import remembered

    desk("draft", "open", "deck")
    edited(desk, SND)
    desk("draft", "go", "main")
    edited(desk, CUE)
    desk("merge", "deck", code=1)
    (conflict,) = pending_conflicts(desk)
    desk("settle", "1", "--take", "mine")
    answer = remembered(desk.archive, [conflict])[conflict.key]
    assert list(answer.at) == desk.git("rev-parse", "main^1", "main^2").split()


def pending_conflicts(desk: Desk) -> tuple[Conflict, ...]:
    from showvc.history.joining import pending_merge

    found = pending_merge(desk.archive, desk.shows)
    assert found is not None
    return found.merge.conflicts


# --- merges taken back


@pytest.fixture
def merged(desk: Desk) -> tuple[Desk, str]:
    """Kim's edit on the deck, Ada's on main, put together by Ada: the merge's code."""
    desk("draft", "open", "deck")
    desk("set", "groups/lx/name", "Lamps")
    desk("record", "--note", "Deck", SHOWVC_WHO="Kim Vale")
    desk("draft", "go", "main")
    edited(desk, ("groups/fly/name", "Flies"))
    return desk, desk.json("merge", "deck")["snapshot"]


def names(desk: Desk) -> tuple[str, str]:
    show = read(desk.folder)
    return show.groups["lx"].name, show.groups["fly"].name


def test_of_a_merge_it_must_be_said_whose_side_goes(merged: tuple[Desk, str]) -> None:
    desk, code = merged
    error = desk("rollback", code, code=2).err
    assert "Kim Vale, 1 snapshot" in error
    assert "Ada Rook, 1 snapshot" in error
    assert f"showvc rollback {code} --side mine, or --side incoming" in error


@pytest.mark.parametrize(
    ("side", "left", "whose"),
    [("incoming", ("Lights", "Flies"), "Kim Vale"), ("mine", ("Lamps", "Fly Rail"), "Ada Rook")],
)
def test_one_sides_edits_go_and_the_others_stay(
    merged: tuple[Desk, str], side: str, left: tuple[str, str], whose: str
) -> None:
    desk, code = merged
    said = desk("rollback", code, "--side", side).out
    assert f"taken back is {whose}, 1 snapshot" in said
    assert names(desk) == left


def test_a_snapshot_that_is_no_merge_has_no_sides(merged: tuple[Desk, str]) -> None:
    desk, _ = merged
    assert "no merge" in desk("rollback", "deck", "--side", "mine", code=2).err


def test_merging_what_was_merged_and_taken_back_says_so_and_brings_it_again(merged: tuple[Desk, str]) -> None:
    desk, code = merged
    back = desk.json("rollback", code, "--side", "incoming")["snapshot"]
    said = desk("merge", "deck").out
    assert f"Ada Rook took it back in {back}" in said
    assert names(desk) == ("Lights", "Flies")
    desk("rollback", back)
    assert names(desk) == ("Lamps", "Flies")
    assert "here already" in desk("merge", "deck").out


def test_one_snapshot_of_a_draft_taken_back_is_told_too(merged: tuple[Desk, str]) -> None:
    desk, _ = merged
    desk("rollback", "deck")
    assert "took it back" in desk("merge", "deck").out


# --- ids


def test_what_a_snapshot_knows_of_itself_is_read_again_and_nothing_else() -> None:
    facts = Facts("a" * 40, "mine", (("/groups/lx", "/groups/lighting"),))
    from showvc.store.commits import Commit

    def read_back(message: str) -> Facts:
        return snapshot_of(Commit("b" * 40, "c" * 40, (), "Ada", "a@b", 0, "+0000", message)).facts

    assert read_back(message_of("Note", {"changed": 1}, facts)) == facts
    assert read_back(message_of("Note", {})) == Facts()
    for strange in (
        "7",
        "[]",
        '{"undoes": "x", "side": "both", "renamed": [["/a/b", "/c/d"], ["/groups/a", "/users/a"]]}',
    ):
        assert read_back(f"Note\n\nFacts: {strange}\nChanges: {{}}\n") == Facts()


def test_a_draft_that_gave_a_group_another_id_meets_edits_of_it(desk: Desk) -> None:
    from showvc.formats.folder import folder_texts
    from showvc.identity.references import renamed

    desk("draft", "open", "deck")
    for path, text in folder_texts(renamed(read(desk.folder), "groups", "lx", "lighting")).items():
        desk.write(path, text)
    (desk.folder / "groups/lx.yaml").unlink()
    desk.record("Ids")
    desk("draft", "go", "main")
    edited(desk, ("groups/lx/label", "LIGHT"), ("users/asm/channels/lx", "{number: 2}"))
    outcome = desk.json("merge", "deck")
    assert outcome["clean"], outcome
    show = read(desk.folder)
    assert show.groups["lighting"].label == "LIGHT"
    assert "lx" not in show.groups
    assert list(show.users["asm"].channels) == ["fly", "lighting"]


# --- edits that belong together


def test_a_swap_of_keys_is_settled_whole(desk: Desk) -> None:
    desk("draft", "open", "deck")
    edited(desk, ("devices/desk-01/keys/A1", "fly"))
    desk("draft", "go", "main")
    edited(desk, ("devices/desk-01/keys/A1", "fly"), ("devices/desk-01/keys/A2", "lx"))
    (conflict,) = desk.json("merge", "deck", code=1)["conflicts"]
    assert conflict["paths"] == ["/devices/desk-01/keys/A1", "/devices/desk-01/keys/A2"]
    assert conflict["mine"] == {"/devices/desk-01/keys/A1": "fly", "/devices/desk-01/keys/A2": "lx"}
    assert [choice["take"] for choice in conflict["choices"]] == ["mine", "incoming"]
    assert conflict["sides"]["incoming"]["who"] == "Ada Rook"
    desk("settle", "1", "--take", "incoming")
    assert dict(read(desk.folder).devices["desk-01"].keys) == {"A1": "fly", "A2": "fly"}


def test_a_key_drawn_for_one_wearer_does_not_go_to_another_unasked(desk: Desk) -> None:
    edited(desk, ("users/board/channels/fly", "{number: 2}"), ("users/asm/channels/lx", "{number: 2}"))
    desk("draft", "open", "deck")
    edited(desk, ("devices/pack-01/user", "board"))
    desk("draft", "go", "main")
    edited(desk, ("devices/pack-01/keys/A2", "lx"))
    (conflict,) = desk.json("merge", "deck", code=1)["conflicts"]
    assert (conflict["kind"], conflict["paths"]) == (
        "both-changed",
        ["/devices/pack-01/keys/A2", "/devices/pack-01/user"],
    )
    desk("settle", "--all", "--take", "incoming")
    pack = read(desk.folder).devices["pack-01"]
    assert (pack.user, dict(pack.keys)) == ("board", {"A1": "fly"})


def test_what_both_sides_plotted_is_held_open_until_somebody_says_whether_it_is_one(desk: Desk) -> None:
    desk("draft", "open", "deck")
    edited(desk, ("users/f-spot", "{name: Followspot 1}"))
    desk("draft", "go", "main")
    edited(desk, ("users/spot-1", "{name: Follow Spot 1}"))
    assert [each["kind"] for each in desk.json("merge", "deck", "--take", "mine", code=1)["conflicts"]] == ["twin"]
    desk("settle", "1", "--take", "incoming")
    assert {"spot-1", "f-spot"} & read(desk.folder).users.keys() == {"f-spot"}


def under_another_id(desk: Desk, old: str, new: str, section: str = "groups") -> None:
    """A thing under another id, with all that pointed at it, as an editor writes it: the file is moved."""
    from showvc.formats.folder import folder_texts
    from showvc.identity.references import renamed

    before, text = read(desk.folder), desk.read(f"{section}/{old}.yaml")
    after = renamed(before, section, old, new)
    known = folder_texts(before)
    for path, made in folder_texts(after).items():
        if known.get(path) != made:
            desk.write(path, made)
    (desk.folder / section / f"{old}.yaml").unlink()
    desk.write(f"{section}/{new}.yaml", text)


def test_comments_in_a_file_that_the_other_side_gave_another_id_stay(desk: Desk) -> None:
    desk.write("groups/lx.yaml", "# board and followspots\nname: Lights\nlabel: LX  # as on the strips\n")
    desk.record("Comments")
    desk("draft", "open", "deck")
    under_another_id(desk, "lx", "lighting")
    desk.record("Ids")
    desk("draft", "go", "main")
    desk.write(
        "groups/lx.yaml", "# board and followspots\n# ask the board first\nname: Lamps\nlabel: LX  # as on the strips\n"
    )
    desk.record("A new name")
    desk("merge", "deck")
    both = "# board and followspots\n# ask the board first\nname: Lamps\nlabel: LX  # as on the strips\n"
    assert desk.read("groups/lighting.yaml") == both
    assert not (desk.folder / "groups/lx.yaml").exists()


def test_the_one_who_gave_the_new_id_keeps_the_others_comments_too(desk: Desk) -> None:
    desk("draft", "open", "deck")
    desk.write("groups/lx.yaml", "# ask the board first\nname: Lamps\nlabel: LX\n")
    desk.record("A new name")
    desk("draft", "go", "main")
    under_another_id(desk, "lx", "lighting")
    desk.record("Ids")
    desk("merge", "deck")
    assert desk.read("groups/lighting.yaml") == "# ask the board first\nname: Lamps\nlabel: LX\n"


def file_with_another_id(desk: Desk, folder: Path, name: str = "plot.show.yaml") -> Path:
    """The show as one file, `lx` under another id and with another name for the stage manager."""
    from showvc.document.editing import put
    from showvc.document.pointers import parse
    from showvc.formats.single import single_text
    from showvc.identity.references import renamed

    made = renamed(read(desk.folder), "groups", "lx", "lighting")
    path = folder / name
    path.write_text(single_text(put(made, {parse("/users/sm/name"): "Show Caller"}), ".yaml"))
    return path


def test_a_file_with_another_id_is_merged_by_history(desk: Desk, tmp_path: Path) -> None:
    desk.write("groups/lx.yaml", "# board and followspots\nname: Lights\nlabel: LX\n")
    desk.record("Comments")
    mailed = file_with_another_id(desk, tmp_path)
    edited(desk, ("groups/lx/label", "LIGHT"), ("users/asm/channels/lx", "{number: 2}"))
    outcome = desk.json("merge", str(mailed))
    assert outcome["clean"], outcome
    show = read(desk.folder)
    assert "lx" not in show.groups
    assert show.users["sm"].name == "Show Caller"
    assert list(show.users["asm"].channels) == ["fly", "lighting"]
    assert desk.read("groups/lighting.yaml") == "# board and followspots\nname: Lights\nlabel: LIGHT\n"


def test_a_file_with_another_id_is_imported_as_a_rename(desk: Desk, tmp_path: Path) -> None:
    desk.write("groups/lx.yaml", "# board and followspots\nname: Lights\nlabel: LX\n")
    desk.record("Comments")
    told = desk.json("import", str(file_with_another_id(desk, tmp_path)), "--yes", code=None)
    assert "lighting" in read(desk.folder).groups, told
    assert desk.read("groups/lighting.yaml") == "# board and followspots\nname: Lights\nlabel: LX\n"
    kinds = [each["change"] for each in desk.json("compare", "last-1", "last", code=None)["changes"]]
    assert kinds == ["renamed", "renamed"]  # the id of the one, the name of the other; nothing removed or added
