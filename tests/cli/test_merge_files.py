"""Merging three sources without a history."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.document import show_from_tree
from showvc.formats import read
from showvc.formats.single import single_text
from tests.history.desk import Desk

BEFORE = {
    "format": 2,
    "title": "The Salt Road",
    "groups": {"fly": {"name": "Fly Rail", "label": "FLY"}},
    "users": {"sm": {"name": "SM", "channels": {"fly": {"number": 1, "talk": "latch"}}}},
}


def written(path: Path, **users: object) -> str:
    """The document with other fields for the user sm."""
    tree = {**BEFORE, "users": {"sm": {**BEFORE["users"]["sm"], **users}}}  # type: ignore[index]
    path.write_text(single_text(show_from_tree(tree), path.suffix))
    return path.name


@pytest.fixture
def files(tmp_path: Path) -> Desk:
    written(tmp_path / "before.show.yaml")
    written(tmp_path / "mine.show.yaml", name="Stage Manager")
    written(tmp_path / "incoming.show.json", department="stage")
    written(tmp_path / "clash.show.yaml", name="Show Caller")
    return Desk(tmp_path)


def merge(desk: Desk, incoming: str, *more: str, code: int = 0, out: str = "out.show.yaml") -> str:
    sides = ("--before", "before.show.yaml", "--mine", "mine.show.yaml", "--into", out)
    answer = desk("merge", incoming, *sides, *more, code=code)
    return answer.out + answer.err


@pytest.mark.parametrize("out", ["out.show.yaml", "out.show.json"])
def test_clean(files: Desk, out: str) -> None:
    assert "Written: " in merge(files, "incoming.show.json", out=out)
    user = read(files.folder / out).users["sm"]
    assert (user.name, user.department) == ("Stage Manager", "stage")


def test_a_conflict_writes_nothing(files: Desk) -> None:
    said = merge(files, "clash.show.yaml", code=1)
    assert "both-changed" in said
    assert "\n1 conflict; out.show.yaml is not written" in said
    assert "--take mine" in said
    assert not (files.folder / "out.show.yaml").exists()


@pytest.mark.parametrize(("side", "name"), [("mine", "Stage Manager"), ("incoming", "Show Caller")])
def test_a_side_is_taken(files: Desk, side: str, name: str) -> None:
    merge(files, "clash.show.yaml", "--take", side)
    assert read(files.folder / "out.show.yaml").users["sm"].name == name


def test_json(files: Desk) -> None:
    sides = ("--before", "before.show.yaml", "--mine", "mine.show.yaml", "--into", "out.show.yaml")
    found = files.json("merge", "clash.show.yaml", *sides, code=1)
    assert list(found) == ["clean", "conflicts", "problems", "snapshot", "combined", "verdict"]
    assert [(each["before"], each["mine"], each["incoming"]) for each in found["conflicts"]] == [
        ("SM", "Stage Manager", "Show Caller")
    ]
    assert files.json("merge", "incoming.show.json", *sides)["clean"]


@pytest.mark.parametrize("out", ["out.show.yaml", "mine.show.yaml"])
def test_nothing_that_is_there_is_written_over(files: Desk, out: str) -> None:
    files.write("out.show.yaml", "format: 2\ntitle: Old\n")
    before = files.read(out)
    assert "is there already" in merge(files, "incoming.show.json", out=out, code=2)
    assert files.read(out) == before


def test_a_show_folder_and_a_file_mix(files: Desk, tmp_path: Path) -> None:
    folder = Desk.begun(tmp_path / "show")
    folder("set", "groups/fly/name", "Flies")
    code = folder(
        "merge", str(tmp_path / "show"), "--before", "last", "--mine", "last", "--into", "out.show.yaml", code=None
    ).code
    assert code == 0
    assert read(folder.folder / "out.show.yaml").groups["fly"].name == "Flies"


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--take", "theirs"), "take mine or incoming"),
        (("--into", "out.txt"), "no single document"),
        (("--before", "nowhere.show.yaml"), "is not there"),
    ],
)
def test_wrong_calls(files: Desk, more: tuple[str, ...], said: str) -> None:
    assert said in merge(files, "incoming.show.json", *more, code=2)
