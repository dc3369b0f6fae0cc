"""The sentence of each rule: WHERE: WHAT, made of a show and a finding's facts. The way out is added by `check`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from showvc.document import Show
from showvc.document.lining import counted
from showvc.paths import Doubt, RequiredState, Ring, doubt_words, end_words, required_words, ring_words, spoken
from showvc.paths.pairs import Pair
from showvc.rules.finding import Sentence
from showvc.rules.sentences_of_texts import (
    label_too_long,
    looks_alike,
    points_at_nothing,
    unlike_standard,
    unseen_characters,
)


def _device(show: Show, name: str) -> str:
    long = show.devices[name].name if name in show.devices else ""
    return f"device {name} ({long})" if long else f"device {name}"


def _on(show: Show, target: str) -> str:
    return end_words(show, target) if target in show.groups or target in show.lines else spoken(show, target)


def _channel(show: Show, user: str, channel: str) -> str:
    label = show.key_label(show.users.get(user), channel)
    return f"{spoken(show, user)}, {label}"


def _listed(show: Show, names: Iterable[str], most: int = 4) -> str:
    words = [spoken(show, name) for name in names]
    return ", ".join([*words[:most], f"{len(words) - most} more"] if len(words) > most else words)


def _and(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def _only_if(show: Show, doubts: Iterable[Iterable[Any]]) -> str:
    return _and(doubt_words(show, Doubt(*doubt)) for doubt in doubts)


# --- circles, double bookings and limits ---


def _carrier_circle(show: Show, names: Iterable[str]) -> str:
    if len(words := [_carrier(show, name) for name in names]) == 1:
        return f"carrier {words[0]}: hangs on itself"
    return f"carriers {_and(words)}: hang on each other, and on nothing else"


def _standby_circle(show: Show, names: Iterable[str]) -> str:
    if len(words := list(names)) == 1:
        return f"bridge {words[0]}: standby for itself"
    return f"bridges {_and(words)}: standbys for each other"


def _carrier(show: Show, name: str) -> str:
    long = show.carriers[name].name
    return f"{name} ({long})" if long else name


def _number_twice(show: Show, user: str, number: int, one: str, other: str) -> str:
    first, second = (show.key_label(show.users[user], channel) for channel in (one, other))
    return f"{spoken(show, user)}: channel {number} is both {first} and {second}"


def _port_twice(show: Show, device: str, port: int, one: str, other: str) -> str:
    return f"{_device(show, device)}: port {port} is both bridge {one} and bridge {other}"


def _hardware_twice(show: Show, one: str, other: str, hardware: str) -> str:
    return f"{_device(show, one)} and {_device(show, other)}: both have the hardware address {hardware}"


def _too_many(what: str) -> Sentence:
    return lambda show, count, limit: f"{show.title or 'show'}: {count} {what}; the system takes {limit}"


def _beyond_list(show: Show, user: str, count: int, limit: int, channel: str | None = None) -> str:
    if channel is None:
        return f"{spoken(show, user)}: {count} channels; a list takes {limit}"
    return f"{_channel(show, user, channel)}: on channel {count}; a list goes to {limit}"


def _key_beyond(show: Show, name: str, key: str, kind: str, keys: int, pages: int) -> str:
    has = f"{_many(keys, 'key')} on {_many(pages, 'page')}"
    return f"{_device(show, name)}: no key {key}; kind {kind} has {has}"


def _port_beyond(show: Show, bridge: str, port: int, device: str, kind: str, ports: int) -> str:
    return f"bridge {bridge}: no port {port} on {_device(show, device)}; kind {kind} has {_many(ports, 'port')}"


def _many(count: int, what: str) -> str:
    return counted(count, what) if count else f"no {what}s"


def _over_capacity(show: Show, carrier: str, word: str, gives: float) -> str:
    return f"carrier {_carrier(show, carrier)}: what can hang on nothing else needs more than {gives} {word}"


# --- who must hear whom ---


def _required(show: Show, name: str, state: Any, *parts: Any) -> str:
    missing, off, reasons, in_menu, unsure, doubts = parts
    found = RequiredState(
        name, show.required[name], state, missing, off, reasons, in_menu, unsure, tuple(Doubt(*each) for each in doubts)
    )
    return required_words(show, found)


def _overheard(show: Show, name: str, talker: str, listener: str, target: str, bridges: Any, doubts: Any) -> str:
    way = f"over {_on(show, target)}" + "".join(f", bridge {bridge}" for bridge in bridges)
    reason = show.head.apart[name].why
    asked = f"(apart {name}: {reason})" if reason else f"(apart {name})"
    if not doubts:
        return f"{spoken(show, listener)}: hears {spoken(show, talker)} {way} {asked}"
    return f"{spoken(show, listener)}: would hear {spoken(show, talker)} {way} if {_only_if(show, doubts)} {asked}"


def _apart_of_nobody(show: Show, name: str, empty: Iterable[str], both: Iterable[str]) -> str:
    said = "; ".join(empty)
    inside = f"; in both ends: {_listed(show, both)}" if both else ""
    return f"apart {name}: keeps nobody apart, {said}{inside}"


def _required_and_apart(show: Show, apart: str, required: str, pairs: Iterable[Pair]) -> str:
    found = [f"{spoken(show, talker)} -> {spoken(show, listener)}" for talker, listener in pairs]
    more = f" and {len(found) - 3} more" if len(found) > 3 else ""
    return f"apart {apart} and required path {required}: both are about {', '.join(found[:3])}{more}"


def _public(show: Show, user: str, channel: str, circuit: str, talk: str, surely: bool, doubts: Any) -> str:
    mode = "is always open and" if talk == "open" else "can latch and"
    if surely:
        return f"{_channel(show, user, channel)}: {mode} reaches public circuit {spoken(show, circuit)}"
    only = f" if {_only_if(show, doubts)}" if doubts else ""
    return f"{_channel(show, user, channel)}: {mode} would reach public circuit {spoken(show, circuit)}{only}"


def _holding(show: Show, user: str, channel: str, circuit: str, talk: str) -> str:
    mode = (
        "is always open, so nobody else gets through" if talk == "open" else "can latch, and then nobody gets through"
    )
    return (
        f"{_channel(show, user, channel)}: {mode} on circuit {spoken(show, circuit)}, which takes one talker at a time"
    )


def _ring(show: Show, bridges: Iterable[str], steps: Iterable[Iterable[str]], doubts: Any) -> str:
    way = tuple((place, bridge) for place, bridge in steps)
    ring = Ring(frozenset(bridges), way, tuple(Doubt(*doubt) for doubt in doubts))
    closes = f"would close a ring if {_only_if(show, doubts)}" if doubts else "close a ring"
    return f"bridges {_and(bridges)}: {closes}: {ring_words(show, ring)}"


# --- groups and lines ---


def _critical_no_talker(show: Show, target: str, off: Iterable[str], unknown: Iterable[str]) -> str:
    return f"{_on(show, target)}: critical, and nobody can talk there{_not_counted(show, off, unknown)}"


def _critical_no_ear(show: Show, target: str, off: Iterable[str], unknown: Iterable[str]) -> str:
    return f"{_on(show, target)}: critical, and nobody hears what is said there{_not_counted(show, off, unknown)}"


def _not_counted(show: Show, off: Iterable[str], unknown: Iterable[str]) -> str:
    parts = [f"off headset: {_listed(show, off)}"] if off else []
    parts += [f"not written of circuit: {_listed(show, unknown)}"] if unknown else []
    return "".join(f"; {part}" for part in parts)


def _critical_by(show: Show, user: str, target: str, hand: str) -> str:
    how = {"menu": "is in the menu only", "page": "has its key on another page than A"}.get(
        hand, "has no key, and there is no menu"
    )
    return f"{spoken(show, user)}, {show.label(target)}: critical, and {how}"


def _unheard(show: Show, group: str, talkers: Iterable[str], unknown: Iterable[str]) -> str:
    who = f"{_listed(show, talkers)} talks there, and nobody listens" if talkers else "nobody talks or listens there"
    return f"{_on(show, group)}: {who}{_not_counted(show, (), unknown)}"


def _single_talker(show: Show, group: str, talker: str) -> str:
    return f"{_on(show, group)}: only {spoken(show, talker)} talks there"


def _priority(show: Show, group: str, critical: bool, priority: str, users: list[str]) -> str:
    is_critical = "critical" if critical else "not critical"
    talk = f"{counted(len(users), 'user')} {'talks' if len(users) == 1 else 'talk'} there with {priority} priority"
    return f"{_on(show, group)}: {is_critical}, but {talk}"


# --- positions ---


def _no_device(show: Show, user: str, why: Any, ends: Iterable[str], last: Any) -> str:
    return f"{spoken(show, user)}: no device, so off headset{_cut_off(show, ends, last)}"


def _off_headset(show: Show, user: str, why: Any, ends: Iterable[str], last: Any) -> str:
    words = {"away": "is away", "lent": "is lent", "carrier": "lacks a carrier"}
    said = ", ".join(f"{_device(show, device)} {words[each]}" for device, each in why)
    return f"{spoken(show, user)}: off headset, {said}{_cut_off(show, ends, last)}"


def _cut_off(show: Show, ends: Iterable[str], last: Iterable[Iterable[str]]) -> str:
    parts = [f"required path {name} ends here" for name in ends]
    parts += [f"was the last {role} on {show.label(target)}" for target, role in last]
    return "".join(f"; {part}" for part in parts)


def _idle_device(show: Show, name: str) -> str:
    return f"{_device(show, name)}: unassigned"


def _alone(show: Show, user: str) -> str:
    return f"{spoken(show, user)}: hears nobody and nobody hears {spoken(show, user)}"


def _hears_nobody(show: Show, user: str, targets: Iterable[str]) -> str:
    return f"{spoken(show, user)}: talks on {_listed(show, targets)}, and can't hear the answers"


# --- channels, labels, names ---


def _idle_channel(show: Show, user: str, channel: str) -> str:
    return f"{_channel(show, user, channel)}: neither talks nor listens"


def _low(show: Show, user: str, channel: str, level: float, floor: float | None) -> str:
    why = f"below the floor of {floor} dB" if floor is not None and level > -60 else "heard by nobody"
    return f"{_channel(show, user, channel)}: level {level} dB is {why}"


def _label_twice(show: Show, device: str, label: str, keys: Iterable[str]) -> str:
    return f"{_device(show, device)}: {label!r} is under {', '.join(keys)}"


def _group_address(show: Show, hardware: str) -> str:
    return f"{hardware}: the address of a group of devices, not of one"


def _one_name(show: Show, one: tuple[str, str], other: tuple[str, str], field: str) -> str:
    text = getattr(show.section(one[0])[one[1]], field)
    return f"{'/'.join(one)} and {'/'.join(other)}: both have the {field} {text!r}"


def _nearly(show: Show, one: str, other: str) -> str:
    names = (show.circuits[name].name or name for name in (one, other))
    return f"circuits/{one} and circuits/{other}: nearly one name, {_and(map(repr, names))}"


def _same_id(show: Show, name: str, one: str, other: str) -> str:
    return f"{name}: both a {one} and a {other}"


# --- what the show accepts ---


def _idle_acceptance(show: Show, name: str, code: str, at: str, why: str) -> str:
    return (
        f"accepted/{name}: "
        + {
            "no rule": f"there is no rule {code!r}",
            "nothing": f"accepts nothing; {code} finds nothing at {at.removeprefix('/')}",
            "block": f"accepts nothing; {code} at {at.removeprefix('/')} is a block",
            "other facts": f"accepts nothing; another entry accepts {code} at {at.removeprefix('/')}",
        }[why]
    )


def _standard_of_nothing(show: Show, name: str, pattern: str) -> str:
    return f"standard {name}: nothing is at {pattern}"


_REFERENCES = (
    "channel-to-nothing", "line-unknown", "key-to-nothing", "user-unknown", "kind-unknown", "carrier-unknown",
    "bridge-to-nothing", "bridge-on-nothing", "circuit-unknown", "standby-unknown", "required-to-nothing",
    "apart-to-nothing",
)  # fmt: skip
_STATES = ("required-lost", "required-in-doubt", "required-in-menu", "required-unsure")

SENTENCES: Mapping[str, Sentence] = {
    **dict.fromkeys(_REFERENCES, points_at_nothing),
    **dict.fromkeys(_STATES, _required),
    "carrier-circle": _carrier_circle,
    "standby-circle": _standby_circle,
    "same-id": _same_id,
    "number-twice": _number_twice,
    "port-twice": _port_twice,
    "hardware-twice": _hardware_twice,
    "too-many-targets": _too_many("groups and users"),
    "too-many-devices": _too_many("devices"),
    "channel-beyond-limit": _beyond_list,
    "key-beyond-kind": _key_beyond,
    "port-beyond-kind": _port_beyond,
    "over-capacity": _over_capacity,
    "overheard": _overheard,
    "maybe-overheard": _overheard,
    "apart-of-nobody": _apart_of_nobody,
    "required-and-apart": _required_and_apart,
    "open-to-public": _public,
    "maybe-to-public": _public,
    "one-at-a-time": _holding,
    "ring": _ring,
    "maybe-ring": _ring,
    "critical-no-talker": _critical_no_talker,
    "critical-no-ear": _critical_no_ear,
    "critical-in-menu": _critical_by,
    "critical-off-page": _critical_by,
    "group-unheard": _unheard,
    "single-talker": _single_talker,
    "priority-mismatch": _priority,
    "user-without-device": _no_device,
    "off-headset": _off_headset,
    "device-without-user": _idle_device,
    "user-alone": _alone,
    "hears-nobody": _hears_nobody,
    "channel-idle": _idle_channel,
    "level-below-floor": _low,
    "label-too-long": label_too_long,
    "label-twice": _label_twice,
    "hardware-of-a-group": _group_address,
    "one-name": _one_name,
    "circuit-nearly-named": _nearly,
    "invisible-character": unseen_characters,
    "look-alike": looks_alike,
    "standard": unlike_standard,
    "standard-of-nothing": _standard_of_nothing,
    "accepted-nothing": _idle_acceptance,
}
"""By the rule's code."""
