"""A hub in a folder is somebody else's: what is looked at before anything is copied out of it."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

from showvc.document import MachineError, Problem, ShowError
from showvc.history.packing import pack_folder
from showvc.store.calling import GitFailed, Place, run_git
from showvc.store.making import front

_SETTINGS = frozenset(
    {
        "core.bare", "core.compression", "core.filemode", "core.ignorecase", "core.logallrefupdates",
        "core.precomposeunicode", "core.repositoryformatversion", "core.sharedrepository", "core.symlinks",
        "extensions.objectformat", "gc.auto", "receive.autogc", "receive.denydeletes",
        "receive.denynonfastforwards", "receive.fsckobjects", "transfer.fsckobjects",
    }
)  # fmt: skip
"""Settings that can neither start a program nor lead to another place."""

_ELSEWHERE = {
    ".git": "is a second repository in the hub",
    "objects/info/alternates": "takes its content from another folder",
    "objects/info/http-alternates": "takes its content from another place",
    "commondir": "leads to another folder",
    "gitdir": "leads to another folder",
    "config.worktree": "holds settings in a second place",
    "shallow": "holds only the end of its history",
    "info/grafts": "pretends another history",
}
_MOST_FILES = 2_000_000
_MOST_BYTES = {"config": 64 * 1024, "head": 1024, "packed-refs": 16 * 1024 * 1024}
_REMADE = "do not use it; make a new one in an empty folder with: showvc hub DIR"


def is_hub(folder: Path) -> bool:
    """Whether this folder looks like a hub."""
    return (folder / "HEAD").is_file() and (folder / "objects").is_dir() and (folder / "config").is_file()


def pack_hub(folder: Path | None) -> None:
    """Packs the small objects of a hub in a folder where there are too many. A server sees to its own."""
    if folder is not None:
        with suppress(MachineError, ShowError, OSError):
            pack_folder(folder, strange=True)


def inspect_folder(folder: Path) -> tuple[str, ...]:
    """What is odd about a hub in a folder, though harmless. ShowError, with every reason, where it is not used.

    MachineError where the folder is not in reach.
    """
    _reach(folder)
    if not is_hub(folder):
        raise ShowError([_not_a_hub(folder)])
    problems: list[Problem] = []
    for number, (path, found) in enumerate(_walk(folder, folder)):
        wrong = _wrong(path, found)
        if wrong or number > _MOST_FILES:
            wrong = wrong or f"has more than {_MOST_FILES:,} files beside it"
            problems.append(Problem(f"the hub's {path} {wrong}: refused", str(folder), way_out=_REMADE))
        if len(problems) >= 10 or number > _MOST_FILES:
            break
    problems += [] if problems else _settings(folder)
    if problems:
        raise ShowError(problems)
    return tuple(_programs(folder))


def _reach(folder: Path) -> None:
    try:
        os.scandir(folder).close()
    except FileNotFoundError:
        raise out_of_reach(str(folder), "the folder is not there") from None
    except NotADirectoryError:
        raise ShowError([Problem("is a file, not a hub", str(folder), way_out="name a folder")]) from None
    except OSError as error:
        raise out_of_reach(str(folder), str(error.strerror)) from None


class OutOfReach(MachineError):
    """The hub is away."""


def out_of_reach(where: str, why: str) -> OutOfReach:
    """The hub is away. That is a normal state, and is told like one."""
    way_out = "all else works without it, and nothing is lost; go on, and run showvc sync when it is there again"
    return OutOfReach(f"the hub {where} is not in reach: {why}", way_out)


def _not_a_hub(folder: Path) -> Problem:
    if (folder / ".git").exists():
        way_out = f"it is a show folder; make a hub from it: showvc hub DIR --show {folder}, then sync and join that"
        return Problem("is no hub", str(folder), way_out=way_out)
    return Problem("is no hub", str(folder), way_out="name a hub, or an empty folder to make one in")


def _walk(top: Path, folder: Path) -> Iterator[tuple[str, os.stat_result]]:
    """Every file and folder of the hub. What goes while somebody else is sending is passed over."""
    try:
        entries = list(os.scandir(folder))
    except FileNotFoundError:
        return
    for entry in entries:
        try:
            found = entry.stat(follow_symlinks=False)
        except FileNotFoundError:
            continue
        path = Path(entry.path)
        yield path.relative_to(top).as_posix(), found
        if stat.S_ISDIR(found.st_mode):
            yield from _walk(top, path)


def _wrong(path: str, found: os.stat_result) -> str | None:
    if stat.S_ISLNK(found.st_mode):
        return "is a link to elsewhere"
    if not (stat.S_ISDIR(found.st_mode) or stat.S_ISREG(found.st_mode)):
        return "is no plain file"
    known = path.casefold()  # on most sticks and shares capitals make no other name
    if known in _ELSEWHERE and (known != "objects/info/alternates" or found.st_size):
        return _ELSEWHERE[known]
    if found.st_size > _MOST_BYTES.get(known, found.st_size):
        return f"is {found.st_size:,} bytes long"
    return None


def _settings(folder: Path) -> list[Problem]:
    """The hub's settings against the list of those that can do no harm."""
    try:
        listed = run_git(
            Place(front()), ["config", "--file", str(folder / "config"), "--no-includes", "--list", "--null"]
        )
    except GitFailed:
        return [Problem("the hub's settings cannot be read: refused", str(folder / "config"), way_out=_REMADE)]
    pairs = dict(entry.partition("\n")[::2] for entry in listed.split("\0") if entry)
    if pairs.get("extensions.objectformat", "sha1").lower() != "sha1":
        way_out = "make a new hub in an empty folder: showvc hub DIR"
        return [
            Problem("has names of another kind (SHA-256), which showvc does not read", str(folder), way_out=way_out)
        ]
    odd = [name for name in pairs if name not in _SETTINGS]
    problems = [
        Problem(
            f"the hub's setting {name} could start a program or lead elsewhere: refused",
            str(folder / "config"),
            way_out="take the setting out of this file if you know who put it there, or make a new hub",
        )
        for name in odd
    ]
    if pairs.get("core.bare") != "true":
        problems.append(Problem("is no hub: somebody works in it", str(folder), way_out=_REMADE))
    return problems


def _programs(folder: Path) -> Iterator[str]:
    """Programs that lie in the hub; they are never run."""
    hooks = folder / "hooks"
    if hooks.is_dir():
        for path in sorted(hooks.iterdir()):
            if path.suffix != ".sample":
                yield f"the hub holds a program, hooks/{path.name}: it is not run"
