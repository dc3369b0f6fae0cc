"""The document's shape, read off the models: what kind of value stands at every pointer, and what is known of it.

Reading, writing, comparing, merging, editing and every table walk this one description, so a field is declared once,
in its model.
"""

from __future__ import annotations

import hashlib
import types
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from annotated_types import Ge, Le
from pydantic import AfterValidator, WithJsonSchema
from pydantic.fields import FieldInfo

from showvc.document.bodies import Body, Bridge, Carrier, Circuit, Device, Group, User
from showvc.document.head import Head
from showvc.document.names import KEY, clean_text, key_place
from showvc.document.values import Decimal, Id, Kept, Thing, To, Words

Leaf = Literal["text", "number", "flag", "set", "notes", "free"]
Tree = dict[str, Any]


def by_name(name: str, value: Any) -> Any:
    return name


@dataclass(frozen=True, slots=True)
class Shape:
    """`kind` is a leaf's, or `record` (fixed fields) or `map` (names to items of one shape).

    A leaf has a `default`, `None` where it may be absent. `required` fields cannot be left out. `words` is what a
    person calls the field, `to` what its value (of a map: its names) refers to. A text may have `choices`, a number
    is between `low` and `high`, and `whole` or not. A text may be a `day`. `hint` is the type, for whoever checks or
    draws a single value.
    """

    kind: Leaf | Literal["record", "map"]
    fields: Mapping[str, Shape] = field(default_factory=dict)
    item: Shape | None = None
    names: Shape | None = None
    default: Any = None
    required: bool = False
    model: type[Body] | None = None
    order: Callable[[str, Any], Any] = by_name
    words: str = ""
    to: Thing | None = None
    choices: tuple[str, ...] = ()
    low: int | None = None
    high: int | None = None
    whole: bool = True
    hint: Any = None
    day: bool = False
    prose: bool = False
    """Whether a text is what somebody wrote freely, and no word, id or address."""
    refers: bool = False
    """Whether a reference stands here or below."""

    def at(self, name: str) -> Shape | None:
        """The shape below this name; None where nothing can stand there."""
        if self.kind == "record":
            return self.fields.get(name)
        if self.kind == "map":
            return self.item
        return self if self.kind == "free" else None

    def along(self, steps: Iterable[str]) -> Shape | None:
        """The shape at the end of these steps; None where nothing can stand there."""
        shape: Shape | None = self
        for step in steps:
            shape = shape.at(step) if shape else None
        return shape

    @property
    def branches(self) -> bool:
        return self.kind in ("record", "map", "free")


def by_number(name: str, value: Any) -> tuple[int, str]:
    number = value.get("number", 0) if isinstance(value, Mapping) else value.number
    return (number if isinstance(number, int) else 0), name


def by_key(name: str, value: Any) -> tuple[str, int]:
    return key_place(name) if KEY.fullmatch(name) else (name, 0)


ORDERS: Mapping[str, Callable[[str, Any], Any]] = {"channels": by_number, "keys": by_key}


@cache
def shape_of(model: type[Body]) -> Shape:
    """The shape of a body, from its model's fields."""
    hints = get_type_hints(model, include_extras=True)
    fields: dict[str, Shape] = {}
    for name, info in model.model_fields.items():
        written = info.alias or name
        default = None if info.is_required() else info.get_default(call_default_factory=True)
        shape = _shape(hints[name], order=ORDERS.get(written, by_name))
        words = shape.words or written.replace("-", " ")
        fields[written] = replace(shape, default=default, required=info.is_required(), words=words)
    refers = any(inner.refers for inner in fields.values())
    return Shape("record", fields=fields, model=model, refers=refers)


def _shape(hint: Any, order: Callable[[str, Any], Any] = by_name) -> Shape:
    bare, marks = unannotated(hint)
    known: dict[str, Any] = {"hint": hint}
    for mark in marks:
        known |= _KNOWN.get(type(mark), lambda mark: {})(mark)
    origin, args = get_origin(bare), get_args(bare)
    if isinstance(bare, type) and issubclass(bare, Body):
        inner = shape_of(bare)
        known |= {"kind": "record", "fields": inner.fields, "model": bare, "refers": inner.refers}
    elif isinstance(origin, type) and issubclass(origin, Mapping) and "kind" not in known:
        names, item = _shape(args[0]), _shape(args[1])
        known |= {"kind": "map", "item": item, "names": names, "order": order, "to": names.to, "refers": item.refers}
    elif "kind" not in known:
        known["kind"] = _leaf(bare, origin, args)
    if known["kind"] == "text" and origin is Literal:
        known["choices"] = args
    return Shape(**{**known, "refers": known.get("refers", False) or known.get("to") is not None})


def unannotated(hint: Any) -> tuple[Any, list[Any]]:
    """A type without what is annotated and without None, and all that was annotated, the innermost first."""
    marks: list[Any] = []
    while True:
        origin, args = get_origin(hint), get_args(hint)
        if hasattr(hint, "__metadata__"):
            marks[:0] = hint.__metadata__
            hint = hint.__origin__
        elif origin in (Union, types.UnionType) and type(None) in args and len(args) == 2:
            hint = next(arg for arg in args if arg is not type(None))
        else:
            return hint, marks


def _bounds(info: FieldInfo) -> dict[str, Any]:
    low = next((mark.ge for mark in info.metadata if isinstance(mark, Ge)), None)
    high = next((mark.le for mark in info.metadata if isinstance(mark, Le)), None)
    return {"low": low, "high": high}


