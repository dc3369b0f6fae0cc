"""Who is alone, which groups are thin, and who can raise a line."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import NamedTuple

from showvc.document import Show
from showvc.paths.circuits import brings_in, carries_out, tied
from showvc.paths.keys import KeyAt, Keys, keys_of
from showvc.paths.matrix import Matrix


class Alone(NamedTuple):
    """Users whom nobody can hear, and users who can hear nobody; one may be both."""

    heard_by_nobody: tuple[str, ...]
    hears_nobody: tuple[str, ...]


def alone(matrix: Matrix) -> Alone:
    """Everyone who is cut off one way or both, by id. Lines are kept apart and do not count."""
    hearing = reduce(or_, matrix.rows, 0)
    place = matrix.ears.place
    return Alone(
        tuple(name for name in matrix.users if not matrix.rows[place[name]]),
        tuple(name for name in matrix.users if not hearing >> place[name] & 1),
    )


@dataclass(frozen=True, slots=True)
class Members:
    """Who talks and who listens on a group, by id, and whether a bridge brings sound to it or carries it out."""

    group: str
    talkers: tuple[str, ...]
    listeners: tuple[str, ...]
    brought_in: bool = False
    carried_out: bool = False

    @property
    def single_talker(self) -> bool:
        """One user alone talks, and no outside system does."""
        return len(self.talkers) == 1 and not self.brought_in

    @property
    def unheard(self) -> bool:
        """Nobody listens, and no outside system does."""
        return not self.listeners and not self.carried_out


def group_members(show: Show, matrix: Matrix) -> tuple[Members, ...]:
    """Every group with its talkers and listeners, by id."""
    talkers: dict[str, list[str]] = {group: [] for group in show.groups}
    for name in matrix.users:
        for target in matrix.talks[matrix.ears.place[name]] & matrix.ears.groups:
            talkers[target].append(name)
    brought = {bridge.target for _, bridge, _ in tied(show) if brings_in(bridge)}
    carried = {bridge.target for _, bridge, _ in tied(show) if carries_out(bridge)}
    return tuple(
        Members(group, tuple(found), matrix.names(matrix.ears.at(group)), group in brought, group in carried)
        for group, found in talkers.items()
    )


def thin_groups(show: Show, matrix: Matrix) -> tuple[Members, ...]:
    """The groups with a single talker or no listener, where no bridge makes up for it."""
    return tuple(group for group in group_members(show, matrix) if group.single_talker or group.unheard)


class LineTalker(NamedTuple):
    """A user who can raise a line, and his keys for it; without keys it is in the menu only."""

    user: str
    keys: tuple[KeyAt, ...]


def line_talkers(show: Show, line: str, keys: Keys | None = None) -> tuple[LineTalker, ...]:
    """Who can use a line: everyone whose use of it has talk, by id.

    `keys` are the show's own (`keys_of`), if they are at hand.
    """
    held = keys_of(show) if keys is None else keys
    uses = {name: user.lines.get(line) for name, user in show.users.items()}
    return tuple(
        LineTalker(name, held.get(name, {}).get(line, ())) for name, use in uses.items() if use and use.talk != "none"
    )
