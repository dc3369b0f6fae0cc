"""What stands in a show folder and is no file of a show: it is named, it stops nothing that can do without it, and
what has to be overwritten is kept."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.history.desk import FILES, Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def _link(desk: Desk, path: str) -> None:
    (desk.folder / path).unlink(missing_ok=True)
    (desk.folder / path).symlink_to(os.devnull)


def _directory(desk: Desk, path: str) -> None:
    (desk.folder / path).unlink(missing_ok=True)
    (desk.folder / path).mkdir()
    (desk.folder / path / "inner").write_text("kept")


def _large(desk: Desk, path: str) -> None:
    desk.write(path, "x" * (5 * 1024 * 1024))


ODD: dict[str, tuple[Callable[[Desk, str], None], str]] = {
    "link": (_link, "is a link"),
    "folder": (_directory, "is not a plain file"),
    "large": (_large, "at most 4 MiB"),
}


@pytest.mark.parametrize("name", ODD)
def test_in_place_of_a_file_it_is_named_kept_beside_and_put_right(desk: Desk, name: str) -> None:
    put, said = ODD[name]
    put(desk, "users/sm.yaml")
    now = desk("now", code=1)
    assert "users/sm.yaml" in now.out
    assert said in now.out
    assert "showvc restore last" in " ".join(now.out.split())
    assert "all recorded" not in now.out
    assert "The Salt Road" in now.out
    answer = desk("restore", "last")
    assert "already" not in answer.out
    assert "kept beside it as users/sm.yaml~" in answer.err
    assert desk.read("users/sm.yaml") == FILES["users/sm.yaml"]
    assert os.path.lexists(desk.folder / "users/sm.yaml~")
    assert "all recorded" in desk("now").out


@pytest.mark.parametrize("name", ODD)
def test_beside_the_files_it_stops_no_command_that_does_without_it(desk: Desk, name: str) -> None:
    desk("set", "users/asm/name", "ASM")
    ODD[name][0](desk, "users/mole.yaml")
    desk.write("users/readme.txt", "not a file of a show\n")
    desk("undo")
    desk("mark", "velmoor")
    desk("undo")
    assert desk.read("users/asm.yaml") == FILES["users/asm.yaml"]
    desk("restore", "last-1")
    desk("restore", "last")
    desk("draft", "open", "deck")
    desk("draft", "go", "main")
    assert os.path.lexists(desk.folder / "users/mole.yaml"), "what need not be touched is not touched"
    assert desk.read("users/readme.txt") == "not a file of a show\n"
    assert "users/mole.yaml" in desk("record", "--note", "x", code=2).err
    assert "users/readme.txt" in desk("now", code=1).out


def test_what_is_kept_beside_never_overwrites_what_was_kept_before(desk: Desk) -> None:
    for _ in range(2):
        _directory(desk, "users/sm.yaml")
        desk("restore", "last")
    assert (desk.folder / "users/sm.yaml~/inner").is_file()
    assert (desk.folder / "users/sm.yaml.2~/inner").is_file()


def test_a_link_in_place_of_a_whole_folder(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (desk.folder / "users").rename(tmp_path / "users")
    (desk.folder / "users").symlink_to(tmp_path / "elsewhere")
    assert "users: is a link" in desk("now", code=1).out
    assert "users~" in desk("restore", "last").err
    assert desk.read("users/sm.yaml") == FILES["users/sm.yaml"]
    assert list((tmp_path / "elsewhere").iterdir()) == []
    assert desk("now").code == 0


def test_edits_beside_it_are_kept_and_what_could_not_be_read_is_in_the_safety_snapshot_as_recorded(desk: Desk) -> None:
    _directory(desk, "users/sm.yaml")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    kept = desk.json("restore", "last")["kept"]
    desk("restore", kept)
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"
    assert desk.read("users/sm.yaml") == FILES["users/sm.yaml"]


def test_where_nothing_else_was_edited_no_safety_snapshot_is_told(desk: Desk) -> None:
    _directory(desk, "users/sm.yaml")
    assert desk.json("restore", "last")["kept"] is None


def test_a_show_yaml_that_was_deleted_is_missed_by_name_and_comes_back(desk: Desk) -> None:
    (desk.folder / "show.yaml").unlink()
    now = desk("now", code=1)
    assert "show.yaml: is missing (bring it back with: showvc restore last)" in now.out
    assert "The Salt Road" in now.out
    assert "showvc restore last" in desk("record", "--note", "x", code=2).err
    assert "showvc restore last" in Desk(desk.folder / "users")("check", code=2).err
    desk("undo")
    desk("undo")
    assert "show.yaml" in desk("restore", "last").out
    assert "title: The Salt Road" in desk.read("show.yaml")
    assert desk("now").code == 0


def test_of_a_broken_file_it_is_said_that_it_was_put_right(desk: Desk) -> None:
    desk.write("users/sm.yaml", "name: [x\n")
    assert "users/sm.yaml put right" in desk("restore", "last").out