_KNOWN: Mapping[type, Callable[[Any], dict[str, Any]]] = {
    To: lambda mark: {"to": mark.thing},
    Words: lambda mark: {"words": mark.words},
    Kept: lambda mark: {"kind": mark.kind},
    Decimal: lambda mark: {"low": mark.low, "high": mark.high, "whole": False},
    FieldInfo: _bounds,
    WithJsonSchema: lambda mark: {"day": (mark.json_schema or {}).get("format") == "date"},
    AfterValidator: lambda mark: {"prose": True} if mark.func is clean_text else {},
}
"""What each kind of annotation says of a field."""


def _leaf(bare: Any, origin: Any, args: tuple[Any, ...]) -> Leaf:
    if origin is frozenset:
        return "set"
    if bare is bool:
        return "flag"
    if bare in (int, float, int | float) or (args and all(isinstance(arg, int) for arg in args)):
        return "number"
    return "text"


SECTIONS: Mapping[str, type[Body]] = {
    "groups": Group,
    "users": User,
    "devices": Device,
    "bridges": Bridge,
    "circuits": Circuit,
    "carriers": Carrier,
}
"""The kinds of thing that are a file each, in the order in which they are written."""


def _section(name: str, model: type[Body]) -> Shape:
    noun: Any = name[:-1]
    return Shape("map", item=shape_of(model), names=_shape(Id), to=noun, words=noun, refers=True)


DOCUMENT = Shape(
    "record",
    fields={
        **shape_of(Head).fields,
        **{f"{noun}s": replace(shape_of(Head).fields[f"{noun}s"], to=noun) for noun in ("line", "kind")},
        **{name: _section(name, model) for name, model in SECTIONS.items()},
    },
)


def fingerprint(shape: Shape | None = None) -> str:
    """A name of the catalogue as it is, or of one shape: another field, bound or default makes another."""
    return hashlib.sha256(_said(shape or DOCUMENT).encode()).hexdigest()[:12]


def _said(shape: Shape | None) -> str:
    if shape is None:
        return ""
    inner = [
        *(f"{name}: {_said(field)}" for name, field in shape.fields.items()),
        _said(shape.names),
        _said(shape.item),
    ]
    known = (shape.kind, shape.default, shape.required, shape.low, shape.high, shape.whole, shape.choices)
    return f"{known!r}{inner}"


def to_tree(body: Body) -> Tree:
    """The body as plain values, defaults left out, in the order in which it is written."""
    return _tree(body)


@cache
def fields_of(model: type[Body]) -> tuple[tuple[str, str, Shape], ...]:
    """Each field of a model, in the order in which they are written: its name, what it is written as, its shape."""
    fields = shape_of(model).fields
    return tuple((name, info.alias or name, fields[info.alias or name]) for name, info in model.model_fields.items())


def _tree(body: Body) -> Tree:
    tree: Tree = {}
    given, values = body.model_fields_set, body.__dict__
    for name, written, shape in fields_of(type(body)):
        if name in given:
            value = _plain(values[name], shape)
            if shape.required or not _is_default(value, shape):
                tree[written] = value
    return tree


def _plain(value: Any, shape: Shape) -> Any:
    if value is None:
        return None
    if shape.kind == "record":
        return _tree(value)
    if shape.kind == "map" and shape.item is not None:
        order, item = shape.order, shape.item
        names = sorted(value, key=lambda name: order(name, value[name]))
        return {name: _plain(value[name], item) for name in names}
    return members(value) if shape.kind == "set" else value


def members(value: Iterable[Any]) -> list[Any]:
    """The members of a set in the order in which they are written; one that is a list of alternatives stays one."""
    lists = [inner if isinstance(inner, str) else sorted(inner) for inner in value]
    return sorted(lists, key=lambda inner: [inner] if isinstance(inner, str) else inner)


def _is_default(value: Any, shape: Shape) -> bool:
    if shape.kind in ("record", "map", "free", "set"):
        return not value
    return bool(value == shape.default) and type(value) is type(shape.default)


def arranged(tree: Tree, shape: Shape) -> Tree:
    """The same plain values in the order in which they are written."""
    if shape.kind == "record":
        return {name: _arranged(tree[name], shape.fields[name]) for name in shape.fields if name in tree}
    order = shape.order
    return {name: _arranged(tree[name], shape.item) for name in sorted(tree, key=lambda name: order(name, tree[name]))}


def _arranged(value: Any, shape: Shape | None) -> Any:
    if shape is not None and shape.kind in ("record", "map") and value is not None:
        return arranged(value, shape)
    return members(value) if shape is not None and shape.kind == "set" else value


def whole_tree(body: Body) -> Tree:
    """The body as plain values with every field, defaults filled in and what is absent as None."""
    tree: Tree = _whole(body, shape_of(type(body)))
    return tree


def _whole(value: Any, shape: Shape) -> Any:
    if value is None:
        return None
    if shape.kind == "record":
        named = {info.alias or name: name for name, info in type(value).model_fields.items()}
        return {field: _whole(getattr(value, named[field]), inner) for field, inner in shape.fields.items()}
    if shape.kind == "map" and shape.item is not None:
        return {name: _whole(inner, shape.item) for name, inner in value.items()}
    return members(value) if shape.kind == "set" else value


def slim(tree: Tree, shape: Shape) -> Tree:
    """A whole tree without its defaults, in the order in which it is written."""
    if shape.kind == "map":
        return {name: _slim(tree[name], shape.item) for name in arranged(tree, shape)}
    kept = {name: _slim(tree[name], inner) for name, inner in shape.fields.items() if name in tree}
    return {
        name: value
        for name, value in kept.items()
        if shape.fields[name].required or not _is_default(value, shape.fields[name])
    }


def _slim(value: Any, shape: Shape | None) -> Any:
    return slim(value, shape) if value is not None and shape is not None and shape.kind in ("record", "map") else value
