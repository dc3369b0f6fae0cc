"""What a plot says nothing of: channels and keys of the show that none of its columns could have told.

A grid has no column for every target, number or key, and a plot of keys does not know what is found in the menu
only. What has no place in a plot is not taken away by it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from showvc.document import Channel, Line, Show
from showvc.formats.tables.mapping import PlotMapping
from showvc.formats.tables.plots import PlotTable
from showvc.formats.tables.trees import steps_of

Silent = dict[tuple[str, str], frozenset[str]]
"""Section and id of a user or device → the channels or keys of it that are not spoken of."""

Speaks = Callable[[str, str, Channel], bool]


@dataclass(frozen=True, slots=True)
class Spoken:
    """What the columns across of a table stand for: ids of targets, numbers, or names of keys."""

    table: PlotTable
    heads: frozenset[str]


def silent(
    tables: Sequence[Spoken], mapping: PlotMapping, current: Show, devices: Iterable[str], all_devices: bool
) -> Silent:
    """The channels and keys of `current` that no table speaks of.

    `devices` are those in the plot; `all_devices` tells whether every other one is taken away.
    """
    under = _under_keys(current, {*devices}, all_devices)
    whole = mapping.missing == "remove"
    channels = [found for table in tables if (found := _of_channels(table, whole, under)) is not None]
    keys = [how for table in tables if (how := _of_keys(table, whole, current.lines)) is not None]
    made: Silent = {}
    for name, user in current.users.items():
        made["users", name] = frozenset(
            key for key, channel in user.channels.items() if not any(told(name, key, channel) for told in channels)
        )
    for name, device in current.devices.items():
        made["devices", name] = frozenset(
            key for key, holds in device.keys.items() if not any(speaks(key, holds) for speaks in keys)
        )
    return made


def without_place(mapping: PlotMapping, show: Show) -> frozenset[str]:
    """The devices that a plot has no place for: worn by nobody, where its devices stand within positions."""
    people = [steps_of(table.rows or ".") for table in mapping.tables.values() if table.each == "user" and table.rows]
    own = [steps_of(table.rows or ".") for table in mapping.tables.values() if table.each == "device"]
    inside = [any(len(outer) < len(steps) and steps[: len(outer)] == outer for outer in people) for steps in own]
    if not own or not all(inside):
        return frozenset()
    return frozenset(name for name, device in show.devices.items() if device.user not in show.users)


def _of_channels(spoken: Spoken, whole: bool, under: Mapping[str, set[str]]) -> Speaks | None:
    table, heads = spoken.table.mapping, spoken.heads
    if table.each == "channel":
        return lambda user, key, channel: whole
    if table.also == "channels":
        return lambda user, key, channel: key in under.get(user, ())
    if table.across is None or table.across.is_ == "key":
        return None
    if table.across.is_ == "number":
        return lambda user, key, channel: str(channel.number) in heads
    return lambda user, key, channel: key in heads  # a second channel to the same target has no column


def _of_keys(spoken: Spoken, whole: bool, lines: Mapping[str, Line]) -> Callable[[str, str], bool] | None:
    table, heads = spoken.table.mapping, spoken.heads
    if table.each == "key":
        return lambda key, held: whole
    if table.across is not None and table.across.is_ == "key":
        return lambda key, held: key in heads
    if table.also == "keys":  # numbers are keys of the first page, and no channel is a line
        return lambda key, held: key.startswith("A") and held not in lines
    return None


def _under_keys(current: Show, devices: set[str], all_devices: bool) -> dict[str, set[str]]:
    """For each user, the channels that are under keys of these devices, and under none that stays as it is."""
    here: dict[str, set[str]] = {}
    elsewhere: dict[str, set[str]] = {}
    for name, device in current.devices.items():
        if device.user is not None and (name in devices or not all_devices):
            (here if name in devices else elsewhere).setdefault(device.user, set()).update(device.keys.values())
    return {user: found - elsewhere.get(user, set()) for user, found in here.items()}
