"""Parsed bodies by git object id, so that a body is read from YAML once. May be deleted at any time."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from pathlib import Path

from pydantic import ValidationError

from showvc.document import FORMAT, Body, to_tree
from showvc.formats.files import Place

_VERSION = f"bodies-{FORMAT}-1"
_CHUNK = 500


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
        try:
            for start in range(0, len(wanted), _CHUNK):
                keys = [_key(place, oid) for oid in wanted[start : start + _CHUNK]]
                marks = ",".join("?" * len(keys))
                for key, raw in self._table().execute(f"SELECT key, body FROM bodies WHERE key IN ({marks})", keys):
                    found[key.rpartition("/")[2]] = place.model.model_validate_json(raw)
        except (sqlite3.Error, ValidationError):
            self.drop()
            return {}
        return found

    def put(self, place: Place, bodies: Mapping[str, Body]) -> None:
        """Keeps the bodies of these blobs."""
        rows = [(_key(place, oid), json.dumps(to_tree(body)).encode()) for oid, body in bodies.items()]
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
            self.path.with_name(self.path.name + suffix).unlink(missing_ok=True)


def _key(place: Place, oid: str) -> str:
    return f"{_VERSION}/{place.section or 'head'}/{oid}"
