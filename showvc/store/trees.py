"""Lists of files (git's trees), read within bounds: eleven small ones can name more files than any memory holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator

from showvc.document import ShowError
from showvc.store.calling import too_much

MOST_ENTRIES = 200_000
"""Largest show: 3,300 files; a table of all that was ever settled has some thousands."""
MOST_DEPTH = 12
MOST_BYTES = 64 * 1024 * 1024
_ENTRY = re.compile(rb"(\d{5,6}) ([^\0]+)\0(.{20})", re.DOTALL)
FOLDER = "40000"

_UNSEEN = re.compile("[\u200c-\u200f\u202a-\u202e\u206a-\u206f\ufeff]")
"""Letters that HFS+ passes over in a name; source: git's own check of trees, `fsck` (from memory)."""
_NO_NAME = re.compile(r"[/\\]|^[A-Za-z]:|^(\.git|git~1)?[. ]*(:.*)?$", re.IGNORECASE)

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


def is_file_name(name: str) -> bool:
    """Whether this names a file in its folder, on every disk: not one above, elsewhere, or in the history itself."""
    return not _NO_NAME.search(_UNSEEN.sub("", name))


def _parsed(tree: str, data: bytes) -> dict[str, tuple[str, str]]:
    found: dict[str, tuple[str, str]] = {}
    place = 0
    while place < len(data):
        entry = _ENTRY.match(data, place)
        if entry is None:
            raise ShowError(f"the list of files {tree[:12]} in the history cannot be read", "run: showvc verify")
        mode = entry[1].decode().lstrip("0")
        name = entry[2].decode("utf-8", "replace")
        if not is_file_name(name):
            words = f"the list of files {tree[:12]} in the history names what is no file of a folder: {name!a}"
            raise ShowError(words, "it was made to write elsewhere; do not load it, and ask where it comes from")
        found[name] = mode, entry[3].hex()
        place = entry.end()
    return found


# --- many trees at once ---

Pair = tuple[str, str]
"""Two trees: before and after."""
Change = tuple[str, str, str, str, str]
"""Path, mode before and after (000000: not there), id before and after."""
EMPTY = "4b825dc642cb6eb9a060e54bf8d69288fbee4904"
"""Git's id of the tree without entries, which it knows without an object."""
_AT_ONCE = 2000
_NONE = "0" * 40


class Differences:
    """What pairs of trees have otherwise, asked of git one level at a time.

    Asked for all levels it would put together every path before it says one, which a bomb of few trees makes endless.
    """

    def __init__(self, git: Callable[..., str], pairs: Iterable[Pair]) -> None:
        self._known: dict[Pair, list[Change]] = {}
        todo = {pair for pair in pairs if pair[0] != pair[1]}
        for _ in range(MOST_DEPTH + 1):
            found = self._level(git, sorted(todo))
            self._known |= found
            todo = {_inner(change) for changes in found.values() for change in changes if _is_folder(change)}
            todo -= self._known.keys()
        self._open = todo

    @staticmethod
    def _level(git: Callable[..., str], pairs: list[Pair]) -> dict[Pair, list[Change]]:
        found: dict[Pair, list[Change]] = {pair: [] for pair in pairs}
        for start in range(0, len(pairs), _AT_ONCE):
            asked = "".join(f"{old} {new}\n" for old, new in pairs[start : start + _AT_ONCE]).encode()
            fields = git("diff-tree", "-z", "--raw", "--no-abbrev", "--no-renames", "--stdin", data=asked).split("\0")
            here: list[Change] = []
            for meta, path in zip(fields[::2], fields[1::2], strict=False):
                *heads, told = meta.split("\n")
                if heads:
                    old, new = heads[-1].split(" ")
                    here = found[old, new]
                one, other, before, after, _ = told.removeprefix(":").split(" ")
                here.append((path, one, other, before, after))
        return found

    def of(self, before: str, after: str) -> Iterator[Change]:
        """What these two have otherwise, each file with its whole path. ShowError for more than any show has."""
        for count, change in enumerate(self._below((before, after), "")):
            if count > MOST_ENTRIES:
                raise too_much()
            yield change

    def _below(self, pair: Pair, above: str) -> Iterator[Change]:
        if pair in self._open:
            raise too_much()
        for path, one, other, before, after in self._known.get(pair, ()):
            whole = f"{above}{path}"
            inner = _inner((path, one, other, before, after))
            if inner != (EMPTY, EMPTY):
                yield from self._below(inner, f"{whole}/")
            old = ("000000", _NONE) if one == "040000" else (one, before)
            new = ("000000", _NONE) if other == "040000" else (other, after)
            if old != new:
                yield whole, old[0], new[0], old[1], new[1]


def _is_folder(change: Change) -> bool:
    return "040000" in change[1:3]


def _inner(change: Change) -> Pair:
    _, one, other, before, after = change
    return (before if one == "040000" else EMPTY), (after if other == "040000" else EMPTY)
