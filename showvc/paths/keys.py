"""Which paths are at hand: on a key of a device that the talker wears, always open, or only in the menu.

- A channel is *on a key* when a device whose `user` has the channel on his list holds it under a key: the channel
  itself, so that a key for `lx` does not serve `lx#2`.
- A channel with `talk` open needs no key, whether or not it has one: it is always talking. Such a path is at hand, and
  is told apart from one on a key. (An interface unit has ports and no keys at all.)
- A path is on a key when it holds over any channel that is; else open when it holds over any that is open; else it is
  only *in the menu*. Channels without talk serve no path, key or not.
- A key that the device's kind has not got, or a page, is a matter for `check`; here it counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass
from typing import Literal, NamedTuple

from showvc.document import Show, differing, key_place, target_of
from showvc.paths.matrix import Matrix, aligned, comparable, differing_keys
from showvc.paths.pairs import Pairs

Hand = Literal["key", "open", "menu"]
HANDS: tuple[Hand, ...] = ("key", "open", "menu")
"""How a talker comes to a channel, the handiest first."""


class KeyAt(NamedTuple):
    """A key on a device; `page` is the letter of its page."""

    device: str
    key: str
    page: str


Keys = Mapping[str, Mapping[str, tuple[KeyAt, ...]]]
"""For each user, each channel or line that stands under keys of the devices he wears, and those keys."""


def keys_of(show: Show) -> Keys:
    """Every user's keys, by the channel or line that they hold. Reads every device."""
    found: dict[str, dict[str, tuple[KeyAt, ...]]] = {}
    for name, device in show.devices.items():
        if device.user is None:
            continue
        held = found.setdefault(device.user, {})
        for key in sorted(device.keys, key=key_place):
            channel = device.keys[key]
            held[channel] = (*held.get(channel, ()), KeyAt(name, key, key_place(key)[0]))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class Hands:
    """A show's matrix, and what of it is at hand."""

    show: Show
    matrix: Matrix
    keys: Keys

    def channel(self, user: str, channel: str) -> Hand:
        """How a user comes to a channel of his list. KeyError where he has no such channel."""
        if channel in self.keys.get(user, {}):
            return "key"
        return "open" if self.show.users[user].channels[channel].talk == "open" else "menu"

    def hand(self, talker: str, listener: str) -> Hand | None:
        """How the talker comes to this path; None where there is none."""
        if not self.matrix.holds(talker, listener):
            return None
        bit = 1 << self.matrix.ears.place[listener]
        if self.matrix.row(talker, self._targets(talker, "key")) & bit:
            return "key"
        return "open" if self.matrix.row(talker, self._targets(talker, "open")) & bit else "menu"

    def row(self, talker: str) -> int:
        """Bits of those whom the talker reaches on a key or always open."""
        return self.matrix.row(talker, self.handy(talker))

    def handy(self, talker: str) -> frozenset[str]:
        """The targets that a user talks to on a key or always open."""
        held = self.keys.get(talker, {})
        channels = self.show.users[talker].channels.items()
        return frozenset(
            target_of(key) for key, entry in channels if entry.talk == "open" or (entry.talk != "none" and key in held)
        )

    def _targets(self, talker: str, hand: Hand) -> frozenset[str]:
        return frozenset(target for target, best in self.targets(talker).items() if best == hand)

    def targets(self, talker: str) -> Mapping[str, Hand]:
        """The targets that a user talks to, each with the handiest way he comes to it."""
        found: dict[str, Hand] = {}
        for key, entry in self.show.users[talker].channels.items():
            if entry.talk != "none":
                target, hand = target_of(key), self.channel(talker, key)
                found[target] = min(hand, found.get(target, "menu"), key=HANDS.index)
        return found


def hands_of(show: Show, matrix: Matrix) -> Hands:
    """What of this show's matrix is at hand."""
    return Hands(show, matrix, keys_of(show))


class KeyChange(NamedTuple):
    """Paths that are there in both shows: those that went from a key to the menu, and the reverse."""

    to_menu: Pairs
    to_key: Pairs


def key_changes(before: Hands, after: Hands) -> KeyChange:
    """The paths that stayed and lost their key, or came by one. Looks only at users whom a change touches."""
    both = aligned(before.matrix, after.matrix)
    to_menu, to_key = {}, {}
    for name in sorted(_touched(before, after)):
        slot = before.matrix.ears.place[name]
        stayed = before.matrix.rows[slot] & both.moved(after.matrix.rows[after.matrix.ears.place[name]])
        then, now = before.row(name), both.moved(after.row(name))
        to_menu[slot], to_key[slot] = stayed & then & ~now, stayed & now & ~then
    return KeyChange(Pairs(both.order, to_menu), Pairs(both.order, to_key))


def _touched(before: Hands, after: Hands) -> Set[str]:
    """The users of both shows whose handy paths may differ."""
    old, new = before.matrix, after.matrix
    staying = old.ears.place.keys() & new.ears.place.keys()
    if not comparable(old, new):
        return staying
    edited = {*differing(before.show.users, after.show.users), *_wearers(before.show, after.show)}
    reach = differing_keys(old.reach, new.reach) | (old.ears.groups ^ new.ears.groups)
    edited |= differing_keys(old.ears.shut, new.ears.shut) | (old.ears.groups ^ new.ears.groups)
    return {name for name in staying if name in edited or not reach.isdisjoint(new.talks[new.ears.place[name]])}


def _wearers(before: Show, after: Show) -> Iterator[str]:
    """The users, before and after, of the devices that changed."""
    for name in differing(before.devices, after.devices):
        for device in (before.devices.get(name), after.devices.get(name)):
            if device is not None and device.user is not None:
                yield device.user
