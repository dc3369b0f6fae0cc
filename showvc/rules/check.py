"""The list of rules, and what they find in a show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from showvc.document import Show
from showvc.rules import bookings, habits, letters, limits, reach
from showvc.rules.finding import SEVERITIES, Finding, Found, Rule, Scene
from showvc.rules.references import one_id_for_two, to_nothing

_BROKEN = "a device that meets this shows an empty key, or refuses the configuration"

RULES: Sequence[Rule] = (
    # Nothing points at nothing.
    Rule(
        "channel-to-nothing",
        "stop",
        _BROKEN,
        "plot the target, or remove the channel",
        to_nothing("users/channels"),
        "dangling",
    ),
    Rule(
        "line-unknown",
        "stop",
        _BROKEN,
        "name the line under lines in show.yaml, or remove its use",
        to_nothing("users/lines"),
        "dangling",
    ),
    Rule(
        "key-to-nothing",
        "stop",
        "pressing it reaches nobody",
        "give the user the channel, or clear the key",
        to_nothing("devices/keys"),
        "dangling",
    ),
    Rule(
        "worn-by-nobody-known",
        "stop",
        _BROKEN,
        "plot the user, or give the device another",
        to_nothing("devices/user"),
        "dangling",
    ),
    Rule(
        "kind-unknown",
        "stop",
        "nobody knows which keys it has",
        "describe it under kinds in show.yaml",
        to_nothing("devices/kind"),
        "dangling",
    ),
    Rule(
        "carrier-unknown",
        "stop",
        "nobody knows what it runs out of",
        "plot the carrier, or name another",
        to_nothing("devices/on", "carriers/on"),
        "dangling",
    ),
    Rule(
        "bridge-to-nothing",
        "stop",
        "the outside system is heard by nobody",
        "tie it to a group, user or line that exists",
        to_nothing("bridges/target"),
        "dangling",
    ),
    Rule(
        "bridge-on-nothing",
        "stop",
        "the outside system is plugged in nowhere",
        "name a device that is in the show",
        to_nothing("bridges/device"),
        "dangling",
    ),
    Rule(
        "circuit-unknown",
        "stop",
        "nobody knows who stands behind it",
        "plot the circuit, or name another",
        to_nothing("bridges/circuit"),
        "dangling",
    ),
    Rule(
        "standby-unknown",
        "stop",
        "it replaces nothing",
        "name the bridge that it replaces",
        to_nothing("bridges/standby"),
        "dangling",
    ),
    Rule(
        "required-to-nothing",
        "stop",
        "a path that must exist cannot",
        "name ends that exist, or remove it",
        to_nothing("required/from", "required/to", "required/over"),
        "dangling",
    ),
    Rule(
        "apart-to-nothing",
        "stop",
        "nobody watches a path that must never be",
        "name ends that exist, or remove it",
        to_nothing("apart/from", "apart/to", "apart/over"),
        "dangling",
    ),
    Rule(
        "same-id",
        "stop",
        "a key could call the wrong people",
        "plot one of the two under another id",
        one_id_for_two,
        "same-id",
    ),
    # One place, one thing.
    Rule(
        "number-twice",
        "stop",
        "one of the two does not show up",
        "give one of them a free number",
        bookings.numbers_twice,
        "double-booked",
    ),
    Rule(
        "port-twice",
        "stop",
        "only one of the two systems is connected",
        "move one bridge to a free port",
        bookings.ports_twice,
        "double-booked",
    ),
    Rule(
        "hardware-twice",
        "stop",
        "one unit loads the other's keys",
        "read the address off both units",
        bookings.hardware_twice,
        "double-booked",
    ),
    # What the system takes.
    Rule(
        "too-many-targets",
        "stop",
        "the system refuses the configuration",
        "remove groups or users",
        limits.too_many_targets,
        "over-limit",
    ),
    Rule(
        "too-many-devices",
        "stop",
        "the system refuses the configuration",
        "remove devices",
        limits.too_many_devices,
        "over-limit",
    ),
    Rule(
        "channel-beyond-limit",
        "stop",
        "the channel is not loaded",
        "use a lower number",
        limits.channels_beyond_the_limit,
        "over-limit",
    ),
    Rule(
        "key-beyond-kind",
        "stop",
        "the unit has no such key",
        "use a key that the kind has",
        limits.keys_beyond_the_kind,
        "over-limit",
    ),
    Rule(
        "port-beyond-kind",
        "stop",
        "the unit has no such port",
        "use a port that the kind has",
        limits.ports_beyond_the_kind,
        "over-limit",
    ),
    # Who must hear whom.
    Rule(
        "required-lost",
        "stop",
        "a cue is called and nobody hears it",
        "give back the channel, the talk or the listen that is gone",
        reach.required_paths_lost,
        "path-lost",
    ),
    Rule(
        "ring",
        "stop",
        "sound comes round and howls",
        "cut one of the bridges, or make it one-way",
        reach.rings,
        "audio-loop",
        reach.ring_again,
    ),
    Rule(
        "required-in-menu",
        "warn",
        "nobody finds a menu in time",
        "put it under a key",
        reach.required_paths_in_the_menu,
    ),
    # What works badly.
    Rule("user-alone", "warn", "the position has a headset for nothing", "give it a channel", habits.users_alone),
    Rule(
        "critical-in-menu",
        "warn",
        "nobody finds a menu in an emergency",
        "put the group under a key",
        habits.critical_without_key,
    ),
    Rule(
        "group-unheard",
        "warn",
        "whoever calls there is heard by nobody",
        "let somebody listen, or remove the group",
        habits.groups_unheard,
    ),
    Rule("user-without-device", "warn", "the position has no headset", "give it a device", habits.users_without_device),
    Rule(
        "label-too-long",
        "warn",
        "a display cuts it off",
        "use as many characters as limits/label says",
        habits.labels_too_long,
    ),
    Rule(
        "label-twice",
        "warn",
        "two keys look the same in the dark",
        "give one channel a label of its own",
        habits.labels_twice_on_a_device,
    ),
    Rule(
        "invisible-character",
        "warn",
        "what looks the same is not the same, and is not found by its name",
        "write the text again, without what cannot be seen",
        letters.invisible_characters,
    ),
    Rule(
        "look-alike",
        "warn",
        "nobody can tell the two apart by sight",
        "write one of them another way, in the letters of one script",
        letters.look_alikes,
    ),
    Rule(
        "hardware-of-a-group",
        "warn",
        "no unit answers to it",
        "read the address off the unit again",
        habits.hardware_of_no_single_device,
    ),
    Rule(
        "device-without-user",
        "note",
        "a unit lies idle",
        "give it a user, or keep it as a spare",
        habits.devices_without_user,
    ),
    Rule(
        "single-talker",
        "note",
        "nobody can answer there",
        "let others talk, if they should",
        habits.groups_with_one_talker,
    ),
    Rule(
        "priority-mismatch",
        "note",
        "a critical call may be talked over",
        "make priority and critical agree",
        habits.priority_against_critical,
    ),
)


def rule(code: str) -> Rule:
    """The rule of this code."""
    return next(known for known in RULES if known.code == code)


def check(show: Show) -> tuple[Finding, ...]:
    """What every rule finds, the worst first, then by rule and place.

    A finding that the show has quietened carries the reason; a `stop` cannot be quietened.
    """
    scene = Scene(show)
    findings = [finding for known in _all_rules() for finding in _findings(known, scene)]
    return tuple(sorted(findings, key=lambda found: (found.quiet is not None, SEVERITIES.index(found.severity))))


def _all_rules() -> Iterator[Rule]:
    yield from RULES
    codes = frozenset(known.code for known in RULES if known.severity != "stop")
    yield Rule(
        "quiet-unknown",
        "warn",
        "what it was meant to accept is not accepted",
        f"name one of: {', '.join(sorted(codes))}",
        lambda scene: habits.quiet_without_effect(scene, codes),
    )


def _findings(known: Rule, scene: Scene) -> Iterator[Finding]:
    quiet = {
        "/" + quiet.at.removeprefix("/"): quiet.why
        for quiet in scene.show.accepted.values()
        if quiet.rule == known.code
    }
    for found in sorted(known.look(scene), key=lambda found: found.paths):
        reason = quiet.get(found.paths[0]) if known.severity != "stop" else None
        yield finding_of(known, found, reason)


def finding_of(known: Rule, found: Found, quiet: str | None = None) -> Finding:
    message = f"{found.message}; {found.hint}" if found.hint else found.message
    return Finding(known.code, known.severity, found.paths[0], message, known.why, known.way_out, found.paths, quiet)


def open_findings(show: Show) -> tuple[Finding, ...]:
    """The findings that the show has not quietened."""
    return tuple(finding for finding in check(show) if finding.quiet is None)


def new_findings(before: Show, after: Show) -> tuple[Finding, ...]:
    """The open findings of `after` that `before` does not have."""
    known = {(finding.code, finding.paths) for finding in open_findings(before)}
    return tuple(finding for finding in open_findings(after) if (finding.code, finding.paths) not in known)
