"""Hypothesis strategies for whole small shows, with text that YAML readers love to misread."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any

from hypothesis import strategies as st

from showvc.document import (
    FORMAT,
    SECTIONS,
    Channel,
    Head,
    Limits,
    Line,
    Shape,
    Show,
    shape_of,
    show_from_tree,
    values,
)
from showvc.document.names import BIDI, RESERVED
from showvc.document.shapes import unannotated
from tests.generator import Edit, parallel_edits, random_edits, random_show

Tree = dict[str, Any]

NASTY = (
    "NO", "no", "on", "off", "y", "Y", "n", "yes", "true", "False", "null", "~", "", "012", "0x1F", "0o17", "1e3", "1_000",
    "12:30", "190:20:30", "2026-11-25", "1.", ".5", "-.inf", ".NaN", "+1", "-", "- a", "? a", ": a", "a: b", "a:", "a #b",
    "#b", "# b", "'", '"', "''", "it's", 'say "go"', "\\", "\\n", "{a: 1}", "[a]", "a, b", "*a", "&a", "!a", "!!str a", "|",
    ">", "%a", "@a", "`a`", " lead", "trail ", "  ", "=", "<<", "---", "...", "é", "e\u0301", "ß", "日本", "Ω1", "¹²", "١٢",
    "\U0001f3ad", "\u00a0", "a\u00adb", "0b1", "1e-7", "0.1", "1E5", "null ", "Null", "NaN", "a\u200bb",
)  # fmt: skip
"""Texts of one line that a careless reader or writer turns into something else."""

_REFUSED = frozenset("\ufeff\u2028\u2029") | BIDI


def _fit(text: str) -> bool:
    return not _REFUSED & {*text}


_CONTROLS = [chr(code) for code in (*range(0x20), *range(0x7F, 0xA0))]
_CHARS = st.characters(codec="utf-8", exclude_characters=[*_CONTROLS, *sorted(_REFUSED)])

texts = st.one_of(st.sampled_from(NASTY), st.text(_CHARS, max_size=12))
"""Any text that a field of one line takes."""

ids = st.one_of(
    st.sampled_from(("on", "y", "no", "n", "off", "yes", "true", "null", "e1", "e-1", "x", "a--b", "z9", "nan", "inf")),
    st.from_regex(r"[a-z][a-z0-9-]{0,9}", fullmatch=True),
).filter(lambda name: name not in RESERVED)

_note_lines = st.one_of(st.sampled_from(("", " ", "\t", "# no comment", "- a", "a: b", "  indented", "tail  ")), texts)
notes = st.tuples(st.lists(_note_lines, max_size=5), st.sampled_from(("", "\n", "\n\n"))).map(
    lambda parts: "\n".join(parts[0]) + parts[1]
)
"""Several lines of text."""

json_texts = st.one_of(texts, st.text(st.characters(codec="utf-8"), max_size=8), notes)
json_values = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-(10**20), 10**20),
        st.floats(allow_nan=False, allow_infinity=False),
        json_texts,
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(json_texts, inner, max_size=3)),
    max_leaves=6,
)
"""Any JSON value, with every control character that JSON allows."""

extras = st.dictionaries(json_texts, json_values, max_size=3)
hardware = st.integers(0, 2**48 - 1).map(
    lambda number: "-".join(f"{number:012X}"[place : place + 2] for place in range(0, 12, 2))
)
keys = st.from_regex(r"[A-C]([1-9]|1[0-6])", fullmatch=True)
channel_ids = st.builds("{}{}".format, ids, st.sampled_from(("", "", "#2", "#99")))
paths = st.sampled_from(
    ("users/spot-*", "/groups/fly/label", "channels/lx/listen", "lines/on/talk", "label", "extra/a~1b", "y")
)
_SPELT: dict[Any, st.SearchStrategy[Any]] = {
    values.Hardware: hardware,
    values.Day: st.dates(date(2000, 1, 1)).map(str),
    values.Id: ids,
    values.KeyId: keys,
    values.ChannelId: channel_ids,
    values.End: ids,
    values.Path: paths,
    values.FieldPath: paths,
}
"""Texts that are spelt in a way of their own, by the type that says so."""


# --- any value of a field, from the catalogue ---


def any_value(shape: Shape) -> st.SearchStrategy[Any]:
    """Any plain value that a field of this shape takes, whatever it refers to."""
    return _value(shape, {})


Pools = Mapping[str, Sequence[str]]
"""By what can be referred to: the ids that are there. What is not named may refer to anything."""


_DRAWN: dict[int, st.SearchStrategy[Any]] = {}
"""What refers to nothing is drawn the same way every time: by the shape's identity, which is kept."""


