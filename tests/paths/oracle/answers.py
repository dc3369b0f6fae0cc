"""The oracle's answers in the words of `cases.py`, one function a question."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.paths.oracle import capacity, ends, rings, sound
from tests.paths.oracle import effect as effects
from tests.paths.oracle.building import Case, words
from tests.paths.oracle.there import Doc, Thing, named, off_headset

Out = frozenset[Thing]
Answer = Any


def heard(doc: Doc, out: Out) -> set[str]:
    return {f"{x}>{y}" for x, y in sound.pairs(doc, sound.surely(doc, out))}


def maybe(doc: Doc, out: Out) -> set[str]:
    return {f"{x}>{y}" for x, y in sound.pairs(doc, sound.possibly(doc, out))} - heard(doc, out)


def paths(doc: Doc, out: Out) -> set[str]:
    """Every path that surely is, with its best way."""
    found = ((triple, sound.best(ways)) for triple, ways in sound.surely(doc, out).paths.items())
    return {f"{x}>{y} over {over}: {way.how} {'sure' if way.sure else 'unsure'}" for (x, over, y), way in found}


def off(doc: Doc, out: Out) -> set[str]:
    return off_headset(doc, out)


def raises(doc: Doc, out: Out) -> dict[str, set[str]]:
    return {line: sound.line_raisers(doc, line, out) for line in doc.get("lines", {})}


def hears(doc: Doc, out: Out) -> dict[str, set[str]]:
    return {line: sound.line_hearers(doc, line, out) for line in doc.get("lines", {})}


def required(doc: Doc, out: Out) -> dict[str, str]:
    return {name: told.state for name, told in ends.required(doc, out).items()}


def names(doc: Doc, out: Out) -> dict[str, set[str]]:
    return {name: {*told.unknown} for name, told in ends.required(doc, out).items()}


def takes(doc: Doc, out: Out) -> dict[str, set[str]]:
    return {name: {"/".join(each) for each in told.takes_away} for name, told in ends.required(doc, out).items()}


def failures(doc: Doc, out: Out) -> dict[str, set[str]]:
    """What each single failure takes away; in brackets where a standby, put in by hand, brings all of it back."""
    found = {}
    for thing, harm in ends.failures(doc, out).items():
        found["/".join(thing)] = {f"({each})" if harm.by_hand else each for each in harm.required | harm.targets}
    return found


def apart(doc: Doc, out: Out) -> dict[str, str]:
    return {name: _apart(told) for name, told in ends.apart(doc, out).items()}


def _apart(found: ends.Apart) -> str:
    if found.empty:
        return "empty"
    word, told = ("broken", found.surely) if found.surely else ("maybe", found.only_possibly)
    return f"{word} {' '.join(sorted(f'{x}>{y}' for x, y in told))}" if told else "kept"


def clash(doc: Doc, out: Out) -> set[str]:
    return {f"{must} {never} {x}>{y}" for must, never, (x, y) in ends.contradictions(doc)}


def public(doc: Doc, out: Out) -> set[str]:
    return {
        f"{leak.talker} over {leak.target} to {leak.circuit}: {leak.talk} {leak.reading}"
        for leak in ends.public(doc, out)
    }


def sure_rings(doc: Doc, out: Out) -> set[str]:
    return {"+".join(sorted(ring)) for ring in rings.rings(doc, out)}


def maybe_rings(doc: Doc, out: Out) -> set[str]:
    return {"+".join(sorted(ring)) for ring in rings.possible_rings(doc, out)} - sure_rings(doc, out)


def independent(doc: Doc, out: Out) -> int:
    return len(rings.independent(rings.rings(doc, out)))


def full(doc: Doc, out: Out) -> set[str]:
    return {" ".join(each) for each in capacity.over_full(doc, out)}


def effect(before: Doc, after: Doc) -> dict[str, set[str]]:
    """Only the fields in which something is."""
    found = effects.effect(before, after)
    told = {
        "off_headset": {*found.off_headset},
        "lost": {f"{x}>{y}" for x, y in found.lost},
        "gained": {f"{x}>{y}" for x, y in found.gained},
        "lost_over": {f"{x}>{y} over {over}" for x, over, y in found.lost_over},
        "weaker": {f"{x}>{y} over {over or '-'}: {word}" for x, over, y, word in found.weaker},
        "overheard": {f"{x}>{y} {name or '-'}" for x, y, name in found.overheard},
        "members": {f"{name} {who}" for name, who in found.members},
    }
    return {name: value for name, value in told.items() if value}


QUESTIONS: dict[str, Callable[[Doc, Out], Answer]] = {
    "heard": heard, "maybe": maybe, "paths": paths, "off": off, "raises": raises, "hears": hears, "required": required,
    "names": names, "takes": takes, "failures": failures, "apart": apart, "clash": clash, "public": public, "rings": sure_rings,
    "maybe_rings": maybe_rings, "independent": independent, "full": full,
}  # fmt: skip
ONE_PHRASE = ("required", "apart")
"""Questions whose answers are whole phrases, not lists."""


def answer(case: Case, question: str) -> Answer:
    if question == "effect":
        return effect(case.doc, case.after)
    return QUESTIONS[question](case.doc, named(case.doc, *case.out))


def wanted(case: Case, question: str) -> Answer:
    """What the case says by hand, in the same form."""
    said = case.asks[question]
    if isinstance(said, str):
        return words(said)
    if isinstance(said, dict) and question not in ONE_PHRASE:
        return {name: words(value) for name, value in said.items()}
    return said
