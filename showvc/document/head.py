"""What `show.yaml` holds: all that is not a thing with a file of its own. Part of the catalogue, as `bodies.py` is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field

from showvc.document.bodies import Body
from showvc.document.frozen import NOTHING
from showvc.document.values import Amount, Count, End, FieldPath, Free, Id, Level, Map, Notes, Path, Text, To, Words

FORMAT = 2

PLOTS, COLUMNS = "plots", "columns"
"""The fields of the show's `extra` that keep where everything stands in other people's plots and in our own sheets."""


def _format(value: Any) -> Any:
    # A Literal would take true and 2.0 for a number that equals it.
    return str(value) if isinstance(value, bool | float) else value


class Limits(Body):
    """The most that the system takes; what is None is not checked."""

    targets: Count | None = None
    devices: Count | None = None
    channels: Count | None = None
    label: Count | None = None
    floor: Level | None = None


class Line(Body):
    """A target that is there for everybody without a channel."""

    name: Text = ""
    label: Text | None = None
    critical: bool = False


class Kind(Body):
    """A device's type: keys on each of its pages, or ports of an interface unit."""

    keys: Annotated[int, Field(ge=0, le=999)] = 0
    pages: Annotated[int, Field(ge=1, le=26)] = 1
    ports: Annotated[int, Field(ge=0, le=999)] = 0
    label: Annotated[Count | None, Words("characters of a label")] = None
    menu: bool = True
    needs: Map[Id, Amount] = NOTHING


class Required(Body):
    """A path that the show must have, and why."""

    from_: Annotated[End, Field(alias="from")]
    to: End
    over: Annotated[Id | None, To("over")] = None
    both: bool = False
    ways: Annotated[int, Field(ge=1, le=2)] = 1
    at_least: Annotated[int | None, Field(alias="at-least", ge=1, le=100_000)] = None
    why: Text = ""


class Apart(Body):
    """A path that the show must never have, and why."""

    from_: Annotated[End, Field(alias="from")]
    to: End
    over: Annotated[Id | None, To("over")] = None
    both: bool = False
    why: Text = ""


class Accepted(Body):
    """A finding that the show accepts: the rule's code, the pointer it stands at, its facts, and the reason."""

    rule: Text
    at: Path
    facts: Text | None = None
    why: Annotated[Text, Field(min_length=1)]


class Standard(Body):
    """A rule of the house: each thing that the pattern names, and whose fields are as `where` says, must be so."""

    for_: Annotated[Path, Field(alias="for")]
    where: Map[FieldPath, Text] = NOTHING
    must: Map[FieldPath, Text]
    severity: Literal["block", "warning", "note"] = "warning"
    why: Text = ""


class Head(Body):
    """What `show.yaml` holds."""

    format: Annotated[Literal[2], BeforeValidator(_format)] = 2
    title: Text = ""
    limits: Annotated[Limits, Words("limit of")] = Limits()
    lines: Annotated[Map[Id, Line], Words("line")] = NOTHING
    kinds: Annotated[Map[Id, Kind], Words("kind")] = NOTHING
    required: Annotated[Map[Id, Required], Words("required path")] = NOTHING
    apart: Annotated[Map[Id, Apart], Words("paths apart")] = NOTHING
    accepted: Annotated[Map[Id, Accepted], Words("accepted finding")] = NOTHING
    standards: Annotated[Map[Id, Standard], Words("standard")] = NOTHING
    notes: Notes = ""
    extra: Free = NOTHING


BUILT_IN_KINDS: Mapping[str, Kind] = {
    # Two-, four- and eight-key units, panels and interfaces: common practice, no source.
    "pack-2": Kind(keys=2),
    "pack-4": Kind(keys=4),
    "desk-8": Kind(keys=8),
    "panel-16": Kind(keys=16),
    "ports-2": Kind(ports=2),
    "ports-4": Kind(ports=4),
}
