"""The history in a show folder: objects in, objects out, names moved, nothing executed."""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import Any

from showvc.document import MachineError, ShowError
from showvc.formats.atomic import not_written, write_atomically
from showvc.history.locks import alone, let_go
from showvc.history.spoiled import spoiled_file, spoiled_name
from showvc.store.along import brought_along, refuse_elsewhere, refuse_links
from showvc.store.calling import GitFailed, Place, reader, run_git, run_git_bytes, way_out
from showvc.store.commits import Commit, as_named, clean_name
from showvc.store.making import ATTRIBUTES, front, make_show
from showvc.store.names import Moved, Names, is_name
from showvc.store.trees import Differences, Reading

DRAFTS = "refs/heads/"
MARKS = "refs/tags/"
RELEASES = "refs/releases/"
HUB = "refs/hub/"
OPERATIONS = "refs/showvc/operations"
FIRST_DRAFT = "main"

_ON_DRAFT = re.compile(r"ref: refs/heads/(\S+)")
_AT_SNAPSHOT = re.compile(r"[0-9a-f]{40}")
_GIT_TAKES = re.compile(r"ref:\s*refs/\S+|[0-9a-f]{40}([0-9a-f]{24})?")
_NOWHERE = "ref: refs/showvc/nowhere\n"
"""A HEAD that git takes and that is no draft: stands in for one that git does not take."""

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

    `closed` says why it may only be looked at; `git_dir` is then a stand-in of our own for the folder's. With `made`
    the repository is of our making, and git works in it; else it only lends git its objects.
    """

    def __init__(
        self, folder: Path, git_dir: Path | None = None, closed: MachineError | None = None, made: bool = False
    ) -> None:
        self.folder = folder
        self._made = made
        self.git_dir = git_dir or folder / ".git"
        self.own = self.git_dir / "showvc"
        self.closed = closed
        self.names = Names(self.git_dir)
        self._files: dict[str, dict[str, str]] = {}
        self._kinds: dict[str, tuple[str, str, str]] = {}
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
        refuse_elsewhere(folder / ".git")
        closed = why_closed(folder)
        if closed is None:
            refuse_links(folder / ".git" / "showvc")
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
        try:
            refuse_elsewhere(archive.git_dir)
            make_show(archive.git_dir)
        except OSError as error:
            raise MachineError(f"{archive.git_dir} cannot be written: {error.strerror}", way_out(error)) from None
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
        if not attributes.is_file() or attributes.read_bytes() != ATTRIBUTES.encode():
            write_atomically(attributes, ATTRIBUTES)
        if not _GIT_TAKES.fullmatch(self._head):
            self._replace_head()

    def _replace_head(self) -> None:
        """Puts a HEAD that git takes in place of one that no git command gets past; what stood there is kept."""
        with alone(self.own / "lock", "worked in this folder", self.waiting):
            if not _GIT_TAKES.fullmatch(self._head):
                write_atomically(self.own / "HEAD.found", self._head + "\n")
                write_atomically(self.git_dir / "HEAD", _NOWHERE)

    @property
    def brought_along(self) -> tuple[str, ...]:
        """What stands in the git folder that we would not write. It is not heeded; who works here should know."""
        return () if self._made else brought_along(self.folder / ".git")

    # --- git ---

    @property
    def place(self) -> Place:
        """Where git works: in a repository of our own making, with the objects of this history."""
        if self._made:
            return Place(self.git_dir)
        return Place(front(), self.git_dir / "objects")

    def git(self, *arguments: str, data: bytes | None = None, index: Path | None = None) -> str:
        """What a git command prints. GitFailed when it ends with an error. Names are not known there, only ids."""
        place = self.place
        if index is not None:
            place = Place(place.repository, place.objects, self.folder, index)
        try:
            return run_git_bytes(place, arguments, data).decode("utf-8", "replace")
        except GitFailed as error:
            if not let_go(error.stderr, self.git_dir):
                raise
        return run_git_bytes(place, arguments, data).decode("utf-8", "replace")

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
        return self._object(oid)

    def _object(self, oid: str) -> bytes:
        from gitdb.exc import BadName, BadObject

        try:
            found = self._reader.stream(bytes.fromhex(oid))
            kind, data = bytes(found.type), bytes(found.read())
        except (BadObject, BadName, ValueError, BrokenPipeError):
            self.__dict__.pop("_reader", None)  # what it was about to say next is nobody's answer
            raise MachineError(f"the history lacks the object {oid[:12]}", "run: showvc verify") from None
        return as_named(oid, kind, data)

    @cached_property
    def _reader(self) -> Any:
        return reader(self.place)

    def blobs(self, oids: Iterable[str]) -> Iterator[tuple[str, bytes]]:
        """The bytes of many blobs, in one go."""
        wanted = list(dict.fromkeys(oids))
        if not wanted:
            return
        raw = run_git_bytes(self.place, ["cat-file", "--batch"], "\n".join(wanted).encode() + b"\n")
        place = 0
        for oid in wanted:
            end = raw.index(b"\n", place)
            header = raw[place:end].split()
            if len(header) != 3:
                raise MachineError(f"the history lacks the object {oid[:12]}", "run: showvc verify")
            size = int(header[2])
            yield oid, as_named(oid, header[1], raw[end + 1 : end + 1 + size])
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
        entries = Reading(self._object).files(self._tree(tree))
        return {path: _plain_file(path, mode, oid) for path, mode, oid in entries}

    def _changed(self, known: str, tree: str) -> dict[str, str]:
        """The files of a tree, from those of another that is listed already: of a large show few differ."""
        found = dict(self._files[known])
        changed = list(Reading(self._object).changed(self._tree(known), self._tree(tree)))
        for before, _ in changed:
            if before is not None:
                del found[before[0]]
        for _, after in changed:
            if after is not None:
                path, mode, oid = after
                found[path] = _plain_file(path, mode, oid)
        return found

    def _tree(self, oid: str) -> str:
        """The tree of a tree or snapshot."""
        data = self._object(oid)
        return Commit.parse(oid, data).tree if data.startswith(b"tree ") else oid

    def tree_of(self, commit: str) -> str:
        return self.commit(commit).tree

    def trees_of(self, commits: Iterable[str]) -> dict[str, str]:
        """The tree of each of these snapshots that is there."""
        return self._resolved({oid: f"{oid}^{{tree}}" for oid in commits})

    def blobs_at(self, path: str, commits: Iterable[str]) -> dict[str, str]:
        """What each of these snapshots holds at a path, by its id; those that hold nothing there are left out."""
        return self._resolved({oid: f"{oid}:{path}" for oid in commits})

    def _resolved(self, asked: Mapping[str, str]) -> dict[str, str]:
        lines = "".join(f"{words}\n" for words in asked.values()).encode()
        told = self.git("cat-file", "--batch-check=%(objectname)", data=lines).split("\n") if asked else []
        return {key: oid for key, oid in zip(asked, told, strict=False) if _AT_SNAPSHOT.fullmatch(oid)}

    def differences(self, pairs: Iterable[tuple[str, str]]) -> Differences:
        """What these pairs of trees have otherwise, read within bounds."""
        return Differences(self.git, pairs)

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
        return Commit.parse(oid, self._object(oid))

    def write_commit(self, tree: str, parents: Sequence[str], who: Person, when: datetime, message: str) -> str:
        """A commit object; `when` carries its zone."""
        offset = when.strftime("%z") or "+0000"
        stamp = f"{clean_name(who.name)} <{who.email}> {int(when.timestamp())} {offset[:5]}"
        lines = [f"tree {tree}", *(f"parent {parent}" for parent in parents), f"author {stamp}", f"committer {stamp}"]
        return self.store("commit", ("\n".join(lines) + "\n\n" + message).encode())

    # --- refs ---

    def refs(self) -> dict[str, str]:
        """Drafts, marks and releases: full name → commit id. Annotated marks lead to their commit."""
        listed = self.names.listed(DRAFTS, MARKS, RELEASES, HUB)
        if listed.broken:
            raise spoiled_name(self.git_dir, listed.broken[0])
        kinds = self.kinds(listed.refs.values())
        for name, oid in listed.refs.items():
            self._require_snapshot(name, kinds.get(oid))
        return {name: kinds[oid][1] for name, oid in listed.refs.items()}

    def _require_snapshot(self, name: str, kind: tuple[str, str, str] | None) -> None:
        """Spoiled where a name does not lead to a snapshot; what the hub's may be is judged where it is taken in."""
        if kind is None:
            raise spoiled_name(self.git_dir, name)
        if kind[2] != "commit" and not name.startswith(HUB):
            raise spoiled_name(self.git_dir, name, "leads to what is no snapshot")

    def kinds(self, oids: Iterable[str]) -> dict[str, tuple[str, str, str]]:
        """Of each object that is there: its kind, and id and kind of what it leads to at last."""
        wanted = list(dict.fromkeys(oids))
        asked = [oid for oid in wanted if oid not in self._kinds]
        if asked:
            lines = "".join(f"{oid}\n{oid}^{{}}\n" for oid in asked).encode()
            told = self.git("cat-file", "--batch-check", data=lines).split("\n")
            for oid, raw, inner in zip(asked, told[::2], told[1::2], strict=False):
                if len(raw.split()) == len(inner.split()) == 3:
                    self._kinds[oid] = (raw.split()[1], inner.split()[0], inner.split()[1])
        return {oid: self._kinds[oid] for oid in wanted if oid in self._kinds}

    def ref(self, name: str) -> str | None:
        """The snapshot that a name leads to, or that has this id; None for none. Spoiled for a damaged name."""
        if _AT_SNAPSHOT.fullmatch(name):
            _, inner, kind = self.kinds([name]).get(name, ("", "", ""))
            return inner if kind == "commit" else None
        oid = self.names.get(name)
        if oid is None:
            if is_name(name) and (self.git_dir / name).is_file():
                raise spoiled_name(self.git_dir, name)
            return None
        found = self.kinds([oid]).get(oid)
        self._require_snapshot(name, found)
        return found[1] if found and found[2] == "commit" else None

    def change_refs(self, changes: Mapping[str, str | None], was: Mapping[str, str | None] | None = None) -> None:
        """Moves or takes away refs in one transaction; ShowError where one is not what it `was`."""
        try:
            if changes:
                self.names.change(changes, was)
        except Moved:
            raise ShowError(
                "another program changed this show at this very moment, so nothing was changed", "do it again"
            ) from None

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
        wanted = [kept.read_text("utf-8", "replace").strip() if kept.is_file() else "", FIRST_DRAFT, *known]
        return next((name for name in wanted if name in known), FIRST_DRAFT)

    def _drafts(self) -> list[str]:
        return [name.removeprefix(DRAFTS) for name in self.names.listed(DRAFTS).refs]

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
        return self._configured("--no-includes", "--get", f"showvc.{name}")

    def set_setting(self, name: str, value: str) -> None:
        self.require_open()
        self.git("config", "--file", str(self.git_dir / "config"), "--no-includes", f"showvc.{name}", value)

    @property
    def git_name(self) -> str | None:
        """The name by which git knows who works here: the folder's own, else the engineer's."""
        own = self._configured("--no-includes", "--get", "user.name")
        if own is not None:
            return own
        try:
            place = Place(self.place.repository, trusting=True)
            return run_git(place, ["config", "--get", "user.name"]).strip() or None
        except GitFailed:
            return None

    def _configured(self, *asked: str) -> str | None:
        """A value of the file `config`, which is read as a file and heeded by nobody."""
        try:
            return self.git("config", "--file", str(self.git_dir / "config"), *asked).strip() or None
        except GitFailed as error:
            if error.stderr.strip():  # a setting that is not there is told by silence
                raise spoiled_file(self.git_dir / "config") from None
            return None

    # --- one at a time ---

    def locked(self, waiting: Callable[[], None] | None = None) -> AbstractContextManager[None]:
        """Two showvc processes on one folder wait for each other; a killed one lets go.

        MachineError where the folder may only be looked at.
        """
        self.require_open()
        return alone(self.own / "lock", "worked in this folder", waiting or self.waiting)
