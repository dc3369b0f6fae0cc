"""The list of rules, the gravest first. The sentence of each stands in `sentences.py`."""

from __future__ import annotations

from collections.abc import Sequence

from showvc.rules import channels, letters, positions, reach, standards, targets, twins
from showvc.rules.finding import Rule
from showvc.rules.listed_unloadable import UNLOADABLE

RULES: Sequence[Rule] = (
    *UNLOADABLE,
    # Who must hear whom.
    Rule(
        "required-lost",
        "block",
        "a cue is called and nobody hears it",
        "restore the missing channel, talk, listen, device or bridge",
        reach.required("lost"),
        "path-lost",
    ),
    Rule(
        "critical-no-talker",
        "block",
        "nobody can call a stop there",
        "give somebody on headset talk there",
        targets.critical_without("talker"),
    ),
    Rule(
        "critical-no-ear",
        "block",
        "a stop is called and nobody hears it",
        "let somebody on headset listen there",
        targets.critical_without("ear"),
    ),
    Rule(
        "overheard",
        "block",
        "somebody hears what they must never hear",
        "remove the talk, the listen or the bridge",
        reach.overheard,
        "overheard",
    ),
    Rule(
        "required-and-apart",
        "block",
        "the show asks for a path and forbids it",
        "change one of the two",
        reach.required_and_apart,
    ),
    Rule(
        "open-to-public",
        "block",
        "the audience or a broadcast hears what is said on headset",
        "make it momentary, remove the bridge, or require the path if it is a feed",
        reach.open_to_public,
        "overheard",
    ),
    Rule(
        "ring",
        "block",
        "sound comes round and howls",
        "remove one of the bridges, or make it one-way",
        reach.rings,
        "audio-loop",
        reach.ring_again,
    ),
    # Who is on headset. A block where a required path ends there, or with the last on a critical group.
    Rule(
        "user-without-device",
        "warning",
        "the position has no headset",
        "assign a device",
        positions.users_without_device,
    ),
    Rule(
        "off-headset",
        "warning",
        "nobody hears the position, and it hears nobody",
        "assign a device that is here",
        positions.users_off_headset,
    ),
    # What is not sure.
    Rule(
        "required-in-doubt",
        "warning",
        "a cue may be called that nobody hears",
        "write what is so of the circuit",
        reach.required("in doubt"),
    ),
    Rule(
        "required-in-menu",
        "warning",
        "nobody finds a menu in time",
        "put it under a key",
        reach.required("menu only"),
    ),
    Rule(
        "required-unsure",
        "warning",
        "a cue may not be heard",
        "set listen to always, at a level above the floor",
        reach.required("unsure"),
    ),
    Rule(
        "maybe-overheard",
        "warning",
        "somebody may hear what they must never hear",
        "write what is so, or remove the talk, the listen or the bridge",
        reach.maybe_overheard,
    ),
    Rule(
        "apart-of-nobody",
        "warning",
        "nobody watches a path that must never be",
        "name ends that have members, or remove it",
        reach.apart_of_nobody,
    ),
    Rule(
        "maybe-to-public",
        "warning",
        "the audience or a broadcast may hear what is said on headset",
        "make it momentary, or require the path if it is a feed",
        reach.maybe_to_public,
    ),
    Rule(
        "maybe-ring",
        "warning",
        "sound may come round and howl",
        "write what is so, or make one of the bridges one-way",
        reach.maybe_rings,
    ),
    Rule(
        "one-at-a-time",
        "warning",
        "one forgotten key shuts everybody else off",
        "make it momentary",
        reach.holding_a_circuit,
    ),
    Rule(
        "over-capacity",
        "warning",
        "a unit may drop out when all are switched on",
        "hang something elsewhere",
        reach.over_capacity,
        "over-limit",
    ),
    # What works badly.
    Rule(
        "critical-in-menu",
        "warning",
        "nobody finds a menu in an emergency",
        "put it under a key on page A",
        targets.critical_by("menu", "none"),
    ),
    Rule(
        "critical-off-page",
        "warning",
        "nobody turns pages in an emergency",
        "move the key to page A",
        targets.critical_by("page"),
    ),
    Rule(
        "level-below-floor",
        "warning",
        "it looks like an ear and is none",
        "raise the level",
        channels.levels_below_the_floor,
    ),
    Rule(
        "hears-nobody",
        "warning",
        "somebody answers and is not heard",
        "set listen on one of the channels",
        positions.users_who_hear_nobody,
    ),
    Rule("user-alone", "warning", "the position has a headset for nothing", "add a channel", positions.users_alone),
    Rule(
        "group-unheard",
        "warning",
        "who calls there is heard by nobody",
        "let somebody listen, or remove the group",
        targets.groups_unheard,
    ),
    Rule(
        "channel-idle",
        "warning",
        "its key does nothing",
        "set talk or listen, or remove the channel",
        channels.channels_that_do_nothing,
    ),
    Rule(
        "label-too-long",
        "warning",
        "a display cuts it off",
        "shorten the label",
        channels.labels_too_long,
    ),
    Rule(
        "label-twice",
        "warning",
        "two keys look the same in the dark",
        "give one channel a label of its own",
        channels.labels_twice_on_a_device,
    ),
    Rule(
        "one-name",
        "warning",
        "people call one and mean the other",
        "change one of them",
        twins.of_one_name,
    ),
    Rule(
        "circuit-nearly-named",
        "warning",
        "one system plotted twice is told as two, and its rings are not seen",
        "make them one circuit, or name them apart",
        twins.circuits_of_nearly_one_name,
    ),
    Rule(
        "invisible-character",
        "warning",
        "what looks the same is not the same, and is not found by its name",
        "write the text again, without what cannot be seen",
        letters.invisible_characters,
    ),
    Rule(
        "look-alike",
        "warning",
        "nobody can tell the two apart by sight",
        "write one of them another way, in the letters of one script",
        letters.look_alikes,
    ),
    Rule(
        "hardware-of-a-group",
        "warning",
        "no unit answers to it",
        "read the address off the unit again",
        channels.hardware_of_no_single_device,
    ),
    # The house's own rules.
    Rule(
        "standard",
        "warning",
        "the house does it otherwise",
        "set it as the standard says",
        standards.unlike_the_standard,
    ),
    Rule(
        "standard-of-nothing",
        "warning",
        "what it was meant to watch is not watched",
        "correct the pattern, or remove the standard",
        standards.standards_of_nothing,
    ),
    # Worth knowing.
    Rule(
        "device-without-user",
        "note",
        "a unit lies idle",
        "assign it, or keep it as a spare",
        positions.devices_without_user,
    ),
    Rule(
        "single-talker",
        "note",
        "nobody can answer there",
        "let others talk, if they should",
        targets.groups_with_one_talker,
    ),
    Rule(
        "priority-mismatch",
        "note",
        "a critical call may be talked over",
        "make priority and critical agree",
        targets.priority_against_critical,
    ),
)

ACCEPTED_WITHOUT_EFFECT = Rule(
    "accepted-nothing",
    "warning",
    "what it was meant to accept is not accepted, or is not there any more",
    "remove the entry, or accept the finding as it is now",
    lambda scene: (),
)
"""Looks at what all others found, so that it is not in the list."""
