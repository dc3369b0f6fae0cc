"""When a path came and went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass, replace
from typing import Any

from showvc.document import Body, Bridge, Device, Entries, Show, User
from showvc.formats.files import Place
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, listed
from showvc.history.steps import Turn, turn_of
from showvc.paths import Grade, best_grade, check_position, talk_paths


@dataclass(frozen=True, slots=True)
class PathTurn:
    """A snapshot from which on a path was there or not, or was better or worse; `grade` is None for no path."""

    snapshot: Snapshot
    grade: Grade | None

    def plain(self) -> dict[str, Any]:
        grade = self.grade
        how = None if grade is None else {"menu": grade.menu, "sure": not grade.unsure, "page": grade.paged}
        return {"holds": grade is not None, "how": how, **self.snapshot.plain()}


def path_history(archive: Archive, shows: Shows, talker: str, listener: str, over: str | None = None) -> list[PathTurn]:
    """The snapshots of this draft at which the path from talker to listener came or went, the newest first.

    With `over`, the path over this group or line. Opens only snapshots in which something changed that a path can
    depend on, and of these only the lists that this one can depend on. ShowError where one of the two never was a
    position, or both are the same.
    """
    turns: list[PathTurn] = []
    seen: set[str] = set()
    ports: dict[str, bool] = {}
    for found in reversed(list(_touching(archive, shows, talker, listener))):
        show = shows.at(found.tree)
        seen |= {name for name in (talker, listener) if name in show.users or name in show.circuits}
        grade = _grade(show, ports, (talker, listener), over)
        if grade != (turns[-1].grade if turns else None):
            turns.append(PathTurn(found, grade))
    if not {talker, listener} <= seen or talker == listener:
        now = shows.at(archive.last) if archive.last else Show()
        for name in sorted({talker, listener} - seen):
            check_position(now, name)
        check_position(now, listener, other_than=talker)
    return turns[::-1]


def _touching(archive: Archive, shows: Shows, talker: str, listener: str) -> Iterator[Snapshot]:
    """The snapshots that the path may have turned at, the newest first.

    A group matters where it comes or goes, a device in what puts somebody on headset, and in its keys where one of the
    two wears it; other lists where a bridge had that user as its target, or where they have an open channel.
    """
    lists = {Place("users", name).path for name in {talker, listener, *_bridged(archive, shows)}}
    for found, lines in _changed(archive, "users", "groups", "bridges", "devices", "circuits", "carriers", "show.yaml"):
        if any(_matters(shows, line, lists, (talker, listener)) for line in lines):
            yield found


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
    blobs = {line.new for _, lines in _changed(archive, "bridges") for line in lines}
    return {body.target for body in _bodies(shows, "bridges", blobs) if isinstance(body, Bridge)}


def _bodies(shows: Shows, section: str, blobs: Iterable[str | None]) -> Iterable[Body]:
    return shows.bodies(Place(section), {oid: oid for oid in blobs if oid}).values()


def _changed(archive: Archive, *where: str) -> Iterator[tuple[Snapshot, list[Turn]]]:
    """The snapshots of this draft that changed something there, the newest first, with what they changed."""
    if archive.last is None:
        return
    shown = ["--raw", "--no-abbrev", "--no-renames", "--first-parent", "--diff-merges=first-parent", "--root"]
    for found, files in listed(archive, [*shown, archive.last, "--", *where]):
        yield found, [_line(line) for line in files.splitlines() if line.startswith(":")]


def _line(raw: str) -> Turn:
    """A line of git's raw listing, without quotes: a path of a show needs none."""
    meta, path = raw.split("\t", 1)
    return turn_of(meta, path)


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
