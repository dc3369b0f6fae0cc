"""The one place through which every call of git goes.

Git obeys the repository that it is pointed at: its configuration, its attributes, its hooks, its replacements. So it
is pointed at none but those that `store/making.py` writes, with a configuration that is all ours, and nothing of the
family GIT_* comes in from outside. What somebody else filled is never a repository to it: it lends its objects, which
are files of data, and its names are read by `store/names.py`.
"""

from __future__ import annotations

import errno
import os
import shutil
import subprocess
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import IO, Any

from showvc.document import MachineError, ShowError
from showvc.formats.atomic import full_disk
from showvc.store.damage import FULL, failure_words

os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")

MOST_BYTES = 128 * 1024 * 1024
"""More than git prints of any show: the names of all files of a season are some 5 MB."""
_CHUNK = 256 * 1024

_ENVIRONMENT = {
    "GIT_CONFIG_NOSYSTEM": "1",
    "GIT_CONFIG_SYSTEM": os.devnull,
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_ATTR_NOSYSTEM": "1",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_GRAFT_FILE": os.devnull,
    "GIT_ALLOW_PROTOCOL": "",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_ASKPASS": "true",
    "SSH_ASKPASS": "true",
    "GIT_PAGER": "cat",
    "GIT_EDITOR": "true",
    "GIT_ALLOC_LIMIT": "512m",
    "LC_ALL": "C",
}
_OF_THE_ENGINEER = (
    "GIT_CONFIG_GLOBAL",
    "GIT_CONFIG_SYSTEM",
    "GIT_CONFIG_NOSYSTEM",
    "GIT_SSL_CAINFO",
    "GIT_SSL_CAPATH",
)
"""Where the engineer's own configuration is, and whose certificates he believes."""


class GitFailed(MachineError):
    """Git ended with an error; `command` is what was asked of it, `stderr` what it said."""

    def __init__(self, command: str, stderr: str, *places: Path | None) -> None:
        self.command, self.stderr = command, stderr
        words, way_out = failure_words(stderr)
        if words == FULL and (disk := full_disk(*places)):
            words = f"{disk} is full"
        super().__init__(words, way_out)


@dataclass(frozen=True, slots=True)
class Place:
    """Where git works: in a repository of our own making, with objects from elsewhere, on files in a folder.

    With `trusting`, the engineer's own configuration of git is heeded: his credentials and proxies, and his name.
    """

    repository: Path
    objects: Path | None = None
    folder: Path | None = None
    index: Path | None = None
    trusting: bool = False


def environment(place: Place, extra: Mapping[str, str] | None = None) -> dict[str, str]:
    """The environment of a call: of the family GIT_* only what is written here."""
    given = {name: value for name, value in os.environ.items() if not name.upper().startswith("GIT_")}
    found = {**given, **_ENVIRONMENT, "GIT_DIR": str(place.repository)}
    if place.trusting:
        found = {name: value for name, value in found.items() if name not in _OF_THE_ENGINEER}
        found |= {name: os.environ[name] for name in _OF_THE_ENGINEER if name in os.environ}
    if place.objects is not None:
        found["GIT_OBJECT_DIRECTORY"] = str(place.objects)
    if place.index is not None:
        found["GIT_INDEX_FILE"] = str(place.index)
    if place.folder is not None:
        found["GIT_WORK_TREE"] = str(place.folder)
    return {**found, **(extra or {})}


def start(
    place: Place, arguments: Sequence[str], extra: Mapping[str, str] | None = None, **streams: Any
) -> subprocess.Popen[bytes]:
    """Starts git. MachineError where there is none, or the machine starts no more."""
    program = git_program()
    where = place.folder or place.repository
    try:
        return subprocess.Popen([program, *arguments], cwd=where, env=environment(place, extra), **streams)
    except FileNotFoundError:
        gone = where if not where.is_dir() else Path(program)
        raise MachineError(f"{gone} is not there any more", "see what became of it, then try again") from None
    except OSError as error:
        raise MachineError(f"git cannot be started: {error.strerror}", way_out(error)) from None


def way_out(error: OSError) -> str:
    """What helps where the machine did not let us do something."""
    if error.errno in (errno.EMFILE, errno.ENFILE):
        return "let a program have more open files (ulimit -n 256), then try again"
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "make room on the disk, then try again"
    if error.errno in (errno.EAGAIN, errno.ENOMEM):
        return "close other programs, then try again"
    return "check the permissions"


