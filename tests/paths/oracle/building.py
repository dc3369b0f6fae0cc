"""How the worked cases put a tiny show together, in few letters.

A show is put together from parts:

- `user("sm", "fly:ma", "cue#2:nn@-60", "!alarm:m-")`: channels as target, talk (n, m, l, d, o) and listen (n, s, a; `-` is
  unwritten) and, behind `@`, the level; `!` before a line. He wears `pack-sm`, with a key on page A for each that he
  talks on, unless `keys` says otherwise ("A1=fly B2=cue"); `worn=False`: he wears nothing.
- `circuit("house", "hsc")`: h hears, s speaks, c carries, a capital for a written false, nothing for unwritten; p public,
  o one at a time.
- `bridge("b1", "fly", "house", "both")` on the next free port of the interface `if`.
- a target that is no user and no line is a group; `critical("fly")` marks it.
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any

Tree = dict[str, Any]

TALKS = {"n": "none", "m": "momentary", "l": "latch", "d": "dual", "o": "open"}
LISTENS = {"n": "none", "s": "switchable", "a": "always"}
MARKS = {"h": "hears", "s": "speaks", "c": "carries", "p": "public", "o": "one-at-a-time"}
KINDS: Tree = {
    "belt": {"keys": 9, "pages": 3},
    "plate": {"keys": 2, "menu": False},
    "rack": {"ports": 20},
    "radio-belt": {"keys": 4, "needs": {"slots": 1}},
}


# Parts of a show


def user(
    name: str,
    *lists: str,
    keys: str | None = None,
    worn: bool = True,
    department: str = "",
    port: bool = False,
    **device: Any,
) -> Tree:
    body: Tree = {"channels": {}, "lines": {}}
    talked: list[str] = []
    for number, spec in enumerate(lists, 1):
        entry, _, how = spec.removeprefix("!").partition(":")
        use = _use(how)
        body["lines" if spec.startswith("!") else "channels"][entry] = (
            use if spec.startswith("!") else {"number": number, **use}
        )
        talked += [entry] if "talk" in use else []
    body |= {"department": department} if department else {}
    body |= {"port": True} if port else {}
    found: Tree = {"users": {name: {what: value for what, value in body.items() if value}}}
    if worn and not port:
        held = dict(each.split("=") for each in keys.split()) if keys is not None else None
        all_keys = {f"A{turn}": entry for turn, entry in enumerate(talked, 1)}
        found["devices"] = {f"pack-{name}": _body(user=name, keys=all_keys if held is None else held, **device)}
    return found


def _use(how: str) -> Tree:
    modes, _, level = how.partition("@")
    use: Tree = {"talk": TALKS[modes[0]]} if modes[0] != "n" else {}
    use |= {"listen": LISTENS[modes[1]]} if modes[1] != "-" else {}
    return use | ({"level": int(level)} if level else {})


def _body(kind: str = "belt", **fields: Any) -> Tree:
    return {"kind": kind, **{name: value for name, value in fields.items() if value}}


def device(name: str, kind: str = "belt", keys: str = "", **fields: Any) -> Tree:
    return {"devices": {name: _body(kind, keys=dict(each.split("=") for each in keys.split()), **fields)}}


def circuit(name: str, marks: str = "") -> Tree:
    return {"circuits": {name: {MARKS[mark.lower()]: mark.islower() for mark in marks}}}


def bridge(
    name: str, target: str, circuit: str, direction: str = "both", device: str = "if", port: int = 0, **fields: Any
) -> Tree:
    body = {
        "kind": "two-wire",
        "device": device,
        "port": port,
        "target": target,
        "circuit": circuit,
        "direction": direction,
    }
    return {"bridges": {name: {**body, **fields}}}


def port(name: str, *lists: str) -> Tree:
    return user(name, *lists, port=True)


def line(name: str, *, critical: bool = False) -> Tree:
    return {"lines": {name: {"critical": True} if critical else {}}}


def critical(*names: str) -> Tree:
    return {"groups": {name: {"critical": True} for name in names}}


def carrier(name: str, on: Any = (), **gives: int) -> Tree:
    return {"carriers": {name: {**({"gives": gives} if gives else {}), **({"on": list(on)} if on else {})}}}


def must(name: str, start: str, end: str, **fields: Any) -> Tree:
    return {
        "required": {
            name: {"from": start, "to": end, **{key.replace("_", "-"): value for key, value in fields.items()}}
        }
    }


def never(name: str, start: str, end: str, **fields: Any) -> Tree:
    return {"apart": {name: {"from": start, "to": end, **fields}}}


def floor(level: int) -> Tree:
    return {"limits": {"floor": level}}


def show(*parts: Tree) -> Tree:
    """The single document: parts laid over one another, groups and the interface added, ports numbered."""
    found: Tree = {"format": 2, "title": "The Salt Road", "kinds": deepcopy(KINDS)}
    for part in parts:
        _lay(found, deepcopy(part))
    named = {each.partition("#")[0] for body in found.get("users", {}).values() for each in body.get("channels", {})}
    named |= {body["target"] for body in found.get("bridges", {}).values()}
    for name in sorted(named - {*found.get("users", {}), *found.get("lines", {})}):
        found.setdefault("groups", {}).setdefault(name, {})
    _number_ports(found)
    return found


def _lay(under: Tree, over: Tree) -> None:
    for name, value in over.items():
        if isinstance(value, dict) and isinstance(under.get(name), dict):
            _lay(under[name], value)
        else:
            under[name] = value


def _number_ports(doc: Tree) -> None:
    taken = {body["port"] for body in doc.get("bridges", {}).values()}
    free = (number for number in range(1, 99) if number not in taken)
    for body in doc.get("bridges", {}).values():
        body["port"] = body["port"] or next(free)
        if body["device"] == "if":
            doc.setdefault("devices", {}).setdefault("if", {"kind": "rack"})


def but(doc: Tree, *edits: tuple[str, Any]) -> Tree:
    """The show after edits: a pointer and a value, or GONE."""
    found = deepcopy(doc)
    for pointer, value in edits:
        *way, last = pointer.split("/")
        body = found
        for step in way:
            body = body[step]
        if value is GONE:
            del body[last]
        else:
            body[last] = value
    return found


GONE = object()


@dataclass(frozen=True)
class Case:
    """A show (and what it becomes, where an effect is asked), what is asked of it and what the answer is, and why."""

    name: str
    why: str
    doc: Tree
    asks: Mapping[str, Any]
    after: Tree = field(default_factory=dict)
    out: tuple[str, ...] = ()


def words(text: str) -> set[str]:
    return {each.strip() for each in text.split(",") if each.strip()}


def case(name: str, why: str, *parts: Tree, out: tuple[str, ...] = (), **asks: Any) -> Case:
    return Case(name, why, show(*parts), asks, out=out)


def becomes(name: str, why: str, doc: Tree, *edits: tuple[str, Any], **effect: Any) -> Case:
    return Case(name, why, doc, {"effect": effect}, after=but(doc, *edits))
