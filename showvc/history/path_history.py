"""When a path came and went."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass, replace
from typing import Any

from showvc.document import Body, Bridge, Device, Entries, Show
from showvc.formats.files import Place
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, listed
from showvc.history.steps import Turn, turn_of
from showvc.paths import Hand, check_user, hands_of, talk_paths


@dataclass(frozen=True, slots=True)
class PathTurn:
    """A snapshot from which on a path was there or not; `hand` is how the talker comes to it, None for no path."""

    snapshot: Snapshot
    hand: Hand | None

    def plain(self) -> dict[str, Any]:
        return {"holds": self.hand is not None, "hand": self.hand, **self.snapshot.plain()}


def path_history(archive: Archive, shows: Shows, talker: str, listener: str) -> list[PathTurn]:
    """The snapshots of this draft at which the path from talker to listener came or went, the newest first.

    Opens only snapshots in which something changed that a path can depend on, and of these only the bodies that this
    one can depend on. ShowError where one of the two never was a user, or both are the same.
    """
    users = {talker, listener, *_bridged(archive, shows)}
    turns: list[PathTurn] = []
    seen: set[str] = set()
    for found in reversed(list(_touching(archive, shows, users, talker))):
        show = shows.at(found.tree)
        seen |= users & set(show.users)
        hand = _hand(show, users, talker, listener)
        if hand != (turns[-1].hand if turns else None):
            turns.append(PathTurn(found, hand))
    if not {talker, listener} <= seen or talker == listener:
        now = shows.at(archive.last) if archive.last else Show()
        for name in sorted({talker, listener} - seen):
            check_user(now, name)
        check_user(now, listener, other_than=talker)
    return turns[::-1]


def _touching(archive: Archive, shows: Shows, users: Set[str], talker: str) -> Iterator[Snapshot]:
    """The snapshots that the path may have turned at, the newest first.

    A group matters where it comes or goes, a device where the talker wears it, and any bridge.
    """
    lists = {Place("users", name).path for name in users}
    for found, lines in _changed(archive, *sorted(lists), "groups", "bridges", "devices"):
        if any(
            line.path in lists
            or line.path.startswith("bridges/")
            or (line.path.startswith("groups/") and None in (line.old, line.new))
            or (line.path.startswith("devices/") and talker in _wearers(shows, line))
            for line in lines
        ):
            yield found


def _wearers(shows: Shows, line: Turn) -> Iterator[str | None]:
    bodies = _bodies(shows, "devices", (line.old, line.new))
    return (body.user for body in bodies if isinstance(body, Device))


def _bridged(archive: Archive, shows: Shows) -> set[str]:
    """Every target that a bridge ever had: an interface user passes sound on."""
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


def _hand(show: Show, users: Iterable[str], talker: str, listener: str) -> Hand | None:
    """The path in a show cut down to those whom it can depend on."""
    there = [name for name in users if name in show.users]
    show.users.read(there)
    few = replace(show, users=Entries()).with_section("users", {name: show.users[name] for name in there})
    return hands_of(few, talk_paths(few)).hand(talker, listener)
