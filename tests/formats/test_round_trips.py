"""What is written is what is read, through every form of the document, and what is canonical stays as it is."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import showvc.formats
from showvc.document import Body, Group, Show, User, show_from_tree
from showvc.formats.atomic import write_atomically
from showvc.formats.files import canonical, place_of, read_file
from showvc.formats.folder import folder_texts, read_folder
from showvc.formats.single import read_single, single_text
from tests.formats.commented import commented
from tests.generator import random_show
from tests.strategies import plain_shows, shows


def body_of(path: str, text: str) -> Body:
    place = place_of(path)
    assert place is not None
    return read_file(place, text.encode())


@given(st.one_of(shows(), plain_shows()))
def test_each_file_of_a_folder_reads_as_its_body_and_is_written_back_byte_for_byte(show: Show) -> None:
    for path, text in folder_texts(show).items():
        section, _, name = path.removesuffix(".yaml").partition("/")
        body = body_of(path, text)
        assert body == (show.section(section)[name] if name else show.head)
        assert canonical(body) == text


@given(st.one_of(shows(), plain_shows()), st.sampled_from((".yaml", ".yml", ".json", ".JSON")))
def test_a_single_document_reads_as_the_show_and_is_written_back_byte_for_byte(show: Show, suffix: str) -> None:
    text = single_text(show, suffix)
    again = read_single(text.encode(), f"salt{suffix}")
    assert again == show
    assert single_text(again, suffix) == text


@given(shows())
def test_json_and_yaml_say_the_same(show: Show) -> None:
    from_json = read_single(single_text(show, ".json").encode(), "salt.json")
    assert single_text(from_json) == single_text(show)
    assert json.loads(single_text(show, ".json")) == show.tree()
    assert show_from_tree(show.tree()) == show


@given(shows())
def test_ascii_json_of_another_program_reads_the_same(show: Show) -> None:
    """Many programs write every other character as \\uXXXX, in pairs beyond U+FFFF."""
    assert read_single(json.dumps(show.tree()).encode(), "salt.json") == show
    assert read_single(json.dumps(show.tree()).encode(), "salt.yaml") == show


@settings(max_examples=settings().max_examples // 5)  # each reads every file of a show four times
@given(st.data(), shows())
def test_windows_line_ends_a_byte_order_mark_and_a_missing_last_line_end_change_nothing(
    data: st.DataObject, show: Show
) -> None:
    for path, text in folder_texts(show).items():
        place = place_of(path)
        assert place is not None
        body = read_file(place, text.encode())
        assert read_file(place, text.replace("\n", "\r\n").encode()) == body
        assert read_file(place, b"\xef\xbb\xbf" + text.encode()) == body
        if not text.endswith("\n\n") and "|" not in text:
            assert read_file(place, text.removesuffix("\n").encode()) == body
        commented_text, _ = data.draw(commented(body))
        assert read_file(place, commented_text.encode()) == body


def test_a_folder_on_disk_reads_as_the_show(tmp_path: Path) -> None:
    show = random_show(7, users=20, groups=10, devices=20, bridges=6)
    for path, text in folder_texts(show).items():
        write_atomically(tmp_path / path, text)
    seen: list[tuple[int, int]] = []
    assert read_folder(tmp_path, lambda done, total: seen.append((done, total))) == show
    assert seen[-1] == (63, 63)
    assert showvc.formats.read(tmp_path) == show
    for suffix in (".yaml", ".json"):
        single = tmp_path / f"salt.show{suffix}"
        write_atomically(single, single_text(show, suffix))
        assert showvc.formats.read(single) == show


SCALARS = [
    "NO",
    "no",
    "012",
    "1e3",
    "12:30",
    "~",
    "null",
    "on",
    "y",
    "0x1F",
    "1_000",
    "true",
    "",
    " a",
    "a ",
    "a #b",
    "a: b",
]


@pytest.mark.parametrize("text", SCALARS)
def test_a_text_stays_the_characters_that_were_written(text: str) -> None:
    show = show_from_tree({"format": 2, "groups": {"on": {"name": text, "label": text, "tags": [text]}}})
    for suffix in (".yaml", ".json"):
        group = read_single(single_text(show, suffix).encode(), f"a{suffix}").groups["on"]
        assert (group.name, group.label, group.tags) == (text, text, frozenset({text}))
    assert body_of("groups/on.yaml", folder_texts(show)["groups/on.yaml"]) == show.groups["on"]


@pytest.mark.parametrize(
    "word", ["NO", "012", "1e3", "12:30", "~", "null", "on", "0x1F", "1_000", "TRUE", "2026-11-25"]
)
def test_a_text_without_quotes_is_the_characters_that_stand_there(word: str) -> None:
    body = body_of("groups/fly.yaml", f"name: {word}\nlabel: {word}\ntags: [{word}]\n")
    assert body == Group(name=word, label=word, tags=frozenset({word}))
    inline = body_of("users/sm.yaml", f"channels:\n  lx: {{number: 1, label: {word}}}\n")
    assert isinstance(inline, User)
    assert inline.channels["lx"].label == word


@pytest.mark.parametrize("name", ["on", "y", "n", "no", "off", "yes", "true", "null", "nan", "e1"])
def test_an_id_that_yaml_takes_for_something_else_is_an_id(name: str) -> None:
    text = f"format: 2\ngroups:\n  {name}: {{}}\nusers:\n  sm:\n    channels:\n      {name}: {{number: 1}}\n"
    show = read_single(text.encode(), "a.yaml")
    assert list(show.groups) == [name] == list(show.users["sm"].channels)
    assert read_single(single_text(show).encode(), "a.yaml") == show


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("null", None), ("true", True), ("false", False), ("7", 7), ("-7", -7), ("1.25", 1.25), ("1e+16", 1e16), ("1.0e+16", 1e16), ("5.0e-324", 5e-324),
        ("~", "~"), ("True", "True"), ("NO", "NO"), ("012", "012"), ("1.50", "1.50"), ("0x1F", "0x1F"), ("1e3", "1e3"),
        ("12:30", "12:30"), ("+7", "+7"), ('"7"', "7"), ("'null'", "null"), (".5", ".5"), ("", ""), ("9" * 301, "9" * 301),
    ],
)  # fmt: skip
def test_in_extra_only_the_spellings_of_json_are_more_than_text(written: str, value: Any) -> None:
    body = body_of("groups/fly.yaml", f"extra:\n  x: {written}\n")
    assert isinstance(body, Group)
    assert body.extra == {"x": value}
    assert type(body.extra["x"]) is type(value)
    assert body_of("groups/fly.yaml", canonical(body)) == body


CANONICAL = """\
name: Stage Manager
label: SM
department: stage
channels:
  lx: {number: 1, talk: latch}
  fly: {number: 2, talk: momentary, listen: always, level: -3}
  lx#2: {number: 10, level: 1.5, priority: high, label: "LX: 2", extra: {at: "12:30", "on": true}}
