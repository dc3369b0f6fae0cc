"""Who hears one position and whom it hears, by target; who is alone; and who is on each group and line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import NamedTuple

from showvc.paths.ends import circuits_on
from showvc.paths.facts import SURELY
from showvc.paths.hands import HANDS, Hand
from showvc.paths.model import Paths
from showvc.paths.naming import check_position
from showvc.paths.reading import ANY, SURE


class Reached(NamedTuple):
    """The other position of a path: how the talker comes to it, and whether it is sure."""

    position: str
    hand: Hand
    sure: bool


@dataclass(frozen=True, slots=True)
class Over:
    """A target, and everyone at the other end over it, by id. Lines are told too, though no path counts over them."""

    target: str
    positions: tuple[Reached, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """Who hears a position, and whom it hears: over each target, by id. A position stands under every target."""

    position: str
    heard_by: tuple[Over, ...]
    hears: tuple[Over, ...]


def reach_of(paths: Paths, position: str) -> Reach:
    """Who hears this position and whom it hears. ShowError where it is no user and no circuit, or a port."""
    check_position(paths.show, position)
    return Reach(position, tuple(_heard_by(paths, position)), tuple(_hears(paths, position)))


def _heard_by(paths: Paths, talker: str) -> Iterator[Over]:
    read = paths.surely
    for target, hand in sorted(read.hands(talker).items()):
        sure = set(read.names(read.over(talker, target, SURE)))
        found = [Reached(name, hand, name in sure) for name in read.names(read.over(talker, target))]
        yield Over(target, tuple(found))


def _hears(paths: Paths, listener: str) -> Iterator[Over]:
    read = paths.surely
    slot = paths.lists.place[listener]
    bit = 1 << slot
    heard = {target for target, bits in read.reach(ANY).items() if bits & bit}
    found: dict[str, list[Reached]] = {}
    for talker in read.positions:
        held = paths.lists.place[talker]
        every = talker in paths.facts.circuits or read.special >> held & 1
        for target, hand in read.hands(talker).items():
            if (every or target in heard) and read.over(talker, target, ANY) & bit:
                sure = bool(read.over(talker, target, SURE) & bit)
                found.setdefault(target, []).append(Reached(talker, hand, sure))
    yield from (Over(target, tuple(reached)) for target, reached in sorted(found.items()))


class Alone(NamedTuple):
    """Positions whom nobody can hear, and who can hear nobody; one may be both."""

    heard_by_nobody: tuple[str, ...]
    hears_nobody: tuple[str, ...]


def alone(paths: Paths) -> Alone:
    """Everyone who is cut off one way or both, by id, read surely. Lines do not count."""
    read = paths.surely
    rows = {name: read.row(name) for name in read.positions}
    hearing = reduce(or_, rows.values(), 0)
    place = paths.lists.place
    return Alone(
        tuple(name for name, row in rows.items() if not row),
        tuple(name for name in rows if not hearing >> place[name] & 1),
    )


@dataclass(frozen=True, slots=True)
class Members:
    """Who talks and who listens on a group or line, on headset now, by id; `lost` are its talkers and listeners who
    are off headset. Circuits stand among those of whom the document says that they speak or hear there; `unknown`
    are those of whom it does not say.
    """

    target: str
    talkers: tuple[str, ...]
    listeners: tuple[str, ...]
    off_headset: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def single_talker(self) -> bool:
        """One position alone talks there."""
        return len(self.talkers) == 1

    @property
    def unheard(self) -> bool:
        """Nobody listens there."""
        return not self.listeners


def target_members(paths: Paths) -> tuple[Members, ...]:
    """Every group and line with its talkers and listeners: groups by id, then lines."""
    read, lists = paths.surely, paths.lists
    talkers: dict[str, list[str]] = {}
    for name in read.positions:
        for target in read.hands(name):
            talkers.setdefault(target, []).append(name)
    names = (*sorted(paths.facts.groups), *sorted(read.line_names))
    listed: dict[str, int] = {}
    for name, part in lists.parts.items():
        for target in part.talks:
            listed[target] = listed.get(target, 0) | 1 << lists.place[name]
    return tuple(_members(paths, name, talkers.get(name, []), listed.get(name, 0)) for name in names)


def _members(paths: Paths, target: str, talkers: list[str], listed: int) -> Members:
    read, lists = paths.surely, paths.lists
    heard = lists.on.get(target, 0) | (0 if target in paths.facts.groups else ~lists.silent.get(target, 0))
    off = (listed | heard) & lists.users & ~read.on_headset
    circuits = 0
    for net in read.networks:  # read surely there is but one
        for way_out in net.exits.get(target, ()):
            circuits |= 1 << lists.place[net.circuit[way_out.bridge]]
    listeners = read.ears(target, ANY) | circuits & read.hearing[ANY]
    unknown = {
        name
        for role, field in (("from", "speaks"), ("to", "hears"))
        for name in circuits_on(paths, target, "from" if role == "from" else "to", SURELY)
        if getattr(paths.facts.circuits[name], field) is None
    }
    return Members(target, tuple(talkers), read.names(listeners), read.names(off), tuple(sorted(unknown)))


class LineTalker(NamedTuple):
    """A position that can raise a line, and how it comes to it."""

    position: str
    hand: Hand


def line_talkers(paths: Paths, line: str) -> tuple[LineTalker, ...]:
    """Who can raise a line, by id: users on headset whose use has talk, and circuits that speak there."""
    read = paths.surely
    return tuple(LineTalker(name, hands[line]) for name in read.positions if line in (hands := read.hands(name)))


__all__ = [
    "HANDS", "Alone", "LineTalker", "Members", "Over", "Reach", "Reached", "alone", "line_talkers", "reach_of",
    "target_members",
]  # fmt: skip
