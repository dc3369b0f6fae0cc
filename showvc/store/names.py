"""The names (refs) of a repository, read and moved by ourselves, in the files and with the locks that git uses.

So git need not open the repository, and a name that git would take and we can't is passed over, not stumbled on.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import time
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from showvc.document import ShowError
from showvc.store.calling import GitFailed

MOST_NAMES = 60_000
_MOST_PACKED = 16 * 1024 * 1024
_OID = re.compile(rb"[0-9a-f]{40}")
_LEADS_ON = re.compile(rb"ref: (refs/[^\s]+)\s*")
_ODD = re.compile(r"[\x00-\x20\x7f~^:?*\[\\\ud800-\udfff]|\.\.|@\{|//|^/|/$|\.$|(^|/)\.|\.lock(/|$)")
STALE = 10.0
"""Seconds. What we and git do under such a lock takes milliseconds; source: common practice."""


class Moved(Exception):
    """A name is not what it was thought to be: somebody else moved it, or is moving it now."""


@dataclass(frozen=True, slots=True)
class Listed:
    """The names of a repository and what they lead to. `odd` are passed over; `broken` lead to nothing."""

    refs: Mapping[str, str]
    odd: tuple[str, ...] = ()
    broken: tuple[str, ...] = ()


@dataclass(slots=True)
class _Found:
    refs: dict[str, str] = field(default_factory=dict)
    odd: list[str] = field(default_factory=list)
    broken: list[str] = field(default_factory=list)


def is_name(name: str) -> bool:
    """Whether git takes this as a name, and it is text."""
    return name.startswith("refs/") and not _ODD.search(name) and len(name) < 240


class Names:
    """The names in a git folder, which may be somebody else's. Links are not followed."""

    def __init__(self, git_dir: Path, patience: float = STALE) -> None:
        self.git_dir = git_dir
        self.patience = patience
        """How old a lock must be to count as left behind by a killed process."""

    # --- reading ---

    def listed(self, *prefixes: str) -> Listed:
        """All names below these prefixes. ShowError where there are more than any show has."""
        found = _Found()
        for name, oid in self._packed().items():
            if name.startswith(prefixes):
                self._take(found, name, oid)
        for prefix in prefixes:
            self._walk(found, prefix.rstrip("/"), 0)
        return Listed(dict(sorted(found.refs.items())), tuple(sorted(set(found.odd))), tuple(sorted(found.broken)))

    def get(self, name: str) -> str | None:
        """What one name leads to; None where it does not, or is none."""
        if not is_name(name):
            return None
        raw = self._loose(name)
        if raw is None:
            return self._packed().get(name)
        return self._value(raw)

    def _walk(self, found: _Found, below: str, depth: int) -> None:
        try:
            entries = list(os.scandir(self.git_dir / below))
        except (FileNotFoundError, NotADirectoryError):
            return
        for entry in entries:
            name = f"{below}/{entry.name}"
            if entry.is_symlink() or entry.name.endswith(".lock"):
                continue
            if entry.is_dir(follow_symlinks=False):
                if depth < 8:
                    self._walk(found, name, depth + 1)
            elif (raw := self._loose(name)) is not None:
                value = self._value(raw)
                if value is None:
                    found.refs.pop(name, None)
                    found.broken.append(name)
                else:
                    self._take(found, name, value)

    def _take(self, found: _Found, name: str, oid: str) -> None:
        if is_name(name):
            found.refs[name] = oid
        else:
            found.odd.append(name)
        if len(found.refs) + len(found.odd) > MOST_NAMES:
            raise ShowError(f"{self.git_dir} holds more than {MOST_NAMES:,} names: refused", "no show has so many")

    def _value(self, raw: bytes) -> str | None:
        if on := _LEADS_ON.fullmatch(raw):
            raw = self._loose(on[1].decode("utf-8", "surrogateescape")) or b""
        found = _OID.fullmatch(raw.strip())
        return found[0].decode() if found else None

    def _loose(self, name: str) -> bytes | None:
        return _bytes(self.git_dir / name, 512)

    def _packed(self) -> dict[str, str]:
        raw = _bytes(self.git_dir / "packed-refs", _MOST_PACKED) or b""
        found = {}
        for line in raw.split(b"\n"):
            oid, _, name = line.partition(b" ")
            if _OID.fullmatch(oid) and name:
                found[name.decode("utf-8", "surrogateescape")] = oid.decode()
        return found

    @staticmethod
    def is_line(line: bytes) -> bool:
        """Whether this is a whole line of the list of packed names, with its end."""
        head, _, name = line.removesuffix(b"\n").partition(b" ")
        named = bool(_OID.fullmatch(head)) and name.startswith(b"refs/")
        return line.endswith(b"\n") and (line.startswith(b"#") or named or bool(_OID.fullmatch(head[1:]) and not name))

    # --- moving ---

    def change(self, changes: Mapping[str, str | None], was: Mapping[str, str | None] | None = None) -> None:
        """Moves or takes away names, all of them or, where one is not what it `was`, none: Moved.

        GitFailed where they cannot be written.
        """
        for name in changes:
            if not is_name(name):
                raise GitFailed("update-ref", f"bad ref name: {name!a}")
        try:
            self._change(changes, was or {})
        except OSError as error:
            raise GitFailed(
                "update-ref", f"{error.filename}: {error.strerror}", Path(error.filename or ".").parent
            ) from None

    def _change(self, changes: Mapping[str, str | None], was: Mapping[str, str | None]) -> None:
        shared = bool((self.git_dir / "objects").stat().st_mode & stat.S_IWGRP)
        held: dict[str, Path] = {}
        try:
            gone: set[str] = set()
            if None in changes.values():  # else another program may pack a name while it is taken away
                held["packed-refs"] = self._lock("packed-refs", None, shared)
                packed = self._packed()
                gone = {name for name, oid in changes.items() if oid is None and name in packed}
            for name, oid in sorted(changes.items()):
                held[name] = self._lock(name, oid, shared)
            for name, oid in was.items():
                if self.get(name) != oid:
                    raise Moved(name)
            if gone:
                self._forget(held["packed-refs"], gone)
                del held["packed-refs"]
            self._move(changes, held, shared)
        finally:
            for lock in held.values():
                lock.unlink(missing_ok=True)

    def _move(self, changes: Mapping[str, str | None], held: dict[str, Path], shared: bool) -> None:
        """Moves names under their locks. Where one fails, those before it are put back.

        The drafts come last: what cannot even be put back then is a mark or a table, and no draft has moved.
        """
        moved: list[tuple[str, str | None]] = []
        try:
            for name, oid in sorted(changes.items(), key=lambda pair: pair[0].startswith("refs/heads/")):
                before = self.get(name)
                if oid is None:
                    (self.git_dir / name).unlink(missing_ok=True)
                else:
                    _put(held[name], self.git_dir / name)
                    del held[name]
                moved.append((name, before))
        except OSError:
            for name, before in reversed(moved):
                with suppress(OSError):
                    self._put_back(name, before, held, shared)
            raise

    def _put_back(self, name: str, oid: str | None, held: dict[str, Path], shared: bool) -> None:
        if oid is None:
            (self.git_dir / name).unlink(missing_ok=True)
        else:
            if name in held:
                held.pop(name).unlink(missing_ok=True)
            _put(self._lock(name, oid, shared), self.git_dir / name)

    def _lock(self, name: str, oid: str | None, shared: bool) -> Path:
        """Takes git's own lock of a name, with what it shall be in it."""
        target = self.git_dir / name
        lock = target.with_name(f"{target.name}.lock")
        _folder(target.parent, shared)
        while True:
            try:
                handle = os.open(lock, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
                break
            except FileExistsError:
                self._wait(lock, name)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(f"{oid}\n".encode() if oid else b"")
                stream.flush()
                os.fsync(stream.fileno())
            if shared:
                lock.chmod(0o664)
        except BaseException:
            lock.unlink(missing_ok=True)
            raise
        return lock

    def _wait(self, lock: Path, name: str) -> None:
        if self.patience <= 0:
            raise Moved(name)
        with suppress(FileNotFoundError):
            age = time.time() - lock.lstat().st_mtime
            if age >= self.patience or age < -self.patience:
                lock.unlink(missing_ok=True)
                return
        time.sleep(0.05)

    def _forget(self, lock: Path, gone: set[str]) -> None:
        """Writes the list of packed names without these, each with the line that says what it leads to at last."""
        raw = _bytes(self.git_dir / "packed-refs", _MOST_PACKED) or b""
        kept, leave = [], False
        for line in raw.split(b"\n"):
            if not line.startswith(b"^"):
                leave = line.partition(b" ")[2].decode("utf-8", "surrogateescape") in gone
            if not leave:
                kept.append(line)
        with lock.open("wb") as stream:
            stream.write(b"\n".join(kept))
            stream.flush()
            os.fsync(stream.fileno())
        lock.replace(self.git_dir / "packed-refs")


def _bytes(path: Path, most: int) -> bytes | None:
    """What a plain file of a sane size holds; None for any other and for none."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError as error:
        if error.errno in (errno.ENOENT, errno.ENOTDIR, errno.ELOOP, errno.EISDIR):
            return None
        raise
    found = os.fstat(handle)
    if not stat.S_ISREG(found.st_mode):
        os.close(handle)
        return None
    with os.fdopen(handle, "rb") as stream:
        if found.st_size > most:
            raise ShowError(f"{path} is {found.st_size:,} bytes long: refused", "no show has so much there")
        return stream.read(most)


def _folder(place: Path, shared: bool) -> None:
    """Makes a folder and those above it, which a group may write too where it is shared."""
    for each in reversed([place, *place.parents]):
        if not each.is_dir():
            each.mkdir(exist_ok=True)
            if shared:
                each.chmod(each.stat().st_mode | 0o2070)


def _put(lock: Path, target: Path) -> None:
    try:
        lock.replace(target)
    except OSError:
        for each in sorted(_empty(target), reverse=True):  # a folder of names that are gone
            each.rmdir()
        lock.replace(target)


def _empty(folder: Path) -> Iterator[Path]:
    if folder.is_dir() and not folder.is_symlink():
        yield folder
        for each in folder.iterdir():
            yield from _empty(each)
