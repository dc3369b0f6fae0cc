"""The effect of one show becoming another on people, from its sentences."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.paths.oracle.ends import Pair, apart, directions, members, public
from tests.paths.oracle.sound import RANK, Triple, Way, best, pairs, surely
from tests.paths.oracle.there import Doc, on_headset, people, section, what_is
from tests.paths.oracle.there import Scene as Reading

Weaker = tuple[str, str | None, str, str]


@dataclass(frozen=True)
class Effect:
    """What became of people; each field as a set of what its list holds."""

    off_headset: frozenset[str]
    lost: frozenset[Pair]
    gained: frozenset[Pair]
    lost_over: frozenset[Triple]
    weaker: frozenset[Weaker]
    overheard: frozenset[tuple[str, str, str | None]]
    members: frozenset[Pair]


def effect(before: Doc, after: Doc) -> Effect:
    """Pairs are [talker, listener], read surely, without lines."""
    was, now = set(pairs(before, surely(before))), set(pairs(after, surely(after)))
    return Effect(
        off_headset=frozenset(now_off(before, after)),
        lost=frozenset(was - now),
        gained=frozenset(now - was),
        lost_over=frozenset(lost_over(before, after)),
        weaker=frozenset(weaker(before, after)),
        overheard=frozenset(overheard(after) - overheard(before)),
        members=frozenset(left_members(before, after)),
    )


def now_off(before: Doc, after: Doc) -> set[str]:
    """Who was on headset and is not now; a user who is removed is told here."""
    was = {user for user in people(before) if on_headset(Reading(before), user)}
    now = {user for user in people(after) if on_headset(Reading(after), user)}
    removed = {*people(before)} - {*section(after, "users")}
    return (was - now) | removed


def lost_over(before: Doc, after: Doc, *asked: str) -> set[Triple]:
    """Losses over a group or line that is critical on either side, or any line, though the pair remains; any group on request."""
    gone = set(surely(before).paths) - set(surely(after).paths)
    return {
        triple for triple in gone if triple[1] in asked or _matters(before, triple[1]) or _matters(after, triple[1])
    }


def _matters(doc: Doc, target: str) -> bool:
    return what_is(doc, target) == "line" or bool(section(doc, "groups").get(target, {}).get("critical"))


def weaker(before: Doc, after: Doc) -> set[Weaker]:
    """Each path over a target, and each pair whose best path over any target is worse than before (target None)."""
    was, now, level = surely(before), surely(after), surely(at_zero(after))
    found: set[Weaker] = set()
    for triple in set(was.paths) & set(now.paths):
        ways = (was.paths[triple], now.paths[triple], level.paths[triple])
        found |= {(*triple, word) for word in worse(*ways) | worse_part(*ways)}
    first, then, loud = pairs(before, was), pairs(after, now), pairs(after, level)
    for talker, listener in set(first) & set(then):
        pair = (talker, listener)
        found |= {(talker, None, listener, word) for word in worse(first[pair], then[pair], loud[pair])}
    return found


def worse(was: frozenset[Way], now: frozenset[Way], level: frozenset[Way]) -> set[str]:
    """`menu` (was a key), `page` (was page A), `ear` (was sure), `level` (would be sure were all levels 0)."""
    top, left = best(was), best(now)
    if left.order[:3] <= top.order[:3]:
        return set()
    found = {"menu" if left.how == "menu" else "page"} if RANK[left.how] > RANK[top.how] else set()
    if top.sure and not left.sure:
        found.add("level" if any(way.sure and way.how == left.how for way in level) else "ear")
    return found


def worse_part(was: frozenset[Way], now: frozenset[Way], level: frozenset[Way]) -> set[str]:
    """Over one target the key and the ear are told each for itself: a new key makes up for no ear that was sure."""
    then, left = (min(RANK[way.how] for way in ways) for ways in (was, now))
    found = {"menu" if left == RANK["menu"] else "page"} if left > then else set()
    if any(way.sure for way in was) and not any(way.sure for way in now):
        found.add("level" if any(way.sure for way in level) else "ear")
    return found


def at_zero(doc: Doc) -> dict[str, Any]:
    """The show were all levels 0."""
    return {**doc, "users": {name: _flat(body) for name, body in section(doc, "users").items()}}


def _flat(body: dict[str, Any]) -> dict[str, Any]:
    flat = dict(body)
    for place in ("channels", "lines"):
        if place in body:
            flat[place] = {name: {**each, "level": 0} for name, each in body[place].items()}
    return flat


def overheard(doc: Doc) -> set[tuple[str, str, str | None]]:
    """What surely must be apart and is not, and open microphones that surely reach a public circuit (apart id None)."""
    found: set[tuple[str, str, str | None]] = {
        (talker, listener, name) for name, told in apart(doc).items() for talker, listener in told.surely
    }
    return found | {(leak.talker, leak.circuit, None) for leak in public(doc) if leak.severity == "block"}


def left_members(before: Doc, after: Doc) -> set[Pair]:
    """Those who left an end of a required path that both shows have."""
    found: set[Pair] = set()
    for name, body in section(before, "required").items():
        then = section(after, "required").get(name)
        if then is None:
            continue
        was = [
            (role, members(before, end, role))
            for ends in directions(body)
            for role, end in zip(("from", "to"), ends, strict=True)
        ]
        now = [
            (role, members(after, end, role))
            for ends in directions(then)
            for role, end in zip(("from", "to"), ends, strict=True)
        ]
        # The roles stand in the same order on both sides; a direction that only one side has is the edit of `both` itself.
        found |= {(name, user) for (_, old), (_, new) in zip(was, now, strict=False) for user in old - new}
    return found
