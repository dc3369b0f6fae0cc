"""Which row is which thing: by name, label, hardware address and content, the order of rows changing nothing.

What is the same beyond doubt is taken; what may be the same is listed with its scores, for a person to say; the
rest is new. A best overall assignment decides between rows that look alike, not the first that comes.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from showvc.document import ShowError
from showvc.identity.names import folded, marks, plain

SURE = 0.86
"""From this score a row and a thing are the same, if nothing else comes near. Chosen by trial, no source."""
MAYBE = 0.55
"""Below this score nobody is asked."""
MARGIN = 0.08
"""How much the next best of either must stay behind."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What is known of a row, or of a thing in the show. `content` holds words for what is on its list."""

    name: str = ""
    label: str = ""
    id: str | None = None
    hardware: str | None = None
    content: frozenset[str] = frozenset()

    @property
    def said(self) -> str:
        """How a person calls it."""
        return self.name or self.label or self.id or self.hardware or "?"


@dataclass(frozen=True, slots=True)
class Doubt:
    """A row that may be a thing of the show: the section, the row's name, and who it may be with scores 0 to 1."""

    section: str
    row: str
    candidates: tuple[tuple[str, float], ...]
    why: str = "the names are near each other"


@dataclass(slots=True)
class Matches:
    """For each row, by its number: the id that it surely is; `doubts` for rows nobody can say; others are new."""

    sure: dict[int, str] = field(default_factory=dict)
    scores: dict[int, float] = field(default_factory=dict)
    doubts: dict[int, Doubt] = field(default_factory=dict)


NEW = "new"
Answers = Mapping[str, Mapping[str, str]]
"""Section → a row's name → the id that it is, or `new`."""


def match(section: str, rows: Sequence[Facts], known: Mapping[str, Facts], answers: Answers = {}) -> Matches:  # noqa: B006
    """Matches rows with the things of a section. Neither the order of rows nor of things changes the answer."""
    found = Matches()
    told = _told(section, rows, known, answers)
    found.sure.update({row: name for row, name in told.items() if name != NEW})
    free_rows = [row for row in range(len(rows)) if row not in told]
    _by_key(rows, known, free_rows, found, lambda facts: facts.id)
    _by_key(rows, known, _left(free_rows, found), found, lambda facts: facts.hardware)
    _by_name(section, rows, known, _left(free_rows, found), found)
    _by_score(section, rows, known, _left(free_rows, found), found)
    return found


def _told(section: str, rows: Sequence[Facts], known: Mapping[str, Facts], answers: Answers) -> dict[int, str]:
    said = {folded(name): to for name, to in answers.get(section, {}).items()}
    found = {number: said.get(folded(facts.said), "") for number, facts in enumerate(rows)}
    told = {number: name for number, name in found.items() if name == NEW or name in known}
    twice = [name for name, count in Counter(told.values()).items() if count > 1 and name != NEW]
    if twice:
        raise ShowError(
            f"the answers make two rows of {section} the same thing, {twice[0]}", "say 'new' for one of them"
        )
    return told


def _left(rows: Sequence[int], found: Matches) -> list[int]:
    return [row for row in rows if row not in found.sure and row not in found.doubts]


def _things(known: Mapping[str, Facts], found: Matches) -> list[str]:
    taken = {*found.sure.values()}
    return [name for name in sorted(known) if name not in taken]


def _by_key(rows: Sequence[Facts], known: Mapping[str, Facts], left: Sequence[int], found: Matches, key: Any) -> None:
    """Takes pairs that share a key which only one row and one thing have."""
    there = list(_things(known, found))
    things = Counter(key(known[name]) for name in there)
    wanted = Counter(key(rows[row]) for row in left)
    by_key = {key(known[name]): name for name in there}
    for row in left:
        word = key(rows[row])
        if word and wanted[word] == 1 and things[word] == 1:
            found.sure[row], found.scores[row] = by_key[word], 1.0


