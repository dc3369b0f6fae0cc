"""What goes over the wire: fetching a hub into a quarantine, and sending to it.

Both run in a fresh repository of our own beside the show's, so that neither the show folder's configuration
nor the hub's has a say. Nothing that was fetched enters the show's history before it was looked at.
"""

from __future__ import annotations

import errno
import os
import re
import shutil
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from showvc.document import MachineError, ShowError
from showvc.history.archive import DRAFTS, MARKS, RELEASES, Archive
from showvc.history.hub_address import Address
from showvc.history.hub_folder import Moved, brought_in, copied_out
from showvc.history.hub_safety import out_of_reach
from showvc.store.calling import GitFailed, Place, start
from showvc.store.damage import quoted
from showvc.store.making import borrow, make

TABLES = "refs/showvc/"
SEEN = "refs/hub/"

# The hub's names, and under which of ours they are kept as last seen.
_KEPT = {DRAFTS: SEEN + "drafts/", MARKS: SEEN + "marks/", RELEASES: SEEN + "releases/", TABLES: SEEN + "tables/"}

MAX_BYTES = 1024 * 1024 * 1024
MAX_SECONDS = 3600
MOST_AT_ONCE = 1000
MAX_SAID = 16 * 1024 * 1024
WATCHING_SECONDS = 0.25
_PREFIX = "exchange-"
_SETTINGS = {
    "fetch.fsckObjects": "true",
    "fetch.writeCommitGraph": "false",
    "http.sslVerify": "true",
    "http.lowSpeedLimit": "1000",
    "http.lowSpeedTime": "30",
    "protocol.version": "2",
    "push.gpgSign": "false",
    "push.followTags": "false",
    "push.recurseSubmodules": "no",
    "push.negotiate": "false",
}


@dataclass(frozen=True, slots=True)
class HubRef:
    """What a name on the hub leads to: `raw` as the hub has it, `commit` the snapshot behind it, if there is one."""

    raw: str
    commit: str | None


HubRefs = Mapping[str, HubRef]
"""The hub's names (drafts, marks, releases, tables) and what they lead to."""


class Faster(Exception):
    """Somebody else sent in the meantime; fetch, merge and send again."""


class HubFailed(MachineError):
    """The hub did not do what was asked; told without the words of the tool underneath."""


# --- the quarantine ---


@contextmanager
def quarantine(archive: Archive, known: bool = True) -> Iterator[Archive]:
    """An empty repository beside the show's, which sees the show's objects and is gone afterwards.

    Without `known` it sees none, and fetches the whole hub. The exchange must be locked.
    """
    for left in archive.own.glob(_PREFIX + "*"):
        shutil.rmtree(left, ignore_errors=True)
    folder = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=archive.own))
    try:
        have = sorted(set(archive.refs().values())) if known else []
        make(folder / ".git", {f"refs/have/{number:06}": oid for number, oid in enumerate(have)})
        apart = Archive(folder, made=True)
        if known:
            lend(archive, apart)
        apart.own.mkdir()
        yield apart
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def lend(archive: Archive, apart: Archive) -> None:
    """Lets the quarantine see the show's objects."""
    borrow(apart.git_dir, archive.git_dir / "objects")


def take_over(apart: Archive, archive: Archive) -> None:
    """Moves what was fetched, and looked at, into the show's own objects."""
    source, target = apart.git_dir / "objects", archive.git_dir / "objects"
    found = [path for path in source.rglob("*") if path.is_file() and path.parent.name != "info"]
    # A pack counts as there once its index is: the index goes last.
    for path in sorted(found, key=lambda path: (path.suffix == ".idx", path.name)):
        if path.suffix in (".keep", ".lock") or path.name.startswith("tmp_"):
            continue
        place = target / path.relative_to(source)
        place.parent.mkdir(exist_ok=True)
        if not place.exists():
            path.replace(place)


