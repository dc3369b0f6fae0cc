"""Large sets of positions in few words: "all 14 of LX" instead of fourteen names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Set

from showvc.document import Show
from showvc.document.lining import counted
from showvc.paths import Matrix, Pairs, spoken

_FEWEST = 3
_MOST_NAMED = 12
_MOST_LINES = 25

Sets = Mapping[str, Set[str]]


class Folder:
    """Knows the departments of both shows, and says sets of users in words.

    With the matrices of both, whole groups are one word too: those who listen there, those who talk there.
    """

    def __init__(self, before: Show, after: Show, matrices: Iterable[Matrix] = ()) -> None:
        self.before, self.after = before, after
        self._departments = _departments(before, after)
        self._matrices = tuple(matrices)
        self._groups: dict[bool, list[tuple[str, Set[str]]]] = {}

    def label(self, name: str) -> str:
        return spoken(self.after if name in self.after.users else self.before, name)

    def words(self, names: Iterable[str], talking: bool | None = None) -> str:
        """The names, whole departments as one word, then whole groups, all of them told or counted.

        `talking` tells whether the names are of those who talk, or of those who listen; None: groups say nothing.
        """
        left = set(names)
        said: list[str] = []
        for department, members in sorted(self._departments.items(), key=lambda item: (-len(item[1]), item[0])):
            if len(members) >= _FEWEST and members <= left:
                said.append(f"all {len(members)} of {department}")
                left -= members
        if talking is not None:
            said += self._whole_groups(left, talking)
        single = sorted(self.label(name) for name in left)
        said += single[:_MOST_NAMED]
        if len(single) > _MOST_NAMED:
            said.append(f"{len(single) - _MOST_NAMED} more")
        return ", ".join(said[:-1]) + f" and {said[-1]}" if len(said) > 1 else said[0] if said else "nobody"

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
        for show, matrix in zip((self.before, self.after), self._matrices, strict=False):
            for group, members in (_talkers(matrix) if talking else _listeners(matrix)).items():
                label = spoken(show, group)
                yield (f"who talk on {label}" if talking else f"on {label}"), members

    def lines(self, pairs: Pairs, what: str) -> list[str]:
        """Sentences of pairs, for `no longer heard by`: "SM is no longer heard by FLY-1 and FLY-2".

        Those who are cut off from each other are one sentence. Beyond some sentences the rest is counted.
        """
        found = sorted(_rows(pairs), key=lambda row: (-len(row[0]) * len(row[1]), row[0]))
        lines = [self._line(what, *row) for row in found[:_MOST_LINES]]
        rest = sum(_count(*row) for row in found[_MOST_LINES:])
        return [*lines, f"and {counted(rest, 'more pair')}: --json has them all"] if rest else lines

    def _line(self, what: str, talkers: tuple[str, ...], listeners: frozenset[str]) -> str:
        others = listeners.difference(talkers)
        to = self.words(others, talking=False) if others else ""
        if len(talkers) > 1 and others != listeners:
            to = f"each other and {to}" if to else "each other"
        return f"{self.words(talkers, talking=True)} {'are' if len(talkers) > 1 else 'is'} {what} {to}"


def _rows(pairs: Pairs) -> Iterator[tuple[tuple[str, ...], frozenset[str]]]:
    """Talkers with the same listeners. Talkers who are among the listeners stand for "each other"."""
    rows = {talker: frozenset(pairs.heard_by(talker)) for talker in pairs.talkers()}
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


def _listeners(matrix: Matrix) -> Sets:
    return {group: set(matrix.names(matrix.ears.at(group))) for group in matrix.ears.groups}


def _talkers(matrix: Matrix) -> Sets:
    found: dict[str, set[str]] = {group: set() for group in matrix.ears.groups}
    for name, slot in matrix.ears.place.items():
        for target in matrix.talks[slot]:
            if target in found:
                found[target].add(name)
    return found


def _departments(before: Show, after: Show) -> Mapping[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for name, department in (*_of(before), *_of(after)):
        found[department].add(name)
    return found


def _of(show: Show) -> Iterator[tuple[str, str]]:
    yield from ((name, body.department) for name, body in show.users.items() if body.department)
