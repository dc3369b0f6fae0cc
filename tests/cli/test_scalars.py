"""Characters that YAML likes to guess at: they come through every form and a merge without one of them changed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from showvc.formats import read
from tests.history.desk import Desk

TEXTS = [
    "NO",
    "no",
    "012",
    "1e3",
    "12:30",
    "~",
    "null",
    "on",
    "0x1F",
    "1_000",
    ".5",
    "yes",
    "=",
    "<<",
    "true",
    "2026-11-25",
    "-",
    "0o17",
    "+1",
    ".inf",
]


def document(label: str) -> str:
    """A show whose ids, labels and channel names are all words that YAML 1.1 reads as something else."""
    quoted = json.dumps(label)
    return (
        f"format: 2\ntitle: {quoted}\n"
        f"groups:\n  'on':\n    name: {quoted}\n    label: {quoted}\n  'y': {{name: {quoted}}}\n"
        f"users:\n  'no':\n    name: {quoted}\n    channels:\n      'on': {{number: 1, label: {quoted}}}\n      'y': {{number: 2}}\n"
        f"devices:\n  'off': {{kind: pack-2, user: 'no', keys: {{A1: 'on'}}, name: {quoted}}}\n"
    )


def labels(desk: Desk) -> list[str]:
    show = read(desk.folder)
    user = show.users["no"]
    return [
        show.title,
        show.groups["on"].name,
        show.groups["on"].label,
        show.groups["y"].name,
        user.name,
        user.channels["on"].label,
        show.devices["off"].name,
    ]


@pytest.mark.parametrize("label", TEXTS)
def test_through_folder_documents_and_a_merge(label: str, tmp_path: Path) -> None:
    (tmp_path / "plot.show.yaml").write_text(document(label))
    desk = Desk.begun(tmp_path / "show", {})
    desk("restore", str(tmp_path / "plot.show.yaml"))
    desk.record("As it came")
    assert labels(desk) == [label] * 7
    assert sorted(read(desk.folder).users["no"].channels) == ["on", "y"]

    for suffix in ("yaml", "json"):
        out = tmp_path / f"out.show.{suffix}"
        desk("export", str(out))
        assert read(out) == read(desk.folder)
        assert desk.json("compare", "last", str(out))["changes"] == []

    before = desk.files()
    desk("draft", "open", "deck")
    desk("set", "users/no/channels/y/talk", "latch")
    desk.record("Deck")
    desk("draft", "go", "main")
    desk("set", "users/no/channels/on/talk", "dual")
    desk.record("House")
    assert desk.json("merge", "deck")["clean"]
    assert labels(desk) == [label] * 7
    untouched = {path for path in before if path != "users/no.yaml"}
    assert {path: desk.files()[path] for path in untouched} == {path: before[path] for path in untouched}


@pytest.mark.parametrize("label", TEXTS)
def test_set_takes_the_characters_that_were_typed(label: str, tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk("set", "groups/lx/label", "--", label) if label.startswith("-") else desk("set", "groups/lx/label", label)
    assert read(desk.folder).groups["lx"].label == label
    assert desk.json("compare")["changes"][0]["after"] == label


def test_a_plain_no_in_a_file_is_the_word_and_stays_as_it_was_written(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    text = "name: NO\nlabel: 012\n"
    desk.write("groups/lx.yaml", text)
    desk.record()
    assert (read(desk.folder).groups["lx"].name, read(desk.folder).groups["lx"].label) == ("NO", "012")
    desk("set", "groups/lx/tags", "[stage]")
    assert desk.read("groups/lx.yaml").startswith(text)
