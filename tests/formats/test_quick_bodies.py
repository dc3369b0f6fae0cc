"""A file read quickly is the same body as one read in full, and equal channels are one body."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import SECTIONS, Show, ShowError, User
from showvc.formats import nodes
from showvc.formats.files import Place, canonical, read_file
from showvc.formats.reading import read_body
from tests.strategies import shows

SM = Place("users", "sm")


@given(shows())
def test_every_file_is_read_to_the_same_body_quickly_and_in_full(show: Show) -> None:
    for section in SECTIONS:
        for body in show.section(section).values():
            text = canonical(body)
            full, problems = read_body(type(body), nodes.parse(text, "")[0], "")
            assert not problems
            assert read_file(Place(section, "x"), text.encode()) == full == body


@given(st.sampled_from(["number: 0", "number: 1.5", "talk: lach", "number: 1, lable: X", "number: 1, number: 2", ""]))
def test_a_channel_that_cannot_be_is_told_with_its_place(fields: str) -> None:
    text = f"name: Stage Manager\nchannels:\n  lx: {{number: 1}}\n  fly: {{{fields}}}\n"
    with pytest.raises(ShowError) as refused:
        read_file(SM, text.encode())
    assert all(problem.line == 4 for problem in refused.value.problems)


def test_equal_channels_are_one_body() -> None:
    one, other = (
        read_file(SM, f"channels:\n  {name}: {{number: 1, talk: latch}}\n".encode()) for name in ("lx", "fly")
    )
    assert isinstance(one, User)
    assert isinstance(other, User)
    assert one.channels["lx"] is other.channels["fly"]
