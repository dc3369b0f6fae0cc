"""Hypothesis strategies for whole small shows, with text that YAML readers love to misread."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from showvc.document import LINES, Show, show_from_tree
from showvc.document.names import BIDI, RESERVED
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
).filter(lambda name: name not in RESERVED and name not in LINES)

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
levels = st.one_of(st.integers(-60, 12), st.floats(-60, 12).map(lambda level: round(level, 3)))
talks = st.sampled_from(("none", "momentary", "latch", "dual", "open"))
listens = st.sampled_from(("none", "switchable", "always"))
priorities = st.sampled_from(("normal", "high"))
hardware = st.integers(0, 2**48 - 1).map(
    lambda number: "-".join(f"{number:012X}"[place : place + 2] for place in range(0, 12, 2))
)


def _some(fields: dict[str, st.SearchStrategy[Any]]) -> st.SearchStrategy[Tree]:
    return st.fixed_dictionaries({}, optional=fields)


_channel_fields = _some(
    {"talk": talks, "listen": listens, "level": levels, "priority": priorities, "label": texts, "extra": extras}
)
_line_uses = st.dictionaries(st.sampled_from(LINES), _some({"talk": talks, "listen": listens, "level": levels}))
_group = _some(
    {"name": texts, "label": texts, "critical": st.booleans(), "tags": st.lists(texts, max_size=4), "extra": extras}
)


@st.composite
def _users(draw: st.DrawFn, names: list[str], targets: list[str]) -> Tree:
    users: Tree = {}
    for name in names:
        user = draw(_some({"name": texts, "label": texts, "department": texts, "lines": _line_uses, "extra": extras}))
        pointed = draw(st.lists(st.sampled_from(targets), max_size=5))
        seen: Tree = {}
        for target in pointed:
            turn = sum(1 for held in seen if held.partition("#")[0] == target) + 1
            seen[target if turn == 1 else f"{target}#{turn}"] = None
        numbers = draw(st.lists(st.integers(1, 32), min_size=len(seen), max_size=len(seen), unique=True))
        user["channels"] = {
            target: {"number": number, **draw(_channel_fields)} for target, number in zip(seen, numbers, strict=True)
        }
        users[name] = user
    return users


@st.composite
def _devices(draw: st.DrawFn, names: list[str], users: Tree) -> Tree:
    devices: Tree = {}
    for place, name in enumerate(names):
        device = draw(_some({"name": texts, "place": texts, "extra": extras}))
        device["kind"] = draw(st.sampled_from(("pack-2", "desk-8", "interface-4", "panel-15x2")))
        if draw(st.booleans()):
            device["hardware"] = draw(hardware)[:-2] + f"{place:02X}"
        if users and device["kind"] != "interface-4":
            device["user"] = draw(st.sampled_from(sorted(users)))
            held = st.sampled_from([*users[device["user"]]["channels"], *LINES])
            keys = st.sampled_from(("A1", "A2") if device["kind"] == "pack-2" else ("A1", "A2", "A8", "A3"))
            device["keys"] = draw(st.dictionaries(keys, held, max_size=3))
        devices[name] = device
    return devices


@st.composite
def _bridges(draw: st.DrawFn, names: list[str], devices: Tree, targets: list[str]) -> Tree:
    ports = [(name, port) for name, body in devices.items() if body["kind"] == "interface-4" for port in (1, 2, 3, 4)]
    bridges: Tree = {}
    for name, (device, port) in zip(names, draw(st.permutations(ports)), strict=False):
        bridge = draw(_some({"circuit": texts, "direction": st.sampled_from(("both", "in", "out")), "extra": extras}))
        kind = draw(st.sampled_from(("two-wire", "four-wire", "audio-network", "radio")))
        bridges[name] = {
            "kind": kind,
            "device": device,
            "port": port,
            "target": draw(st.sampled_from(targets)),
            **bridge,
        }
    return bridges


@st.composite
def _heads(draw: st.DrawFn, users: Tree, targets: list[str]) -> Tree:
    head = draw(_some({"title": texts, "notes": notes.filter(_fit), "extra": extras}))
    head["lines"] = draw(st.dictionaries(st.sampled_from(LINES), _some({"label": texts})))
    head["limits"] = draw(_some({"targets": st.integers(100, 4000), "devices": st.integers(100, 400)}))
    counts = {"keys": st.integers(0, 99), "pages": st.integers(1, 26), "ports": st.integers(0, 9)}
    head["kinds"] = {**draw(st.dictionaries(ids, _some(counts), max_size=2)), "panel-15x2": {"keys": 15, "pages": 2}}
    quiet = st.fixed_dictionaries({"rule": texts, "at": texts, "why": texts.filter(bool)})
    head["quiet"] = draw(st.dictionaries(ids, quiet, max_size=2))
    if users:
        path = _some({"both": st.booleans(), "why": texts})
        ends = st.tuples(st.sampled_from(sorted(users)), st.sampled_from(targets), path)
        found = draw(st.dictionaries(ids, ends, max_size=2))
        head["required"] = {name: {"from": one, "to": to, **more} for name, (one, to, more) in found.items()}
    return head


@st.composite
def trees(draw: st.DrawFn) -> Tree:
    """A small show as plain values: no dangling reference, no double booking."""
    targets = draw(st.lists(ids, max_size=6, unique=True))
    split = draw(st.integers(0, len(targets)))
    groups = {name: draw(_group) for name in targets[:split]}
    users = draw(_users(targets[split:], targets)) if targets else {}
    devices = draw(_devices(draw(st.lists(ids, max_size=4, unique=True)), users))
    bridges = draw(_bridges(draw(st.lists(ids, max_size=3, unique=True)), devices, targets)) if targets else {}
    head = draw(_heads(users, targets))
    return {"format": 1, **head, "groups": groups, "users": users, "devices": devices, "bridges": bridges}


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
