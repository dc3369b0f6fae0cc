"""What a sync has to do, decided from four views of the same names: here, there, there as last seen, and why.

Pure: names and ids in, a plan out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from showvc.history.archive import DRAFTS, MARKS, RELEASES

Ids = Mapping[str, str]
"""Full names to snapshots."""

Contains = Callable[[str, str], bool]
"""Whether the first snapshot leads to, or is, the second."""


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing that a person should know. `needs_person` where something waits for somebody."""

    kind: str
    name: str
    words: str
    needs_person: bool = False

    def plain(self) -> dict[str, str]:
        return {"kind": self.kind, "name": self.name, "message": self.words}


@dataclass(frozen=True, slots=True)
class Plan:
    """Names to change here and there (None: taken away), and what to say about it.

    `merge` is the hub's snapshot that this draft is to be merged with.
    """

    here: Mapping[str, str | None] = field(default_factory=dict)
    there: Mapping[str, str | None] = field(default_factory=dict)
    notices: tuple[Notice, ...] = ()
    merge: str | None = None


@dataclass(frozen=True, slots=True)
class Views:
    """The same names (drafts, marks, releases) here, at the hub, and at the hub as last seen."""

    here: Ids
    there: Ids
    seen: Ids

    def names(self, prefix: str) -> list[str]:
        return sorted(name for name in {*self.here, *self.there, *self.seen} if name.startswith(prefix))

    def of(self, name: str) -> tuple[str | None, str | None, str | None]:
        return self.here.get(name), self.there.get(name), self.seen.get(name)


def rewritten(views: Views, contains: Contains) -> tuple[Notice, ...]:
    """The drafts of which the hub no longer holds what it held: it was put back, rewritten, or is another hub."""
    found = []
    for name in views.names(DRAFTS):
        _, there, seen = views.of(name)
        if seen is None or (there is not None and contains(there, seen)):
            continue
        word = name.removeprefix(DRAFTS)
        what = f"stands on {there[:7]}" if there else "is gone"
        words = f"The hub's draft {word} held {seen[:7]} and {what} now: it was put back or rewritten."
        found.append(Notice("rewritten", word, words, needs_person=True))
    return tuple(found)


def plan(views: Views, draft: str, contains: Contains, deliberate: Callable[[str], bool]) -> Plan:
    """What this sync does. `deliberate` tells whether a name differs here because somebody wanted it so."""
    plans = [_plan_draft(views, name, draft, contains, deliberate) for name in views.names(DRAFTS)]
    taken = {*views.here, *views.there}
    plans += [_plan_mark(views, name, deliberate, taken) for name in views.names(MARKS)]
    plans += [_plan_release(views, name, deliberate) for name in views.names(RELEASES)]
    return _together(plans)


def _together(plans: Iterable[Plan]) -> Plan:
    here: dict[str, str | None] = {}
    there: dict[str, str | None] = {}
    notices: list[Notice] = []
    merge = None
    for each in plans:
        here.update(each.here)
        there.update(each.there)
        notices += each.notices
        merge = merge or each.merge
    return Plan(here, there, tuple(notices), merge)


def _plan_draft(views: Views, name: str, draft: str, contains: Contains, deliberate: Callable[[str], bool]) -> Plan:
    here, there, seen = views.of(name)
    word = name.removeprefix(DRAFTS)
    if here == there:
        return Plan()
    if here is None:
        if there is None or (there == seen and deliberate(name)):
            return Plan()  # closed here, and nothing new on it since
        return Plan(here={name: there}, notices=(Notice("new-draft", word, f"New draft from the hub: {word}."),))
    if there is None or contains(here, there):
        return Plan(there={name: here})
    if word == draft:
        return Plan(merge=there)
    if contains(there, here):
        return Plan(here={name: there}, notices=(Notice("draft", word, f"Draft {word}: the hub's newer one is here."),))
    words = (
        f"Draft {word} was edited here and at the hub. Put the two together: showvc draft go {word}, then showvc sync."
    )
    return Plan(notices=(Notice("apart", word, words, needs_person=True),))


def _plan_mark(views: Views, name: str, deliberate: Callable[[str], bool], taken: set[str]) -> Plan:
    here, there, seen = views.of(name)
    word = name.removeprefix(MARKS)
    if here == there:
        return Plan()
    if there == seen and (seen is None or deliberate(name)):
        return Plan(there={name: here})
    if seen in (here, there):
        return Plan(here={name: there}, notices=(Notice("mark", word, _mark_words(word, here, there)),))
    if there is None or here is None:
        # One side took the mark away, the other moved it: what stands is kept.
        kept = Plan(there={name: here}) if there is None else Plan(here={name: there})
        words = f"The mark {word} was moved on one side and taken away on the other; it stands."
        return Plan(kept.here, kept.there, (Notice("mark", word, words),))
    return _both_moved(name, here, there, taken)


def _mark_words(word: str, here: str | None, there: str | None) -> str:
    if there is None:
        return f"The mark {word} was taken away at the hub."
    was = f", was on {here[:7]}" if here else ""
    return f"Mark {word} from the hub: on {there[:7]}{was}."


def _both_moved(name: str, here: str, there: str, taken: set[str]) -> Plan:
    """Two engineers gave one name to two snapshots: both names stay in sight, the hub's as it is."""
    other = next(fresh for turn in range(2, 10_000) if (fresh := f"{name[: len(MARKS) + 55]}-{turn}") not in taken)
    taken.add(other)
    word, new = name.removeprefix(MARKS), other.removeprefix(MARKS)
    words = (
        f"The mark {word} stands on {there[:7]} at the hub and stood on {here[:7]} here: the hub's keeps the name, "
        f"yours is called {new} now."
    )
    return Plan({name: there, other: here}, {other: here}, (Notice("mark-twice", word, words, needs_person=True),))


def _plan_release(views: Views, name: str, deliberate: Callable[[str], bool]) -> Plan:
    """A release never moves: a stamp stands for one content. Where two made it, the hub's record stands."""
    here, there, seen = views.of(name)
    word = name.removeprefix(RELEASES)
    if here == there:
        return Plan()
    if there is None:
        return Plan(there={name: here})
    if here is None and there == seen and deliberate(name):
        return Plan()
    words = f"Release {word} from the hub." if here is None else f"Release {word}: the hub's record of it stands."
    return Plan(here={name: there}, notices=(Notice("release", word, words),))
