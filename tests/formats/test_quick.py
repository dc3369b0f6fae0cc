"""The quick reader says what the full one says, or nothing."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from showvc.document import DOCUMENT, SECTIONS, Head, Shape, Show, ShowError, User, same, shape_of
from showvc.formats import nodes
from showvc.formats.files import canonical, place_of, tree_of
from showvc.formats.folder import folder_texts
from showvc.formats.quick import quick_values
from showvc.formats.reading import values
from showvc.formats.single import single_text
from tests.formats.commented import commented
from tests.generator import random_show
from tests.strategies import shows

SM = shape_of(User)


def check(text: str, shape: Shape) -> bool:
    """Whether the quick reader had an answer, which must then be the full reader's."""
    quick = quick_values(text, shape)
    if quick is None:
        return False
    try:
        node, problems = nodes.parse(text, "")
    except ShowError as error:
        raise AssertionError(f"read, but is refused: {error}\n{text}") from None
    assert not problems
    assert same(quick, values(node, shape))
    return True


def test_the_largest_shows_files_are_all_read_quickly() -> None:
    show = random_show(5, users=40, groups=20, devices=40, bridges=8, channels=32)
    for path, text in folder_texts(show).items():
        place = place_of(path)
        assert place is not None
        quick = quick_values(text, shape_of(place.model))
        body = show.head if place.section is None else show.section(place.section)[place.id]
        assert quick is not None
        assert same(quick, tree_of(body))


@given(st.data(), shows())
def test_canonical_and_commented_text(data: st.DataObject, show: Show) -> None:
    check(single_text(show), DOCUMENT)
    check(canonical(show.head), shape_of(Head))
    check(data.draw(commented(show.head))[0], shape_of(Head))
    for section in SECTIONS:
        for body in show.section(section).values():
            check(canonical(body), shape_of(type(body)))
            check(data.draw(commented(body))[0], shape_of(type(body)))


MARKS = st.sampled_from(
    ["", " ", "  ", "\n", "\n  ", "\t", ": ", ":", ", ", ",", "#", " #", "{", "}", "[", "]", '"', "'", "-", "- ", "? ", "&a ", "*a", "!a ",
     "|", ">", "~", "\\", "\\n", "a", "1", "a: b", "\na: b\n", "\n  c: d\n", "name: ", "{}", "[]", '""', "é", "\u2028", "\x85", "\xa0",
     "\ufeff", "\0", "\r", "\U0001f3ad", "---\n", "...\n", "%", "<<: ", "=", "@", "`"]
)  # fmt: skip


BLOCKS = st.sampled_from(
    ["notes: |\n", "notes: |-\n", "notes: |+\n", "notes: >\n", "notes: |2\n", "  a\n", "  \n", " \n", "\n", "   b\n", "  # c\n", "# d\n", " # e\n",
     "b: 1\n", "  c: 2\n", "extra:\n", "  n: |\n", "    x\n", "    y: 1\n", "   z\n", "  a", "a \n", "  a \n"]
)  # fmt: skip


@given(st.lists(BLOCKS, max_size=8).map("".join))
def test_texts_of_several_lines(text: str) -> None:
    check(text, shape_of(Head))


@given(st.data(), shows())
def test_damaged_text(data: st.DataObject, show: Show) -> None:
    users = list(show.users.values())
    text = canonical(data.draw(st.sampled_from(users))) if users else single_text(show)
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = start + data.draw(st.integers(0, 6))
        text = text[:start] + data.draw(MARKS) + text[end:]
    check(text, SM)


@given(st.lists(MARKS, max_size=12).map("".join))
@example("a: b\n  c: d\n")
@example("a:\n\n  b: 1\nc: 2\n")
@example("a:\n# x\n    b: 1\n")
@example("a:\n  b: 1\n c: 2\n")
@example('"a": "b: {c: d}, e: f"\n')
@example("#\u2028!a \na: b\n")
@example("#\x85? \na: b\n")
@example("#\t\na: b\n")
@example("# x\0\na: b\n")
@example('extra: {"a": "x, b: 1", c: d}\n')
def test_any_text_of_yaml_marks(text: str) -> None:
    check(text, SM)


@pytest.mark.parametrize(
    "text",
    [
        "name: x\nname: y\n", "extra: {a: 1, a: 2}\n", "name: x # y\n", "name: x \n", "name:  x\n", "name : x\n", "name: 'x'\n",
        'name: "a\\tb"\n', "name: a\n  b\n", "name: >\n  x\n", "name: |\n   x\n", "name: |\n", "name:\n", "extra:\n", "extra:\n  a:\n", "channels:\n    lx: {number: 1}\n",
        "{}\n", "", "name: [[[a]]]\n", "extra: {a: {b: {c: 1}}}\n", "name: x\n---\nname: y\n", "name: !a x\n", "name: &a x\n", "name: *a\n",
    ],
)  # fmt: skip
def test_what_is_not_plain_is_left_to_the_full_reader(text: str) -> None:
    assert quick_values(text, SM) is None


def test_the_plain_layout() -> None:
    text: Any = "name: Fly 2 (left), \nlabel: x\n".replace(", ", "") + (
        '# note\nchannels:\n  # own\n  lx#2: {number: 1, level: -3}\n\nextra:\n  a: [1, true, null, "1", NO]\n  "b c": {d: "x: y"}\n'
    )
    assert check(text, SM)
    assert quick_values(text, SM) == {
        "name": "Fly 2 (left)", "label": "x", "channels": {"lx#2": {"number": 1, "level": -3}},
        "extra": {"a": [1, True, None, "1", "NO"], "b c": {"d": "x: y"}},
    }  # fmt: skip
