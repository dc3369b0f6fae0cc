"""The smallest edits that would make a path. Each is tried on the show before it is proposed.

Proposed edits change what there is, add a channel under a free number, put a channel under a free key, give somebody
a spare device, or bring back what was just taken away. Nothing else is taken out or added, the show's limit of channels
is kept, and no ring is closed.
"""

from __future__ import annotations

import shlex
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Literal

from showvc.document import Show, ShowError, differing, target_of, to_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import join, parse
from showvc.paths.facts import brings_in, carries_out
from showvc.paths.model import Paths, advance
from showvc.paths.reading import ANY
from showvc.paths.rings import closes_ring
from showvc.paths.ways import Doubt, fewest_doubts

Reason = Literal["restore", "talk", "call", "listen", "answer", "key", "wear", "back", "direction", "open", "say"]


@dataclass(frozen=True, slots=True)
class Edit:
    """An edit that a path needs: the value to set at a pointer, None to remove what stands there.

    `reason` says what is missing, `about` of whom or what: `talk` (user, target), `call` (user, called), `listen`
    (user, target), `answer` (user, caller), `key` (user, target), `wear` (user, device), `back` (thing that is away),
    `direction` (bridge), `open` (port, target), `say` (circuit, field), `restore` (section, id).
    """

    pointer: str
    value: Any = field(hash=False)
    reason: Reason
    about: tuple[str, ...]

    @property
    def command(self) -> str:
        """The edit as it is typed."""
        place = self.pointer.removeprefix("/")
        if self.value is None:
            return shlex.join(["showvc", "remove", place])
        return shlex.join(["showvc", "set", place, _flow(self.value)])


def _flow(value: Any) -> str:
    if isinstance(value, dict):
        return f"{{{', '.join(f'{name}: {_flow(part)}' for name, part in value.items())}}}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_flow, value))}]"
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


Proposal = tuple[Edit, ...]
"""Edits that together make a path."""

MOST = 3
MOST_TRIED = 150


def proposals(
    paths: Paths, talker: str, listener: str, over: str | None = None, before: Show | None = None
) -> tuple[Proposal, ...]:
    """Up to three sets of edits of the same smallest size, any one of which makes the path, the likeliest first.

    `before`: the show of which something was taken away. Nothing where no two edits, beside those that bring the two
    on headset, make it.
    """
    found: list[Proposal] = []
    tries = _Tries(talker, listener, over, MOST_TRIED)
    ground = _Ground(paths, talker, listener, over, before)
    for start, readied in ground.ready():
        if readied.paths.surely.holds(talker, listener, over):
            found.append(start)
        elif len(found) < MOST:
            found += (start + more for more in _made(readied, tries, MOST - len(found)))
        if len(found) >= MOST:
            break
    fewest = min(map(len, found), default=0)
    return tuple(dict.fromkeys(each for each in found if len(each) == fewest and each))[:MOST]


def _made(ground: _Ground, tries: _Tries, most: int) -> list[Proposal]:
    """Proposals of one edit; where there are none, of two."""
    found: list[Proposal] = []
    first: list[tuple[Edit, Paths]] = []
    for edit in ground.edits():
        after = tries.after(ground.paths, edit)
        if after is None:
            continue
        if tries.made(ground.paths, after, edit):
            found.append((edit,))
            if len(found) == most:
                return found
        elif not found:
            first.append((edit, after))
    for edit, after in first if not found else ():
        for second in ground.on(after).edits():
            done = tries.after(after, second) if parse(second.pointer) != parse(edit.pointer) else None
            if done is not None and tries.made(ground.paths, done, edit, second):
                found.append((edit, second))
                if len(found) == most:
                    return found
    return found


