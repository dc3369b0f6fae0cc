"""When a path came and went."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from showvc.document import Bridge, Show
from showvc.formats.files import Place
from showvc.history.archive import Archive
from showvc.history.shows import Shows
from showvc.history.snapshots import Snapshot, listed
from showvc.paths import Hand, check_user, hands_of, talk_paths


@dataclass(frozen=True, slots=True)
class Turn:
    """A snapshot from which on a path was there or not; `hand` is how the talker comes to it, None for no path."""

    snapshot: Snapshot
    hand: Hand | None

    def plain(self) -> dict[str, Any]:
        return {"holds": self.hand is not None, "hand": self.hand, **self.snapshot.plain()}


def path_history(archive: Archive, shows: Shows, talker: str, listener: str) -> list[Turn]:
    """The snapshots of this draft at which the path from talker to listener came or went, the newest first.

    Opens only snapshots that touched the two users, what they wear, a group or a bridge, and of these only
    the bodies that the path can depend on.
    """
    users = {talker, listener, *_bridged_users(archive, shows)}
    turns: list[Turn] = []
    for found in reversed(_touching(archive, users)):
        hand = _hand(shows.at(found.tree), users, talker, listener)
        if hand != (turns[-1].hand if turns else None):
            turns.append(Turn(found, hand))
    if not turns and archive.last:
        now = shows.at(archive.last)
        check_user(now, talker)
        check_user(now, listener, other_than=talker)
    return turns[::-1]


def _touching(archive: Archive, users: Iterable[str]) -> list[Snapshot]:
    start = archive.last
    if start is None:
        return []
    where = [*(Place("users", name).path for name in sorted(users)), "groups", "bridges", "devices"]
    return [found for found, _ in listed(archive, ["--first-parent", start, "--", *where])]


def _bridged_users(archive: Archive, shows: Shows) -> set[str]:
    """Every target that a bridge ever had: an interface user passes sound on."""
    start = archive.last
    if start is None:
        return set()
    shown = ["--raw", "--no-abbrev", "--no-renames", "--first-parent", "--diff-merges=first-parent"]
    blobs = {
        line.split()[3]
        for _, files in listed(archive, [*shown, start, "--", "bridges"])
        for line in files.splitlines()
        if line.startswith(":")
    }
    bodies = shows.bodies(Place("bridges"), {oid: oid for oid in blobs if set(oid) != {"0"}}).values()
    return {body.target for body in bodies if isinstance(body, Bridge)}


def _hand(show: Show, users: Iterable[str], talker: str, listener: str) -> Hand | None:
    """The path in a show cut down to those whom it can depend on."""
    there = [name for name in users if name in show.users]
    show.users.read(there)
    few = Show(show.head, show.groups, devices=show.devices, bridges=show.bridges)
    few = few.with_section("users", {name: show.users[name] for name in there})
    return hands_of(few, talk_paths(few)).hand(talker, listener)
