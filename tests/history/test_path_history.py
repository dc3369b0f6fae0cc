"""In which snapshots a path came and went, and who recorded them, with few shows opened."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showvc.document import Show, ShowError, show_from_tree
from showvc.formats.folder import folder_texts
from showvc.history.archive import DRAFTS, Archive, Person
from showvc.history.path_history import path_history
from showvc.history.shows import Shows
from showvc.paths import Grade, best_grade, talk_paths
from tests.history.desk import Desk
from tests.paths.oracle.building import GONE, but
from tests.paths.oracle.shows import Tree, random_document, random_pair

BEGAN = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


class Counting(Shows):
    """Counts the snapshots that are opened."""

    opened = 0

    def at(self, tree: str) -> Show:
        self.opened += 1
        return super().at(tree)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def turns(desk: Desk, talker: str, listener: str) -> list[tuple[str | None, str, str]]:
    """How the path was there, by whom, and their note; the newest first."""
    found = path_history(desk.archive, desk.shows, talker, listener)
    return [(_how(turn.grade), turn.snapshot.who, turn.snapshot.note) for turn in found]


def _how(grade: Grade | None) -> str | None:
    return None if grade is None else "menu" if grade.menu else "key"


FIRST = ("key", "Ada Rook", "First plot")


def test_who_took_a_path_away_and_who_brought_it_back(desk: Desk) -> None:
    desk("set", "users/sm/channels/fly/talk", "none")
    desk.record("Tidied up")
    house = Desk(desk.folder, who="Bo Finch")
    house("set", "users/sm/channels/fly/talk", "latch")
    house("record", "--note", "Fly talk back")
    assert turns(desk, "sm", "asm") == [
        ("key", "Bo Finch", "Fly talk back"),
        (None, "Ada Rook", "Tidied up"),
        FIRST,
    ]


def test_a_key_that_is_taken_away_is_told_apart_from_a_path_that_is_lost(desk: Desk) -> None:
    desk("remove", "devices/desk-01/keys/A2")
    desk.record("A2 is free for sound")
    assert turns(desk, "sm", "asm") == [("menu", "Ada Rook", "A2 is free for sound"), FIRST]


def test_a_new_name_changes_nothing(desk: Desk) -> None:
    for path in ("users/sm/name", "users/sm/label", "groups/fly/label", "devices/desk-01/name"):
        desk("set", path, "Another")
        desk.record()
    assert turns(desk, "sm", "asm") == [FIRST]


def test_a_user_who_was_removed_meanwhile(desk: Desk) -> None:
    desk("remove", "devices/pack-01", code=None)
    desk("remove", "users/asm", code=None)
    desk.record("No deck manager in this town")
    assert turns(desk, "sm", "asm") == [(None, "Ada Rook", "No deck manager in this town"), FIRST]
    assert turns(desk, "board", "asm") == []


def test_a_user_who_was_added_later(desk: Desk) -> None:
    desk.write("users/rigger.yaml", "channels:\n  fly: {number: 1}\n")
    desk.write("devices/pack-rigger.yaml", "kind: pack-2\nuser: rigger\n")
    desk.record("A rigger")
    assert turns(desk, "sm", "rigger") == [("key", "Ada Rook", "A rigger")]


def test_a_group_that_goes_takes_the_path_along(desk: Desk) -> None:
    desk("remove", "groups/fly", code=None)
    desk.record("The rail is on its own line")
    assert turns(desk, "sm", "asm") == [(None, "Ada Rook", "The rail is on its own line"), FIRST]


def test_over_bridges_and_a_port(desk: Desk) -> None:
    desk.write("devices/if-01.yaml", "kind: ports-4\n")
    desk.write("circuits/pit-box.yaml", "carries: true\n")
    desk.write("users/port.yaml", "port: true\nchannels:\n  snd: {number: 1, talk: open, listen: none}\n")
    desk.write("users/pit.yaml", "channels:\n  snd: {number: 1}\n")
    desk.write("devices/pack-pit.yaml", "kind: pack-2\nuser: pit\n")
    for name, target, way in (("out", "fly", "out"), ("in", "port", "in")):
        number = 1 + (name == "in")
        desk.write(
            f"bridges/{name}.yaml",
            f"kind: four-wire\ndevice: if-01\nport: {number}\ntarget: {target}\ncircuit: pit-box\ndirection: {way}\n",
        )
    desk.record("The pit hears the rail")
    desk("set", "users/port/channels/snd/talk", "momentary")
    desk.record("Quieter pit")
    desk("set", "users/port/channels/snd/talk", "open")
    desk.record()
    desk("set", "bridges/out/direction", "in")
    desk.record("The pit talks, and hears nothing")
    assert turns(desk, "sm", "pit") == [
        (None, "Ada Rook", "The pit talks, and hears nothing"),
        ("key", "Ada Rook", "An edit"),
        (None, "Ada Rook", "Quieter pit"),
        ("key", "Ada Rook", "The pit hears the rail"),
    ]


def test_a_path_that_went_on_a_draft_is_told_by_whose_edit_it_was_not_by_who_merged_it(desk: Desk) -> None:
    desk("draft", "open", "house")
    house = Desk(desk.folder, who="Bo Finch")
    house("set", "users/sm/channels/fly/talk", "none")
    house("record", "--note", "Tidied up")
    desk("draft", "go", "main")
    desk("set", "users/board/channels/lx/talk", "momentary")
    desk.record()
    desk("merge", "house", code=None)
    newest, first = path_history(desk.archive, desk.shows, "sm", "asm")
    (edit,) = newest.edits
    assert (newest.grade, edit.who, edit.note) == (None, "Bo Finch", "Tidied up")
    assert newest.snapshot.parents and newest.plain()[0]["merged"] == newest.snapshot.code
    assert first.plain()[0]["merged"] is None


TWO_WAYS: Tree = {
    "groups": {"fly": {}},
    "users": {
        "sm": {"channels": {"fly": {"number": 1, "talk": "momentary"}, "a": {"number": 2, "talk": "momentary"}}},
        "a": {"channels": {"fly": {"number": 1, "listen": "always"}}},
    },
    "devices": {"pack-sm": {"kind": "pack-2", "user": "sm"}, "pack-a": {"kind": "pack-2", "user": "a"}},
}


def test_a_path_that_only_two_edits_together_took_is_told_by_both_of_them(tmp_path: Path) -> None:
    """One takes the group away, the other the direct call: each side alone still had a way."""
    archive = Desk.begun(tmp_path / "show", {}).archive
    no_call = but(TWO_WAYS, ("users/sm/channels/a", GONE))
    no_ear = but(TWO_WAYS, ("users/a/channels/fly", GONE))
    renamed = but(no_ear, ("users/sm/label", "Prompt"))
    base = _plot(archive, TWO_WAYS, [archive.last or ""], 1, "Two ways")
    mine = _plot(archive, no_call, [base], 2, "No direct call")
    theirs = _plot(archive, renamed, [_plot(archive, no_ear, [base], 3, "Off the rail")], 4, "Another label")
    both = _plot(archive, but(renamed, ("users/sm/channels/a", GONE)), [mine, theirs], 5, "Put together")
    archive.change_refs({DRAFTS + archive.draft: both})
    newest = path_history(archive, Shows(archive), "sm", "a")[0]
    assert (newest.grade, newest.snapshot.note) == (None, "Put together")
    assert [each.note for each in newest.edits] == ["No direct call", "Off the rail"]


def test_what_a_merge_itself_took_is_told_by_the_merge(tmp_path: Path) -> None:
    archive = Desk.begun(tmp_path / "show", {}).archive
    base = _plot(archive, TWO_WAYS, [archive.last or ""], 1, "Two ways")
    sides = [_plot(archive, but(TWO_WAYS, (f"users/{name}/label", "X")), [base], 2, "Label") for name in ("sm", "a")]
    last = _plot(archive, but(TWO_WAYS, ("devices/pack-a", GONE)), sides, 3, "Put together, and a pack gone")
    archive.change_refs({DRAFTS + archive.draft: last})
    newest = path_history(archive, Shows(archive), "sm", "a")[0]
    assert [each.note for each in newest.edits] == ["Put together, and a pack gone"]


def test_few_snapshots_are_opened(desk: Desk) -> None:
    for number in range(6):
        desk("set", "users/board/channels/lx/level", str(-number - 1))
        desk("set", "devices/pack-01/place", f"Case {number}")
        desk("set", "groups/lx/name", f"Lights {number}")
        desk.record()
    desk("set", "users/sm/channels/fly/talk", "none")
    desk.record()
    shows = Counting(desk.archive)
    assert len(path_history(desk.archive, shows, "sm", "asm")) == 2
    assert shows.opened <= 3, "neither another user's list, nor another's device, nor a group's name can matter"


@pytest.mark.parametrize(
    ("talker", "listener", "said"),
    [
        ("smm", "asm", "there is no user or circuit smm (did you mean sm or asm?)"),
        ("sm", "fly", "fly is a group"),
        ("sm", "sm", "sm needs no path to sm"),
    ],
)
def test_names_that_never_were_a_user_s(desk: Desk, talker: str, listener: str, said: str) -> None:
    with pytest.raises(ShowError) as refused:
        path_history(desk.archive, desk.shows, talker, listener)
    assert said in str(refused.value)


# --- the law ---------------------------------------------------------------------------------------------------------


def recorded(folder: Path, plots: Sequence[Tree]) -> Archive:
    """These plots as the snapshots of one draft. Each is a merge with a side branch, at which the draft never was."""
    archive = Desk.begun(folder, {}).archive
    last = archive.last or ""
    for number, plot in enumerate(plots, 1):
        files = _files(archive, plot)
        side = _commit(archive, {"show.yaml": files["show.yaml"]}, [last], 2 * number, "Aside")
        last = _commit(archive, files, [last, side], 2 * number + 1, f"Plot {number}")
    archive.change_refs({DRAFTS + archive.draft: last})
    return archive


def _files(archive: Archive, plot: Tree) -> dict[str, str]:
    texts = folder_texts(show_from_tree({"format": 2, **plot}))
    return {path: archive.store("blob", text.encode()) for path, text in texts.items()}


def _plot(archive: Archive, plot: Tree, parents: list[str], minute: int, note: str) -> str:
    return _commit(archive, _files(archive, plot), parents, minute, note)


def _commit(archive: Archive, files: dict[str, str], parents: list[str], minute: int, note: str) -> str:
    when = BEGAN + timedelta(minutes=minute)
    return archive.write_commit(archive.write_tree(files), parents, Person("Ada Rook", "a@b.invalid"), when, note)


def in_full(plots: Sequence[Tree], talker: str, listener: str) -> Iterator[tuple[Grade | None, str]]:
    """Every snapshot evaluated whole."""
    former: Grade | None = None
    for number, plot in enumerate(plots, 1):
        grade = best_grade(talk_paths(show_from_tree({"format": 2, **plot})).surely, talker, listener)
        if grade != former:
            yield grade, f"Plot {number}"
        former = grade


@settings(max_examples=settings().max_examples // 8)  # a repository and some git processes for each
@given(st.integers(0, 10**9))
def test_the_history_is_that_of_every_snapshot_evaluated_in_full(seed: int) -> None:
    rng = Random(seed)
    plots = [*random_pair(rng, 0.2), random_document(rng), *random_pair(rng, 0.2)]
    with tempfile.TemporaryDirectory() as home:
        archive = recorded(Path(home) / "show", plots)
        known = sorted({name for plot in plots for name in _positions(plot)})
        pairs = [(talker, listener) for talker in known for listener in known if talker != listener]
        pairs.sort(key=lambda pair: -len(list(in_full(plots, *pair))))
        for talker, listener in pairs[:4]:
            found = path_history(archive, Shows(archive), talker, listener)
            told = [(turn.grade, turn.snapshot.note) for turn in reversed(found)]
            assert told == list(in_full(plots, talker, listener)), (talker, listener)


def _positions(plot: Tree) -> set[str]:
    users = {name for name, body in plot["users"].items() if not body.get("port")}
    return users | {*plot.get("circuits", {})}
