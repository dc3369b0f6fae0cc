"""Required paths, what must stay apart, public circuits, and single failures, from their sentences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from tests.paths.oracle.sound import Heard, Sound, Way, best, pairs, possibly, surely
from tests.paths.oracle.there import (
    OUTABLE,
    Body,
    Doc,
    Scene,
    Thing,
    entries,
    goes,
    is_port,
    live,
    off_headset,
    people,
    root_of,
    section,
    what_is,
)

Pair = tuple[str, str]
STATES = ("met", "unsure", "menu only", "in doubt", "lost")
"""The states of a required path, the best first."""


# Ends


def is_plural(doc: Doc, end: str) -> bool:
    """An end that is a group, a line, a department or everyone."""
    return end == "everyone" or end.startswith("department:") or what_is(doc, end) in ("group", "line")


def members(doc: Doc, end: str, role: str, loose: bool = False) -> set[str]:
    """Those whom the document lists, on headset or not, as `from` or as `to`; loose: unwritten and standbys are put in."""
    if end == "everyone":
        return {*people(doc)}
    if end.startswith("department:"):
        name = end.partition(":")[2]
        return {user for user in people(doc) if section(doc, "users")[user].get("department") == name}
    if end in section(doc, "circuits") or (what_is(doc, end) == "user" and not is_port(doc, end)):
        return {end}
    if what_is(doc, end) in ("group", "line"):
        return people_on(doc, end, role) | circuits_on(doc, end, role, loose)
    return set()


def people_on(doc: Doc, target: str, role: str) -> set[str]:
    """Of a group its talkers as `from`, its listeners as `to`; of a line who does not say `listen: none`."""
    return {user for user in people(doc) if _lists(doc, user, target, role)}


def _lists(doc: Doc, user: str, target: str, role: str) -> bool:
    mine = [each for each in entries(doc, user) if each.target == target]
    if role == "from":
        return any(each.talk != "none" for each in mine)
    if not mine:
        return what_is(doc, target) == "line" and not is_port(doc, user)
    return any(each.listen != "none" for each in mine)


def bridged_on(doc: Doc, target: str, role: str, loose: bool) -> set[str]:
    """The circuits with a bridge this way to a target, or to a port whose list has it; a standby is not beside what it replaces."""
    way = "in" if role == "from" else "out"
    return {
        body["circuit"]
        for body in section(doc, "bridges").values()
        if goes(body, way)
        and (loose or not body.get("standby"))
        and body.get("circuit") in section(doc, "circuits")
        and (body["target"] == target or (is_port(doc, body["target"]) and _lists(doc, body["target"], target, role)))
    }


def circuits_on(doc: Doc, target: str, role: str, loose: bool) -> set[str]:
    """Circuits that speak on it as `from`, that hear as `to`."""
    field = "speaks" if role == "from" else "hears"
    return {each for each in bridged_on(doc, target, role, loose) if section(doc, "circuits")[each].get(field, loose)}


def unknown_on(doc: Doc, end: str) -> set[str]:
    """The circuits on a group that is heard of, with unwritten `hears`: they make the state unsure, and are named."""
    if what_is(doc, end) not in ("group", "line"):
        return set()
    return {each for each in bridged_on(doc, end, "to", False) if "hears" not in section(doc, "circuits")[each]}


# Required


@dataclass(frozen=True)
class Required:
    """What a required path comes to: its state, who is named in it, and what takes it away where it needs two ways."""

    state: str
    lost: frozenset[Pair] = frozenset()
    unknown: frozenset[str] = frozenset()
    takes_away: frozenset[Thing] = frozenset()


def directions(body: Body) -> list[Pair]:
    """`both` turns it round as well."""
    there = (body["from"], body["to"])
    return [there, there[::-1]] if body.get("both") else [there]


def ways_over(doc: Doc, heard: Heard, pair: Pair, over: str | None) -> frozenset[Way]:
    """`over` binds to a group or line; without it groups, direct calls and circuits count."""
    if over is None:
        return pairs(doc, heard).get(pair, frozenset())
    return heard.paths.get((pair[0], over, pair[1]), frozenset())


def pair_state(ways: frozenset[Way]) -> str:
    if not ways:
        return "lost"
    top = best(ways)
    return "menu only" if top.how == "menu" else "met" if top.sure else "unsure"


def enough(doc: Doc, ends: Pair, found: tuple[set[str], set[str]], least: int) -> bool:
    """`at-least` counts the members of each plural end, else of `to`, without who alone is the other end."""
    counted = [turn for turn in (0, 1) if is_plural(doc, ends[turn])] or [1]
    alone = [each if len(each) == 1 else set() for each in found]
    return all(len(found[turn] - alone[1 - turn]) >= least for turn in counted)


def wanted_pairs(doc: Doc, ends: Pair) -> set[Pair]:
    """Each `from` must be heard by each `to` but himself."""
    talkers, listeners = members(doc, ends[0], "from"), members(doc, ends[1], "to")
    return {(x, y) for x, y in product(talkers, listeners) if x != y}


def direction_state(at: Standing, ends: Pair, body: Body) -> Required:
    """A member off headset, an empty end, no pair left, fewer than `at-least`: lost."""
    doc, over = at.doc, body.get("over")
    found = (members(doc, ends[0], "from"), members(doc, ends[1], "to"))
    wanted = wanted_pairs(doc, ends)
    states = {pair: pair_state(ways_over(doc, at.heard, pair, over)) for pair in wanted}
    lost = frozenset(pair for pair, state in states.items() if state == "lost")
    whole = wanted and not (found[0] | found[1]) & at.off and enough(doc, ends, found, body.get("at-least", 1))
    worst = max(states.values(), key=STATES.index) if whole else "lost"
    unknown = unknown_on(doc, ends[1])
    return Required("unsure" if worst == "met" and unknown else worst, lost, frozenset(unknown))


@dataclass(frozen=True)
class Standing:
    """A document in the reading of what surely is, with what was put in by hand and what is out."""

    doc: Doc
    heard: Heard
    off: frozenset[str]


def standing(doc: Doc, out: frozenset[Thing] = frozenset(), swapped: frozenset[str] = frozenset()) -> Standing:
    return Standing(doc, surely(doc, out, swapped), frozenset(off_headset(doc, out)))


def state(at: Standing, body: Body) -> Required:
    """Met, unsure, menu only or lost; of both directions the worse."""
    found = [direction_state(at, ends, body) for ends in directions(body)]
    return Required(
        max((each.state for each in found), key=STATES.index),
        frozenset().union(*(each.lost for each in found)),
        frozenset().union(*(each.unknown for each in found)),
    )


def all_written(doc: Doc) -> dict[str, Any]:
    """The document with every unwritten `hears`, `speaks` and `carries` true."""
    believed = {"hears": True, "speaks": True, "carries": True}
    return {**doc, "circuits": {name: {**believed, **body} for name, body in section(doc, "circuits").items()}}


def required(doc: Doc, out: frozenset[Thing] = frozenset()) -> dict[str, Required]:
    """Every required path: as it surely is; in doubt, where it would hold were all that is unwritten true; fragile."""
    known, believed = standing(doc, out), standing(all_written(doc), out)
    found: dict[str, Required] = {}
    for name, body in section(doc, "required").items():
        now = state(known, body)
        if now.state == "lost" and state(believed, body).state != "lost":
            now = replace(now, state="in doubt")
        elif now.state != "lost" and body.get("ways", 1) > 1:
            harm = frozenset(thing for thing in may_go(doc, body) if not survives(doc, body, out | {thing}))
            now = replace(now, state="fragile" if harm else now.state, takes_away=harm)
        found[name] = now
    return found


# Single failures


def may_go(doc: Doc, body: Body) -> set[Thing]:
    """Any one bridge, device that is not an end's own headset, carrier, or circuit that is no end."""
    ends = {each for pair in directions(body) for each in members(doc, pair[0], "from") | members(doc, pair[1], "to")}
    return {
        (place, name)
        for place in OUTABLE
        for name, thing in section(doc, place).items()
        if not (place == "circuits" and name in ends) and not (place == "devices" and thing.get("user") in ends)
    }


