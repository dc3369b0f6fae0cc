"""What the devices hold, against what was released and recorded."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

from showvc.changes import Change, edits
from showvc.document import Problem, Show, hardware_address, near
from showvc.history.steps import Apart, Ids, Nearest, SnapshotStep, ancestry, common_base, content_ids, nearest
from showvc.release.readings import Reading

State = Literal["current", "behind", "recorded", "edited", "foreign", "unread", "contradicting"]
"""What a device holds: the last release; an earlier one; a snapshot that was not released; edits that no snapshot
has; a stamp that no release has; nothing that could be read; two answers that differ."""


@dataclass(frozen=True, slots=True)
class Released:
    """A release as the history keeps it.

    Its stamp, its snapshot, when (RFC 3339) and by whom it was released, the snapshot's note, the reason of an
    override, and the stamp of the release before.
    """

    stamp: str
    code: str
    when: str
    who: str = ""
    note: str = ""
    over: str | None = None
    previous: str | None = None


@dataclass(frozen=True, slots=True)
class Holding:
    """The answer for one device.

    `release` is the release that it holds or came from, `behind` how many came after that one; both None where
    none is known. `part` is the letter of the devices that it agrees with. `message` is for a person.
    """

    device: str
    state: State
    where: tuple[str, ...]
    stamp: str | None = None
    release: str | None = None
    behind: int | None = None
    part: str | None = None
    message: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """Devices that agree to the letter.

    `code` is the snapshot that they hold or come nearest to, `apart` the files in which they differ from it, and
    `changes` the edits in these (where the snapshot could be opened).
    """

    letter: str
    stamp: str
    devices: tuple[str, ...]
    state: State
    release: str | None = None
    behind: int | None = None
    code: str | None = None
    apart: tuple[Apart, ...] = ()
    changes: tuple[Change, ...] = ()
    show: Show | None = None


@dataclass(frozen=True, slots=True)
class Fleet:
    """The state of all devices.

    `base` is the latest snapshot that all parts came from: the one to merge them from; None where there is none.
    `missing` devices gave no answer, `unknown` answers name no device of the show (or more than one), `doubled`
    devices answered more than once.
    """

    holdings: tuple[Holding, ...] = ()
    parts: tuple[Part, ...] = ()
    base: str | None = None
    missing: tuple[str, ...] = ()
    unknown: tuple[Reading, ...] = ()
    doubled: tuple[str, ...] = ()
    releases: tuple[Released, ...] = ()
    critical: bool = False

    @property
    def agrees(self) -> bool:
        """Whether every device of the show answered once and holds the last release."""
        return not (self.missing or self.unknown or self.doubled) and all(
            holding.state == "current" for holding in self.holdings
        )

    @property
    def last(self) -> Released | None:
        return self.releases[-1] if self.releases else None


_MOST_GUESSES = 50

OpenSnapshot = Callable[[str], Show]


def fleet(
    readings: Iterable[Reading],
    show: Show,
    releases: Sequence[Released] = (),
    history: Sequence[SnapshotStep] = (),
    open_snapshot: OpenSnapshot | None = None,
    ids: Mapping[str, Ids] | None = None,
) -> Fleet:
    """What every device of `show` holds.

    `releases` are the oldest first. `history` has parents before children; it finds the snapshot that a dump is
    nearest to without opening any, and `open_snapshot` then opens that one, once for all parts that came from it.
    `ids` are the content ids of dumps by their stamps, where they are at hand.
    """
    answers, unknown = _by_device(readings, Roster(show))
    dumps = {found.stamp: found.dump for found in _all(answers) if found.stamp and found.dump}
    judge = _Judge(releases, history, dumps, ids or {})
    holdings = [judge.holding(device, found) for device, found in answers.items()]
    parts = _parts(holdings, judge, open_snapshot)
    letters = {device: part for part in parts for device in part.devices}
    return Fleet(
        tuple(_placed(holding, letters.get(holding.device)) for holding in holdings),
        parts,
        common_base((part.code for part in parts if part.code), history) if parts else None,
        tuple(name for name in show.devices if name not in answers),
        tuple(unknown),
        tuple(device for device, found in answers.items() if len(found) > 1),
        tuple(releases),
        bool(show.critical_groups),
    )


def _all(answers: Mapping[str, Sequence[Reading]]) -> Iterable[Reading]:
    return (found for readings in answers.values() for found in readings)


def _placed(holding: Holding, part: Part | None) -> Holding:
    return replace(holding, part=part.letter, state=part.state) if part else holding


class Roster:
    """The devices of a show by whatever is written on them: id, hardware address, name, place."""

    def __init__(self, show: Show) -> None:
        self.ids = frozenset(show.devices)
        self.marks: dict[str, set[str]] = defaultdict(set)
        for name, device in show.devices.items():
            for mark in filter(None, (name, device.hardware, device.name, device.place)):
                self.marks[_mark(mark)].add(name)
        self.marks.pop("", None)

    def find(self, written: str) -> str | None:
        """The device meant, or None where there is none or more than one."""
        if written in self.ids:
            return written
        found = self.marks.get(_mark(written), set())
        return next(iter(found)) if len(found) == 1 else None

    def guess(self, written: str) -> str:
        """What to do about a device that was not found."""
        found = self.marks.get(_mark(written), set())
        if found:
            return f"it may be {', '.join(sorted(found))}: write the id"
        return near(written[:60], self.ids) or "is it another show's, or not plotted yet?"


def _mark(written: str) -> str:
    try:
        return hardware_address(written)
    except ValueError:
        return "".join(char for char in written.casefold() if char.isalnum())


def _by_device(readings: Iterable[Reading], roster: Roster) -> tuple[dict[str, list[Reading]], list[Reading]]:
    answers: dict[str, list[Reading]] = defaultdict(list)
    unknown: list[Reading] = []
    for reading in readings:
        device = roster.find(reading.device) or _new_one(reading)
        if device is None:
            # Looking for names that are like it takes its time, and nobody reads a thousand guesses.
            guess = roster.guess(reading.device) if len(unknown) < _MOST_GUESSES else None
            unknown.append(replace(reading, problem=Problem("is no device of this show", reading.where, way_out=guess)))
        else:
            answers[device].append(reading)
    return dict(sorted(answers.items())), unknown


def _new_one(reading: Reading) -> str | None:
    """A device that was put up since, as its own dump knows it: its edits count like any other's."""
    return reading.device if reading.dump and reading.device in reading.dump.devices else None


