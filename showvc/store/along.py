"""What a git folder brings along that we would not write: refused where it leads elsewhere, else said."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path

from showvc.document import ShowError
from showvc.document.lining import printable

_FOLDERS = ("", "refs", "objects", "objects/info", "objects/pack", "showvc", "info")
_FILES = ("HEAD", "config", "packed-refs", "index", "info/attributes")
_ELSEWHERE = ("objects/info/alternates", "objects/info/http-alternates")
_ODD = {
    "commondir": "a second git folder is named there",
    "config.worktree": "settings in a second place",
    "info/grafts": "another history is pretended there",
    "shallow": "the history is said to be cut off there",
    "refs/replace": "other contents are pretended there",
}
FILES_OF_OURS = frozenset({"applied", "draft", "exchange.lock", "hub.json", "index", "lock", "HEAD.found"})
"""Files in `.git/showvc`."""
_SECTION = re.compile(r'\[\s*([A-Za-z0-9.-]+)\s*(?:"((?:[^"\\]|\\.)*)")?\s*\]\s*(.*)')
_KEY = re.compile(r"([A-Za-z][A-Za-z0-9-]*)\s*(?:=\s*(.*))?")
_SETTINGS = frozenset(
    {
        "core.bare", "core.filemode", "core.ignorecase", "core.logallrefupdates", "core.precomposeunicode",
        "core.repositoryformatversion", "core.symlinks", "extensions.objectformat", "gc.auto",
        "user.name", "user.email",
    }
)  # fmt: skip
"""What git itself writes into a fresh folder, and names of people; beside these our own, `showvc.*`."""
_MOST = 256 * 1024
_COPY = "copy the files of the show into a new folder, and begin there: showvc start DIR; or join the hub again"


def refuse_elsewhere(git_dir: Path) -> None:
    """ShowError where a git folder takes its content from elsewhere, or is of a kind that we don't read.

    Looked up by the names that would be opened: the file system itself says which spellings are one.
    """
    for name in _FOLDERS:
        _refuse_odd(git_dir / name, stat.S_IFDIR)
    for name in _FILES:
        _refuse_odd(git_dir / name, stat.S_IFREG)
    for name in _ELSEWHERE:
        if (found := _found(git_dir / name)) and (found.st_size or not stat.S_ISREG(found.st_mode)):
            raise ShowError(f"{git_dir / name} takes the history from another folder: refused", _COPY)
    for folder in ("objects", "objects/pack"):
        for entry in os.scandir(git_dir / folder) if (git_dir / folder).is_dir() else ():
            if entry.is_symlink():
                raise ShowError(f"{entry.path} is a link to elsewhere: refused", _COPY)
    if dict(settings(git_dir / "config")).get("extensions.objectformat", "sha1").lower() != "sha1":
        raise ShowError(
            f"the history in {git_dir} has names of another kind (SHA-256), which showvc does not read",
            "begin a show in a new folder: showvc start DIR",
        )


def refuse_links(own: Path) -> None:
    """ShowError where what we write into is no plain file."""
    for entry in os.scandir(own) if own.is_dir() else ():
        if entry.is_symlink() or not entry.is_dir() or entry.name in FILES_OF_OURS:
            _refuse_odd(Path(entry.path), stat.S_IFREG)


def _refuse_odd(place: Path, kind: int) -> None:
    """ShowError for a link, for a pipe, at which a reader waits for ever, and for a folder in place of a file."""
    found = _found(place)
    if found is None or stat.S_IFMT(found.st_mode) == kind:
        return
    if stat.S_ISLNK(found.st_mode):
        raise ShowError(f"{place} is a link to elsewhere: refused", _COPY)
    wanted = "no plain file" if kind == stat.S_IFREG else "no folder"
    raise ShowError(f"{place} is {wanted}: refused", "move it out of the way, then: showvc verify --mend")


def _found(place: Path) -> os.stat_result | None:
    try:
        return place.lstat()
    except OSError:
        return None


def brought_along(git_dir: Path) -> tuple[str, ...]:
    """What is odd about a git folder though harmless, each in a sentence."""
    told = [f"{git_dir / name} is not heeded: {why}." for name, why in _ODD.items() if _something(git_dir / name)]
    odd = sorted({name for name, _ in settings(git_dir / "config") if not _ours(name)})
    if odd:
        more = f" and {len(odd) - 6} more" if len(odd) > 6 else ""
        told.append(f"Settings in {git_dir / 'config'} that showvc does not heed: {', '.join(odd[:6])}{more}.")
    hooks = git_dir / "hooks"
    if hooks.is_dir() and (found := sorted(each.name for each in hooks.iterdir() if each.suffix != ".sample")):
        told.append(f"Programs in {hooks} that are never run: {', '.join(map(printable, found[:6]))}.")
    return tuple(printable(each) for each in told)


def _something(place: Path) -> bool:
    return any(place.iterdir()) if place.is_dir() else place.exists()


def _ours(name: str) -> bool:
    return name in _SETTINGS or name.startswith("showvc.")


def settings(config: Path) -> Iterator[tuple[str, str]]:
    """The settings in a file as git writes it: name and value. What cannot be read so is named by its line."""
    try:
        with config.open("rb") as stream:
            lines = stream.read(_MOST).decode("utf-8", "replace").replace("\\\n", "").split("\n")
    except OSError:
        return
    section = ""
    for number, line in enumerate(lines, 1):
        rest = line.strip().removeprefix("\ufeff").strip()
        while found := _SECTION.match(rest):
            section = ".".join(part for part in (found[1].lower(), found[2]) if part)
            rest = found[3].strip()
        if not rest or rest.startswith(("#", ";")):
            continue
        key = _KEY.fullmatch(rest)
        if key and section:
            yield f"{section}.{key[1].lower()}", re.sub(r"\s+[#;].*$", "", key[2] or "true").strip().strip('"')
        else:
            yield f"line {number}", rest
