"""The Salt Road: one invented touring production, as it was first plotted."""

from __future__ import annotations

import re
from collections.abc import Iterator

from showvc.demo.plot import (
    ACCEPTED,
    APART,
    BRIDGES,
    CARRIERS,
    CIRCUITS,
    CRITICAL,
    GROUPS,
    INTERFACES,
    KINDS,
    LIMITS,
    LINES,
    NOTES,
    ON_KIND,
    ON_USER,
    PLACES,
    POSITIONS,
    REQUIRED,
    SPARES,
    STANDARDS,
    TITLE,
    Tree,
)
from showvc.document import BUILT_IN_KINDS, Show, show_from_tree, target_of


def production() -> Show:
    """The Salt Road as it was first plotted."""
    return show_from_tree(
        {
            "format": 2,
            "title": TITLE,
            "limits": LIMITS,
            "lines": LINES,
            "kinds": KINDS,
            "required": REQUIRED,
            "apart": APART,
            "accepted": ACCEPTED,
            "standards": STANDARDS,
            "notes": NOTES,
            "groups": {name: _group(name, *parts) for name, parts in GROUPS.items()},
            "users": {name: body for name, body, _ in _positions()},
            "devices": _devices(),
            "bridges": {name: dict(zip(_BRIDGE, parts, strict=False)) for name, parts in BRIDGES.items()},
            "circuits": {name: _circuit(*parts) for name, parts in CIRCUITS.items()},
            "carriers": CARRIERS,
        }
    )


_BRIDGE = ("kind", "device", "port", "target", "circuit", "direction", "standby")


def _group(name: str, words: str, label: str, tags: str) -> Tree:
    return {"name": words, "label": label, "critical": name in CRITICAL, "tags": tags.split()}


def _circuit(words: str, people: str, facts: Tree) -> Tree:
    return {"name": words, "people": people, "hears": True, "speaks": False, "carries": False} | facts


def _positions() -> Iterator[tuple[str, Tree, str]]:
    """Each position's id, its body, and the kind of device that it wears; `port` for an entry that is no person."""
    for part in re.split(r"\n(?=\S)", POSITIONS.strip()):
        head, _, listed = part.partition("\n")
        name, words, label, department, kind = re.split(r": | \| ", head)
        entries = [entry.split() for entry in listed.split(",")]
        channels = [entry for entry in entries if entry[0] not in LINES]
        body: Tree = {"name": words, "label": label, "department": department, "port": kind == "port"}
        body["channels"] = dict(_channel(number, entry) for number, entry in enumerate(channels, start=1))
        if kind not in ("pack-2", "port"):
            talks = {entry[0]: {"talk": entry[1]} for entry in entries if entry[0] in LINES}
            body["lines"] = {"alarm": {"talk": "momentary"}, "paging": {}} | talks
        yield name, body, kind


def _channel(number: int, words: list[str]) -> tuple[str, Tree]:
    target, talk, *rest = words
    channel: Tree = {"number": number, "talk": talk}
    for word in rest:
        channel |= {"listen": word} if word.isalpha() else {"level": int(word)}
    if target in CRITICAL and talk != "none":
        channel["priority"] = "high"
    return target, channel


def _devices() -> Tree:
    worn = {f"unit-{name}": _worn(name, kind, body) for name, body, kind in _positions() if kind != "port"}
    racks = {name: dict(zip(("name", "kind", "place", "on"), parts, strict=True)) for name, parts in INTERFACES.items()}
    every = {**worn, **racks, **SPARES}
    return {name: {**body, "hardware": hardware(place)} for place, (name, body) in enumerate(every.items())}


def _worn(user: str, kind: str, body: Tree) -> Tree:
    device = {"name": f"{body['name']} unit", "kind": kind, "user": user, "place": PLACES[body["department"]]}
    return {**device, "on": ON_USER.get(user) or ON_KIND.get(kind, []), "keys": _keys(kind, body)}


def _keys(kind: str, body: Tree) -> dict[str, str]:
    """What stands under the keys: critical groups first, then by number; the last of page A is the alarm."""
    made: Tree = KINDS.get(kind) or {"keys": BUILT_IN_KINDS[kind].keys}
    keys = [f"{page}{number}" for page in "ABC"[: made.get("pages", 1)] for number in range(1, made["keys"] + 1)]
    channels, lines = body["channels"], body.get("lines", {})
    talked = [name for name, channel in channels.items() if channel["talk"] != "none"]
    ordered = sorted(talked, key=lambda name: target_of(name) not in CRITICAL) or list(channels)
    ordered += [name for name, use in lines.items() if use and name != "alarm"]
    held = {keys.pop(made["keys"] - 1): "alarm"} if lines else {}
    return dict(zip(keys, ordered, strict=False)) | held


def hardware(place: int) -> str:
    """An address of the range for documentation, 00-00-5E-00-53-00 to -FF (RFC 7042 section 2.1.1, from memory)."""
    return f"00-00-5E-00-53-{place:02X}"