class _Judge:
    """Knows the releases and the history, and says of each stamp what it is."""

    def __init__(
        self,
        releases: Sequence[Released],
        history: Sequence[SnapshotStep],
        dumps: Mapping[str, Show],
        ids: Mapping[str, Ids],
    ) -> None:
        self.releases = releases
        self.known = {release.stamp: place for place, release in enumerate(releases)}
        self.dumps = dumps
        self.parents = {step.code: step.parents for step in history}
        unreleased = {
            stamp: ids.get(stamp) or content_ids(dump) for stamp, dump in dumps.items() if stamp not in self.known
        }
        self.nearest: dict[str, Nearest] = nearest(unreleased, history, {release.code for release in releases})

    def holding(self, device: str, readings: Sequence[Reading]) -> Holding:
        where = tuple(reading.where for reading in readings)
        stamps = {reading.stamp for reading in readings if reading.stamp}
        if len(stamps) > 1:
            message = f"answered {len(readings)} times, and not the same: {', '.join(sorted(stamps))}"
            return Holding(device, "contradicting", where, message=message)
        if not stamps:
            return Holding(device, "unread", where, message=_trouble(readings))
        (stamp,) = stamps
        state, release, behind = self.state(stamp)
        return Holding(device, state, where, stamp, release, behind)

    def state(self, stamp: str) -> tuple[State, str | None, int | None]:
        """What a stamp is, the release behind it, and how many releases came after that."""
        if stamp in self.known:
            behind = len(self.releases) - 1 - self.known[stamp]
            return "behind" if behind else "current", stamp, behind
        found = self.nearest.get(stamp)
        if found is None:
            return "edited" if stamp in self.dumps else "foreign", None, None
        came_from = ancestry(found.code, self.parents)
        place = next((at for at in reversed(range(len(self.releases))) if self.releases[at].code in came_from), None)
        state: State = "edited" if found.apart else "recorded"
        if place is None:
            return state, None, None
        return state, self.releases[place].stamp, len(self.releases) - 1 - place

    def code(self, stamp: str) -> str | None:
        """The snapshot that a stamp is of, or that its dump is nearest to."""
        if stamp in self.known:
            return self.releases[self.known[stamp]].code
        return self.nearest[stamp].code if stamp in self.nearest else None


def _trouble(readings: Sequence[Reading]) -> str:
    problems = [str(reading.problem) for reading in readings if reading.problem]
    return "; ".join(problems) or "gave neither stamp nor dump"


def _parts(holdings: Sequence[Holding], judge: _Judge, open_snapshot: OpenSnapshot | None) -> tuple[Part, ...]:
    """Devices that hold the same, the largest part first."""
    by_stamp: dict[str, list[str]] = defaultdict(list)
    for holding in holdings:
        if holding.stamp:
            by_stamp[holding.stamp].append(holding.device)
    opened = open_snapshot and cache(open_snapshot)
    order = sorted(by_stamp, key=lambda stamp: (-len(by_stamp[stamp]), by_stamp[stamp]))
    return tuple(_part(letter(place), stamp, by_stamp[stamp], judge, opened) for place, stamp in enumerate(order))


def letter(place: int) -> str:
    """A, B … Z, AA, AB …"""
    return (letter(place // 26 - 1) if place >= 26 else "") + chr(ord("A") + place % 26)


def _part(name: str, stamp: str, devices: Sequence[str], judge: _Judge, open_snapshot: OpenSnapshot | None) -> Part:
    state, release, behind = judge.state(stamp)
    found, dump = judge.nearest.get(stamp), judge.dumps.get(stamp)
    part = Part(name, stamp, tuple(devices), state, release, behind, judge.code(stamp), show=dump)
    if found is None or not found.apart or dump is None:
        return part
    part = replace(part, apart=found.apart)
    if open_snapshot is None:
        return part
    changes = edits(open_snapshot(found.code), dump).changes
    # A file with remarks or in another order is another file to git, yet the same plot.
    return replace(part, changes=changes) if changes else replace(part, state="recorded", apart=())


def counts(result: Fleet) -> dict[str, int]:
    """How many devices are in each state, those that gave no answer included."""
    counted = Counter[str](holding.state for holding in result.holdings)
    if result.missing:
        counted["missing"] = len(result.missing)
    return dict(counted)


__all__ = ["Fleet", "Holding", "Part", "Released", "Roster", "State", "counts", "fleet", "letter"]
