"""Large sets of positions in few words: "all 14 of LX" instead of fourteen names."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping

from showvc.document import Show
from showvc.paths import Pairs

_FEWEST = 3
_MOST_NAMED = 12


class Folder:
    """Knows the departments of both shows, and says sets of users in words."""

    def __init__(self, before: Show, after: Show) -> None:
        self.before, self.after = before, after
        self._departments = _departments(before, after)

    def label(self, name: str) -> str:
        return (self.after if name in self.after.users else self.before).label(name)

    def words(self, names: Iterable[str]) -> str:
        """The names, whole departments as one word, all of them told or counted."""
        left = set(names)
        said: list[str] = []
        for department, members in sorted(self._departments.items(), key=lambda item: (-len(item[1]), item[0])):
            if len(members) >= _FEWEST and members <= left:
                said.append(f"all {len(members)} of {department}")
                left -= members
        single = sorted(self.label(name) for name in left)
        said += single[:_MOST_NAMED]
        if len(single) > _MOST_NAMED:
            said.append(f"{len(single) - _MOST_NAMED} more")
        return ", ".join(said[:-1]) + f" and {said[-1]}" if len(said) > 1 else said[0] if said else "nobody"

    def lines(self, pairs: Pairs, verb: str, verb_of_many: str) -> list[str]:
        """Sentences such as "SM reaches FLY-1 and FLY-2", "DECK-1 and DECK-2 reach SM", for `reaches` and `reach`."""
        rows: dict[frozenset[str], list[str]] = defaultdict(list)
        for talker in pairs.talkers():
            rows[frozenset(pairs.heard_by(talker))].append(talker)
        ordered = sorted(rows.items(), key=lambda item: (-len(item[0]) * len(item[1]), item[1]))
        return [
            f"{self.words(talkers)} {verb_of_many if len(talkers) > 1 else verb} {self.words(listeners)}"
            for listeners, talkers in ordered
        ]


def _departments(before: Show, after: Show) -> Mapping[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for name, department in (*_of(before), *_of(after)):
        found[department].add(name)
    return found


def _of(show: Show) -> Iterator[tuple[str, str]]:
    yield from ((name, body.department) for name, body in show.users.items() if body.department)
