"""All that is critical in the example show taken away two at a time, one on each side of a merge.

What only the pair loses is judged by `tests/paths/oracle`, written from the sentences of what a path is and knowing
nothing of the program: none of it may be recorded unasked. As many pairs as `SHOWVC_EXAMPLES` says, else a few.
"""

from __future__ import annotations

import json
import os
import random
from collections import Counter
from functools import cache
from itertools import combinations
from typing import Any, NamedTuple

from showvc.document import Show
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import join
from showvc.formats.single import single_text
from showvc.merging import merge
from tests.changes.test_nothing_goes_untold import SHOW
from tests.changes.test_nothing_goes_untold import TAKEN as ALONE
from tests.paths.oracle.effect import now_off
from tests.paths.oracle.sound import pairs, surely
from tests.paths.oracle.there import Doc

Steps = tuple[str, ...]
BRIDGES = [("bridge", ("bridges", name), ABSENT) for name, body in SHOW.bridges.items() if body.standby is None]
TAKEN = [*(each for each in ALONE if each[0] != "bridge"), *BRIDGES]
"""Bridges too of which none alone takes a path away."""
EXAMPLES = int(os.environ.get("SHOWVC_EXAMPLES", "0"))


class Held(NamedTuple):
    """Who hears whom over what, and who hears whom over any target but a line."""

    over: frozenset[tuple[str, str, str]]
    pairs: frozenset[tuple[str, str]]


def doc_of(show: Show) -> Doc:
    found: dict[str, Any] = json.loads(single_text(show, ".json"))
    return found


def held(doc: Doc) -> Held:
    read = surely(doc)
    return Held(frozenset(read.paths), frozenset(pairs(doc, read)))


def edited(number: int) -> Show:
    _, steps, value = TAKEN[number]
    return put(SHOW, {steps: value})


@cache
def alone(number: int) -> tuple[Doc, Held]:
    """The show after one edit, as the oracle has it."""
    doc = doc_of(edited(number))
    return doc, held(doc)


def lost_only_together(one: int, other: int, result: Show) -> set[object]:
    """What both sides had, and the result has not."""
    (mine, had), (incoming, had_too), doc = alone(one), alone(other), doc_of(result)
    now = held(doc)
    off = now_off(mine, doc) & now_off(incoming, doc)
    return {*((had.over & had_too.over) - now.over), *((had.pairs & had_too.pairs) - now.pairs), *off}


def all_pairs() -> list[tuple[int, int]]:
    """Those of bridges and circuits first, which stand in for each other, then all others in any order."""
    every = [pair for pair in combinations(range(len(TAKEN)), 2) if TAKEN[pair[0]][1] != TAKEN[pair[1]][1]]
    shared = [pair for pair in every if {TAKEN[number][1][0] for number in pair} <= {"bridges", "circuits"}]
    random.Random(4).shuffle(shared)
    others = [pair for pair in every if pair not in set(shared)]
    random.Random(5).shuffle(others)
    truck = [pair for pair in shared if all("truck" in TAKEN[number][1][1] for number in pair)]
    return [*truck, *shared[:3], *others] if len(every) > EXAMPLES else every


def test_nothing_that_only_a_pair_of_edits_loses_is_recorded_unasked() -> None:
    asked, silent, untold = 0, 0, []
    for one, other in all_pairs()[: EXAMPLES or 8]:
        merged = merge(SHOW, edited(one), edited(other))
        if not merged.clean or merged.held:
            asked += 1
        elif found := lost_only_together(one, other, merged.show):
            untold.append((join(*TAKEN[one][1]), join(*TAKEN[other][1]), sorted(map(str, found))[:3]))
        else:
            silent += 1
    assert untold == []
    assert asked and silent, "both sorts are among them"


def test_what_is_told_of_a_pair_is_what_the_oracle_finds() -> None:
    """The truck hangs on two bridges: each side removes one."""
    one, other = (next(n for n, each in enumerate(TAKEN) if each[1] == ("bridges", f"truck-{name}")) for name in ("main", "second"))  # fmt: skip
    merged = merge(SHOW, edited(one), edited(other))
    told = {loss for conflict in merged.conflicts for loss in conflict.losses}
    found = lost_only_together(one, other, merged.show)
    assert merged.combined is not None
    told |= {*merged.combined.lost_over}
    assert told == {each for each in found if len(each) == 3}  # type: ignore[arg-type]
    assert any(conflict.kind == "path-lost" for conflict in merged.conflicts), "SM must reach the truck"


# --- everything twice ------------------------------------------------------------------------------------------------


def is_alone(name: str) -> bool:
    """Whether a bridge is the only one to its circuit."""
    return [body.circuit for body in SHOW.bridges.values()].count(SHOW.bridges[name].circuit) == 1


def twice() -> tuple[Show, dict[Steps, Steps]]:
    """The example show with a second one of each critical channel, of each headset and of each bridge."""
    second: dict[Steps, Steps] = {}
    values: dict[Steps, object] = {}
    for sort, steps, _ in TAKEN:
        if sort in ("listen", "talk") and "#" not in steps[3]:
            listed = SHOW.users[steps[1]].channels
            again = (*steps[:3], f"{steps[3]}#2")
            if f"{steps[3]}#2" not in listed and again not in values:
                taken = {entry.number for entry in listed.values()} | {
                    made["number"]
                    for place, made in values.items()
                    if place[:2] == steps[:2] and isinstance(made, dict)
                }
                body = json.loads(single_text(SHOW, ".json"))["users"][steps[1]]["channels"][steps[3]]
                values[again] = {**body, "number": max(taken) + 1}
            second[steps] = (*again, steps[4])
        elif sort == "device":
            body = json.loads(single_text(SHOW, ".json"))["devices"][steps[1]]
            values["devices", f"{steps[1]}-b"] = {name: value for name, value in body.items() if name != "hardware"}
            second[steps] = ("devices", f"{steps[1]}-b")
        elif sort == "bridge" and is_alone(steps[1]):
            body = json.loads(single_text(SHOW, ".json"))["bridges"][steps[1]]
            values["devices", f"unit-{steps[1]}-b"] = {"kind": "ports-2"}
            values["bridges", f"{steps[1]}-b"] = {**body, "device": f"unit-{steps[1]}-b", "port": 1}
            second[steps] = ("bridges", f"{steps[1]}-b")
    return put(SHOW, {**values, ("limits",): {}}), second


def test_of_two_that_stand_in_for_each_other_no_two_engineers_take_one_each_unasked() -> None:
    show, second = twice()
    every = [(sort, steps) for sort, steps, _ in TAKEN if steps in second]
    counts: Counter[str] = Counter()
    for sort, steps in every if EXAMPLES else every[::9]:
        gone = "none" if sort in ("listen", "talk") else ABSENT
        merged = merge(show, put(show, {steps: gone}), put(show, {second[steps]: gone}))
        assert not merged.clean or merged.held, join(*steps)
        counts[sort] += 1
    assert counts.keys() == {"listen", "talk", "device", "bridge"}, counts
