"""The git repository in a show folder, through GitPython: objects in, objects out, nothing executed.

Only plumbing is used. No hook, filter, attribute or helper that a repository brings along is run.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import subprocess
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from showvc.document import MachineError, ShowError
from showvc.formats.atomic import not_written, write_atomically
from showvc.history.damage import failure_words
from showvc.history.locks import alone, let_go

if TYPE_CHECKING:
    from git import Repo

os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")

DRAFTS = "refs/heads/"
MARKS = "refs/tags/"
RELEASES = "refs/releases/"
OPERATIONS = "refs/showvc/operations"
FIRST_DRAFT = "main"

_ON_DRAFT = re.compile(r"ref: refs/heads/(\S+)")
_AT_SNAPSHOT = re.compile(r"[0-9a-f]{40}")
_GIT_TAKES = re.compile(r"ref:\s*refs/\S+|[0-9a-f]{40}([0-9a-f]{24})?")
_NOWHERE = "ref: refs/showvc/nowhere\n"
"""A HEAD that git takes and that is no draft: stands in for one that git does not take."""

# A show folder may have come on a stick with a configuration of its own: what could run a program is off.
_SAFE = {
    "core.hooksPath": os.devnull,
    "core.fsmonitor": "false",
    "core.alternateRefsCommand": "true",
    "core.quotePath": "false",
    "core.autocrlf": "false",
    "core.safecrlf": "false",
    "core.splitIndex": "false",
    "core.commitGraph": "false",
    "gc.auto": "0",
    "maintenance.auto": "false",
    "log.showSignature": "false",
    "submodule.recurse": "false",
}
_ENVIRONMENT = {
    "GIT_ALLOW_PROTOCOL": "file:ssh:https",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_GRAFT_FILE": os.devnull,
    "GIT_SSH_COMMAND": "ssh -oBatchMode=yes",
    "GIT_PAGER": "cat",
    "LC_ALL": "C",
}
_ATTRIBUTES = "* -text -filter -ident -diff -merge -working-tree-encoding -eol\n"


class GitFailed(MachineError):
    """Git ended with an error; `command` is what was asked of it, `stderr` what it said."""

    def __init__(self, command: str, stderr: str) -> None:
        self.command, self.stderr = command, stderr
        super().__init__(*failure_words(stderr))


_TREES_KEPT = 8
"""Lists of files that stay in memory; a command looks at few trees, a walk through the history at very many."""


def _plain_file(path: str, mode: str, oid: str) -> str:
    if mode not in ("100644", "100755"):
        raise ShowError(f"{path} in the history is no plain file", "it is not part of a show; do not load it")
    return oid


@dataclass(frozen=True, slots=True)
class Person:
    """Who made a snapshot."""

    name: str
    email: str


def has_history(folder: Path) -> bool:
    """Whether showvc keeps a history in this folder, whatever became of the files there."""
    return (folder / ".git" / "showvc").is_dir()


@dataclass(frozen=True, slots=True)
class Astray:
    """Another program left the folder on no draft. `commit` is the snapshot that it stands at, if at any.

    `head` is what git's HEAD says.
    """

    why: str
    head: str
    commit: str | None = None

    @property
    def error(self) -> ShowError:
        return ShowError(f"this folder stands on no draft: {self.why}", "go to one with: showvc draft go NAME")


class Archive:
    """A show folder and its history.

    `closed` says why it may only be looked at; `git_dir` is then a stand-in of our own for the folder's.
    """

    def __init__(self, folder: Path, git_dir: Path | None = None, closed: MachineError | None = None) -> None:
        self.folder = folder
        self.git_dir = git_dir or folder / ".git"
        self.own = self.git_dir / "showvc"
        self.closed = closed
        self._files: dict[str, dict[str, str]] = {}
        self.waiting: Callable[[], None] | None = None
        """Says that another showvc is at work in this folder."""
        self.remark: Callable[[str], None] = lambda _: None
        """Tells what somebody should know of who works here, though nobody asked for it."""

    @staticmethod
    def open(folder: Path) -> Archive:
        """The archive of this show folder; one that may not be written is opened for looking. ShowError for none."""
        from showvc.history.closed import stand_in, why_closed

        if not (folder / ".git").is_dir():
            raise ShowError(f"{folder} has no history", "begin one with: showvc start DIR")
        closed = why_closed(folder)
        archive = Archive(folder, stand_in(folder) if closed else None, closed)
        archive.prepare()
        return archive

    def require_open(self) -> None:
        """MachineError where the folder may only be looked at."""
        if self.closed is not None:
            raise self.closed

    @staticmethod
    def create(folder: Path) -> Archive:
        """A new, empty archive in this folder, which is made if need be."""
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise MachineError(f"{folder} cannot be made: {error.strerror}", "choose another folder") from None
        archive = Archive(folder)
        run_git(folder, ["init", "--quiet", f"--initial-branch={FIRST_DRAFT}", "--template=", "."])
        archive.prepare()
        return archive

    def prepare(self) -> None:
        if not self.own.is_dir():
            try:
                self.own.mkdir(parents=True, exist_ok=True)
                (self.git_dir / "info").mkdir(exist_ok=True)
            except OSError as error:
                raise not_written(self.git_dir, error) from None
        attributes = self.git_dir / "info" / "attributes"
        if not attributes.is_file() or attributes.read_text() != _ATTRIBUTES:
            write_atomically(attributes, _ATTRIBUTES)
        if not _GIT_TAKES.fullmatch(self._head):
            self._replace_head()

    def _replace_head(self) -> None:
        """Puts a HEAD that git takes in place of one that no git command gets past; what stood there is kept."""
        with alone(self.own / "lock", "worked in this folder", self.waiting):
            if not _GIT_TAKES.fullmatch(self._head):
                write_atomically(self.own / "HEAD.found", self._head + "\n")
                write_atomically(self.git_dir / "HEAD", _NOWHERE)

    @cached_property
    def repo(self) -> Repo:
        from git import GitCmdObjectDB, Repo
        from git.exc import GitCommandNotFound, InvalidGitRepositoryError

        try:
            repo = Repo(self.git_dir, odbt=GitCmdObjectDB)
        except InvalidGitRepositoryError:
            way_out = "keep a copy of this folder as it is; a sound one comes from the hub: showvc join HUB NEW-DIR"
            raise ShowError(f"the history in {self.git_dir} is damaged", way_out) from None
        except GitCommandNotFound:
            raise _no_git() from None
        repo.git.update_environment(GIT_DIR=str(self.git_dir))
        return repo

    # --- git ---

    def git(self, *arguments: str, data: bytes | None = None, index: Path | None = None) -> str:
        """What a git command prints. GitFailed when it ends with an error."""
        extra = {"GIT_INDEX_FILE": str(index)} if index else {}
        places = [f"--git-dir={self.git_dir}", f"--work-tree={self.folder}"]
        try:
            return run_git(self.folder, [*places, *arguments], data, extra)
        except GitFailed as error:
            if not let_go(error.stderr, self.git_dir):
                raise
        return run_git(self.folder, [*places, *arguments], data, extra)

    # --- objects ---

    def store(self, kind: str, data: bytes) -> str:
        """Writes an object and gives its id."""
        from gitdb import IStream

        try:
            return str(self._loose.store(IStream(kind, len(data), BytesIO(data))).hexsha.decode())
        except OSError as error:
            # gitdb tells a write that took only a part without a number: the disk took no more.
            told = error if error.errno else OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            raise not_written(self.git_dir / "objects", told) from None

    @cached_property
    def _loose(self) -> Any:
        """Writes objects in this process: GitPython's own way starts a program for each."""
        from gitdb import LooseObjectDB

        return LooseObjectDB(str(self.git_dir / "objects"))

    def blob(self, oid: str) -> bytes:
        """The bytes of a blob."""
        found = self._object(oid)
        return bytes(found.read())

    def _object(self, oid: str) -> Any:
        from gitdb.exc import BadName, BadObject

        try:
            return self.repo.odb.stream(bytes.fromhex(oid))
        except (BadObject, BadName, ValueError):
            raise MachineError(f"the history lacks the object {oid[:12]}", "run: showvc verify") from None

    def blobs(self, oids: Iterable[str]) -> Iterator[tuple[str, bytes]]:
        """The bytes of many blobs, in one go."""
        wanted = list(dict.fromkeys(oids))
        if not wanted:
            return
        raw = run_git_bytes(
            self.folder, [f"--git-dir={self.git_dir}", "cat-file", "--batch"], "\n".join(wanted).encode() + b"\n"
        )
        place = 0
        for oid in wanted:
            end = raw.index(b"\n", place)
            header = raw[place:end].split()
            if len(header) != 3:
                raise MachineError(f"the history lacks the object {oid[:12]}", "run: showvc verify")
            size = int(header[2])
            yield oid, raw[end + 1 : end + 1 + size]
            place = end + 1 + size + 1

    def files(self, tree: str) -> dict[str, str]:
        """The files of a tree or snapshot: path → blob id. ShowError for links and modules."""
        if tree not in self._files:
            latest = next(reversed(self._files), None)
            self._files[tree] = self._listed(tree) if latest is None else self._changed(latest, tree)
            if len(self._files) > _TREES_KEPT:
                del self._files[next(iter(self._files))]
        return dict(self._files[tree])

    def _listed(self, tree: str) -> dict[str, str]:
        found: dict[str, str] = {}
        for entry in self.git("ls-tree", "-r", "-z", "--full-tree", tree).split("\0"):
            if entry:
                meta, _, path = entry.partition("\t")
                mode, _, oid = meta.split(" ")
                found[path] = _plain_file(path, mode, oid)
        return found

    def _changed(self, known: str, tree: str) -> dict[str, str]:
        """The files of a tree, from those of another that is listed already: of a large show few differ."""
        found = dict(self._files[known])
        fields = self.git("diff-tree", "-r", "-z", "--raw", "--no-abbrev", "--no-renames", known, tree).split("\0")
        for meta, path in zip(fields[::2], fields[1::2], strict=False):
            _, mode, _, oid, status = meta.split(" ")
            if status == "D":
                del found[path]
            else:
                found[path] = _plain_file(path, mode, oid)
        return found

    def tree_of(self, commit: str) -> str:
        return self.commit(commit).tree

    def write_tree(self, files: Mapping[str, str]) -> str:
        """A tree of these files (path → blob id), at most one folder deep."""
        folders: dict[str, dict[str, str]] = {}
        entries: list[tuple[str, str, str]] = []
        for path, oid in files.items():
            folder, _, name = path.rpartition("/")
            if folder:
                folders.setdefault(folder, {})[name] = oid
            else:
                entries.append(("100644", name, oid))
        for folder, inner in folders.items():
            oid = self._tree_object([("100644", name, blob) for name, blob in inner.items()])
            entries.append(("40000", folder, oid))
        return self._tree_object(entries)

    def _tree_object(self, entries: Sequence[tuple[str, str, str]]) -> str:
        # Git sorts folders as if their name ended with a slash.
        ordered = sorted(entries, key=lambda entry: entry[1] + ("/" if entry[0] == "40000" else ""))
        data = b"".join(f"{mode} {name}".encode() + b"\0" + bytes.fromhex(oid) for mode, name, oid in ordered)
        return self.store("tree", data)

    def folder_tree(self, folders: Mapping[str, str]) -> str:
        """A tree of whole trees: name → tree id."""
        return self._tree_object([("40000", name, oid) for name, oid in folders.items()])

    def commit(self, oid: str) -> Commit:
        return Commit.parse(oid, bytes(self._object(oid).read()))

    def write_commit(self, tree: str, parents: Sequence[str], who: Person, when: datetime, message: str) -> str:
        """A commit object; `when` carries its zone."""
        offset = when.strftime("%z") or "+0000"
        stamp = f"{clean_name(who.name)} <{who.email}> {int(when.timestamp())} {offset[:5]}"
        lines = [f"tree {tree}", *(f"parent {parent}" for parent in parents), f"author {stamp}", f"committer {stamp}"]
        return self.store("commit", ("\n".join(lines) + "\n\n" + message).encode())

    # --- refs ---

    def refs(self) -> dict[str, str]:
        """Drafts, marks and releases: full name → commit id. Annotated marks lead to their commit."""
        wanted = ("refs/heads", "refs/tags", "refs/releases", "refs/hub")
        out = self.git("for-each-ref", "--format=%(refname)%00%(objectname)%00%(*objectname)", *wanted)
        lines = [line.split("\0") for line in out.splitlines()]
        return {name: peeled or oid for name, oid, peeled in lines}

    def ref(self, name: str) -> str | None:
        try:
            return self.git("rev-parse", "--verify", "--quiet", f"{name}^{{commit}}").strip()
        except GitFailed:
            return None

    def change_refs(self, changes: Mapping[str, str | None]) -> None:
        """Moves or takes away refs in one transaction."""
        lines = [f"update {name} {oid}" if oid else f"delete {name}" for name, oid in changes.items()]
        if lines:
            self.git("update-ref", "--no-deref", "--stdin", data=("\n".join(lines) + "\n").encode())

    @property
    def _head(self) -> str:
        try:
            return (self.git_dir / "HEAD").read_bytes().decode("utf-8", "replace").strip()
        except OSError:
            return ""

    @property
    def astray(self) -> Astray | None:
        """Why this folder stands on no draft; None where it stands on one, as it should."""
        head = self._head
        if found := _ON_DRAFT.fullmatch(head):
            # A show in which nothing is recorded has no draft at all, and stands on its first.
            there = self._is_draft(found[1]) or not self._drafts()
            why = f"another program put it on {found[1]!r}, and there is no such draft"
            return None if there else Astray(why, head)
        if _AT_SNAPSHOT.fullmatch(head):
            return Astray(f"another program put it on the snapshot {head[:7]} itself", head, head)
        return Astray("the note of which one it stands on is damaged", head)

    @property
    def draft(self) -> str:
        """The name of the draft that this folder stands on.

        Where another program left it on none: of the draft on which we put it last, else of the first.
        """
        found = _ON_DRAFT.fullmatch(self._head)
        return found[1] if found and self.astray is None else self._home()

    def _home(self) -> str:
        kept = self.own / "draft"
        known = self._drafts()
        wanted = [kept.read_text().strip() if kept.is_file() else "", FIRST_DRAFT, *known]
        return next((name for name in wanted if name in known), FIRST_DRAFT)

    def _drafts(self) -> list[str]:
        return self.git("for-each-ref", "--format=%(refname:lstrip=2)", DRAFTS).splitlines()

    def _is_draft(self, name: str) -> bool:
        return (self.git_dir / DRAFTS / name).is_file() or self.ref(DRAFTS + name) is not None

    def leave_astray(self, astray: Astray) -> None:
        """Puts the folder back to where another program had left it, which a command that failed has not changed."""
        write_atomically(self.git_dir / "HEAD", astray.head + "\n")

    def set_draft(self, name: str) -> None:
        write_atomically(self.git_dir / "HEAD", f"ref: {DRAFTS}{name}\n")
        write_atomically(self.own / "draft", name + "\n")

    @property
    def last(self) -> str | None:
        """The newest snapshot of this draft; None before the first."""
        return self.ref(DRAFTS + self.draft)

    # --- settings ---

    def setting(self, name: str) -> str | None:
        """One of our own settings of this show, `showvc.NAME`."""
        try:
            return self.git("config", "--local", "--get", f"showvc.{name}").strip() or None
        except GitFailed:
            return None

    def set_setting(self, name: str, value: str) -> None:
        self.require_open()
        self.git("config", "--local", f"showvc.{name}", value)

    # --- one at a time ---

    def locked(self, waiting: Callable[[], None] | None = None) -> AbstractContextManager[None]:
        """Two showvc processes on one folder wait for each other; a killed one lets go.

        MachineError where the folder may only be looked at.
        """
        self.require_open()
        return alone(self.own / "lock", "worked in this folder", waiting or self.waiting)


