"""Paths that must never be: which of them are there, surely or possibly; and open microphones on public circuits.

Where the rules leave room:

- Read possibly, the members of an end are those that there would be then.
- A required path and one apart contradict each other where the one that must be is one that must not: over the same
  target; or apart over any, and required over any or over a group.
- An end is empty where nobody is meant, also of those that only possibly are members.
- A dual channel can latch, and counts as a latch; so do lines.
- A feed is a required path that names the target as `over`, and the circuit itself as the end where it is heard.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from showvc.document import Apart, Channel, LineUse, target_of
from showvc.paths.ends import End, end_of
from showvc.paths.model import Paths
from showvc.paths.pairs import Pair
from showvc.paths.reading import Reading
from showvc.paths.required import required_pairs
from showvc.paths.ways import Doubt, Way, way_into, ways


@dataclass(frozen=True, slots=True)
class Overheard:
    """A pair that must be apart and is not: the talker, the listener, one way by which, and what is doubtful in it."""

    talker: str
    listener: str
    way: Way
    surely: bool

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        return self.way.doubts


@dataclass(frozen=True)
class ApartState:
    """How an `apart` of the show stands.

    `surely` and `possibly` are the pairs that hold; those of the one are not among the other. `in_both` are who is in
    both ends, and so left those that are several. `empty` tells of ends where nobody is meant. `required` are pairs
    that a required path asks for: its name, and the pair.
    """

    name: str
    apart: Apart
    surely: tuple[Pair, ...]
    possibly: tuple[Pair, ...]
    in_both: tuple[str, ...]
    empty: tuple[str, ...]
    required: tuple[tuple[str, Pair], ...]
    paths: Paths

    def overheard(self, pair: Pair) -> Overheard:
        """One way by which a pair holds; for a pair that only possibly does, the one with the fewest doubts."""
        surely = pair in self.surely
        reading = self.paths.surely if surely else self.paths.possibly
        over = self.apart.over
        found = [
            way
            for way in ways(self.paths, *pair, reading)
            if (way.target == over if over is not None else way.target not in reading.line_names)
        ]
        way = min(found, key=lambda way: (len(way.doubts), len(way.hops)))
        return Overheard(*pair, way, surely)

    @cached_property
    def found(self) -> tuple[Overheard, ...]:
        """Every pair that holds, with one way; surely first."""
        return tuple(map(self.overheard, (*self.surely, *self.possibly)))


def apart_states(paths: Paths) -> tuple[ApartState, ...]:
    """Every `apart` of the show, by name."""
    asked = {name: (body.over, required_pairs(paths, body)) for name, body in paths.show.required.items()}
    return tuple(_state(paths, name, body, asked) for name, body in sorted(paths.show.head.apart.items()))


def _state(
    paths: Paths, name: str, apart: Apart, asked: Mapping[str, tuple[str | None, frozenset[Pair]]]
) -> ApartState:
    surely = _Bound(paths, apart, paths.surely)
    supposed = _Bound(paths, apart, paths.possibly)
    there = tuple(pair for pair in surely.pairs if paths.surely.holds(*pair, apart.over))
    known = set(there)
    maybe = tuple(p for p in supposed.pairs if p not in known and paths.possibly.holds(*p, apart.over))
    required = tuple(
        (other, pair)
        for other, (over, pairs) in sorted(asked.items())
        for pair in surely.pairs
        if pair in pairs and (over == apart.over or (apart.over is None and over not in paths.surely.line_names))
    )
    return ApartState(name, apart, there, maybe, surely.in_both, supposed.empty, required, paths)


class _Bound:
    """Which pairs an `apart` binds in a reading, who is in both of its ends, and which ends are empty."""

    def __init__(self, paths: Paths, apart: Apart, reading: Reading) -> None:
        self.in_both: tuple[str, ...] = ()
        self.empty: tuple[str, ...] = ()
        self.pairs: tuple[Pair, ...] = ()
        turns = ((apart.from_, apart.to), (apart.to, apart.from_))[: 2 if apart.both else 1]
        for start, end in turns:
            self._add(end_of(paths, start, "from", reading.case), end_of(paths, end, "to", reading.case))

    def _add(self, start: End, end: End) -> None:
        both = set(start.members) & set(end.members)
        talkers, listeners = ([m for m in one.members if not (one.several and m in both)] for one in (start, end))
        pairs = ((talker, listener) for talker in talkers for listener in listeners if talker != listener)
        self.pairs = tuple(dict.fromkeys((*self.pairs, *pairs)))
        self.in_both = tuple(sorted({*self.in_both, *both}))
        self.empty = tuple(dict.fromkeys((*self.empty, *_empty(start, talkers), *_empty(end, listeners))))


def _empty(end: End, left: list[str]) -> Iterator[str]:
    if not left:
        yield end.reason or f"everybody in {end.name} is in the other end as well"


# --- public circuits -------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PublicState:
    """An open or latching talk that reaches a public circuit: `user` on `channel` (a line's id for its use)."""

    user: str
    target: str
    channel: str
    circuit: str
    talk: Literal["open", "latch"]
    surely: bool
    doubts: tuple[Doubt, ...] = ()


def public_states(paths: Paths) -> tuple[PublicState, ...]:
    """Every open or latching talk that reaches a public circuit, where it is no feed; surely first."""
    lists = paths.lists
    public = {name: 1 << lists.place[name] for name, body in paths.facts.circuits.items() if body.public}
    if not public:
        return ()
    found = [each for reading in (paths.surely, paths.possibly) for each in _reaching(paths, reading, public)]
    first: dict[tuple[str, str, str], PublicState] = {}
    for each in found:
        first.setdefault((each.user, each.channel, each.circuit), each)
    return tuple(first.values())


def _reaching(paths: Paths, reading: Reading, public: Mapping[str, int]) -> Iterator[PublicState]:
    feeds = set(_feeds(paths))
    every = sum(public.values())
    reached = {target for target, bits in reading.reach(0).items() if bits & every}
    surely = reading is paths.surely
    for name, part in paths.lists.parts.items():
        if (part.talks.isdisjoint(reached) and not reading.special) or not reading.is_on_headset(name):
            continue
        for channel, talk in _latching(paths, name) if part.talks else ():
            if not reading.usable(name, channel):
                continue
            target = target_of(channel)
            bits = reading.said(name, target) & every
            for circuit, bit in public.items() if bits else ():
                if bits & bit and (target, circuit) not in feeds:
                    way = None if surely else way_into(paths, reading, name, target, circuit)
                    doubts = way.doubts if way is not None else ()
                    yield PublicState(name, target, channel, circuit, talk, surely, doubts)


def _latching(paths: Paths, user: str) -> Iterator[tuple[str, Literal["open", "latch"]]]:
    body = paths.show.users[user]
    entries: list[tuple[str, Channel | LineUse]] = [*body.channels.items(), *body.lines.items()]
    open_ = {name for name, entry in entries if entry.talk == "open"}  # a line may be a channel and have a use
    for name in dict.fromkeys(name for name, entry in entries if entry.talk in ("open", "latch", "dual")):
        yield name, "open" if name in open_ else "latch"


def _feeds(paths: Paths) -> Iterator[tuple[str, str]]:
    """The targets and circuits that a required path has as what it goes over, and as the end where it is heard."""
    for body in paths.show.required.values():
        for end in (body.to, body.from_) if body.both else (body.to,):
            if body.over is not None:
                yield body.over, end
