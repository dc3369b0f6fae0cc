"""Trees of the archive as shows whose bodies are read only when they are asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from showvc.document import SECTIONS, Body, Entries, Head, Problem, Show, ShowError
from showvc.formats.files import HEAD, Place, place_of, read_file
from showvc.formats.single import read_older
from showvc.formats.upgrading import OlderShow
from showvc.history.archive import Archive
from showvc.history.cache import BodyCache

Progress = Callable[[int, int], None]
Tokens = dict[str, dict[str, str]]


class Shows:
    """Reads shows out of an archive; equal blobs are one body, in memory and in the cache."""

    def __init__(self, archive: Archive, progress: Progress | None = None) -> None:
        self.archive = archive
        self.progress = progress
        self._cache = BodyCache(archive.own / "bodies.sqlite")
        self._known: dict[tuple[str | None, str], Body] = {}
        self._looked_at: tuple[Mapping[str, str], Tokens] = {}, {section: {} for section in SECTIONS}

    def at(self, tree: str) -> Show:
        """The show of a tree or snapshot. ShowError where its files are no show."""
        return self.of_files(self.archive.files(tree))

    def of_files(self, files: Mapping[str, str]) -> Show:
        """The show of these files, path → blob id."""
        if HEAD not in files:
            raise ShowError("there is no show.yaml in this snapshot", "it is not a show")
        older = self.older(files)
        if older is not None:
            return read_older({path: self.archive.blob(oid) for path, oid in files.items()}, older)
        tokens = self._tokens(files)
        head = self.bodies(Place(), {"": files[HEAD]})[""]
        assert isinstance(head, Head)
        sections = {name: self._entries(name, known) for name, known in tokens.items()}
        return Show(head, **sections)

    def older(self, files: Mapping[str, str]) -> int | None:
        """The format of these files where it is an older one: they are read, and written again, all together."""
        try:
            self.bodies(Place(), {"": files[HEAD]} if HEAD in files else {})
        except OlderShow as found:
            return found.format
        except ShowError:
            pass  # told where the show is read
        return None

    def _tokens(self, files: Mapping[str, str]) -> Tokens:
        """By section: id → blob. Only what differs from the files looked at last is gone through."""
        last, known = self._looked_at
        tokens = {section: dict(found) for section, found in known.items()}
        problems: list[Problem] = []
        for path in [path for path in last if path not in files]:
            place = place_of(path)
            if place is not None and place.section is not None:
                del tokens[place.section][place.id]
        for path in [path for path, oid in files.items() if last.get(path) != oid]:
            try:
                place = place_of(path)
            except ShowError as error:
                problems += error.problems
                continue
            if place is not None and place.section is not None:
                tokens[place.section][place.id] = files[path]
        if problems:
            raise ShowError(problems)
        self._looked_at = dict(files), tokens
        return tokens

    def of_work(self, work: str, last: str | None) -> Show:
        """The show of a working tree, `last` being the snapshot under it.

        What is new in it is read at once: ShowError with every problem of all its files.
        """
        files = self.archive.files(work)
        if self.older(files) is not None:
            return self.of_files(files)
        known = self.archive.files(self.archive.tree_of(last)) if last else {}
        problems: list[Problem] = []
        for section, oids in _new(files, known).items():
            try:
                self.bodies(Place(section), oids)
            except ShowError as error:
                problems += error.problems
        if problems:
            raise ShowError(problems)
        return self.of_files(files)

    def _entries(self, section: str, tokens: dict[str, str]) -> Entries[Any]:
        def load(names: tuple[str, ...]) -> Mapping[str, Body]:
            return self.bodies(Place(section), {name: tokens[name] for name in names})

        return Entries(tokens=tokens, load=load)

    def bodies(self, place: Place, oids: Mapping[str, str]) -> dict[str, Body]:
        """The bodies of these blobs by the ids of their things; `place` says of which section they are."""
        kind = place.section
        missing = {oid for oid in oids.values() if (kind, oid) not in self._known}
        if missing:
            found = self._cache.get(place, missing)
            self._known.update({(kind, oid): body for oid, body in found.items()})
            self._parse(place, {name: oid for name, oid in oids.items() if oid in missing - found.keys()})
        return {name: self._known[kind, oid] for name, oid in oids.items()}

    def _parse(self, place: Place, oids: Mapping[str, str]) -> None:
        """Reads blobs as YAML, with every problem of all of them told together."""
        names = {oid: name for name, oid in oids.items()}
        parsed: dict[str, Body] = {}
        problems: list[Problem] = []
        for oid, data in self.archive.blobs(names):
            try:
                parsed[oid] = read_file(Place(place.section, names[oid]), data)
            except OlderShow:
                raise  # it has a way of its own
            except ShowError as error:
                problems += error.problems
            if self.progress and len(names) > 100:
                self.progress(len(parsed), len(names))
        if problems:
            raise ShowError(problems)
        self._known.update({(place.section, oid): body for oid, body in parsed.items()})
        if parsed:
            self._cache.put(place, parsed)

    def text(self, oid: str | None) -> str | None:
        """The text of a file's blob."""
        return None if oid is None else self.archive.blob(oid).decode("utf-8", "replace")


def _new(files: Mapping[str, str], known: Mapping[str, str]) -> dict[str | None, dict[str, str]]:
    """What stands in `files` and not in `known`, by section: id → blob. Files that cannot be a part are left out."""
    found: dict[str | None, dict[str, str]] = {}
    for path, oid in files.items():
        if known.get(path) != oid and (place := _place(path)) is not None:
            found.setdefault(place.section, {})[place.id] = oid
    return found


def _place(path: str) -> Place | None:
    try:
        return place_of(path)
    except ShowError:
        return None
