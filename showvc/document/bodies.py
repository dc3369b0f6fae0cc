"""What stands in a show: the body of each thing, as immutable models.

The order of the fields is the order in which they are written. Defaults are never written.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

from showvc.document.names import CHANNEL, ID, clean_notes, clean_text, hardware_address

FORMAT = 1

Talk = Literal["none", "momentary", "latch", "dual", "open"]
Listen = Literal["none", "switchable", "always"]
Priority = Literal["normal", "high"]
BridgeKind = Literal["two-wire", "four-wire", "audio-network", "radio"]
Direction = Literal["both", "in", "out"]


def _level(value: Any) -> int | float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("a number of dB from -60 to 12 is wanted, written such as -3 or 1.5")
    if not -60 <= value <= 12:
        raise ValueError("-60 to 12 dB are allowed")
    return int(value) if value == int(value) else value


def _tags(value: Any) -> frozenset[str]:
    if not isinstance(value, list | tuple | set | frozenset) or not all(isinstance(tag, str) for tag in value):
        raise ValueError("a list of words is wanted, such as [stage, rig]")
    return frozenset(clean_text(tag) for tag in value)


def _format(value: Any) -> Any:
    # Literal[1] would take true and 1.0 for it.
    return str(value) if isinstance(value, bool | float) else value


MAX_EXTRA_DEPTH = 32
MAX_EXTRA_NAME = 200
"""What YAML readers take on one line is 1,024 bytes; longer names could not be written."""
MAX_EXTRA_NUMBER = 10**300


def _json(value: Any) -> Any:
    return _json_value(value, 0)


def _json_value(value: Any, depth: int) -> Any:
    if depth > MAX_EXTRA_DEPTH:
        raise ValueError(f"is nested deeper than {MAX_EXTRA_DEPTH} levels")
    if isinstance(value, dict):
        return {_json_name(key): _json_value(inner, depth + 1) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_json_value(inner, depth + 1) for inner in value]
    return value if value is None or isinstance(value, bool) else _json_leaf(value)


def _json_leaf(value: Any) -> Any:
    if isinstance(value, str):
        if not value.isascii() and any("\ud800" <= char <= "\udfff" for char in value):
            raise ValueError("holds half of a surrogate pair, which no text file can")
    elif not isinstance(value, int | float):
        raise ValueError(f"{value!r} is not a JSON value")
    elif isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{value} is not a JSON number")
    elif abs(value) >= MAX_EXTRA_NUMBER and isinstance(value, int):
        raise ValueError("holds a whole number of more than 300 digits")
    return value


def _json_name(key: Any) -> str:
    if not isinstance(key, str):
        raise ValueError("holds a name that is no text")
    if len(key) > MAX_EXTRA_NAME:
        raise ValueError(f"holds a name of {len(key)} characters; at most {MAX_EXTRA_NAME} are allowed")
    return str(_json_leaf(key))


Text = Annotated[str, AfterValidator(clean_text)]
Notes = Annotated[str, AfterValidator(clean_notes), "notes"]
Ref = Annotated[str, StringConstraints(pattern=rf"^{ID.pattern}$")]
ChannelId = Annotated[str, StringConstraints(pattern=rf"^{CHANNEL.pattern}$")]
KeyId = Annotated[str, StringConstraints(pattern=r"^[A-Z]([1-9][0-9]{0,2})$")]
LineId = Literal["emergency", "announce", "program"]
Level = Annotated[int | float, BeforeValidator(_level)]
Tags = Annotated[frozenset[str], BeforeValidator(_tags)]
Hardware = Annotated[str, AfterValidator(hardware_address)]
Free = Annotated[dict[str, Any], AfterValidator(_json), "free"]
Count = Annotated[int, Field(ge=0, le=100_000)]


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
    extra: Free = Field(default_factory=dict)


class Channel(Body):
    """One numbered entry of a user's list; what it points at is its key on that list."""

    number: Annotated[int, Field(ge=1, le=999)]
    talk: Talk = "none"
    listen: Listen = "switchable"
    level: Level = 0
    priority: Priority = "normal"
    label: Text | None = None
    extra: Free = Field(default_factory=dict)


class LineUse(Body):
    """How a user talks and listens on one of the lines."""

    talk: Talk = "none"
    listen: Listen = "switchable"
    level: Level = 0


class User(Body):
    """A position on headset."""

    name: Text = ""
    label: Text | None = None
    department: Text | None = None
    channels: Mapping[ChannelId, Channel] = {}
    lines: Mapping[LineId, LineUse] = {}
    extra: Free = Field(default_factory=dict)


class Device(Body):
    """A beltpack, desk station, key panel or interface unit."""

    name: Text = ""
    kind: Ref
    user: Ref | None = None
    hardware: Hardware | None = None
    place: Text | None = None
    keys: Mapping[KeyId, ChannelId] = {}
    extra: Free = Field(default_factory=dict)


class Bridge(Body):
    """A port that ties an outside system, its circuit, to a target."""

    kind: BridgeKind
    device: Ref
    port: Annotated[int, Field(ge=1, le=999)]
    target: Ref
    circuit: Text = ""
    direction: Direction = "both"
    extra: Free = Field(default_factory=dict)


class Limits(Body):
    """The most that the system takes. The defaults are common practice, no source."""

    targets: Count = 3000
    devices: Count = 250
    channels: Count = 32


class LineSetup(Body):
    """How a line is shown on the devices."""

    label: Text | None = None


class Kind(Body):
    """A device's type: keys on each of its pages, or ports of an interface unit."""

    keys: Annotated[int, Field(ge=0, le=999)] = 0
    pages: Annotated[int, Field(ge=1, le=26)] = 1
    ports: Annotated[int, Field(ge=0, le=999)] = 0


class Required(Body):
    """A path that the show must have, and why."""

    from_: Annotated[Ref, Field(alias="from")]
    to: Ref
    both: bool = False
    why: Text = ""


class Quiet(Body):
    """A finding that the show accepts: the rule's code, the pointer it stands at, and the reason."""

    rule: Text
    at: Text
    why: Annotated[Text, Field(min_length=1)]


class Head(Body):
    """What `show.yaml` holds: everything that is not a group, user, device or bridge."""

    format: Annotated[Literal[1], BeforeValidator(_format)] = 1
    title: Text = ""
    limits: Limits = Limits()
    lines: Mapping[LineId, LineSetup] = {}
    kinds: Mapping[Ref, Kind] = {}
    required: Mapping[Ref, Required] = {}
    quiet: Mapping[Ref, Quiet] = {}
    notes: Notes = ""
    extra: Free = Field(default_factory=dict)


PLOTS, COLUMNS = "plots", "columns"
"""The fields of the show's `extra` that keep where everything stands in other people's plots and in our own sheets."""

BUILT_IN_KINDS: Mapping[str, Kind] = {
    # Two-, four- and eight-key units, panels and interfaces: common practice, no source.
    "pack-2": Kind(keys=2),
    "pack-4": Kind(keys=4),
    "desk-8": Kind(keys=8),
    "panel-16": Kind(keys=16),
    "interface-2": Kind(ports=2),
    "interface-4": Kind(ports=4),
}

LINE_LABELS: Mapping[str, str] = {"emergency": "EMERG", "announce": "ANNOUNCE", "program": "PROGRAM"}
