"""Repositories of our own making: the only ones that git is ever pointed at."""

from __future__ import annotations

import atexit
import os
import re
import shutil
import tempfile
import time
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path

from showvc.document import MachineError

_SETTINGS = f"""\
[core]
\trepositoryFormatVersion = 0
\tbare = true
\tfileMode = false
\thooksPath = {os.devnull}
\tattributesFile = {os.devnull}
\texcludesFile = {os.devnull}
\tfsmonitor = false
\talternateRefsCommand = true
\tquotePath = false
\tautocrlf = false
\tsafecrlf = false
\tsplitIndex = false
\tuntrackedCache = false
\tcommitGraph = false
\tmultiPackIndex = false
\tbigFileThreshold = 16m
\tfsync = committed,loose-object
\tlogAllRefUpdates = false
[gc]
\tauto = 0
[maintenance]
\tauto = false
[pack]
\tuseBitmapIndexes = false
[repack]
\twriteBitmaps = false
\tupdateServerInfo = false
[transfer]
\tfsckObjects = true
[receive]
\tautogc = false
\tupdateServerInfo = false
[log]
\tshowSignature = false
[submodule]
\trecurse = false
[safe]
\tdirectory = *
"""
ATTRIBUTES = "* -text -filter -ident -diff -merge -working-tree-encoding -eol\n"
_FAN = re.compile(r"[0-9a-f]{2}")
OF_A_SHOW = "[core]\n\trepositoryformatversion = 0\n\tfilemode = false\n\tbare = false\n\tlogallrefupdates = true\n"
_OF_A_HUB = "[core]\n\trepositoryformatversion = 0\n\tfilemode = false\n\tbare = true\n"
_SHARED = "\tsharedRepository = group\n[receive]\n\tdenyNonFastForwards = true\n"


def make(place: Path, names: Mapping[str, str] | None = None) -> Path:
    """A bare repository with these names and our configuration, for git to work in."""
    for folder in ("objects/info", "objects/pack", "refs/heads", "info"):
        (place / folder).mkdir(parents=True, exist_ok=True)
    (place / "config").write_text(_SETTINGS, encoding="utf-8")
    (place / "info" / "attributes").write_text(ATTRIBUTES, encoding="utf-8")
    listed = sorted((name.encode("utf-8", "surrogateescape"), oid) for name, oid in (names or {}).items())
    packed = b"".join(oid.encode() + b" " + name + b"\n" for name, oid in listed)
    (place / "packed-refs").write_bytes(b"# pack-refs with: sorted \n" + packed)
    (place / "HEAD").write_text("ref: refs/heads/nowhere\n", encoding="utf-8")
    return place


def borrow(place: Path, *lenders: Path) -> None:
    """Lets a repository of ours see the objects of ours that lie there: what these borrow is seen too."""
    info = place / "objects" / "info"
    info.mkdir(parents=True, exist_ok=True)
    (info / "alternates").write_text("".join(f"{each.resolve()}\n" for each in lenders), encoding="utf-8")


def lent(place: Path, objects: Path) -> Path:
    """A folder of objects that holds what a stranger's folder of objects does, and nothing else that is there.

    Of that folder only the files of objects and packs are met; where it says that it borrows from elsewhere (in
    whatever spelling), nobody looks.
    """
    place.mkdir()
    for entry in sorted(os.scandir(objects), key=lambda entry: entry.name):
        if (_FAN.fullmatch(entry.name) or entry.name == "pack") and entry.is_dir(follow_symlinks=False):
            _link(Path(entry.path).resolve(), place / entry.name)
    return place


def _link(source: Path, target: Path) -> None:
    try:
        target.symlink_to(source, target_is_directory=True)
    except OSError:  # no links for us on this machine
        shutil.copytree(source, target)


# --- what a show folder and a hub begin as ---


def make_show(git_dir: Path) -> None:
    """The history of a show folder, empty, as any git client reads it. What stands there already stays."""
    _begin(git_dir, OF_A_SHOW)


def make_hub(folder: Path, shared: bool) -> None:
    """An empty hub; `shared` where a group may write it. The HEAD comes last: without it, it is none yet."""
    _begin(folder, _OF_A_HUB + (_SHARED if shared else ""))
    if shared:
        for path in [folder, *folder.rglob("*")]:
            path.chmod(path.stat().st_mode | (0o2070 if path.is_dir() else 0o060))


def _begin(place: Path, settings: str) -> None:
    for folder in ("objects/info", "objects/pack", "refs/heads", "refs/tags"):
        (place / folder).mkdir(parents=True, exist_ok=True)
    for name, text in (("config", settings), ("HEAD", "ref: refs/heads/main\n")):
        if not os.path.lexists(place / name):
            with (place / name).open("x", encoding="utf-8") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())


# --- the one that every show folder is looked at through ---

_FRONT = "showvc-git-"
_DAY = 86_400.0


def front() -> Path:
    """The repository through which git sees show folders: empty, and gone when the program ends."""
    made = _front(os.getpid())
    if not (made / "HEAD").is_file():  # somebody tidied up the machine's temporary things
        _front.cache_clear()
        made = _front(os.getpid())
    return made


@cache
def _front(_: int) -> Path:
    made = make(temporary(_FRONT))
    for left in made.parent.glob(f"{_FRONT}*"):  # of programs that were killed
        with suppress(OSError):
            if time.time() - left.lstat().st_mtime > _DAY:
                shutil.rmtree(left, ignore_errors=True)
    return made


def temporary(prefix: str) -> Path:
    """A folder of this user's alone that goes when the program ends. MachineError for no room."""
    try:
        made = Path(tempfile.mkdtemp(prefix=prefix))
    except OSError as error:
        words = f"nothing can be written for the moment in {_temporary_place()}: {error.strerror}"
        raise MachineError(words, "make room there, or name another place: TMPDIR=DIR showvc …") from None
    atexit.register(_taken_away, made, os.getpid())
    return made


def _temporary_place() -> str:
    with suppress(OSError):
        return tempfile.gettempdir()
    return "the machine's place for temporary things"


def _taken_away(made: Path, maker: int) -> None:
    if os.getpid() == maker:
        shutil.rmtree(made, ignore_errors=True)
