"""How a talker comes to what he talks to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

from showvc.document import key_place, target_of
from showvc.paths.facts import Facts, Standing
from showvc.paths.lists import Part

Hand = Literal["key", "open", "page", "menu"]
HANDS: tuple[Hand, ...] = ("key", "open", "page", "menu")
"""How a talker comes to a target, the best first: a key on page A, always open, a key on another page, the menu."""


class KeyAt(NamedTuple):
    """A key on a device; `page` is the letter of its page."""

    device: str
    key: str
    page: str


def keys_of(facts: Facts, standing: Standing, user: str) -> Mapping[str, tuple[KeyAt, ...]]:
    """The channels and lines under keys of the devices that a user wears, where the kind has the key."""
    found: dict[str, tuple[KeyAt, ...]] = {}
    for name in standing.worn.get(user, ()):
        device = facts.devices[name]
        kind = facts.kind(device)
        keys, pages = (kind.keys, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[: kind.pages]) if kind is not None else (0, "")
        for key, channel in device.keys.items():
            if key[0] in pages and int(key[1:]) <= keys:
                found[channel] = (*found.get(channel, ()), KeyAt(name, key, key[0]))
    return {channel: tuple(sorted(at, key=_place)) if len(at) > 1 else at for channel, at in found.items()}


def _place(at: KeyAt) -> tuple[str, str, int]:
    return at.device, *key_place(at.key)


def has_menu(facts: Facts, standing: Standing, user: str, unknown: bool) -> bool:
    """Whether one of a user's devices has a menu; `unknown` where he wears none."""
    kinds = [facts.kind(facts.devices[name]) for name in standing.worn.get(user, ())]
    return any(kind is not None and kind.menu for kind in kinds) if kinds else unknown


def hands_of(part: Part, keys: Mapping[str, tuple[KeyAt, ...]], menu: bool) -> Mapping[str, Hand]:
    """The targets that somebody with this list and these keys can talk to, each with the best way he comes to it."""
    found: dict[str, Hand] = dict.fromkeys(part.talks, "menu") if menu else {}

    def add(target: str, hand: Hand) -> None:
        found[target] = min(hand, found.get(target, "menu"), key=HANDS.index)

    for channel, places in keys.items():
        if channel in part.voices:
            add(target_of(channel), "key" if any(at.page == "A" for at in places) else "page")
    for target in part.opens:
        add(target, "open")
    return found
