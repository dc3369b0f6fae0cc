"""Shows in which everything may be wrong: references to nothing, numbers and ports twice, limits passed, rings.

What can be read can be compared, merged and checked, however broken it is.
"""

from __future__ import annotations

from random import Random
from typing import Any

from hypothesis import strategies as st

from showvc.document import SECTIONS, Show, show_from_tree
from tests.generator import LINES, apply_edits, random_edits
from tests.strategies import plain_shows, seeds, shows

Tree = dict[str, Any]

IDS = ("fly", "lx", "snd", "sm", "asm", "fly-1", "on")
DEVICES = ("desk-01", "pack-01", "if-01")
KINDS = ("desk-8", "pack-2", "ports-2", "panel-x", "no-such-kind")
CIRCUITS = ("house-a", "radio-base", "fly")
CARRIERS = ("switch-1", "ups-1", "ups-2")


def wild_show(seed: int) -> Show:
    """A small show from a few names, so that two of them meet in many places."""
    return show_from_tree(_tree(Random(seed)))


def wild_edit(show: Show, seed: int, chance: float = 0.15) -> Show:
    """The same show with bodies of another wild show put in, and some of its own taken out."""
    rng = Random(seed)
    tree, other = show.tree(), _tree(rng)
    for section in SECTIONS:
        own: Tree = dict(tree.get(section, {}))
        for name in [*own]:
            if rng.random() < chance:
                del own[name]
        for name, body in other[section].items():
            if rng.random() < chance:
                own[name] = _mixed(rng, own.get(name, {}), body)
        tree[section] = own
    for field in ("limits", "kinds", "required", "apart", "accepted", "title", "notes", "lines", "extra"):
        if rng.random() < chance:
            tree[field] = other[field]
    return show_from_tree(tree)


def _mixed(rng: Random, own: Tree, other: Tree) -> Tree:
    """Some fields of the one, some of the other."""
    mixed = {**other, **own} if rng.random() < 0.3 else dict(other)
    for field, value in other.items():
        if isinstance(value, dict) and isinstance(own.get(field), dict):
            mixed[field] = {**own[field], **{name: value[name] for name in value if rng.random() < 0.5}}
        elif rng.random() < 0.5:
            mixed[field] = value
    return mixed


def _tree(rng: Random) -> Tree:
    groups = rng.sample(IDS, rng.randint(0, 4))
    users = rng.sample(IDS, rng.randint(0, 4))
    return {
        "format": 2,
        "title": rng.choice(("The Salt Road", "Salt", "")),
        "limits": rng.choice(({}, {"targets": 3}, {"devices": 2}, {"channels": 2}, {"channels": 4, "targets": 6})),
        "lines": rng.choice(({}, {"alarm": {"label": "HELP"}})),
        "kinds": rng.choice(
            ({}, {"panel-x": {"keys": 1, "pages": 2, "ports": 1}}, {"panel-x": {"keys": 3, "needs": {"watts": 4}}})
        ),
        "required": {name: _path(rng) for name in rng.sample(("one", "two", "three"), rng.randint(0, 2))},
        "apart": {name: _path(rng) for name in rng.sample(("one", "two"), rng.randint(0, 1))},
        "accepted": rng.choice(
            ({}, {"one": {"rule": "user-alone", "at": f"/users/{rng.choice(IDS)}", "why": "spare"}})
        ),
        "notes": "".join(rng.choice(("a\n", "b\n", "")) for _ in range(3)),
        "extra": rng.choice(({}, {"row": 1}, {"row": True}, {"row": [1, {"a": None}]})),
        "groups": {name: _group(rng) for name in groups},
        "users": {name: _user(rng) for name in users},
        "devices": {name: _device(rng) for name in rng.sample(DEVICES, rng.randint(0, 3))},
        "bridges": {f"b{number}": _bridge(rng) for number in range(rng.randint(0, 4))},
        "circuits": {name: _circuit(rng) for name in rng.sample(CIRCUITS, rng.randint(0, 3))},
        "carriers": {name: _carrier(rng) for name in rng.sample(CARRIERS, rng.randint(0, 3))},
    }


