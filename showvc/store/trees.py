"""Lists of files (git's trees), read within bounds: eleven small ones can name more files than any memory holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from showvc.document import ShowError
from showvc.store.calling import too_much

MOST_ENTRIES = 200_000
"""Largest show: 3,300 files; a table of all that was ever settled has some thousands."""
MOST_DEPTH = 12
MOST_BYTES = 64 * 1024 * 1024
_ENTRY = re.compile(rb"(\d{5,6}) ([^\0]+)\0(.{20})", re.DOTALL)
FOLDER = "40000"

Read = Callable[[str], bytes]
"""The bytes of the tree of this id."""
Entry = tuple[str, str, str]
"""Path, mode and id."""


class Reading:
    """One reading of trees, which counts what it met."""

    def __init__(self, read: Read) -> None:
        self._read = read
        self._entries = self._bytes = 0

    def files(self, tree: str) -> Iterator[Entry]:
        """Everything below a tree but the folders themselves. ShowError for more than any show has."""
        return self._below(tree, "", 0)

    def changed(self, before: str, after: str) -> Iterator[tuple[Entry | None, Entry | None]]:
        """What two trees have otherwise, below equal folders nothing is read."""
        return self._between(before, after, "", 0)

    def _below(self, tree: str, above: str, depth: int) -> Iterator[Entry]:
        for name, (mode, oid) in self.entries(tree, depth).items():
            if mode == FOLDER:
                yield from self._below(oid, f"{above}{name}/", depth + 1)
            else:
                yield f"{above}{name}", mode, oid

    def _between(self, before: str, after: str, above: str, depth: int) -> Iterator[tuple[Entry | None, Entry | None]]:
        if before == after:
            return
        old, new = self.entries(before, depth), self.entries(after, depth)
        for name in sorted({*old, *new}):
            one, other = old.get(name), new.get(name)
            if one == other:
                continue
            path = f"{above}{name}"
            if one and other and one[0] == other[0] == FOLDER:
                yield from self._between(one[1], other[1], f"{path}/", depth + 1)
                continue
            if one:
                yield from ((each, None) for each in self._all(path, *one, depth))
            if other:
                yield from ((None, each) for each in self._all(path, *other, depth))

    def _all(self, path: str, mode: str, oid: str, depth: int) -> Iterator[Entry]:
        if mode == FOLDER:
            yield from self._below(oid, f"{path}/", depth + 1)
        else:
            yield path, mode, oid

    def entries(self, tree: str, depth: int = 0) -> dict[str, tuple[str, str]]:
        """What stands in one tree: name → mode, id."""
        data = self._read(tree)
        found = _parsed(tree, data)
        self._bytes += len(data)
        self._entries += len(found)
        if self._entries > MOST_ENTRIES or self._bytes > MOST_BYTES or depth > MOST_DEPTH:
            raise too_much()
        return found


def _parsed(tree: str, data: bytes) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    place = 0
    while place < len(data):
        entry = _ENTRY.match(data, place)
        if entry is None:
            raise ShowError(f"the list of files {tree[:12]} in the history cannot be read", "run: showvc verify")
        mode = entry[1].decode().lstrip("0")
        found[entry[2].decode("utf-8", "replace")] = mode, entry[3].hex()
        place = entry.end()
    return found
