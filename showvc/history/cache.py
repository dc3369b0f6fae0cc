"""Parsed bodies by git object id, so that a body is read from YAML once. May be deleted at any time.

Most channels of a show are alike: a large one has some 90,000, and few thousand different ones. So a user's list is
kept a line for each channel, and each different channel is read and checked once, and shared: several times as fast
as one JSON document for each user, and in a fraction of the memory.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path

from pydantic import TypeAdapter

from showvc.document import FORMAT, Body, Channel, User, to_tree
from showvc.document.shapes import fingerprint
from showvc.document.values import ChannelId
from showvc.formats.files import Place

_VERSION = f"bodies-{FORMAT}-4-{fingerprint()}"
"""Raised by hand for another layout of the table; a field that comes, goes or gets other bounds raises it by itself."""
_CHUNK = 500
"""As many question marks as any SQLite takes in one statement: 999 before 3.32."""


class BodyCache:
    """A table of bodies as JSON. Whatever goes wrong with it, it is only slower."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._open: sqlite3.Connection | None = None

    def _table(self) -> sqlite3.Connection:
        if self._open is None:
            self._open = sqlite3.connect(self.path, timeout=5, isolation_level=None)
            self._open.execute("PRAGMA journal_mode=WAL")
            self._open.execute("PRAGMA synchronous=OFF")
            self._open.execute("CREATE TABLE IF NOT EXISTS bodies (key TEXT PRIMARY KEY, body BLOB) WITHOUT ROWID")
        return self._open

    def get(self, place: Place, oids: Iterable[str]) -> dict[str, Body]:
        """The bodies of these blobs that are known."""
        found: dict[str, Body] = {}
        wanted = list(oids)
        read = _reader(place)
        try:
            for start in range(0, len(wanted), _CHUNK):
                keys = [_key(place, oid) for oid in wanted[start : start + _CHUNK]]
                marks = ",".join("?" * len(keys))
                for key, raw in self._table().execute(f"SELECT key, body FROM bodies WHERE key IN ({marks})", keys):
                    found[key.rpartition("/")[2]] = read(raw)
        except (sqlite3.Error, ValueError, TypeError, AttributeError):  # pydantic's ValidationError is a ValueError
            self.drop()
            return {}
        return found

    def put(self, place: Place, bodies: Mapping[str, Body]) -> None:
        """Keeps the bodies of these blobs."""
        lines: dict[int, str] = {}
        rows = [(_key(place, oid), _written(body, lines)) for oid, body in bodies.items()]
        try:
            table = self._table()
            table.execute("BEGIN")
            table.executemany("INSERT OR REPLACE INTO bodies VALUES (?, ?)", rows)
            table.execute("COMMIT")
        except sqlite3.Error:
            self.drop()

    def drop(self) -> None:
        """Throws a damaged cache away."""
        if self._open is not None:
            self._open.close()
            self._open = None
        for suffix in ("", "-wal", "-shm"):
            with suppress(OSError):
                self.path.with_name(self.path.name + suffix).unlink(missing_ok=True)


def _key(place: Place, oid: str) -> str:
    return f"{_VERSION}/{place.section or 'head'}/{oid}"


# --- how a body is written ---

Read = Callable[[bytes], Body]


def _written(body: Body, lines: dict[int, str]) -> bytes:
    """A body as JSON; of a user, one document without channels, then `id TAB channel` on a line for each.

    `lines` remembers channels that were written, by the body itself: alike ones are mostly one.
    """
    if not isinstance(body, User):
        return json.dumps(to_tree(body)).encode()
    for channel in body.channels.values():
        if id(channel) not in lines:
            lines[id(channel)] = json.dumps(to_tree(channel))
    head = json.dumps(to_tree(body.model_copy(update={"channels": {}})))
    return "\n".join([head, *(f"{name}\t{lines[id(channel)]}" for name, channel in body.channels.items())]).encode()


def _reader(place: Place) -> Read:
    """Reads what `_written` wrote, as strictly as a file is read. ValueError where it is something else."""
    return _user_reader() if place.section == "users" else place.model.model_validate_json


def _user_reader() -> Read:
    known = cache(TypeAdapter(ChannelId).validate_python)
    channel = cache(Channel.model_validate_json)

    def read(raw: bytes) -> User:
        head, *lines = raw.decode().split("\n")
        parts = [line.partition("\t") for line in lines]
        channels = {known(name): channel(text) for name, _, text in parts}
        user = User.model_validate_json(head)
        return user.model_copy(update={"channels": channels}) if channels else user

    return read
