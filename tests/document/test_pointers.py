"""Paths into the document."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError
from showvc.document.pointers import join, parse

steps = st.lists(st.text(max_size=6), min_size=1, max_size=5)


@given(steps)
def test_a_pointer_reads_as_the_steps_it_was_made_of(made: list[str]) -> None:
    if made != [""]:  # "/" alone is taken for the whole: nothing in a show is named ''
        assert parse(join(*made)) == tuple(made)


@given(steps)
def test_the_leading_slash_may_be_left_out(made: list[str]) -> None:
    if made[0]:
        assert parse(join(*made)[1:]) == parse(join(*made))


@pytest.mark.parametrize("whole", ["", "/"])
def test_the_whole_document(whole: str) -> None:
    assert parse(whole) == ()
    assert join() == ""


def test_marks_within_a_name_are_escaped() -> None:
    assert join("users", "sm", "extra", "a/b", "m~n", "~1") == "/users/sm/extra/a~1b/m~0n/~01"
    assert parse("/users/sm/channels/lx#2/talk") == ("users", "sm", "channels", "lx#2", "talk")


@pytest.mark.parametrize("pointer", ["/a~", "/a~2", "~", "/users/~x"])
def test_a_stray_tilde_is_told(pointer: str) -> None:
    with pytest.raises(ShowError, match="is not a path"):
        parse(pointer)
