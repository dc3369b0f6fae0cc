"""The rules about what no device can load: references to nothing, double bookings, limits passed."""

from __future__ import annotations

from collections.abc import Sequence

from showvc.rules import bookings, circles, limits
from showvc.rules.finding import Rule
from showvc.rules.references import one_id_for_two, to_nothing

_BROKEN = "a device that meets this shows an empty key, or refuses the configuration"

UNLOADABLE: Sequence[Rule] = (
    # Nothing points at nothing.
    Rule(
        "channel-to-nothing",
        "block",
        _BROKEN,
        "add the target, or remove the channel",
        to_nothing("users/channels"),
        "dangling",
    ),
    Rule(
        "line-unknown",
        "block",
        _BROKEN,
        "name the line under lines in show.yaml, or remove its use",
        to_nothing("users/lines"),
        "dangling",
    ),
    Rule(
        "key-to-nothing",
        "block",
        "pressing it reaches nobody",
        "give the user the channel, or clear the key",
        to_nothing("devices/keys"),
        "dangling",
    ),
    Rule(
        "user-unknown",
        "block",
        _BROKEN,
        "add the user, or assign the device to another",
        to_nothing("devices/user"),
        "dangling",
    ),
    Rule(
        "kind-unknown",
        "block",
        "nobody knows which keys it has",
        "describe it under kinds in show.yaml",
        to_nothing("devices/kind"),
        "dangling",
    ),
    Rule(
        "carrier-unknown",
        "block",
        "nobody knows what it runs out of",
        "add the carrier, or name another",
        to_nothing("devices/on", "carriers/on"),
        "dangling",
    ),
    Rule(
        "carrier-circle",
        "block",
        "it never comes up, and all that hangs on it counts as down",
        "hang it on something else, or on nothing",
        circles.carrier_circles,
        "dangling",
        circles.carriers_again,
    ),
    Rule(
        "bridge-to-nothing",
        "block",
        "the outside system is heard by nobody",
        "tie it to a group, user or line that is there",
        to_nothing("bridges/target"),
        "dangling",
    ),
    Rule(
        "bridge-on-nothing",
        "block",
        "the outside system is plugged in nowhere",
        "name a device that is in the show",
        to_nothing("bridges/device"),
        "dangling",
    ),
    Rule(
        "circuit-unknown",
        "block",
        "nobody knows who is behind it",
        "add the circuit, or name another",
        to_nothing("bridges/circuit"),
        "dangling",
    ),
    Rule(
        "standby-unknown",
        "block",
        "it replaces nothing",
        "name the bridge that it replaces",
        to_nothing("bridges/standby"),
        "dangling",
    ),
    Rule(
        "standby-circle",
        "block",
        "no bridge is the one in use, so the outside system hears nobody",
        "clear standby on the bridge that is used first",
        circles.standby_circles,
        "dangling",
        circles.standbys_again,
    ),
    Rule(
        "required-to-nothing",
        "block",
        "a path that must exist cannot",
        "name ends that are there, or remove it",
        to_nothing("required/from", "required/to", "required/over"),
        "dangling",
    ),
    Rule(
        "apart-to-nothing",
        "block",
        "nobody watches a path that must never be",
        "name ends that are there, or remove it",
        to_nothing("apart/from", "apart/to", "apart/over"),
        "dangling",
    ),
    Rule(
        "same-id",
        "block",
        "a key could call the wrong people",
        "rename one of the two",
        one_id_for_two,
        "same-id",
    ),
    # One place, one thing.
    Rule(
        "number-twice",
        "block",
        "one of the two does not show up",
        "give one of them a free number",
        bookings.numbers_twice,
        "double-booked",
    ),
    Rule(
        "port-twice",
        "block",
        "only one of the two systems is connected",
        "move one bridge to a free port",
        bookings.ports_twice,
        "double-booked",
    ),
    Rule(
        "hardware-twice",
        "block",
        "one unit loads the other's keys",
        "read the address off both units",
        bookings.hardware_twice,
        "double-booked",
    ),
    # What the system takes.
    Rule(
        "too-many-targets",
        "block",
        "the system refuses the configuration",
        "remove groups or users",
        limits.too_many_targets,
        "over-limit",
    ),
    Rule(
        "too-many-devices",
        "block",
        "the system refuses the configuration",
        "remove devices",
        limits.too_many_devices,
        "over-limit",
    ),
    Rule(
        "channel-beyond-limit",
        "block",
        "the channel is not loaded",
        "use a lower number",
        limits.channels_beyond_the_limit,
        "over-limit",
    ),
    Rule(
        "key-beyond-kind",
        "block",
        "the unit has no such key",
        "use a key that the kind has",
        limits.keys_beyond_the_kind,
        "over-limit",
    ),
    Rule(
        "port-beyond-kind",
        "block",
        "the unit has no such port",
        "use a port that the kind has",
        limits.ports_beyond_the_kind,
        "over-limit",
    ),
)

UNLOADABLE_CODES = frozenset(rule.code for rule in UNLOADABLE)
"""No reason lets these through to a release."""
