"""Large sets of positions in few words: "all 14 of the LX department" instead of fourteen names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Set
from typing import NamedTuple

from showvc.document import Show
from showvc.document.lining import counted
from showvc.paths import ANY, Pair, Paths, spoken

_FEWEST = 3
_MOST_NAMED = 12
_MOST_LINES = 25


class Verb(NamedTuple):
    """How one, and how several, do or can no longer do something."""

    one: str
    many: str


CAN_NO_LONGER = Verb("can no longer hear", "can no longer hear")
CAN_NOW = Verb("can now hear", "can now hear")
HEARS = Verb("hears", "hear")


class Folder:
    """Knows the departments of two shows and who is on their groups, and says sets of positions in words.

    A department and a group of one name cannot be mixed up: "all 6 of the AUTO department", "all 6 on group AUTO".
    """

    def __init__(self, before: Paths, after: Paths) -> None:
        self.paths = before, after
        self.before, self.after = before.show, after.show
        self._departments = _departments(self.before, self.after)
        self._groups: dict[bool, list[tuple[str, Set[str]]]] = {}

    def label(self, name: str) -> str:
        """What a user, group, line or circuit is called; as it was called before where it is no more."""
        there = self.after.target(name) is not None or name in self.after.circuits
        return spoken(self.after if there else self.before, name)

    def on(self, target: str) -> str:
        """Over which target: `on group FLY`, `on line ALARM`, `by direct call`."""
        if target in self.after.groups or target in self.before.groups:
            return f"on group {self.label(target)}"
        if target in self.after.users or target in self.before.users:
            return "by direct call"
        return f"on line {self.label(target)}"

    def words(self, names: Iterable[str], talking: bool | None = None) -> str:
        """The names, whole departments as one word, then whole groups, all of them told or counted.

        `talking` tells whether the names are of those who talk, or of those who listen; None: groups say nothing.
        """
        left = set(names)
        said: list[str] = []
        for department, members in self._departments:
            if len(members) >= _FEWEST and members <= left:
                said.append(f"all {len(members)} of the {department} department")
                left -= members
        if talking is not None:
            said += self._whole_groups(left, talking)
        single = sorted(self.label(name) for name in left)
        said += single[:_MOST_NAMED]
        if len(single) > _MOST_NAMED:
            said.append(f"{len(single) - _MOST_NAMED} more")
        return listed(said) or "nobody"

    def _whole_groups(self, left: set[str], talking: bool) -> Iterator[str]:
        """The groups all of whose members are among those left; takes these out of them."""
        if len(left) < _FEWEST:
            return
        if talking not in self._groups:
            self._groups[talking] = sorted(self._members(talking), key=lambda item: (-len(item[1]), item[0]))
        for words, members in self._groups[talking]:
            if len(members) >= _FEWEST and members <= left:
                yield f"all {len(members)} {words}"
                left -= members

    def _members(self, talking: bool) -> Iterator[tuple[str, Set[str]]]:
        for paths in self.paths:
            for group, members in (_talkers(paths) if talking else _listeners(paths)).items():
                label = spoken(paths.show, group)
                yield (f"who talk on group {label}" if talking else f"on group {label}"), members

    def lines(self, pairs: Iterable[Pair], verb: Verb, tail: str = "") -> list[str]:
        """Sentences of pairs (talker, listener): "FLY 1 and FLY 2 can no longer hear SM".

        Those who are cut off from each other are one sentence. Beyond some sentences the rest is counted.
        """
        found = sorted(_rows(pairs), key=lambda row: (-len(row[0]) * len(row[1]), row[0]))
        lines = [f"{self._line(verb, *row)}{tail}" for row in found[:_MOST_LINES]]
        rest = sum(_count(*row) for row in found[_MOST_LINES:])
        return [*lines, f"and {counted(rest, 'more pair')}: --json has them all"] if rest else lines

    def _line(self, verb: Verb, talkers: tuple[str, ...], listeners: frozenset[str]) -> str:
        others = listeners.difference(talkers)
        spoke = self.words(talkers, talking=True)
        if len(talkers) > 1 and others != listeners:
            also = f", and {self._who(others, verb)} any of them" if others else ""
            return f"{spoke} {verb.many} each other{also}"
        return f"{self._who(others, verb)} {spoke}"

    def _who(self, listeners: Set[str], verb: Verb) -> str:
        return f"{self.words(listeners, talking=False)} {verb.many if len(listeners) > 1 else verb.one}"


def listed(said: list[str]) -> str:
    """`a, b and c`."""
    return ", ".join(said[:-1]) + f" and {said[-1]}" if len(said) > 1 else "".join(said)


def _rows(pairs: Iterable[Pair]) -> Iterator[tuple[tuple[str, ...], frozenset[str]]]:
    """Talkers with the same listeners. Talkers who are among the listeners stand for "each other"."""
    heard: dict[str, set[str]] = defaultdict(set)
    for talker, listener in pairs:
        heard[talker].add(listener)
    rows = {talker: frozenset(heard[talker]) for talker in sorted(heard)}
    same: dict[frozenset[str], list[str]] = defaultdict(list)
    mutual: dict[frozenset[str], list[str]] = defaultdict(list)
    for talker, listeners in rows.items():
        same[listeners].append(talker)
        mutual[listeners | {talker}].append(talker)
    taken: set[str] = set()
    for listeners, talkers in mutual.items():
        if len(talkers) > max(len(same[rows[talker]]) for talker in talkers):
            yield tuple(talkers), listeners
            taken.update(talkers)
    for listeners, talkers in same.items():
        if left := tuple(talker for talker in talkers if talker not in taken):
            yield left, listeners


def _count(talkers: tuple[str, ...], listeners: frozenset[str]) -> int:
    return len(talkers) * len(listeners) - len(listeners.intersection(talkers))


def _listeners(paths: Paths) -> Mapping[str, Set[str]]:
    read = paths.surely
    heard = ((group, read.ears(group, ANY)) for group in paths.facts.groups)
    return {group: set(read.names(bits)) for group, bits in heard if bits.bit_count() >= _FEWEST}


def _talkers(paths: Paths) -> Mapping[str, Set[str]]:
    found: dict[str, set[str]] = {group: set() for group in paths.facts.groups}
    for name in paths.lists.parts:
        for target in paths.surely.talks(name) if paths.surely.is_on_headset(name) else ():
            if target in found:
                found[target].add(name)
    return found


def _departments(before: Show, after: Show) -> list[tuple[str, Set[str]]]:
    """The departments with their members on either side, the largest first."""
    found: dict[str, set[str]] = defaultdict(set)
    for show in (before, after):
        for name, body in show.users.items():
            if body.department:
                found[body.department].add(name)
    return sorted(found.items(), key=lambda item: (-len(item[1]), item[0]))