def _value(shape: Shape, pools: Pools) -> st.SearchStrategy[Any]:
    if not shape.refers:
        if id(shape) not in _DRAWN:
            _DRAWN[id(shape)] = _made(shape, pools)
        return _DRAWN[id(shape)]
    return _made(shape, pools)


def _made(shape: Shape, pools: Pools) -> st.SearchStrategy[Any]:
    if shape.kind == "record":
        return any_body(shape, pools)
    if shape.kind == "map":
        assert shape.item is not None and shape.names is not None
        names, item = _value(shape.names, pools), _value(shape.item, pools)
        return st.dictionaries(names, item, max_size=3 if _can(names) and _can(item) else 0)
    if shape.kind == "set":
        return _set(shape, pools)
    if shape.kind == "number":
        return _number(shape)
    if shape.kind == "flag":
        return st.booleans()
    if shape.kind in ("notes", "free"):
        return notes.filter(_fit) if shape.kind == "notes" else extras
    return _text(shape, pools)


def _text(shape: Shape, pools: Pools) -> st.SearchStrategy[str]:
    if shape.choices:
        return st.sampled_from(shape.choices)
    if shape.to is not None and shape.to in pools:
        return st.sampled_from(pools[shape.to]) if pools[shape.to] else st.nothing()
    spelt = _spelt(shape.hint)
    return spelt.filter(bool) if shape.required else spelt


def _spelt(hint: Any) -> st.SearchStrategy[str]:
    """The strategy of the type that a field's type is made of, which may say more of it."""
    _, marks = unannotated(hint)
    found = [known for known in _SPELT if all(mark in marks for mark in known.__metadata__)]
    return _SPELT[max(found, key=lambda known: len(known.__metadata__))] if found else texts


def _number(shape: Shape) -> st.SearchStrategy[Any]:
    if shape.low is None or shape.high is None:
        return st.just(shape.default)
    whole = st.integers(shape.low, shape.high)
    return whole if shape.whole else whole | st.floats(shape.low, shape.high).map(lambda value: round(value, 3))


def _set(shape: Shape, pools: Pools) -> st.SearchStrategy[list[Any]]:
    if shape.to is None:
        return st.lists(texts, max_size=4)
    names = _text(shape, pools) if shape.to in pools else ids
    return st.lists(names | st.lists(names, min_size=1, max_size=3), max_size=3) if _can(names) else st.just([])


def any_body(shape: Shape, pools: Pools = {}, but: Collection[str] = ()) -> st.SearchStrategy[Tree]:  # noqa: B006
    """Plain values of a record, each field that can be left out there or not."""
    fields = {name: _value(inner, pools) for name, inner in shape.fields.items() if name not in but}
    return st.fixed_dictionaries(
        {name: drawn for name, drawn in fields.items() if shape.fields[name].required},
        optional={name: drawn for name, drawn in fields.items() if not shape.fields[name].required and _can(drawn)},
    )


def _can(drawn: st.SearchStrategy[Any]) -> bool:
    return not drawn.is_empty


# --- whole shows: no dangling reference, no double booking ---

_KINDS = {"pack-2": 2, "desk-8": 8, "panel-15x2": 15}
_section = {section: shape_of(model) for section, model in SECTIONS.items()}


@st.composite
def trees(draw: st.DrawFn) -> Tree:
    """A small show as plain values."""
    sizes = {"groups": 4, "users": 4, "devices": 4, "bridges": 3, "circuits": 3, "carriers": 3, "lines": 2}
    named = iter(draw(st.lists(ids, min_size=sum(sizes.values()), max_size=sum(sizes.values()), unique=True)))
    there = {
        section: [name for name in itertools.islice(named, most) if draw(st.booleans())]
        for section, most in sizes.items()
    }
    pools = _pools(there)
    users = {name: draw(_users(pools)) for name in there["users"]}
    devices = {name: draw(_devices(pools, users, place)) for place, name in enumerate(there["devices"])}
    head = draw(_heads(pools, users))
    return {
        "format": FORMAT,
        **head,
        "groups": {name: draw(any_body(_section["groups"], pools)) for name in there["groups"]},
        "users": users,
        "devices": devices,
        "bridges": draw(_bridges(pools, there["bridges"], devices)),
        "circuits": {name: draw(any_body(_section["circuits"], pools)) for name in there["circuits"]},
        "carriers": {name: draw(any_body(_section["carriers"], pools)) for name in there["carriers"]},
    }