def take_over_only(apart: Archive, archive: Archive, refs: HubRefs) -> None:
    """Packs what these names lead to into the show's own objects; what else was fetched stays behind."""
    here = [f"^{oid}" for oid in apart.names.listed("refs/have/").refs.values()]
    wanted = [*sorted({ref.raw for ref in refs.values()}), *here]
    place = archive.git_dir / "objects" / "pack"
    place.mkdir(exist_ok=True)
    listed = ("\n".join(wanted) + "\n").encode()
    apart.git("pack-objects", "--revs", "--quiet", str(place.resolve() / "pack"), data=listed)


# --- fetching ---


def fetch(apart: Archive, address: Address) -> dict[str, HubRef]:
    """Brings everything of the hub into the quarantine and tells its names.

    HubFailed where it is not in reach; ShowError where it holds what is never taken.
    """
    specs = [f"+{theirs}*:{ours}*" for theirs, ours in _KEPT.items()]
    asked = ["fetch", "--no-tags", "--no-write-fetch-head", "--refmap=", "--no-recurse-submodules",
             "--no-auto-maintenance", "--no-show-forced-updates", "--quiet"]  # fmt: skip
    passed: tuple[str, ...] = ()
    where = address.text
    if address.folder is not None:
        where, passed = _copied_out(apart, address)
    code, said = run_watched(apart, [*asked, "--", where, *specs])
    if code and address.folder is not None and not _OURS_IS_FULL.search(said):
        # Somebody may have packed the hub at that moment: what is lost for good is missing again.
        where, passed = _copied_out(apart, address)
        code, said = run_watched(apart, [*asked, "--", where, *specs])
    if code:
        raise _not_fetched(address, said)
    names = apart.names.listed(SEEN)
    passed = (*passed, *(_theirs(name) for name in (*names.odd, *names.broken)))
    return {**seen(apart), **{name: HubRef("", None) for name in passed}}


def _copied_out(apart: Archive, address: Address) -> tuple[str, tuple[str, ...]]:
    assert address.folder is not None, "only a folder is copied out of"
    try:
        place, passed = copied_out(apart, address.folder, tuple(_KEPT))
    except OSError as error:
        raise _unreadable(address, error) from None
    return str(place), passed


def _unreadable(address: Address, error: OSError) -> MachineError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):  # only reading was asked of the hub
        return _full_here()
    return out_of_reach(address.text, f"{error.filename}: {error.strerror}")


def seen(archive: Archive) -> dict[str, HubRef]:
    """The hub's names as this archive last saw them, or sent them."""
    listed = archive.names.listed(SEEN).refs
    kinds = archive.kinds(listed.values())
    return {_theirs(name): HubRef(oid, _commit(*kinds.get(oid, ("", "", "")))) for name, oid in listed.items()}


def _commit(_: str, inner: str, kind: str) -> str | None:
    return inner if kind == "commit" else None


def keep_seen(archive: Archive, refs: Mapping[str, str | None]) -> None:
    """Keeps what these names of the hub lead to now (raw ids; None: no longer there)."""
    known = {name: ref.raw for name, ref in seen(archive).items()}
    archive.change_refs({_ours(name): oid for name, oid in refs.items() if known.get(name) != oid})


def _ours(name: str) -> str:
    prefix = next(prefix for prefix in _KEPT if name.startswith(prefix))
    return _KEPT[prefix] + name.removeprefix(prefix)


def _theirs(name: str) -> str:
    theirs, ours = next(pair for pair in _KEPT.items() if name.startswith(pair[1]))
    return theirs + name.removeprefix(ours)


# --- sending ---


@dataclass(frozen=True, slots=True)
class Sending:
    """One name to be changed on the hub: to `new` (None: taken away), if it still is `old` (None: not there)."""

    name: str
    new: str | None
    old: str | None


def send(apart: Archive, address: Address, sendings: Sequence[Sending]) -> None:
    """Changes these names of the hub, drafts first. Faster where one of them is not what it was.

    All or none, but for more than a thousand at once, which go in parts: a command line holds no more, and git
    looks through all for each of them. What a part sent stays; the next sync sends the rest.
    """
    ordered = sorted(sendings, key=lambda each: not each.name.startswith(DRAFTS))
    for first in range(0, len(ordered), MOST_AT_ONCE):
        _send(apart, address, ordered[first : first + MOST_AT_ONCE])