def _by_name(
    section: str, rows: Sequence[Facts], known: Mapping[str, Facts], left: Sequence[int], found: Matches
) -> None:
    """Equal names are the same thing, unless two of them seem to have traded names."""
    before = {*found.sure}
    _by_key(rows, known, left, found, lambda facts: plain(facts.name or facts.label))
    _by_key(rows, known, _left(left, found), found, lambda facts: plain(facts.label))
    named = {row: name for row, name in found.sure.items() if row not in before}
    holders = {facts.content: name for name, facts in sorted(known.items()) if len(facts.content) > 1}
    shared = Counter(facts.content for facts in known.values())
    for row, name in named.items():
        other = holders.get(rows[row].content)
        if other is None or other == name or shared[rows[row].content] > 1 or other not in named.values():
            continue
        back = next(number for number, thing in named.items() if thing == other)
        if rows[back].content == known[name].content and rows[row].content != known[name].content:
            near = 0.5 + 0.5 * _shared(rows[row].content, known[name].content)
            why = "its list is that of another position, and the other way round: names or lists were traded"
            found.doubts[row] = Doubt(section, rows[row].said, ((name, round(near, 2)), (other, round(near, 2))), why)
    for row in found.doubts:
        found.sure.pop(row, None)


def _by_score(
    section: str, rows: Sequence[Facts], known: Mapping[str, Facts], left: Sequence[int], found: Matches
) -> None:
    doubted = {name for doubt in found.doubts.values() for name, _ in doubt.candidates}
    things = [name for name in _things(known, found) if name not in doubted]
    order = sorted(left, key=lambda row: _sort_key(rows[row]))
    if not order or not things:
        return
    from scipy.optimize import linear_sum_assignment

    table = scores([rows[row] for row in order], [known[name] for name in things])
    lines, columns = linear_sum_assignment(table, maximize=True)
    for line, column in zip(lines.tolist(), columns.tolist(), strict=True):
        row, score = order[line], float(table[line, column])
        if score < MAYBE:
            continue
        rivals = max(_second(table[line], column), _second(table[:, column], line))
        if score >= SURE and score - rivals >= MARGIN:
            found.sure[row], found.scores[row] = things[column], round(score, 2)
        else:
            likely = table[line].argsort(kind="stable")[::-1][:20].tolist()
            best = sorted(((float(table[line, place]), things[place]) for place in likely), key=_best)[:3]
            near = tuple((name, round(value, 2)) for value, name in best if value >= MAYBE)
            found.doubts[row] = Doubt(section, rows[row].said, near)


def _best(pair: tuple[float, str]) -> tuple[float, str]:
    return -pair[0], pair[1]


def _sort_key(facts: Facts) -> tuple[str, ...]:
    return (folded(facts.name), folded(facts.label), facts.hardware or "", *sorted(facts.content))


def _second(values: Any, taken: int) -> float:
    """The best of the scores but for the one that was taken."""
    import numpy

    others = numpy.delete(values, taken)
    return float(others.max()) if others.size else 0.0


def scores(rows: Sequence[Facts], things: Sequence[Facts]) -> Any:
    """How alike each row and each thing are, 0 to 1, as a table: rows down, things across.

    Half of it is the name, where names with different numbers in them are never near; the rest label and content.
    The same content counts as much as a name when only this row and this thing have it.
    """
    import numpy
    from rapidfuzz import fuzz, process

    spoken, called = ([plain(facts.name or facts.label) for facts in some] for some in (rows, things))
    names = process.cdist(spoken, called, scorer=fuzz.ratio, dtype=numpy.float32) / 100
    numbered = _both(rows, things, lambda facts: bool(_numbers(facts)))
    names *= numpy.where(_differ(rows, things, _numbers), numpy.where(numbered, 0.6, 0.85), 1.0)
    labels = ~_differ(rows, things, lambda facts: plain(facts.label) or None)
    has_labels = _both(rows, things, lambda facts: bool(facts.label))
    content, has_content = _content(rows, things)
    weight = 0.5 + 0.15 * has_labels + 0.35 * has_content
    total = (0.5 * names + 0.15 * (labels & has_labels) + 0.35 * content) / weight
    return numpy.maximum(total, _only_here(rows, things) * (0.9 + 0.1 * names))


