"""The bodies that are kept parsed may be deleted, damaged or forged at any time: nothing changes but the speed."""

from __future__ import annotations

import gc
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.history.desk import Desk


def _deleted(path: Path) -> None:
    path.unlink(missing_ok=True)


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _garbage(path: Path) -> None:
    path.write_bytes(b"SQLite format 3\0" + b"\xff" * 5000)


def _cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:3000] if path.exists() else b"SQLite")


def _folder(path: Path) -> None:
    if not path.is_dir():
        path.unlink()
        path.mkdir()


def _values(path: Path, value: object) -> None:
    table = sqlite3.connect(path, isolation_level=None)
    table.execute("CREATE TABLE IF NOT EXISTS bodies (key TEXT PRIMARY KEY, body BLOB) WITHOUT ROWID")
    table.execute("UPDATE bodies SET body = ?", (value,))
    table.close()


def _not_json(path: Path) -> None:
    _values(path, b"{")


def _another_body(path: Path) -> None:
    _values(path, b'{"no": "body"}')


def _not_utf8(path: Path) -> None:
    _values(path, b"\xff\xfe")


def _null(path: Path) -> None:
    _values(path, None)


def _a_number(path: Path) -> None:
    _values(path, 7)


def _another_table(path: Path) -> None:
    table = sqlite3.connect(path, isolation_level=None)
    table.execute("DROP TABLE IF EXISTS bodies")
    table.execute("CREATE TABLE bodies (something TEXT)")
    table.close()


DAMAGES = [
    _deleted,
    _empty,
    _garbage,
    _cut,
    _folder,
    _not_json,
    _another_body,
    _not_utf8,
    _null,
    _a_number,
    _another_table,
]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    desk = Desk.begun(tmp_path / "show")
    desk("set", "users/sm/channels/fly/talk", "dual")
    desk.record("Dual")
    desk("check", code=None)
    return desk


@pytest.mark.parametrize("damage", DAMAGES)
def test_every_answer_is_the_same(desk: Desk, damage: Callable[[Path], None]) -> None:
    asked = [
        ("compare", "last-1", "last", "--json"),
        ("check", "--json"),
        ("trace", "users/sm", "--json"),
        ("now", "--json"),
    ]
    before = [desk(*words, code=None) for words in asked]
    for words, answer in zip(asked, before, strict=True):
        gc.collect()  # no connection of this process holds the file
        damage(desk.archive.own / "bodies.sqlite")
        assert desk(*words, code=None) == answer
    desk("set", "users/sm/channels/fly/talk", "open")
    desk("record", "--note", "on it goes")
    assert desk.fsck() == []


def test_a_cache_of_another_programs_time_is_not_read(desk: Desk) -> None:
    """The key carries the version of the format: what an older or newer showvc kept is left alone."""
    path = desk.archive.own / "bodies.sqlite"
    table = sqlite3.connect(path, isolation_level=None)
    table.execute("UPDATE bodies SET key = 'bodies-0-0' || substr(key, 9), body = '{}'")
    table.close()
    assert desk("compare", "last-1", "last", "--json").data["changes"][0]["path"] == "/users/sm/channels/fly/talk"