def _send(apart: Archive, address: Address, sendings: Sequence[Sending]) -> None:
    where, kept = address.text, ""
    if address.folder is not None:
        where, _ = _copied_out(apart, address)
        kept = where
    leases = [f"--force-with-lease={each.name}:{each.old or ''}" for each in sendings]
    specs = [f"{each.new or ''}:{each.name}" for each in sendings]
    asked = ["push", "--atomic", "--porcelain", "--no-verify", "--no-follow-tags", "--no-signed",
             "--recurse-submodules=no", *leases]  # fmt: skip
    code, said = run_watched(apart, [*asked, "--", where, *specs])
    if code:
        raise _not_sent(address, said)
    if address.folder is not None:
        changes, was = {each.name: each.new for each in sendings}, {each.name: each.old for each in sendings}
        try:
            brought_in(Path(kept), address.folder, changes, was)
        except Moved:
            raise Faster from None
        except GitFailed as error:
            raise _away(address, f"remote: {error.stderr}") from None


# --- running ---


_OURS_IS_FULL = re.compile(r"^(?!remote:).*(No space left|[Qq]uota)", re.MULTILINE)
_OWN_SETTINGS = re.compile(r"bad config|unable to (access|read) '[^']*config'|could not parse .*config")


def _full_here() -> MachineError:
    return MachineError("this machine's disk is full, so nothing was exchanged", "make room here, then run showvc sync")


_LOST = re.compile(
    r"stale info|fetch first|non-fast-forward|cannot lock ref|failed to update ref|incorrect old value"
    r"|reference already exists|failed to lock|Unable to create '[^']*\.lock'|atomic transaction failed"
    r"|needs force|already exists"
)
_REFUSED = re.compile(
    r"fsck error|index-pack failed|unpack-objects|hasDot|attempting to allocate|invalid index-pack|bad object"
    r"|did not send all necessary objects|shallow|inflate|corrupt|mismatched algorithms|missing blob|missing tree"
)
_REASONS = (
    (r"No space left|quota", "its disk is full"),
    (r"Read-only file system|insufficient permission|unable to (create|write)|unpacker error", "it cannot be written"),
    (r"Could not resolve host|not known|name resolution", "its server is not found from here"),
    (r"timed out|No route|unreachable|refused|reset by peer|Connection closed|Operation too slow|kex_exchange",
     "the network does not lead there"),
    (r"Host key verification failed", "this machine does not know its server; log in there once by hand with ssh"),
    (r"certificate|SSL", "its server cannot prove who it is (certificate)"),
    (r"Permission denied|Authentication failed|could not read (Username|Password)|error: 40[13]",
     "it does not let you in"),
    (r"does not appear to be a git|not found|error: 404|no such|No such", "there is no hub at this place"),
    (r"hook declined|denying|deny updating|protected", "its server does not take what you send"),
)  # fmt: skip


def _own_failure(address: Address, said: str) -> Exception | None:
    """What went wrong on this machine, for which no hub is to blame."""
    ours = "\n".join(line for line in said.split("\n") if not line.startswith("remote:"))
    if _OURS_IS_FULL.search(ours):
        return _full_here()
    if _OWN_SETTINGS.search(ours):
        told = next(line for line in ours.split("\n") if _OWN_SETTINGS.search(line))
        words = f"git's own configuration on this machine cannot be read (git says: {quoted(told)})"
        return MachineError(words, "put that file right, or rename it, then run showvc sync")
    return None


def _not_sent(address: Address, said: str) -> Exception:
    if own := _own_failure(address, said):
        return own
    return Faster() if _LOST.search(said) else _away(address, said)


