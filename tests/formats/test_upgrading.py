"""Shows of older formats are read for ever, upgraded as a whole, the same way whoever reads.

The older format is made up: in it, a bridge had its circuit as a text, and a group said `crit`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from showvc.document import Show, ShowError, show_from_tree
from showvc.formats import read, upgrading
from showvc.formats.single import read_single
from showvc.merging import merge
from tests.history.desk import Desk

OLD = {
    "show.yaml": "format: 1\ntitle: The Salt Road\n",
    "groups/fly.yaml": "name: Fly Rail\ncrit: yes\n",
    "devices/if-01.yaml": "kind: ports-4\n",
    "bridges/a.yaml": "kind: two-wire\ndevice: if-01\nport: 1\ntarget: fly\ncircuit: House line, ring A\n",
}
NEW = show_from_tree(
    {
        "format": 2,
        "title": "The Salt Road",
        "groups": {"fly": {"name": "Fly Rail", "critical": True}},
        "devices": {"if-01": {"kind": "ports-4"}},
        "bridges": {"a": {"kind": "two-wire", "device": "if-01", "port": 1, "target": "fly", "circuit": "of-a"}},
        "circuits": {"of-a": {"name": "House line, ring A"}},
    }
)


def _from_the_made_up_one(document: dict[str, Any]) -> dict[str, Any]:
    groups = {name: {**body} for name, body in document.get("groups", {}).items()}
    for body in groups.values():
        if "crit" in body:
            body["critical"] = body.pop("crit") in (True, "yes", "true")
    bridges = {name: {**body, "circuit": f"of-{name}"} for name, body in document.get("bridges", {}).items()}
    circuits = {f"of-{name}": {"name": body["circuit"]} for name, body in document.get("bridges", {}).items()}
    return {**document, "groups": groups, "bridges": bridges, "circuits": circuits}


@pytest.fixture
def older(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(upgrading, "UPGRADES", {1: _from_the_made_up_one})


def written(folder: Path, **more: str) -> Path:
    for path, text in {**OLD, **more}.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    return folder


def test_without_a_way_up_it_is_refused_with_the_reason(tmp_path: Path) -> None:
    with pytest.raises(ShowError, match="format 1, which was a draft that nobody used"):
        read(written(tmp_path))


@pytest.mark.usefixtures("older")
def test_a_folder_of_it_is_read_as_a_show_of_today(tmp_path: Path) -> None:
    assert read(written(tmp_path)) == NEW


@pytest.mark.usefixtures("older")
@pytest.mark.parametrize("suffix", [".yaml", ".json"])
def test_so_is_a_single_document(suffix: str) -> None:
    yaml = (
        "format: 1\ntitle: The Salt Road\ngroups:\n  fly: {name: Fly Rail, crit: yes}\ndevices:\n  if-01: {kind: ports-4}\n"
        'bridges:\n  a: {kind: two-wire, device: if-01, port: 1, target: fly, circuit: "House line, ring A"}\n'
    )
    json = (
        '{"format": 1, "title": "The Salt Road", "groups": {"fly": {"name": "Fly Rail", "crit": true}}, "devices": {"if-01": '
        '{"kind": "ports-4"}}, "bridges": {"a": {"kind": "two-wire", "device": "if-01", "port": 1, "target": "fly", '
        '"circuit": "House line, ring A"}}}'
    )
    assert read_single((yaml if suffix == ".yaml" else json).encode(), f"x.show{suffix}") == NEW


@pytest.mark.usefixtures("older")
def test_what_is_wrong_in_it_is_told_by_its_place(tmp_path: Path) -> None:
    with pytest.raises(ShowError, match="/groups/fly/colour: unknown field 'colour'"):
        read(written(tmp_path, **{"groups/fly.yaml": "colour: red\n"}))


@pytest.mark.usefixtures("older")
def test_all_three_sides_of_a_merge_are_of_today(tmp_path: Path) -> None:
    before = read(written(tmp_path / "before"))
    mine = read(written(tmp_path / "mine", **{"groups/fly.yaml": "name: Fly Rail\n"}))
    incoming: Show = show_from_tree({**NEW.tree(), "title": "Salt"})
    merged = merge(before, mine, incoming)
    assert merged.clean and merged.show.title == "Salt" and not merged.show.groups["fly"].critical


@pytest.mark.usefixtures("older")
def test_a_history_of_it_is_read_and_the_first_edit_writes_all_of_it_anew(tmp_path: Path) -> None:
    desk = Desk(written(tmp_path / "show"))
    desk("start", ".")
    desk("set", "groups/fly/label", "FLY")
    assert (desk.folder / "show.yaml").read_text().startswith("format: 2\n")
    assert read(desk.folder).groups["fly"].critical
    assert "label" in desk("compare").out