def by_hand(doc: Doc, out: frozenset[Thing]) -> list[frozenset[str]]:
    """The standbys that a hand can put in, each in place of a bridge that is not live now."""
    bridges = section(doc, "bridges")
    dead = {name for name in bridges if not live(Scene(doc, out=out), name)}
    ranks: dict[str, list[str]] = {}
    for name, body in bridges.items():
        if body.get("standby") and root_of(doc, name) in dead:
            ranks.setdefault(root_of(doc, name), [""]).append(name)
    return [frozenset(filter(None, chosen)) for chosen in product(*ranks.values())]


def survives(doc: Doc, body: Body, out: frozenset[Thing]) -> bool:
    """It still holds, menu only at worst, perhaps by hand, with the standby."""
    return any(state(standing(doc, out, swapped), body).state != "lost" for swapped in by_hand(doc, out))


@dataclass(frozen=True)
class Failure:
    """What goes with one thing: required paths, critical groups and lines of which nothing is left; and whether standbys help."""

    required: frozenset[str]
    targets: frozenset[str]
    by_hand: bool


def failures(doc: Doc, out: frozenset[Thing] = frozenset()) -> dict[Thing, Failure]:
    """Each single device, bridge, circuit and carrier whose going takes a required path, or all of a critical group or line, away."""
    before, found = held(doc, standing(doc, out)), {}
    for place in OUTABLE:
        for name in section(doc, place):
            gone = out | {(place, name)}
            left = [before - held(doc, standing(doc, gone, swapped)) for swapped in by_hand(doc, gone)]
            if left[0]:
                split = [frozenset(each for what, each in left[0] if what == word) for word in ("required", "target")]
                found[place, name] = Failure(split[0], split[1], not all(left))
    return found


