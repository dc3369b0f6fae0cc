"""The single values of a show: each kind with its bounds, what it refers to, and how JSON Schema has it."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetCoreSchemaHandler,
    StringConstraints,
    WithJsonSchema,
)
from pydantic_core import core_schema

from showvc.document.frozen import NOTHING, FrozenList, FrozenMap
from showvc.document.names import CHANNEL, ID, clean_notes, clean_text, hardware_address

Thing = Literal[
    "target",  # a group, a user or a line
    "channel",  # one of its user's list, or a line
    "group",
    "user",
    "line",
    "device",
    "kind",
    "circuit",
    "carrier",
    "bridge",
    "over",  # a group or a line
    "end",  # of a path: a user, a group, a circuit, a line, a department, or everyone
    "department",
    "place",  # a path into the document, or a pattern of such
    "field",  # a path below what `for` names
]
"""What a field can refer to."""


@dataclass(frozen=True, slots=True)
class To:
    """In a field's annotation: what its value refers to."""

    thing: Thing


@dataclass(frozen=True, slots=True)
class Words:
    """In a field's annotation: what a person calls it, where that is not its name."""

    words: str


@dataclass(frozen=True, slots=True)
class Kept:
    """In a field's annotation: how its value is kept, where its type does not tell."""

    kind: Literal["notes", "free"]


# --- numbers ---


@dataclass(frozen=True, slots=True)
class Decimal:
    """In a number's annotation: between these bounds, whole or not; a whole one is kept as an int."""

    low: int
    high: int
    wanted: str
    unit: str = ""

    def check(self, value: Any) -> int | float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(self.wanted)
        if not self.low <= value <= self.high:
            raise ValueError(f"{self.low} to {self.high}{self.unit} are allowed")
        return int(value) if value == int(value) else value

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_before_validator_function(self.check, handler(source))

    def __get_pydantic_json_schema__(self, schema: Any, handler: Any) -> dict[str, Any]:
        return {"type": "number", "minimum": self.low, "maximum": self.high}


FLOOR = -60
"""The level, in dB, at which nothing is heard whatever a show says."""

Level = Annotated[
    int | float, Decimal(FLOOR, 12, "a number of dB from -60 to 12 is wanted, written such as -3 or 1.5", " dB")
]
Amount = Annotated[int | float, Decimal(0, 1_000_000, "a number is wanted, such as 240 or 12.5")]
Count = Annotated[int, Field(ge=0, le=100_000)]
HIGHEST = 999
Number = Annotated[int, Field(ge=1, le=HIGHEST)]
"""The number of a channel or of a port."""


# --- texts ---


def _day(text: str) -> str:
    """A day as RFC 3339 writes it (full-date)."""
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            date.fromisoformat(text)
            return text
    except ValueError:
        pass
    raise ValueError("a day is wanted, written such as 2026-12-04")


Text = Annotated[str, AfterValidator(clean_text)]
Notes = Annotated[str, AfterValidator(clean_notes), Kept("notes")]
Hardware = Annotated[str, AfterValidator(hardware_address), Words("hardware address")]
Day = Annotated[str, AfterValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
Id = Annotated[str, StringConstraints(pattern=rf"^{ID.pattern}$")]
ChannelId = Annotated[str, StringConstraints(pattern=rf"^{CHANNEL.pattern}$")]
KeyId = Annotated[str, StringConstraints(pattern=r"^[A-Z]([1-9][0-9]{0,2})$")]

EVERYONE, DEPARTMENT = "everyone", "department:"
"""Ends of a path that are no single thing: all users but ports, and all of one department."""


def _end(text: str) -> str:
    if text.startswith(DEPARTMENT):
        if not text.removeprefix(DEPARTMENT).strip():
            raise ValueError("a department's name is wanted after 'department:', such as department:stage")
        return clean_text(text)
    if not ID.fullmatch(text):
        raise ValueError("the id of a user, group, circuit or line is wanted, or department:NAME, or everyone")
    return text


End = Annotated[str, AfterValidator(_end), To("end")]


def _path(text: str) -> str:
    if re.search(r"~(?![01])", text):
        raise ValueError("is not a path: '~' is written '~0', and '/' within a name '~1'")
    return text


Path = Annotated[Text, Field(min_length=1), AfterValidator(_path), To("place")]
"""A path into the document, or a pattern of paths: `users/spot-*`."""
FieldPath = Annotated[Text, Field(min_length=1), AfterValidator(_path), To("field")]
"""A path below what a standard is for: `channels/spots/listen`."""


# --- sets, maps and what the model does not know ---


def _tags(value: Any) -> frozenset[str]:
    if not isinstance(value, list | tuple | set | frozenset) or not all(isinstance(tag, str) for tag in value):
        raise ValueError("a list of words is wanted, such as [stage, rig]")
    return frozenset(clean_text(tag) for tag in value)


def _carriers(value: Any) -> frozenset[str | tuple[str, ...]]:
    if not isinstance(value, list | tuple | set | frozenset):
        raise ValueError(_CARRIERS)
    return frozenset(_alternatives(member) for member in value)


def _alternatives(member: Any) -> str | tuple[str, ...]:
    names = [member] if isinstance(member, str) else member
    if not isinstance(names, list | tuple | set | frozenset) or not names:
        raise ValueError(_CARRIERS)
    for name in names:
        if not isinstance(name, str) or not ID.fullmatch(name):
            raise ValueError(_CARRIERS)
    found = tuple(sorted(set(names)))
    return found[0] if len(found) == 1 else found


_CARRIERS = "a list of carriers is wanted, alternatives in a list within it, such as [switch-1, [ups-1, ups-2]]"

Tags = Annotated[frozenset[str], BeforeValidator(_tags), WithJsonSchema({"type": "array", "items": {"type": "string"}})]
"""A set: a word that is written twice counts once."""
_ID_SCHEMA = {"type": "string", "pattern": f"^{ID.pattern}$"}
_ANY_OF = {"anyOf": [_ID_SCHEMA, {"type": "array", "items": _ID_SCHEMA, "minItems": 1}]}
Carriers = Annotated[
    frozenset[str | tuple[str, ...]],
    BeforeValidator(_carriers),
    WithJsonSchema({"type": "array", "items": _ANY_OF}),
    To("carrier"),
    Words("hangs on"),
]
"""Carriers that are all needed; a tuple among them is of those of which one is enough."""

MAX_EXTRA_DEPTH = 32
MAX_EXTRA_NAME = 200
"""What YAML readers take on one line is 1,024 bytes; longer names could not be written."""
MAX_EXTRA_NUMBER = 10**300


def _json(value: Any) -> Any:
    return _json_value(value, 0) if value else NOTHING


def _json_value(value: Any, depth: int) -> Any:
    if depth > MAX_EXTRA_DEPTH:
        raise ValueError(f"is nested deeper than {MAX_EXTRA_DEPTH} levels")
    if isinstance(value, dict):
        return FrozenMap({_json_name(key): _json_value(inner, depth + 1) for key, inner in value.items()})
    if isinstance(value, list | tuple):
        return FrozenList(_json_value(inner, depth + 1) for inner in value)
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


Free = Annotated[dict[str, Any], AfterValidator(_json), Kept("free")]

K = TypeVar("K")
V = TypeVar("V")


def _frozen(value: Mapping[Any, Any]) -> Mapping[Any, Any]:
    return FrozenMap(value) if value else NOTHING


Map = Annotated[Mapping[K, V], AfterValidator(_frozen)]
"""Names to items of one kind; never changed in place."""
