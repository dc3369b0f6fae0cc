"""Rules about groups and lines: who talks and who listens there, and how they come to it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from typing import Literal

from showvc.document import target_of
from showvc.document.pointers import join
from showvc.paths import Members, alone
from showvc.rules.finding import Found, Scene

# --- critical groups and lines ---


def critical_without(lacking: Literal["talker", "ear"]) -> Callable[[Scene], Iterator[Found]]:
    """What a rule looks for: critical groups and lines on which nobody can talk, or nobody hears who talks."""

    def look(scene: Scene) -> Iterator[Found]:
        read = scene.paths.surely
        for members in scene.members:
            target = members.target
            if target not in scene.critical:
                continue
            heard = any(read.over(talker, target) for talker in members.talkers)
            silent, deaf = not members.talkers, not heard if members.talkers else not members.listeners
            if silent if lacking == "talker" else deaf:
                facts = (target, members.off_headset, members.unknown)
                yield Found((_place(scene, target),), facts)

    return look


def _place(scene: Scene, target: str) -> str:
    return join("groups" if target in scene.show.groups else "lines", target)


def critical_by(*hands: str) -> Callable[[Scene], Iterator[Found]]:
    """What a rule looks for: users on headset who come to a critical group or line in one of these ways alone.

    `none`: there is neither a key nor a menu.
    """

    def look(scene: Scene) -> Iterator[Found]:
        if not scene.critical:
            return
        read, lists = scene.paths.surely, scene.paths.lists
        for user, part in lists.parts.items():
            wanted = part.talks & scene.critical
            if not wanted or not read.is_on_headset(user):
                continue
            reached = read.hands(user)
            for target in sorted(wanted):
                if (hand := reached.get(target, "none")) in hands:
                    yield Found((_entry(scene, user, target),), (user, target, hand))

    return look


def _entry(scene: Scene, user: str, target: str) -> str:
    """Where a user has talk on a target."""
    body = scene.show.users[user]
    channels = (name for name, entry in body.channels.items() if target_of(name) == target and entry.talk != "none")
    channel = min(channels, default=None)
    return join("users", user, "channels", channel) if channel else join("users", user, "lines", target)


# --- any group ---


def groups_unheard(scene: Scene) -> Iterator[Found]:
    """Groups on which nobody listens. Of critical ones a rule of their own tells."""
    for members in scene.members:
        if members.target in scene.show.groups and members.unheard and members.target not in scene.critical:
            yield Found((join("groups", members.target),), (members.target, members.talkers, members.unknown))


def groups_with_one_talker(scene: Scene) -> Iterator[Found]:
    """Groups with a single talker, who waits for an answer.

    What feeds a programme is none, nor a microphone that only pages: it hears nobody anywhere, or does not listen here.
    """
    deaf = frozenset(alone(scene.paths).hears_nobody)
    for members in scene.members:
        if members.target in scene.show.groups and members.single_talker and _has_other_ears(members):
            (talker,) = members.talkers
            feeds = talker in scene.paths.facts.circuits or talker not in members.listeners or talker in deaf
            if not feeds:
                yield Found((join("groups", members.target),), (members.target, talker))


def _has_other_ears(members: Members) -> bool:
    return bool(set(members.listeners) - set(members.talkers))


def priority_against_critical(scene: Scene) -> Iterator[Found]:
    show, critical = scene.show, scene.show.critical_groups
    odd: dict[tuple[str, str], set[str]] = defaultdict(set)
    for user, body in show.users.items():
        for channel, entry in body.channels.items():
            target = target_of(channel)
            if target in show.groups and entry.talk != "none" and (entry.priority == "high") != (target in critical):
                odd[target, entry.priority].add(user)
    for (target, priority), users in sorted(odd.items()):
        facts = (target, target in critical, priority, tuple(sorted(users)))
        yield Found((join("groups", target),), facts, (priority,))