def _not_fetched(address: Address, said: str) -> Exception:
    if own := _own_failure(address, said):
        return own
    if "mismatched algorithms" in said:
        return ShowError(
            f"the hub {address.text} has names of another kind (SHA-256), which showvc does not read",
            "make a new hub in an empty folder: showvc hub DIR",
        )
    if not _REFUSED.search(said):
        return _away(address, said)
    # What the server itself says may be anything; only our own git is quoted.
    ours = (line.removeprefix("fatal: ") for line in said.split("\n") if not line.startswith("remote:"))
    first = next((line for line in ours if _REFUSED.search(line)), "it cannot be read whole")
    return ShowError(
        f"the hub {address.text} holds what is damaged or never was part of a show: nothing of it was taken "
        f"(git says: {quoted(first.strip())})",
        "ask who keeps the hub, or make a new one: showvc hub DIR",
    )


def _away(address: Address, said: str) -> Exception:
    """What went wrong, in words that help."""
    for pattern, words in _REASONS:
        if re.search(pattern, said):
            return out_of_reach(address.text, words)
    return out_of_reach(address.text, "it did not answer as a hub does")


_SSH = "ssh -oBatchMode=yes -oConnectTimeout=15 -oServerAliveInterval=15"


def run_watched(apart: Archive, arguments: Sequence[str]) -> tuple[int, str]:
    """The exit code of git in the quarantine, and the end of what it said; ended when it brings too much.

    A server is called as the engineer has set up this machine to (credentials, proxy, ssh); a folder is not.
    """
    where = arguments[arguments.index("--") + 1] if "--" in arguments else ""
    away = not Path(where).is_absolute()
    ssh = {"GIT_SSH_COMMAND": os.environ.get("GIT_SSH_COMMAND", _SSH), "GIT_SSH_VARIANT": "ssh"}
    extra = {"GIT_ALLOW_PROTOCOL": "ssh:https", **ssh} if away else {"GIT_ALLOW_PROTOCOL": "file"}
    given = [part for name, value in _SETTINGS.items() for part in ("-c", f"{name}={value}")]
    place = Place(apart.git_dir, trusting=away)
    streams: dict[str, Any] = {"stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.STDOUT}
    process = start(place, [*given, *arguments], extra, **streams)
    assert process.stdout is not None, "it was asked for"
    said = _Said(process.stdout)
    try:
        _wait(apart, process, said)
    finally:
        _end(process)
        said.join(1)
    return process.returncode, bytes(said.end).decode("utf-8", "replace")


class _Said(threading.Thread):
    """Listens to git. A server can say things without end: only the end is kept, and past a limit nobody listens."""

    def __init__(self, stream: IO[bytes]) -> None:
        super().__init__(daemon=True)
        self.stream, self.end, self.count = stream, bytearray(), 0
        self.start()

    def run(self) -> None:
        with self.stream:
            while self.count <= MAX_SAID and (part := os.read(self.stream.fileno(), 64 * 1024)):
                self.count += len(part)
                self.end = (self.end + part)[-64 * 1024 :]


def _wait(apart: Archive, process: subprocess.Popen[bytes], said: _Said) -> None:
    """Waits for git. ShowError when it brings more than any show has, HubFailed when it takes too long."""
    began = time.monotonic()
    while True:
        try:
            done = process.wait(WATCHING_SECONDS) is not None
        except subprocess.TimeoutExpired:
            done = False
        if _size(apart.git_dir / "objects") > MAX_BYTES or said.count > MAX_SAID:
            raise ShowError(
                "the hub sends more than any show can be: refused",
                "no show is that large; ask who keeps it",
            )
        if done:
            return
        if time.monotonic() - began > MAX_SECONDS:
            raise HubFailed(f"the hub took longer than {MAX_SECONDS // 60} minutes", "try again on a better line")


def _end(process: subprocess.Popen[bytes]) -> None:
    """Ends git, and lets it end what it started, if it is not done."""
    if process.poll() is None:
        process.terminate()
        try:
            process.wait(5)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def _size(folder: Path) -> int:
    size = 0
    for path in folder.rglob("*"):
        try:
            size += path.lstat().st_size
        except OSError:  # a file that git has just moved on
            continue
    return size
