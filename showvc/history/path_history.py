"""When a path came and went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from showvc.document import Body, Bridge, Device, Entries, Show, User
from showvc.formats.files import Place
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, listed, with_turns
from showvc.history.steps import Turn
from showvc.merging import merge
from showvc.paths import Grade, best_grade, check_position, talk_paths


@dataclass(frozen=True, slots=True)
class PathTurn:
    """A snapshot from which on a path was there or not, or was better or worse; `grade` is None for no path.

    `snapshot` is where this draft turned, `edits` the snapshots that made the difference: itself, or where it is a
    merge, what it carried; one on either side where only the two together did it.
    """

    snapshot: Snapshot
    grade: Grade | None
    edits: tuple[Snapshot, ...]

    def plain(self) -> list[dict[str, Any]]:
        """A row for each edit."""
        grade = self.grade
        how = None if grade is None else {"menu": grade.menu, "sure": not grade.unsure, "page": grade.paged}
        merged = None if self.edits == (self.snapshot,) else self.snapshot.code
        return [{"holds": grade is not None, "how": how, **each.plain(), "merged": merged} for each in self.edits]


def path_history(archive: Archive, shows: Shows, talker: str, listener: str, over: str | None = None) -> list[PathTurn]:
    """The snapshots of this draft at which the path from talker to listener came or went, the newest first.

    With `over`, the path over this group or line. Opens only snapshots in which something changed that a path can
    depend on, and of these only the lists that this one can depend on. ShowError where one of the two never was a
    position, or both are the same.
    """
    turns: list[PathTurn] = []
    seen: set[str] = set()
    walk = _Walk(archive, shows, (talker, listener), over)
    for found in reversed(walk.touching(archive.last) if archive.last else []):
        show = shows.at(found.tree)
        seen |= {name for name in (talker, listener) if name in show.users or name in show.circuits}
        grade = walk.grade(show)
        if grade != (turns[-1].grade if turns else None):
            turns.append(PathTurn(found, grade, walk.brought(found, grade)))
    if not {talker, listener} <= seen or talker == listener:
        now = shows.at(archive.last) if archive.last else Show()
        for name in sorted({talker, listener} - seen):
            check_position(now, name)
        check_position(now, listener, other_than=talker)
    return turns[::-1]


class _Walk:
    """Looks for the snapshots that turned one path."""

    def __init__(self, archive: Archive, shows: Shows, pair: tuple[str, str], over: str | None) -> None:
        self.archive, self.shows, self.pair, self.over = archive, shows, pair, over
        self.ports: dict[str, bool] = {}

    def grade(self, show: Show) -> Grade | None:
        return _grade(show, self.ports, self.pair, self.over)

    @cached_property
    def lists(self) -> Set[str]:
        """The files of users whose lists the path may depend on."""
        return {Place("users", name).path for name in {*self.pair, *_bridged(self.archive, self.shows)}}

    def touching(self, start: str, *without: str) -> list[Snapshot]:
        """The snapshots that the path may have turned at, the newest first, from `start` by first parents.

        A group matters where it comes or goes, a device in what puts somebody on headset, and in its keys where one of
        the two wears it; other lists where a bridge had that user as its target, or where they have an open channel.
        """
        where = ("users", "groups", "bridges", "devices", "circuits", "carriers", "show.yaml")
        changed = _changed(self.archive, where, "--first-parent", start, *(f"^{oid}" for oid in without))
        return [
            found
            for found, lines in changed
            if any(_matters(self.shows, line, self.lists, self.pair) for line in lines)
        ]

    def brought(self, found: Snapshot, grade: Grade | None) -> tuple[Snapshot, ...]:
        """Whose edits turned the path at a snapshot; of a merge those that it carried."""
        if len(found.parents) < 2:
            return (found,)
        first, *others = found.parents
        for other in others:
            if self._at(other) == grade and (turn := self._turned(other, first, grade)) is not None:
                return self.brought(turn, grade)
        sides = (self.touching(first, *others), *(self.touching(other, first) for other in others))
        made = [next((each for each in side if self._makes(each, found, grade)), None) for side in sides]
        return tuple(each for each in made if each is not None) or (found,)

    def _at(self, oid: str) -> Grade | None:
        return self.grade(self.shows.at(oid))

    def _turned(self, start: str, without: str, grade: Grade | None) -> Snapshot | None:
        """The last snapshot of a side that turned the path to what it is at its end."""
        for each in self.touching(start, without):
            if not each.parents or self._at(each.parents[0]) != grade:
                return each
        return None

    def _makes(self, each: Snapshot, found: Snapshot, grade: Grade | None) -> bool:
        """Whether the path would not be so in a merge were this snapshot of it taken back."""
        if not each.parents:
            return False
        before, mine, incoming = (self.shows.at(oid) for oid in (each.oid, found.oid, each.parents[0]))
        return self.grade(merge(before, mine, incoming).show) != grade


def _matters(shows: Shows, line: Turn, lists: Set[str], pair: tuple[str, str]) -> bool:
    section = line.path.partition("/")[0]
    if section == "groups":
        return None in (line.old, line.new)
    if section == "devices":
        said = {_said(body, pair) for body in _of(shows, line, "devices") if isinstance(body, Device)}
        return len(said) > 1 or None in (line.old, line.new)
    if section == "users":
        return line.path in lists or any(_opens(body) for body in _of(shows, line, "users") if isinstance(body, User))
    return True


def _said(device: Device, pair: tuple[str, str]) -> tuple[object, ...]:
    """What of a device a path can depend on: its keys where one of the two wears it, and who is on headset."""
    keys = tuple(sorted(device.keys.items())) if device.user in pair else ()
    return device.kind, device.user, device.on, device.away, device.lent is None, keys


def _opens(user: User) -> bool:
    """Whether a user may hold a circuit that takes one talker at a time, or is a port."""
    talks = [*(entry.talk for entry in user.channels.values()), *(use.talk for use in user.lines.values())]
    return user.port or "open" in talks


def _of(shows: Shows, line: Turn, section: str) -> Iterable[Body]:
    return _bodies(shows, section, (line.old, line.new))


def _bridged(archive: Archive, shows: Shows) -> set[str]:
    """Every target that a bridge ever had: a port passes sound on."""
    start = archive.last
    blobs = {line.new for _, lines in _changed(archive, ("bridges",), start) for line in lines} if start else set()
    return {body.target for body in _bodies(shows, "bridges", blobs) if isinstance(body, Bridge)}


def _bodies(shows: Shows, section: str, blobs: Iterable[str | None]) -> Iterable[Body]:
    return shows.bodies(Place(section), {oid: oid for oid in blobs if oid}).values()


def _changed(archive: Archive, where: tuple[str, ...], *of: str) -> Iterator[tuple[Snapshot, list[Turn]]]:
    """The snapshots that git lists which changed something there, the newest first, with what they changed."""
    for found, turns in with_turns(archive, list(listed(archive, [*of, "--", *where]))):
        yield found, [turn for turn in turns if turn.path in where or turn.path.partition("/")[0] in where]


def _grade(show: Show, opening: dict[str, bool], pair: tuple[str, str], over: str | None) -> Grade | None:
    """The path in a show cut down to those whom it can depend on; `opening` keeps who that is, by content."""
    kept = {*pair, *(bridge.target for bridge in show.bridges.values())}
    there = [name for name in show.users if name in kept or _may_matter(show, opening, name)]
    show.users.read(there)
    few = replace(show, users=Entries({name: show.users[name] for name in there}))
    return best_grade(talk_paths(few).surely, *pair, over)


def _may_matter(show: Show, opening: dict[str, bool], name: str) -> bool:
    token = show.users.token(name) or ""
    if not token or token not in opening:
        found = _opens(show.users[name])
        if not token:
            return found
        opening[token] = found
    return opening[token]