def _path(rng: Random) -> Tree:
    ends = (*IDS, *CIRCUITS, "department:stage", "everyone", "alarm")
    path: Tree = {"from": rng.choice(ends), "to": rng.choice(ends), "both": rng.random() < 0.5}
    return path | ({"over": rng.choice((*IDS, "alarm"))} if rng.random() < 0.2 else {})


def _circuit(rng: Random) -> Tree:
    known = {way: rng.random() < 0.7 for way in ("hears", "speaks", "carries") if rng.random() < 0.6}
    return {"name": rng.choice(("House party line A", "Radio base", "")), **known}


def _carrier(rng: Random) -> Tree:
    return {"gives": rng.choice(({}, {"watts": 5})), "on": rng.sample(CARRIERS, rng.randint(0, 1))}


def _group(rng: Random) -> Tree:
    group: Tree = {"name": rng.choice(("Fly Rail", "Lighting", "")), "tags": rng.sample(("rig", "stage", "tour"), 2)}
    if rng.random() < 0.3:
        group["critical"] = True
    if rng.random() < 0.3:
        group["label"] = rng.choice(("FLY", "A LABEL OF MANY WORDS"))
    return group


def _user(rng: Random) -> Tree:
    targets = [rng.choice(IDS) + rng.choice(("", "", "#2")) for _ in range(rng.randint(0, 4))]
    user: Tree = {"department": rng.choice(("stage", "fly")), "channels": {name: _channel(rng) for name in targets}}
    if rng.random() < 0.1:
        user["port"] = True
    if rng.random() < 0.2:
        user["lines"] = {"alarm": {"talk": "momentary"}}
    return user


def _channel(rng: Random) -> Tree:
    return {
        "number": rng.randint(1, 5),
        "talk": rng.choice(("none", "latch", "open")),
        "listen": rng.choice(("none", "always")),
        "priority": rng.choice(("normal", "high")),
    }


def _device(rng: Random) -> Tree:
    keys = {rng.choice(("A1", "A2", "B1", "A9")): rng.choice((*IDS, "lx#2", *LINES)) for _ in range(rng.randint(0, 3))}
    device: Tree = {"kind": rng.choice(KINDS), "keys": keys}
    if rng.random() < 0.7:
        device["user"] = rng.choice(IDS)
    if rng.random() < 0.3:
        device["on"] = rng.choice((["switch-1"], ["switch-1", ["ups-1", "ups-2"]]))
    if rng.random() < 0.1:
        device |= rng.choice(({"away": "at repair"}, {"lent": {"to": "house crew"}}))
    if rng.random() < 0.5:
        device["hardware"] = rng.choice(("02-00-5E-10-00-01", "0200.5e10.0001", "01-00-5E-10-00-02"))
    return device


def _bridge(rng: Random) -> Tree:
    bridge = {
        "kind": rng.choice(("two-wire", "radio")),
        "device": rng.choice(DEVICES),
        "port": rng.randint(1, 3),
        "target": rng.choice(IDS),
        "circuit": rng.choice(CIRCUITS),
        "direction": rng.choice(("both", "in", "out")),
    }
    return bridge | rng.choice(({}, {}, {"standby": "b0"}, {"away": "at repair"}))


wild_seeds = st.integers(0, 2**32)


@st.composite
def wild_shows(draw: st.DrawFn) -> Show:
    """One broken show."""
    return wild_show(draw(wild_seeds))


@st.composite
def wild_sides(draw: st.DrawFn) -> tuple[Show, Show, Show]:
    """A broken show, and what two engineers broke further, without knowing of each other."""
    before = wild_show(draw(wild_seeds))
    chance = draw(st.sampled_from((0.05, 0.15, 0.4)))
    return before, wild_edit(before, draw(wild_seeds), chance), wild_edit(before, draw(wild_seeds), chance)


@st.composite
def two_shows(draw: st.DrawFn) -> tuple[Show, Show]:
    """A show and what edits made of it, or two shows that have nothing to do with each other."""
    kind = draw(st.sampled_from(("edited", "wild", "strangers")))
    if kind == "edited":
        before = draw(st.one_of(plain_shows(), shows()))
        return before, apply_edits(before, random_edits(before, draw(seeds), draw(st.integers(0, 12))))
    if kind == "wild":
        return draw(wild_sides())[:2]
    return draw(shows()), draw(shows())