class _Tries:
    """Tries edits, so many in all."""

    def __init__(self, talker: str, listener: str, over: str | None, most: int) -> None:
        self.pair, self.over, self.left = (talker, listener), over, most

    def after(self, paths: Paths, edit: Edit) -> Paths | None:
        """The paths after an edit; None where it cannot be, or enough were tried."""
        self.left -= 1
        return None if self.left < 0 else edited(paths, edit)

    def made(self, before: Paths, after: Paths, *edits: Edit) -> bool:
        """Whether the path is there now, and no ring that was not."""
        if not after.surely.holds(*self.pair, self.over):
            return False
        may_ring = any(edit.reason in ("direction", "open", "back", "say", "restore", "listen") for edit in edits)
        return not (may_ring and closes_ring(before, after))


def edited(paths: Paths, edit: Edit) -> Paths | None:
    """The paths of the show with an edit; None where the document does not take it."""
    value = ABSENT if edit.value is None else edit.value
    try:
        return advance(paths, put(paths.show, {parse(edit.pointer): value}))
    except ShowError:
        return None


def free_number(show: Show, user: str, but: Collection[int] = ()) -> int | None:
    """The lowest channel number that a user has free, `but` for these; None where the list is full."""
    channels, most = show.users[user].channels, show.most_channels
    if len(channels) + len(but) >= most:
        return None
    taken = {*but, *(entry.number for entry in channels.values())}
    return next((number for number in range(1, most + 1) if number not in taken), None)