def git_program() -> str:
    """Where git is on this machine. MachineError where it is not."""
    found = _found(os.environ.get("PATH", os.defpath))
    if found is None:
        raise MachineError("git is not on this machine", "install git, then try again (Debian: apt install git)")
    return found


@cache
def _found(path: str) -> str | None:
    return shutil.which("git", path=path)


def run_git(
    place: Place, arguments: Sequence[str], data: bytes | None = None, extra: Mapping[str, str] | None = None
) -> str:
    """What a git command prints, as text: bytes that are none of UTF-8 are replaced."""
    return run_git_bytes(place, arguments, data, extra).decode("utf-8", "replace")


def run_git_bytes(
    place: Place, arguments: Sequence[str], data: bytes | None = None, extra: Mapping[str, str] | None = None
) -> bytes:
    """What a git command prints. GitFailed when it ends with an error, ShowError when it prints without measure."""
    code, out, err = outcome(place, arguments, data, extra)
    if code:
        command = next((part for part in arguments if not part.startswith("-")), "")
        raise GitFailed(command, err, place.objects, place.repository)
    return out


def outcome(
    place: Place, arguments: Sequence[str], data: bytes | None = None, extra: Mapping[str, str] | None = None
) -> tuple[int, bytes, str]:
    """The exit code of a git command, what it printed, and what it said of errors."""
    source = subprocess.PIPE if data is not None else subprocess.DEVNULL
    process = start(place, arguments, extra, stdin=source, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    try:
        said: list[bytes] = []
        helpers = [threading.Thread(target=_listen, args=(process.stderr, said), daemon=True)]
        if data is not None:
            helpers.append(threading.Thread(target=_feed, args=(process.stdin, data), daemon=True))
        for each in helpers:
            each.start()
        out = _read(process.stdout)
        for each in helpers:
            each.join()
        return process.wait(), out, b"".join(said)[-_CHUNK:].decode("utf-8", "replace")
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
        for stream in (process.stdin, process.stdout, process.stderr):
            if stream is not None and (stream is not process.stdin):
                stream.close()


def _read(stream: IO[bytes] | None) -> bytes:
    parts: list[bytes] = []
    size = 0
    while stream is not None and (part := stream.read1(_CHUNK)):  # type: ignore[attr-defined]
        parts.append(part)
        size += len(part)
        if size > MOST_BYTES:
            raise too_much()
    return b"".join(parts)


def too_much() -> ShowError:
    """That the history holds more than any show has."""
    return ShowError(
        "the history holds a snapshot with more files than any show has: not read",
        "it was made to fill the memory; use a history from elsewhere: showvc join HUB NEW-DIR",
    )


def _listen(stream: IO[bytes], said: list[bytes]) -> None:
    size = 0
    while part := stream.read1(_CHUNK):  # type: ignore[attr-defined]
        size += len(part)
        if size <= 64 * _CHUNK:
            said.append(part)


def _feed(stream: IO[bytes], data: bytes) -> None:
    try:
        with stream:
            stream.write(data)
    except OSError:  # it ended before it had read all; what it said tells why
        return


@contextmanager
def _surroundings() -> Iterator[None]:
    """Makes the environment of our process the one that git gets, for a moment."""
    known = dict(os.environ)
    wanted = environment(Place(Path(os.devnull)))
    try:
        os.environ.clear()
        os.environ.update(wanted)
        yield
    finally:
        os.environ.clear()
        os.environ.update(known)


def reader(place: Place) -> Any:
    """GitPython's reader of objects (`stream`), whose git is called from here too."""
    with _surroundings():  # when it is imported, it asks git for its version
        from git import Git, GitCmdObjectDB

    class Called(Git):
        def execute(self, command: Any, **_: Any) -> Any:  # type: ignore[override]
            streams: dict[str, Any] = {
                "stdin": subprocess.PIPE,
                "stdout": subprocess.PIPE,
                "stderr": subprocess.DEVNULL,
            }
            return Git.AutoInterrupt(start(place, list(command)[1:], **streams), command)

    return GitCmdObjectDB(str(place.objects or place.repository / "objects"), Called(str(place.repository)))