def _pools(there: Mapping[str, list[str]]) -> dict[str, list[str]]:
    singles = {section[:-1]: names for section, names in there.items()}
    targets = [*there["groups"], *there["users"], *there["lines"]]
    return {
        **singles,
        "target": targets,
        "over": [*there["groups"], *there["lines"]],
        "end": ["everyone", *targets, *there["circuits"]],
        "kind": [*_KINDS, "ports-4"],
    }


@st.composite
def _users(draw: st.DrawFn, pools: Pools) -> Tree:
    user = draw(any_body(_section["users"], pools, but=("channels",)))
    pointed = draw(st.lists(st.sampled_from(pools["target"]), max_size=5)) if pools["target"] else []
    seen: list[str] = []
    for target in pointed:
        turn = sum(1 for held in seen if held.partition("#")[0] == target) + 1
        seen.append(target if turn == 1 else f"{target}#{turn}")
    numbers = draw(st.permutations(range(1, 33))) if seen else ()
    channel = shape_of(Channel)
    user["channels"] = {
        name: {**draw(any_body(channel, pools)), "number": number} for name, number in zip(seen, numbers, strict=False)
    }
    return user


@st.composite
def _devices(draw: st.DrawFn, pools: Pools, users: Tree, place: int) -> Tree:
    device = draw(any_body(_section["devices"], pools, but=("keys",)))
    if "hardware" in device:
        device["hardware"] = f"{device['hardware'][:-2]}{place:02X}"
    held = [*users.get(device.get("user"), {}).get("channels", ()), *pools["line"]]
    count = min(8, _KINDS.get(device["kind"], 0))
    if held and count:
        names = st.sampled_from([f"A{number}" for number in range(1, count + 1)])
        device["keys"] = draw(st.dictionaries(names, st.sampled_from(held), max_size=3))
    return device


@st.composite
def _bridges(draw: st.DrawFn, pools: Pools, names: list[str], devices: Tree) -> Tree:
    ports = [(name, port) for name, body in devices.items() if body["kind"] == "ports-4" for port in (1, 2, 3, 4)]
    if not pools["target"]:
        return {}
    there = {**pools, "bridge": names[: len(ports)]}
    return {
        name: {**draw(any_body(_section["bridges"], there)), "device": device, "port": port}
        for name, (device, port) in zip(names, draw(st.permutations(ports)), strict=False)
    }


@st.composite
def _heads(draw: st.DrawFn, pools: Pools, users: Tree) -> Tree:
    shape = shape_of(Head)
    departments = [f"department:{body['department']}" for body in users.values() if body.get("department", "").strip()]
    head = draw(any_body(shape, {**pools, "end": [*pools["end"], *departments]}, but=("format", "lines", "limits")))
    line = shape_of(Line)
    head["lines"] = {name: draw(any_body(line, pools)) for name in pools["line"]}
    head["limits"] = {**draw(any_body(shape_of(Limits), but=("targets", "devices", "channels")))}
    kinds = {name: {"keys": keys, "pages": 2} for name, keys in _KINDS.items() if name == "panel-15x2"}
    head["kinds"] = {**head.get("kinds", {}), **kinds}
    return head


def shows() -> st.SearchStrategy[Show]:
    """Small shows with nasty text everywhere."""
    return trees().map(show_from_tree)


def plain_shows() -> st.SearchStrategy[Show]:
    """Small realistic shows of the generator, all valid."""
    return st.builds(
        random_show,
        seed=st.integers(0, 2**32),
        users=st.integers(2, 8),
        groups=st.integers(1, 5),
        devices=st.integers(2, 10),
        bridges=st.integers(0, 4),
        channels=st.integers(0, 6),
    )


seeds = st.integers(0, 2**16)


@st.composite
def edited_shows(draw: st.DrawFn, most: int = 6) -> tuple[Show, list[Edit]]:
    """A realistic show and edits that can be made to it one after the other."""
    show = draw(plain_shows())
    return show, random_edits(show, draw(seeds), draw(st.integers(0, most)))


@st.composite
def parallel_shows(draw: st.DrawFn, most: int = 10) -> tuple[Show, list[Edit], list[Edit]]:
    """A realistic show and the edits of two engineers that can be made in parallel without a conflict."""
    show = draw(plain_shows())
    mine, incoming = parallel_edits(show, draw(seeds), draw(st.integers(0, most)))
    return show, mine, incoming