class _Ground:
    """The edits that may bring a talker to a listener in one show."""

    def __init__(self, paths: Paths, talker: str, listener: str, over: str | None, before: Show | None) -> None:
        self.paths, self.show, self.before = paths, paths.show, before
        self.talker, self.listener, self.over = talker, listener, over

    def on(self, paths: Paths) -> _Ground:
        return _Ground(paths, self.talker, self.listener, self.over, self.before)

    # --- on headset ---

    def ready(self) -> Iterator[tuple[Proposal, _Ground]]:
        """The edits that bring both on headset, each with the ground after them; none of them where both are."""
        off = [who for who in (self.talker, self.listener) if self._is_off(who)]
        if not off:
            yield (), self
            return
        for edit in self._headset_edits(off[0]):
            after = edited(self.paths, edit)
            if after is not None and after.surely.is_on_headset(off[0]):
                yield from (((edit, *more), ground) for more, ground in self.on(after).ready())

    def _is_off(self, who: str) -> bool:
        lists = self.paths.lists
        return who in lists.parts and who not in lists.ports and not self.paths.surely.is_on_headset(who)

    def _headset_edits(self, user: str) -> Iterator[Edit]:
        own = [name for name, device in self.paths.facts.devices.items() if device.user == user]
        yield from self._restored("devices", self._worn_before(user))
        yield from self._restored("carriers", ())
        for name in own:
            yield from self._back("devices", name)
        # A spare whose keys hold nothing fits anybody's list.
        spare = [n for n, d in self.paths.facts.devices.items() if d.user is None and not d.away and not d.lent]
        for name in sorted(spare, key=lambda name: (bool(self.paths.facts.devices[name].keys), name)):
            yield Edit(join("devices", name, "user"), user, "wear", (user, name))

    def _worn_before(self, user: str) -> tuple[str, ...]:
        devices = self.before.devices if self.before is not None else {}
        return tuple(name for name, device in devices.items() if device.user == user)

    def _back(self, section: str, name: str) -> Iterator[Edit]:
        body = self.show.section(section)[name]
        for part in ("away", "lent"):
            if getattr(body, part, None) is not None:
                yield Edit(join(section, name, part), None, "back", (name,))

    # --- all others ---

    def edits(self) -> Iterator[Edit]:
        """Edits that may make it, the likeliest first."""
        yield from dict.fromkeys(
            chain(
                self._taken_away(), self._listening(), self._talking(), self._calling(), self._keys(),
                self._bridges(), self._unwritten(), self._ports(),
            )
        )  # fmt: skip

    def _taken_away(self) -> Iterator[Edit]:
        """What the show before had and this one has not: the lists of the two and of ports, and all bridges."""
        if self.before is None:
            return
        lists = self.paths.lists
        users = [name for name in (self.talker, self.listener, *lists.ports) if name in lists.parts]
        for name in dict.fromkeys(users):
            yield from self._taken_from(name)
        yield from self._restored("devices", self._worn_before(self.talker))
        for section in ("bridges", "circuits", "devices", "carriers"):
            yield from self._restored(section, ())

    def _taken_from(self, user: str) -> Iterator[Edit]:
        if self.before is None or user not in self.before.users:
            return
        was, now = self.before.users[user], self.show.users[user]
        for key, entry in was.channels.items():
            if now.channels.get(key) != entry:
                tree = to_tree(entry)
                if key not in now.channels and any(e.number == entry.number for e in now.channels.values()):
                    tree["number"] = free_number(self.show, user)
                if tree["number"] is not None and self._fits(user, key):
                    yield Edit(join("users", user, "channels", key), tree, "restore", ("users", user))
        for line, use in was.lines.items():
            if now.lines.get(line) != use:
                yield Edit(join("users", user, "lines", line), to_tree(use), "restore", ("users", user))
        if was.lines.keys() < now.lines.keys():
            for line in now.lines.keys() - was.lines.keys():
                yield Edit(join("users", user, "lines", line), None, "restore", ("users", user))

    def _fits(self, user: str, key: str) -> bool:
        channels = self.show.users[user].channels
        return key in channels or len(channels) < self.show.most_channels

    def _restored(self, section: str, names: Collection[str]) -> Iterator[Edit]:
        """What differs from before of these things; of all of a section but devices somebody else wears."""
        if self.before is None:
            return
        was, now = self.before.section(section), self.show.section(section)
        for name in differing(was, now):
            wanted = name in names if names else section != "devices" or not getattr(was.get(name), "user", None)
            if name not in was or not wanted:
                continue
            if name not in now:
                yield Edit(join(section, name), to_tree(was[name]), "restore", (section, name))
                continue
            old, new = to_tree(was[name]), to_tree(now[name])
            for part in sorted(old.keys() | new.keys()):
                if old.get(part) != new.get(part):
                    yield Edit(join(section, name, part), old.get(part), "restore", (section, name))

    def _hearing(self) -> list[str]:
        """The targets over which the listener would hear somebody."""
        slot = self.paths.lists.place.get(self.listener)
        reach = self.paths.surely.reach(ANY)
        if slot is None:
            return []
        if self.over is not None:
            return [self.over] if reach.get(self.over, 0) >> slot & 1 else []
        lines = self.paths.surely.line_names
        return sorted(target for target, bits in reach.items() if target not in lines and bits >> slot & 1)

    def _said(self, user: str) -> list[str]:
        """The groups and lines that somebody talks to and that the path may go over."""
        surely = self.paths.surely
        targets = surely.hands(user) if user in self.paths.lists.place else {}
        wanted = {self.over} if self.over is not None else targets.keys() - surely.line_names
        return sorted(targets.keys() & wanted)

    def _channel(self, user: str, target: str, field: str, value: str, reason: Reason) -> Iterator[Edit]:
        """Sets talk or listen where the target is on a list, or adds it."""
        body, about = self.show.users[user], (user, target)
        keys = [key for key in body.channels if target_of(key) == target]
        if target in self.paths.surely.line_names and not keys:
            uses = to_tree(body.lines[target]) if target in body.lines else {}
            yield Edit(join("users", user, "lines", target), {**uses, field: value}, reason, about)
        elif keys:
            first = min(keys, key=lambda key: body.channels[key].number)
            yield Edit(join("users", user, "channels", first, field), value, reason, about)
        elif (number := free_number(self.show, user)) is not None:
            yield Edit(join("users", user, "channels", target), {"number": number, field: value}, reason, about)

    def _is_user(self, who: str) -> bool:
        return who in self.paths.lists.parts and who not in self.paths.lists.ports

    def _has(self, user: str, target: str) -> bool:
        return any(target_of(key) == target for key in self.show.users[user].channels)

    def _listening(self) -> Iterator[Edit]:
        if not self._is_user(self.listener):
            return
        shared = self.paths.facts.groups | self.paths.surely.line_names
        said = [target for target in self._said(self.talker) if target in shared]
        for target in sorted(said, key=lambda target: not self._has(self.listener, target)):
            yield from self._channel(self.listener, target, "listen", "switchable", "listen")
        if self._has(self.listener, self.talker) and self.listener in self._said(self.talker):
            yield from self._channel(self.listener, self.talker, "listen", "switchable", "answer")

    def _talking(self) -> Iterator[Edit]:
        if self._is_user(self.talker):
            hearing = [target for target in self._hearing() if target != self.listener]
            for target in sorted(hearing, key=lambda target: not self._has(self.talker, target)):
                yield from self._channel(self.talker, target, "talk", "momentary", "talk")
            # What both would need an edit for comes last: those that the listener can be given too.
            for key in self.show.users[self.talker].channels if self.over is None else ():
                if target_of(key) not in hearing and target_of(key) in self.paths.facts.groups:
                    yield from self._channel(self.talker, target_of(key), "talk", "momentary", "talk")

    def _calling(self) -> Iterator[Edit]:
        if self.over is None and self._is_user(self.talker) and self._is_user(self.listener):
            yield from self._channel(self.talker, self.listener, "talk", "momentary", "call")

    def _keys(self) -> Iterator[Edit]:
        """A key for a channel that has talk but cannot be come by, on a device without a menu."""
        if not self._is_user(self.talker):
            return
        surely, part = self.paths.surely, self.paths.lists.parts[self.talker]
        held = surely.keys(self.talker)
        for channel in sorted(part.voices):
            target = target_of(channel)
            if target in surely.hands(self.talker) or channel in held or self.over not in (None, target):
                continue
            for name in surely.standing.worn.get(self.talker, ()):
                device = self.paths.facts.devices[name]
                kind = self.paths.facts.kind(device)
                keys = (
                    (f"{chr(65 + page)}{n}" for page in range(kind.pages) for n in range(1, kind.keys + 1))
                    if kind
                    else ()
                )
                free = next((key for key in keys if key not in device.keys), None)
                if free is not None:
                    yield Edit(join("devices", name, "keys", free), channel, "key", (self.talker, target))

    def _bridges(self) -> Iterator[Edit]:
        for name, bridge in self.paths.facts.bridges.items():
            if bridge.standby is None:
                yield from self._back("bridges", name)
                if bridge.device in self.paths.facts.devices:
                    yield from self._back("devices", bridge.device)
                if not (carries_out(bridge) and brings_in(bridge)):
                    yield Edit(join("bridges", name, "direction"), "both", "direction", (name,))

    def _unwritten(self) -> Iterator[Edit]:
        """What the document does not say of circuits, where all of it together would make the path."""
        doubts: tuple[Doubt, ...] = ()
        if self.paths.unwritten.holds(self.talker, self.listener, self.over):
            doubts = fewest_doubts(self.paths, self.paths.unwritten, self.talker, self.listener, self.over)
        for doubt in doubts:
            if doubt.what in ("hears", "speaks", "carries"):
                yield Edit(join("circuits", doubt.id, doubt.what), True, "say", (doubt.id, doubt.what))

    def _ports(self) -> Iterator[Edit]:
        hearing, said = self._hearing(), self._said(self.talker)
        for port in sorted(self.paths.lists.ports):
            for target in said:
                if target in self.paths.facts.groups:
                    yield from self._channel(port, target, "listen", "switchable", "listen")
            for target in hearing:
                yield from self._channel(port, target, "talk", "open", "open")
