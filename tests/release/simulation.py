"""A fleet in the small: devices that hand the configuration on, networks that split and heal, edits on both sides.

Every device holds a whole show. Inside an island of the network an edit is made on the newest version that is there
and goes from device to device, some of which lag. Islands cannot hear of each other. When the network heals, what the
devices hold is read, merged in our way, released, and handed to all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random
from typing import Any

from showvc.document import Show
from showvc.document.pointers import join
from showvc.history.steps import SnapshotStep, Turn, content_ids
from showvc.merging import Settlement, merge, settle
from showvc.release.fleet import Fleet, Released, fleet
from showvc.release.readings import Reading
from showvc.release.stamp import stamp_of
from tests.generator import random_edits, random_show

Leaves = dict[str, Any]


def leaves(show: Show) -> Leaves:
    """Every leaf of a show by its pointer; members of sets and lines of notes are leaves of their own."""
    return dict(_leaves(show.tree(), ()))


def _leaves(value: Any, steps: tuple[str, ...]) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict) and value:
        for name, inner in value.items():
            yield from _leaves(inner, (*steps, name))
    elif steps[-1:] == ("tags",) or steps == ("notes",):
        members = value.split("\n") if isinstance(value, str) else value
        yield from ((join(*steps, member), True) for member in members)
    else:
        yield join(*steps), value


def changed(before: Leaves, after: Leaves) -> Leaves:
    """The leaves that differ, with their values after; None where one went."""
    return {path: after.get(path) for path in {*before, *after} if before.get(path) != after.get(path)}


def covers(path: str, leaf: str) -> bool:
    """Whether a conflict at this path is about the leaf."""
    return (leaf + "/").startswith(path + "/") or (path + "/").startswith(leaf + "/")


class Ledger:
    """The recorded snapshots, in memory, told as git tells them."""

    def __init__(self, show: Show) -> None:
        self.shows: dict[str, Show] = {}
        self.steps: list[SnapshotStep] = []
        self.releases: list[Released] = []
        self.opened = 0
        self._ids: dict[str, dict[str, str]] = {}
        self.record(show)

    @property
    def last(self) -> str:
        return self.steps[-1].code

    def record(self, show: Show) -> str:
        code = f"s{len(self.steps)}"
        parent = (self.last,) if self.steps else ()
        old, new = self._ids[parent[0]] if parent else {}, content_ids(show)
        paths = sorted(path for path in {*old, *new} if old.get(path) != new.get(path))
        self.steps.append(SnapshotStep(code, parent, tuple(Turn(path, old.get(path), new.get(path)) for path in paths)))
        self.shows[code], self._ids[code] = show, new
        return code

    def release(self, number: int) -> None:
        stamp = stamp_of(self.shows[self.last])
        if stamp not in {release.stamp for release in self.releases}:
            self.releases.append(Released(stamp, self.last, f"2031-03-04T18:05:{number:02}+01:00"))

    def open(self, code: str) -> Show:
        self.opened += 1
        return self.shows[code]


@dataclass
class Island:
    """A part of the network: the versions that its devices went through, the newest last."""

    devices: set[str]
    versions: list[Show]
    base: Show
    made: Leaves = field(default_factory=dict)
    """Every leaf that was edited in here since `base`, with its value now."""


@dataclass
class Outcome:
    """What bringing the fleet back together did."""

    read: Fleet
    islands: list[Island]
    recorded: list[Leaves]
    """The leaves of every snapshot there was when the devices were read."""
    final: Show
    conflicts: list[str]
    """The paths of every conflict that was settled on the way."""
    after: Fleet


class World:
    """A show, its history, and the devices that hold it."""

    def __init__(self, seed: int, devices: int = 12) -> None:
        self.rng, self.seed, self.turn = Random(seed), seed, 0
        show = random_show(seed, users=8, groups=5, devices=devices, bridges=2)
        self.ledger = Ledger(show)
        self.ledger.release(0)
        self.held = dict.fromkeys(show.devices, show)
        self.islands = [Island(set(show.devices), [show], show)]

    def run(self, events: int) -> None:
        """So many splits, edits, hand-ons and edits at the desk, by chance."""
        for _ in range(events):
            self.rng.choices((self.split, self.edit, self.hand_on, self.at_the_desk), (2, 6, 6, 1))[0]()

    def split(self) -> None:
        island = self.rng.choice(self.islands)
        names = sorted(island.devices)
        if len(names) < 2:
            return
        self.rng.shuffle(names)
        at = self.rng.randint(1, len(names) - 1)
        self.islands.remove(island)
        for part in (set(names[:at]), set(names[at:])):
            newest = max(island.versions.index(self.held[name]) for name in part)
            versions = island.versions[: newest + 1]
            made = changed(leaves(island.base), leaves(versions[-1]))
            self.islands.append(Island(part, versions, island.base, made))

    def edit(self) -> None:
        """Somebody edits at one device, which first takes the newest version that its island has."""
        island = self.rng.choice(self.islands)
        before = island.versions[-1]
        after = self.edited(before)
        if after == before or after in island.versions:
            return
        self.held[self.rng.choice(sorted(island.devices))] = after
        island.versions.append(after)
        island.made = changed(leaves(island.base), leaves(after))

    def edited(self, show: Show) -> Show:
        self.turn += 1
        for edit in random_edits(show, self.seed * 1_000 + self.turn, self.rng.randint(1, 3)):
            # The devices themselves stay: it is they that are counted.
            if edit.what not in ("add device", "remove device"):
                show = edit.applied(show)
        return show

    def hand_on(self) -> None:
        """A device gives what it holds to another, which takes it where it is newer."""
        island = self.rng.choice(self.islands)
        giver, taker = (self.rng.choice(sorted(island.devices)) for _ in range(2))
        if island.versions.index(self.held[giver]) > island.versions.index(self.held[taker]):
            self.held[taker] = self.held[giver]

    def at_the_desk(self) -> None:
        """An engineer records a snapshot that no device has yet."""
        last = self.ledger.shows[self.ledger.last]
        after = self.edited(last)
        if after != last:
            self.ledger.record(after)

    def read(self) -> Fleet:
        readings = [Reading(name, f"dumps/{name}.json", stamp_of(show), show) for name, show in self.held.items()]
        last = self.ledger.shows[self.ledger.last]
        return fleet(readings, last, self.ledger.releases, self.ledger.steps, self.ledger.open)

    def heal(self) -> Outcome:
        """The network is whole again: read, merge every part that carries edits, release, hand to all."""
        read, islands = self.read(), self.islands
        recorded = [leaves(show) for show in self.ledger.shows.values()]
        conflicts: list[str] = []
        for part in read.parts:
            if part.state == "edited":
                assert part.show is not None and part.code is not None
                merged, settled = self.merged(self.ledger.shows[part.code], part.show)
                conflicts += settled
                if merged != self.ledger.shows[self.ledger.last]:
                    self.ledger.record(merged)
        final = self.ledger.shows[self.ledger.last]
        self.ledger.release(len(self.ledger.releases))
        self.held = dict.fromkeys(final.devices, final)
        self.islands = [Island(set(self.held), [final], final)]
        return Outcome(read, islands, recorded, final, conflicts, self.read())

    def merged(self, before: Show, incoming: Show) -> tuple[Show, list[str]]:
        """The merge with every conflict settled by chance, and the paths of all that were."""
        mine = self.ledger.shows[self.ledger.last]
        answers: list[Settlement] = []
        for _ in range(50):
            result = merge(before, mine, incoming, answers)
            if result.clean:
                return result.show, [path for conflict, _ in result.settled for path in conflict.paths]
            answers += [settle(conflict, self.rng.choice(("mine", "incoming"))) for conflict in result.conflicts]
        raise AssertionError("the conflicts come to no end")
