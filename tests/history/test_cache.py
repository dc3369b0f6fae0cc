"""Bodies kept parsed: what comes back is what was put in, and nothing that a file could not hold."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from hypothesis import given

from showvc.document import SECTIONS, Show, User
from showvc.formats.files import Place
from showvc.history.cache import BodyCache
from tests.strategies import shows

USERS = Place("users")
SM = User.model_validate({"label": "SM", "channels": {"fly": {"number": 2, "talk": "latch"}, "lx#2": {"number": 3}}})


@given(shows())
def test_every_body_comes_back_equal(tmp_path_factory: pytest.TempPathFactory, show: Show) -> None:
    kept = BodyCache(tmp_path_factory.mktemp("cache") / "bodies.sqlite")
    for section in SECTIONS:
        bodies = dict(show.section(section).items())
        kept.put(Place(section), bodies)
        found = kept.get(Place(section), bodies)
        assert found == bodies


def test_equal_channels_are_one_in_memory(tmp_path: Path) -> None:
    kept = BodyCache(tmp_path / "bodies.sqlite")
    kept.put(USERS, {"1": SM, "2": SM})
    found = kept.get(USERS, ["1", "2"])
    one, other = found["1"], found["2"]
    assert isinstance(one, User) and isinstance(other, User)
    assert one.channels["fly"] is other.channels["fly"]


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"{}\nfly",
        b'{}\nfly\t{"number": "two"}',
        b'{}\nFLY!\t{"number": 2}',
        b'{}\n\t{"number": 2}',
        b'{"name": "\\u202e"}',
        b"\xff",
    ],
)
def test_what_no_file_could_hold_is_not_taken_from_the_cache_either(tmp_path: Path, raw: bytes) -> None:
    kept = BodyCache(tmp_path / "bodies.sqlite")
    kept.put(USERS, {"1": SM})
    with sqlite3.connect(tmp_path / "bodies.sqlite") as table:
        assert table.execute("UPDATE bodies SET body = ?", (raw,)).rowcount == 1
    table.close()
    assert kept.get(USERS, ["1"]) == {}
    kept.put(USERS, {"1": SM})
    assert kept.get(USERS, ["1"]) == {"1": SM}, "it is made anew"