@dataclass(frozen=True, slots=True)
class Commit:
    """A commit as git keeps it."""

    oid: str
    tree: str
    parents: tuple[str, ...]
    who: str
    email: str
    seconds: int
    zone: str
    message: str

    @staticmethod
    def parse(oid: str, data: bytes) -> Commit:
        head, _, message = data.decode("utf-8", "replace").partition("\n\n")
        fields = [line.split(" ", 1) for line in head.split("\n") if not line.startswith(" ")]
        parents = tuple(value for name, value in fields if name == "parent")
        tree = next(value for name, value in fields if name == "tree")
        author = next(value for name, value in fields if name == "author")
        found = re.fullmatch(r"(.*?) ?<(.*)> (-?\d+) ([-+]\d{4})", author)
        who, email, seconds, zone = found.groups() if found else (author, "", "0", "+0000")
        return Commit(oid, tree, parents, who, email, int(seconds), zone, message)


def blob_id(data: bytes) -> str:
    """The id that git gives to a blob of these bytes."""
    return hashlib.sha1(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def clean_name(name: str) -> str:
    """A name as git takes it: one line without angle brackets."""
    return re.sub(r"[<>\x00-\x1f\x7f]+", " ", name).strip() or "nobody"


def run_git(
    folder: Path, arguments: Sequence[str], data: bytes | None = None, extra: Mapping[str, str] | None = None
) -> str:
    return run_git_bytes(folder, arguments, data, extra).decode("utf-8", "replace")


def safe_command(
    arguments: Sequence[str], settings: Mapping[str, str] | None = None, extra: Mapping[str, str] | None = None
) -> tuple[list[str], dict[str, str]]:
    """A git command line with its environment, in which nothing that a repository brings along is run."""
    from git import Git

    pairs = {**_SAFE, **(settings or {})}
    given = [part for name, value in pairs.items() for part in ("-c", f"{name}={value}")]
    return [Git.GIT_PYTHON_GIT_EXECUTABLE or "git", *given, *arguments], {**_ENVIRONMENT, **(extra or {})}


def run_git_bytes(
    folder: Path, arguments: Sequence[str], data: bytes | None = None, extra: Mapping[str, str] | None = None
) -> bytes:
    """What a git command prints, through GitPython, with nothing of the repository's own executed."""
    from git import Git
    from git.exc import GitCommandNotFound

    command, environment = safe_command(arguments, extra=extra or {})
    try:
        process: Any = Git(str(folder)).execute(
            command, istream=subprocess.PIPE if data is not None else None, as_process=True, env=environment
        )
        out, err = process.communicate(data)
    except GitCommandNotFound:
        raise _no_git() from None
    if process.returncode:
        shown = next((part for part in arguments if not part.startswith("-")), "")
        raise GitFailed(shown, err.decode("utf-8", "replace"))
    return bytes(out)


def _no_git() -> MachineError:
    return MachineError("git is not on this machine", "install git, then try again (Debian: apt install git)")