lines:
  alarm: {talk: momentary}
extra:
  a:
    b: [1, null, "null"]
"""


def test_the_canonical_layout_is_this_one() -> None:
    assert canonical(body_of("users/sm.yaml", CANONICAL)) == CANONICAL


def test_defaults_are_left_out_and_things_stand_in_their_order() -> None:
    loose = """
extra: {}
lines: {paging: {listen: switchable, level: 0}, alarm: {}}
channels:
    zz: {talk: none, number: 2}
    aa: {priority: normal, number: 11, level: 0.0}
    b: {number: 2.0}
label: SM
"""
    with pytest.raises(showvc.document.ShowError, match="a whole number is wanted"):
        body_of("users/sm.yaml", loose)
    tidy = canonical(body_of("users/sm.yaml", loose.replace("2.0", "3")))
    assert tidy == (
        "label: SM\nchannels:\n  zz: {number: 2}\n  b: {number: 3}\n  aa: {number: 11}\n"
        "lines:\n  alarm: {}\n  paging: {listen: switchable}\n"
    )


@pytest.mark.parametrize(
    "notes",
    [
        "",
        "one",
        "one\n",
        "one\ntwo",
        "one\ntwo\n",
        "one\n\ntwo\n",
        "one\n\n",
        "\none",
        " one\ntwo",
        "one \ntwo",
        "\n",
        "\t",
        "# one\n- two\n",
    ],
)
def test_notes_keep_every_line_and_space(notes: str) -> None:
    show = show_from_tree({"format": 2, "notes": notes})
    assert body_of("show.yaml", folder_texts(show)["show.yaml"]).notes == notes  # type: ignore[attr-defined]