def held(doc: Doc, at: Standing) -> set[Thing]:
    """The required paths that hold, menu only at worst, and the critical groups and lines over which anybody is heard."""
    critical = {
        name
        for place in ("groups", "lines")
        for name, body in section(doc, place).items()
        if body.get("critical") and any(over == name for _, over, _ in at.heard.paths)
    }
    holding = {name for name, body in section(doc, "required").items() if state(at, body).state != "lost"}
    return {("required", name) for name in holding} | {("target", name) for name in critical}


# Apart


@dataclass(frozen=True)
class Apart:
    """What a path that must never be comes to: who is heard all the same, who is in both ends, whether an end is empty."""

    surely: frozenset[Pair]
    only_possibly: frozenset[Pair]
    in_both: frozenset[str]
    empty: bool


def apart_ends(doc: Doc, ends: Pair, loose: bool) -> tuple[set[str], set[str], set[str]]:
    """Who is in both ends leaves the plural ends, never an end that names him, and is named once."""
    talkers, listeners = members(doc, ends[0], "from", loose), members(doc, ends[1], "to", loose)
    both = talkers & listeners
    return (
        talkers - both if is_plural(doc, ends[0]) else talkers,
        listeners - both if is_plural(doc, ends[1]) else listeners,
        both,
    )


def apart_pairs(doc: Doc, body: Body, loose: bool) -> set[Pair]:
    """One way, unless `both`."""
    found: set[Pair] = set()
    for ends in directions(body):
        talkers, listeners, _ = apart_ends(doc, ends, loose)
        found |= {(x, y) for x, y in product(talkers, listeners) if x != y}
    return found


def apart(doc: Doc, out: frozenset[Thing] = frozenset()) -> dict[str, Apart]:
    """Surely a block, only possibly a warning; an empty end is a warning."""
    certain, maybe = surely(doc, out), possibly(doc, out)
    return {name: kept_apart(doc, body, certain, maybe) for name, body in section(doc, "apart").items()}


def kept_apart(doc: Doc, body: Body, certain: Heard, maybe: Heard) -> Apart:
    over = body.get("over")
    broken = {pair for pair in apart_pairs(doc, body, False) if ways_over(doc, certain, pair, over)}
    leaky = {pair for pair in apart_pairs(doc, body, True) if ways_over(doc, maybe, pair, over)}
    written = [apart_ends(doc, ends, False) for ends in directions(body)]
    loose = [apart_ends(doc, ends, True) for ends in directions(body)]
    empty = any(not talkers or not listeners for talkers, listeners, _ in loose)
    in_both = frozenset().union(*(each[2] for each in written))
    return Apart(frozenset(broken), frozenset(leaky - broken), in_both, empty)


def contradictions(doc: Doc) -> set[tuple[str, str, Pair]]:
    """A pair that is both required and apart: the required path, the apart one, and the pair.

    Only where the path that must be is one that must not: over the same target, or apart over any.
    """
    return {
        (one, other, pair)
        for one, must in section(doc, "required").items()
        for other, never in section(doc, "apart").items()
        if _same_over(doc, must.get("over"), never.get("over"))
        for ends in directions(must)
        for pair in wanted_pairs(doc, ends) & apart_pairs(doc, never, False)
    }


def _same_over(doc: Doc, must: str | None, never: str | None) -> bool:
    return must == never or (never is None and what_is(doc, must or "") != "line")


# Public circuits


@dataclass(frozen=True, order=True)
class Leak:
    """A microphone that reaches a public circuit: talker, target, circuit, `open` or `latch`, `surely` or `possibly`."""

    talker: str
    target: str
    circuit: str
    talk: str
    reading: str

    @property
    def severity(self) -> str:
        return "block" if self.talk == "open" and self.reading == "surely" else "warning"


def fed(doc: Doc, target: str, circuit: str) -> bool:
    """A required path over that target ends at that circuit: that is how a feed is written."""
    return any(
        body.get("over") == target and circuit in {ends[1] for ends in directions(body)}
        for body in section(doc, "required").values()
    )


def public(doc: Doc, out: frozenset[Thing] = frozenset()) -> set[Leak]:
    """An `open` microphone that reaches a public circuit, heard there or not; a latch (dual latches too) as well."""
    readings: Mapping[str, Heard] = {"surely": surely(doc, out), "possibly": possibly(doc, out)}
    certain = readings["surely"].circuits
    found = set()
    for reading, heard in readings.items():
        loose = reading == "possibly"
        there = Sound(Scene(doc, unwritten=loose, absent=loose, out=out))
        for talker, target, circuit in heard.circuits:
            mine = entries(doc, talker) if talker in people(doc) else []
            talks = {each.talk for each in mine if each.target == target and there.can_use(talker, each)}
            talk = "open" if "open" in talks else "latch" if talks & {"latch", "dual"} else ""
            told = talk and section(doc, "circuits")[circuit].get("public") and not fed(doc, target, circuit)
            if told and (reading == "surely" or (talker, target, circuit) not in certain):
                found.add(Leak(talker, target, circuit, talk, reading))
    return found
