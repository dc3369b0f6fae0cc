"""What an edit brings that somebody should know at once: new blocks, and the loss of paths that matter most.

Most edits can bring neither, and that is told from the bodies that differ alone: a new name, a level, another talk
mode. Only where one may, the whole show is looked at.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from showvc.changes import RequiredChange, effect_of
from showvc.document import SECTIONS, Accepted, Channel, Head, LineUse, Show, User, differing, target_of
from showvc.rules import Finding, new_findings


@dataclass(frozen=True, slots=True)
class Brought:
    """How many new blocks there are, the required paths that are lost, how many paths over critical groups and lines
    are between those who are still there, and who is off headset now.

    `unasked` are the paths that are no longer required; `accepted` is what is accepted now at a required path or a
    critical group. Both take a guard away, and nothing else would tell.
    """

    blocks: int = 0
    required: tuple[str, ...] = ()
    critical: int = 0
    off_headset: tuple[str, ...] = ()
    unasked: tuple[RequiredChange, ...] = ()
    accepted: tuple[Accepted, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.blocks or self.required or self.critical or self.off_headset or self.unasked or self.accepted)

    def plain(self) -> dict[str, Any]:
        """Whom it cuts off, as JSON has it."""
        return {"required": list(self.required), "critical": self.critical, "off_headset": list(self.off_headset)}


def brought(before: Show, after: Show, found: Iterable[Finding] | None = None) -> Brought:
    """What stands in the way of a release now and did not before, and who is cut off.

    `found` is what `new_findings` says, where that is known already.
    """
    if not may_bring(before, after):
        return Brought()
    effect = effect_of(before, after)
    lost = [change for change in effect.required if change.after is not None and change.after.state == "lost"]
    names = tuple(change.name for change in lost if change.before is None or change.before.state != "lost")
    blocks = sum(each.severity == "block" for each in (new_findings(before, after) if found is None else found))
    unasked = tuple(change for change in effect.required if change.after is None)
    accepted = tuple(_accepted(before, after))
    off = set(effect.off_headset)
    critical = sum(off.isdisjoint((talker, listener)) for talker, _, listener in effect.critical_losses)
    return Brought(blocks, names, critical, effect.off_headset, unasked, accepted)


def _accepted(before: Show, after: Show) -> Iterator[Accepted]:
    known = list(before.accepted.values())
    for entry in after.accepted.values():
        section, name = (*entry.at.removeprefix("/").split("/"), "")[:2]
        critical = section == "groups" and name in after.groups and after.groups[name].critical
        if entry not in known and (section == "required" or critical):
            yield entry


def may_bring(before: Show, after: Show) -> bool:
    """Whether an edit can bring a stop or take such a path away. Reads what differs, and nothing else of the users."""
    if _said(before.head) != _said(after.head):
        return True
    if any(standard.severity == "block" for standard in after.head.standards.values()):
        return True  # it may speak of any field
    changed = {name: differing(before.section(name), after.section(name)) for name in SECTIONS}
    if any(changed[name] for name in ("devices", "bridges", "circuits", "carriers")):
        return True
    if any(_come_or_gone(before, after, changed)):
        return True
    if any(before.groups[name].critical != after.groups[name].critical for name in changed["groups"]):
        return True
    return any(_user_may(before, after, name) for name in changed["users"])


_UNHEARD_OF = frozenset({"title", "notes", "extra"})


def _said(head: Head) -> dict[str, Any]:
    return head.model_dump(exclude=set(_UNHEARD_OF))


def _come_or_gone(before: Show, after: Show, changed: dict[str, tuple[str, ...]]) -> Iterator[bool]:
    for section in ("groups", "users"):
        for name in changed[section]:
            yield (name in before.section(section)) != (name in after.section(section))


def _user_may(before: Show, after: Show, name: str) -> bool:
    old, new = before.users[name], after.users[name]
    if old.channels.keys() != new.channels.keys() or _numbers(old) != _numbers(new) or old.port or new.port:
        return True
    if _ways(old) != _ways(new) and _must_not_reach(after):
        return True
    return any(_lost(after, name, target) for target in _ways(old) - _ways(new))


def _must_not_reach(show: Show) -> bool:
    """Whether a way that is new can be one that must not be: where some are apart, or a circuit is not for all."""
    return bool(show.head.apart) or any(body.public or body.one_at_a_time for body in show.circuits.values())


def _numbers(user: User) -> Counter[int]:
    return Counter(channel.number for channel in user.channels.values())


def _ways(user: User) -> frozenset[tuple[str, str]]:
    """How a user takes part: talking, always or not, or listening, and where."""
    entries: list[tuple[str, Channel | LineUse]] = [*user.channels.items(), *user.lines.items()]
    talks = {("talk", name) for name, entry in entries if entry.talk != "none"}
    opens = {("open", name) for name, entry in entries if entry.talk == "open"}
    return frozenset(talks | opens | {("listen", name) for name, entry in entries if entry.listen != "none"})


def _lost(show: Show, user: str, way: tuple[str, str]) -> bool:
    """Whether one who gives up this way may cut off a required path, or somebody on a critical group."""
    target = target_of(way[1])
    body = show.groups.get(target) or show.lines.get(target)
    ends = {end for required in show.required.values() for end in (required.from_, required.to)}
    ends |= {bridge.target for bridge in show.bridges.values()}
    listens = {target_of(name) for name in show.users[user].channels}
    return bool(body and body.critical) or not ends.isdisjoint({target, user, *listens})
