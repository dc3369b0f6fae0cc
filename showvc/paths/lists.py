"""Who listens where and talks to what: the users' lists of one show, as bits per target.

Every user and every circuit has a *slot*, a bit of its own, which it keeps from one show to the next. An id that is a
user's is no circuit's as well.

Where the rules leave room: a channel may point at a line; it is one more entry for it, beside the written use. Where no
use is written, what the channel says stands: who has turned a line off on his list does not hear it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass
from typing import NamedTuple

from showvc.document import Channel, LineUse, Show, User, differing
from showvc.paths.facts import Facts
from showvc.paths.pairs import bits_of

NOBODY: frozenset[str] = frozenset()

TABLES = ("on", "always", "low", "shut", "silent", "soft", "faint")


class Part(NamedTuple):
    """What a user talks to: `opens` always; `voices` are the entries that talk, `lx#2` apart from `lx`."""

    talks: frozenset[str] = NOBODY
    opens: frozenset[str] = NOBODY
    voices: frozenset[str] = NOBODY


class Marks(NamedTuple):
    """What one user's list says of listening, as targets; in the order of `TABLES`.

    `on`: listened to; `always`: listened to always, `low` of these at a level that is not surely heard; `shut`: on
    the list, and not listened to. Of lines that the list has, as a use or as channels: `silent`: all say no; `soft`:
    none says always; `faint`: none says always at a level that is surely heard.
    """

    on: Set[str] = NOBODY
    always: Set[str] = NOBODY
    low: Set[str] = NOBODY
    shut: Set[str] = NOBODY
    silent: Set[str] = NOBODY
    soft: Set[str] = NOBODY
    faint: Set[str] = NOBODY


NO_PART, NO_MARKS = Part(), Marks()


class Port(NamedTuple):
    """A user who is no person: what its bridges speak on, and what they listen to, each with how surely (0 to 2).

    `talks` is all that its list talks on: of these only what is open is ever spoken on.
    """

    talks: frozenset[str]
    opens: tuple[str, ...]
    listens: Mapping[str, int]


@dataclass(frozen=True, slots=True, eq=False)
class Lists:
    """`order` names the id of each slot, `place` is the slot of each id that is there; `users` are the bits of users
    who are no ports. The tables hold, for each target, the bits of users of whom a `Part` says so.
    """

    order: tuple[str, ...]
    place: Mapping[str, int]
    users: int
    parts: Mapping[str, Part]
    ports: Mapping[str, Port]
    on: Mapping[str, int]
    always: Mapping[str, int]
    low: Mapping[str, int]
    shut: Mapping[str, int]
    silent: Mapping[str, int]
    soft: Mapping[str, int]
    faint: Mapping[str, int]


def lists_of(show: Show, facts: Facts) -> Lists:
    """Reads every user."""
    bodies: Mapping[str, User] = dict(show.users.items())
    order = (*bodies, *(name for name in facts.circuits if name not in bodies))
    width = len(order)
    slots: tuple[dict[str, list[int]], ...] = tuple(defaultdict(list) for _ in TABLES)
    parts: dict[str, Part] = {}
    for slot, (name, user) in enumerate(bodies.items()):
        parts[name], marks = read_list(user, facts)
        for table, targets in zip(slots, marks, strict=True):
            for target in targets:
                table[target].append(slot)
    tables = ({target: bits_of(found, width) for target, found in table.items()} for table in slots)
    ports = {name: port_of(user, facts) for name, user in bodies.items() if user.port}
    users = bits_of((slot for slot, user in enumerate(bodies.values()) if not user.port), width)
    return Lists(order, {name: slot for slot, name in enumerate(order)}, users, parts, ports, *tables)


def moved_lists(lists: Lists, before: Show, after: Show, facts: Facts) -> Lists:
    """The lists of `after` from those of `before`; both have the same floor. Reads only users that may differ."""
    edited = differing(before.users, after.users)
    after.users.read(edited)
    names = [*edited, *(name for name in facts.circuits if name not in lists.place)]
    known = set(lists.order)
    order = (*lists.order, *(name for name in names if name not in known))
    slots = {name: slot for slot, name in enumerate(order)}
    place = {name: slot for name, slot in slots.items() if name in after.users or name in facts.circuits}
    parts, ports, users = dict(lists.parts), dict(lists.ports), lists.users
    tables = tuple(dict(getattr(lists, name)) for name in TABLES)
    for name in edited:
        user, bit = after.users.get(name), 1 << slots[name]
        part, marks = read_list(user, facts)
        _, former = read_list(before.users.get(name), facts)
        for bits, old, new in zip(tables, former, marks, strict=True):
            for target in old ^ new:
                bits[target] = bits.get(target, 0) ^ bit
        users = users | bit if user is not None and not user.port else users & ~bit
        parts.pop(name, None)
        ports.pop(name, None)
        if user is not None:
            parts[name] = part
            if user.port:
                ports[name] = port_of(user, facts)
    return Lists(order, place, users, parts, ports, *tables)


def read_list(user: User | None, facts: Facts) -> tuple[Part, Marks]:
    """What a user's list says; nothing where there is none, or it is a port's."""
    if user is None or user.port:
        return NO_PART, NO_MARKS
    talks: set[str] = set()
    on: set[str] = set()
    always: set[str] = set()
    loud: set[str] = set()
    opens: set[str] = set()
    listed: set[str] = set()
    several = False
    for key, channel in user.channels.items():
        target = key
        if "#" in key:
            target, several = key.partition("#")[0], True
        talk, listen = channel.talk, channel.listen
        if talk != "none":
            talks.add(target)
            if talk == "open":
                opens.add(target)
        if listen == "switchable":
            on.add(target)
        elif listen == "always":
            on.add(target)
            always.add(target)
            if facts.loud(channel.level):
                loud.add(target)
        else:
            listed.add(target)
    said = frozenset(talks)
    voices = frozenset(key for key, channel in user.channels.items() if channel.talk != "none") if several else said
    part = Part(said, frozenset(opens) if opens else NOBODY, voices)
    marks = Marks(on, always, always - loud, listed - on)
    plain = not user.lines and facts.lines.isdisjoint(on) and facts.lines.isdisjoint(listed)
    return (part, marks) if plain else _with_lines(part, marks, user, facts)


def _with_lines(part: Part, marks: Marks, user: User, facts: Facts) -> tuple[Part, Marks]:
    uses = {name: use for name, use in user.lines.items() if name in facts.lines}
    talks = frozenset(name for name, use in uses.items() if use.talk != "none")
    opens = part.opens | {name for name, use in uses.items() if use.talk == "open"}
    always = {name for name, use in uses.items() if use.listen == "always"} | marks.always
    loud = {name for name in always & uses.keys() if uses[name].listen == "always" and facts.loud(uses[name].level)}
    listed = uses.keys() | facts.lines & (marks.on | marks.shut)
    silent = {name for name in listed - marks.on if name not in uses or uses[name].listen == "none"}
    soft = listed - always
    faint = listed - loud - (marks.always - marks.low)
    part = Part(part.talks | talks, opens, part.voices | talks)
    return part, marks._replace(silent=silent, soft=soft, faint=faint)


def port_of(user: User, facts: Facts) -> Port:
    """What a port speaks on and listens to. Nobody is there to switch, so that `switchable` is always on."""
    entries: list[tuple[str, Channel | LineUse]] = [
        (key.partition("#")[0], entry) for key, entry in user.channels.items()
    ]
    entries += [(name, use) for name, use in user.lines.items() if name in facts.lines]
    listens: dict[str, int] = {}
    for target, entry in entries:
        if entry.listen != "none":
            listens[target] = max(listens.get(target, 0), 2 if facts.loud(entry.level) else 1)
    talks = frozenset(target for target, entry in entries if entry.talk != "none")
    return Port(talks, tuple(sorted({target for target, entry in entries if entry.talk == "open"})), listens)


def differing_keys(one: Mapping[str, int], other: Mapping[str, int]) -> Iterable[str]:
    """The names whose bits differ; no entry is the same as no bit."""
    return {name for name in one.keys() | other.keys() if one.get(name, 0) != other.get(name, 0)}
