"""The things of a show: the body of each, as immutable models. They are the catalogue: a field stands here and nowhere
else, with its type (bounds and spelling, see `values.py`), its words, and what it refers to.

The order of the fields is the order in which they are written. Defaults are never written.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from showvc.document.frozen import NOTHING
from showvc.document.values import (
    Amount,
    Carriers,
    ChannelId,
    Day,
    Free,
    Hardware,
    Id,
    KeyId,
    Level,
    Map,
    Number,
    Tags,
    Text,
    To,
    Words,
)

Talk = Literal["none", "momentary", "latch", "dual", "open"]
Listen = Literal["none", "switchable", "always"]
Priority = Literal["normal", "high"]
BridgeKind = Literal["two-wire", "four-wire", "audio-network", "radio"]
Direction = Literal["both", "in", "out"]


def same(one: Any, other: Any) -> bool:
    """Whether two plain values say the same; Python alone takes true for 1, which a file does not."""
    if isinstance(one, bool) or isinstance(other, bool):
        return one is other
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(same(inner, other[name]) for name, inner in one.items())
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    return bool(one == other)


class Body(BaseModel):  # noqa: PLW1641 - pydantic gives frozen models their hash
    """Base of all bodies: frozen, and strict about types and unknown fields."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, populate_by_name=True)

    def __eq__(self, other: object) -> bool:
        equal = super().__eq__(other)
        extra = self.__dict__.get("extra")
        return same(extra, other.__dict__["extra"]) if equal is True and extra else equal


class Group(Body):
    """A conference that many users talk and listen on."""

    name: Text = ""
    label: Text | None = None
    critical: bool = False
    tags: Tags = frozenset()
    extra: Free = NOTHING


class Channel(Body):
    """One numbered entry of a user's list; what it points at is its key on that list."""

    number: Number
    talk: Talk = "none"
    listen: Listen = "switchable"
    level: Level = 0
    priority: Priority = "normal"
    label: Text | None = None
    extra: Free = NOTHING


class LineUse(Body):
    """How a user talks and listens on one of the lines."""

    talk: Talk = "none"
    listen: Listen = "always"
    level: Level = 0


class User(Body):
    """A position on headset, or a port: an entry that is no person but what a bridge listens to and speaks on."""

    name: Text = ""
    label: Text | None = None
    department: Text | None = None
    port: bool = False
    channels: Map[Annotated[ChannelId, To("target")], Channel] = NOTHING
    lines: Map[Annotated[Id, To("line")], LineUse] = NOTHING
    extra: Free = NOTHING


class Loan(Body):
    """Who has a device that is not the show's at the moment, and until which day."""

    to: Annotated[Text, Field(min_length=1)]
    until: Day | None = None


class Device(Body):
    """A beltpack, desk station, key panel or interface unit."""

    name: Text = ""
    kind: Annotated[Id, To("kind")]
    user: Annotated[Id | None, To("user")] = None
    hardware: Hardware | None = None
    place: Text | None = None
    keys: Map[KeyId, Annotated[ChannelId, To("channel")]] = NOTHING
    on: Carriers = frozenset()
    away: Text | None = None
    lent: Loan | None = None
    extra: Free = NOTHING


class Bridge(Body):
    """A port that ties an outside system, its circuit, to a target."""

    kind: BridgeKind
    device: Annotated[Id, To("device")]
    port: Number
    target: Annotated[Id, To("target")]
    circuit: Annotated[Id | None, To("circuit")] = None
    direction: Direction = "both"
    away: Text | None = None
    standby: Annotated[Id | None, To("bridge"), Words("standby for")] = None
    extra: Free = NOTHING


class Circuit(Body):
    """An outside system, and who stands behind it. What is None is not known."""

    name: Text = ""
    people: Text | None = None
    hears: bool | None = None
    speaks: bool | None = None
    carries: bool | None = None
    one_at_a_time: Annotated[bool, Field(alias="one-at-a-time")] = False
    public: bool = False
    extra: Free = NOTHING


class Carrier(Body):
    """What devices hang on and run out of: a switch, an antenna, a power supply, a pool of licences."""

    name: Text = ""
    gives: Map[Id, Amount] = NOTHING
    on: Carriers = frozenset()
    extra: Free = NOTHING