def _numbers(facts: Facts) -> tuple[str, ...]:
    return tuple(re.findall(r"\d+", facts.name))


def _only_here(rows: Sequence[Facts], things: Sequence[Facts]) -> Any:
    """1 where row and thing have the same list, and no other row or thing has it; less where it is one entry."""
    import numpy

    found = numpy.zeros((len(rows), len(things)), dtype=numpy.float32)
    among_rows, among_things = (Counter(facts.content for facts in some) for some in (rows, things))
    place = {facts.content: number for number, facts in enumerate(things)}
    for number, facts in enumerate(rows):
        if facts.content and among_rows[facts.content] == 1 and among_things[facts.content] == 1:
            found[number, place[facts.content]] = 1 if len(facts.content) > 1 else 0.7
    return found


def _differ(rows: Sequence[Facts], things: Sequence[Facts], key: Any) -> Any:
    import numpy

    words = {word: number for number, word in enumerate({key(facts) for facts in (*rows, *things)})}
    left = numpy.array([words[key(facts)] for facts in rows])
    return left[:, None] != numpy.array([words[key(facts)] for facts in things])[None, :]


def _both(rows: Sequence[Facts], things: Sequence[Facts], has: Any) -> Any:
    import numpy

    left = numpy.array([has(facts) for facts in rows], dtype=bool)
    return left[:, None] & numpy.array([has(facts) for facts in things], dtype=bool)[None, :]


def _content(rows: Sequence[Facts], things: Sequence[Facts]) -> tuple[Any, Any]:
    """The share of their lists that row and thing have in common (Jaccard), and where both have one."""
    import numpy

    words = {
        word: place for place, word in enumerate(sorted({word for facts in (*rows, *things) for word in facts.content}))
    }
    has = _both(rows, things, lambda facts: bool(facts.content))
    if not words:
        return numpy.zeros(has.shape, dtype=numpy.float32), has

    def incidence(some: Sequence[Facts]) -> Any:
        made = numpy.zeros((len(some), len(words)), dtype=numpy.float32)
        for number, facts in enumerate(some):
            made[number, [words[word] for word in facts.content]] = 1
        return made

    left, right = incidence(rows), incidence(things)
    common = left @ right.T
    union = left.sum(axis=1)[:, None] + right.sum(axis=1)[None, :] - common
    return common / numpy.maximum(union, 1), has


def _shared(one: frozenset[str], other: frozenset[str]) -> float:
    return len(one & other) / max(len(one | other), 1)


SLIP = 90
"""From this ratio on (0 to 100) a new name may be a slip of the pen. Chosen by trial, no source."""


def slips(new: Sequence[str], names: Sequence[str]) -> list[tuple[str, str]]:
    """Each new name that is nearly another of `names`, with that one. Names with other numbers or letters are not."""
    import numpy
    from rapidfuzz import fuzz, process

    spoken, others = [name for name in new if name], sorted({*names} - {""})
    texts, known = ([plain(name) for name in some] for some in (spoken, others))
    table = process.cdist(texts, known, scorer=fuzz.ratio, score_cutoff=SLIP, dtype=numpy.uint8)
    near: dict[str, tuple[int, str]] = {}
    for row, column in numpy.argwhere(table).tolist():
        if texts[row] != known[column] and marks(texts[row]) == marks(known[column]):
            near[spoken[row]] = max(near.get(spoken[row], (0, "")), (int(table[row, column]), others[column]))
    return [(name, other) for name, (_, other) in sorted(near.items())]
