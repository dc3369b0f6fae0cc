"""Small, dense random shows for the laws of who hears whom, from a seed or from Hypothesis.

`random_document` makes a document that the format takes; `random_pair` one and what a few edits make of it;
`random_broken_document` leaves a few references to nothing. The strategies `documents`, `document_pairs` and
`broken_documents` draw the same, so that a failing example shrinks.
"""

from __future__ import annotations

from copy import deepcopy
from random import Random
from typing import Any

from hypothesis import strategies as st

Tree = dict[str, Any]

PEOPLE = ("sm", "dsm", "fly-1", "fly-2", "lx-op", "pyro")
PORTS = ("port-a", "port-b")
GROUPS = ("cue", "fly", "rig")
CIRCUITS = ("house", "radio", "truck", "hall")
LINES = ("alarm", "paging")
CARRIERS = ("ups", "switch-1", "switch-2", "antenna")
DEPARTMENTS = ("stage", "rail")
KINDS: Tree = {
    "belt": {"keys": 3, "pages": 2, "needs": {"slots": 1}},
    "plate": {"keys": 2, "menu": False, "needs": {"watts": 4}},
    "box": {"ports": 6, "needs": {"watts": 5}},
}
LEVELS = (0, 0, 0, 0, 0, -20, -30, -40, -60, 6)
SECTIONS = ("groups", "users", "devices", "bridges", "circuits", "carriers")


def random_document(seed: int | Random) -> Tree:
    """The single document of a small show. Everything that it points at is there."""
    return tidy(_loose(_random(seed)))


def random_pair(seed: int | Random, share: float = 0.12) -> tuple[Tree, Tree]:
    """A document, and the same after a few edits: some things removed, some as another show has them."""
    rng = _random(seed)
    before, other = _loose(rng), _loose(rng)
    after = deepcopy(before)
    for section in (*SECTIONS, "lines", "required", "apart"):
        for name in sorted({*before.get(section, {}), *other.get(section, {})}):
            if rng.random() < share:
                _take(after, other, section, name)
    if rng.random() < share:
        after["limits"] = other["limits"]
    return tidy(before), tidy(after)


def random_broken_document(seed: int | Random) -> Tree:
    """A document of which up to three things were removed, and what points at them was left."""
    rng = _random(seed)
    found = random_document(rng)
    there = [(section, name) for section in (*SECTIONS, "kinds", "lines") for name in found.get(section, {})]
    for section, name in rng.sample(there, min(len(there), rng.randint(1, 3))):
        del found[section][name]
    if found.get("carriers") and rng.random() < 0.2:
        name = rng.choice(sorted(found["carriers"]))
        found["carriers"][name]["on"] = [name]
    return _without_empty(found)


def _random(seed: int | Random) -> Random:
    return Random(seed) if isinstance(seed, int) else seed


_RANDOMS = st.randoms(use_true_random=False, note_method_calls=False)
documents = st.builds(random_document, _RANDOMS)
document_pairs = st.builds(random_pair, _RANDOMS)
broken_documents = st.builds(random_broken_document, _RANDOMS)


# What a show is made of; what it points at may not be there until it is tidied


def _loose(rng: Random) -> Tree:
    people = list(PEOPLE[: rng.randint(2, 6)])
    ports = list(PORTS[: rng.choice((0, 0, 1, 1, 2))])
    groups = list(GROUPS[: rng.choice((1, 2, 2, 3))])
    lines = list(LINES[: rng.choice((0, 1, 1, 2))])
    circuits = list(CIRCUITS[: rng.choice((0, 1, 1, 2, 2, 3, 4))])
    carriers = list(CARRIERS[: rng.choice((0, 0, 2, 3, 4))])
    boxes = {f"box-{turn}": _box(rng, carriers) for turn in range(1, rng.randint(1, 2) + 1)}
    targets = [*groups, *groups, *people, *ports, *lines]
    users = {name: _user(rng, name, targets, lines) for name in people}
    users |= {name: _port(rng, name, targets, lines) for name in ports}
    found: Tree = {
        "format": 2,
        "title": "The Salt Road",
        "limits": {"floor": -30} if rng.random() < 0.4 else {},
        "kinds": deepcopy(KINDS),
        "lines": {name: {"critical": True} if rng.random() < 0.5 else {} for name in lines},
        "groups": {name: {"critical": True} if rng.random() < 0.4 else {} for name in groups},
        "users": users,
        "devices": _headsets(rng, users, people, lines, carriers) | boxes,
        "circuits": {name: _circuit(rng) for name in circuits},
        "bridges": _bridges(rng, [*groups * 3, *ports * 3, *people[:2], *lines], circuits, [*boxes]),
        "carriers": {name: _carrier(rng, turn) for turn, name in enumerate(carriers)},
    }
    found["required"] = {f"must-{turn}": _required(rng, found) for turn in range(rng.randint(0, 4))}
    found["apart"] = {f"never-{turn}": _apart(rng, found) for turn in range(rng.randint(0, 3))}
    return found


def _user(rng: Random, name: str, targets: list[str], lines: list[str]) -> Tree:
    found: Tree = {
        "channels": _channels(rng, name, targets, ("none", "momentary", "momentary", "latch", "dual", "open"))
    }
    found["lines"] = {line: _use(rng, ("none", "momentary", "latch", "open")) for line in lines if rng.random() < 0.5}
    if rng.random() < 0.6:
        found["department"] = rng.choice(DEPARTMENTS)
    return found


def _port(rng: Random, name: str, targets: list[str], lines: list[str]) -> Tree:
    found: Tree = {
        "port": True,
        "channels": _channels(rng, name, targets, ("open", "open", "open", "none", "momentary")),
    }
    found["lines"] = {line: _use(rng, ("none", "open", "momentary")) for line in lines if rng.random() < 0.5}
    return found


def _channels(rng: Random, name: str, targets: list[str], talks: tuple[str, ...]) -> Tree:
    chosen = dict.fromkeys(each for each in rng.choices(targets, k=rng.randint(1, 5)) if each != name)
    found: Tree = {}
    for target in chosen:
        found[target] = {"number": len(found) + 1, **_use(rng, talks)}
        if rng.random() < 0.2:
            found[f"{target}#2"] = {"number": len(found) + 1, **_use(rng, talks)}
    return found


def _use(rng: Random, talks: tuple[str, ...]) -> Tree:
    """A channel's or a line's modes; what is the default is not written."""
    talk, listen, level = (
        rng.choice(talks),
        rng.choice(("", "none", "always", "always", "always", "switchable")),
        rng.choice(LEVELS),
    )
    found: Tree = {"talk": talk} if talk != "none" else {}
    found |= {"listen": listen} if listen else {}
    return found | ({"level": level} if level else {})


def _headsets(rng: Random, users: Tree, people: list[str], lines: list[str], carriers: list[str]) -> Tree:
    found: Tree = {}
    for name in people:
        entries = [*users[name]["channels"], *lines]
        for turn in range(rng.choice((0, *[1] * 12, 2, 2, 2))):
            found[f"pack-{name}-{turn + 1}"] = _headset(rng, name, entries, carriers)
    if rng.random() < 0.2:
        found["spare"] = {"kind": "belt"}
    return found


def _headset(rng: Random, name: str, entries: list[str], carriers: list[str]) -> Tree:
    kind = rng.choice(("belt", "belt", "belt", "plate", "pack-4", "desk-8"))
    places = {"belt": ("A1", "A2", "A3", "B1", "B2", "A4"), "plate": ("A1", "A2", "A3")}.get(
        kind, ("A1", "A2", "A3", "A4")
    )
    held = [each for each in entries if rng.random() < 0.8]
    keys = dict(zip(rng.sample(places, min(len(places), len(held))), held, strict=False))
    return {"kind": kind, "user": name, "keys": keys, **_on(rng, carriers), **_gone(rng, 0.07)}


def _box(rng: Random, carriers: list[str]) -> Tree:
    return {"kind": rng.choice(("box", "box", "box", "ports-2", "ports-4")), **_on(rng, carriers), **_gone(rng, 0.04)}


def _on(rng: Random, carriers: list[str]) -> Tree:
    if not carriers or rng.random() < 0.4:
        return {}
    found: list[Any] = [rng.choice(carriers)]
    if len(carriers) > 1 and rng.random() < 0.5:
        found = [sorted(rng.sample(carriers, 2)), *(found if rng.random() < 0.3 else [])]
    return {"on": found}


def _gone(rng: Random, share: float) -> Tree:
    if rng.random() >= share:
        return {}
    return rng.choice(({"away": "at repair"}, {"lent": {"to": "house crew", "until": "2026-12-04"}}))


def _carrier(rng: Random, turn: int) -> Tree:
    """A carrier hangs on earlier ones alone, so that none hangs on itself."""
    found: Tree = {"gives": {"slots": rng.choice((1, 2, 5, 9))}} if rng.random() < 0.5 else {}
    if rng.random() < 0.3:
        found.setdefault("gives", {})["watts"] = rng.choice((5, 10, 40))
    return found | (_on(rng, list(CARRIERS[:turn])) if rng.random() < 0.5 else {})


def _circuit(rng: Random) -> Tree:
    found: Tree = {field: rng.random() < 0.85 for field in ("hears", "speaks", "carries") if rng.random() < 0.75}
    for field, share in (("one-at-a-time", 0.25), ("public", 0.3)):
        if rng.random() < share:
            found[field] = rng.random() < 0.85
    return found


def _bridges(rng: Random, targets: list[str], circuits: list[str], boxes: list[str]) -> Tree:
    found: Tree = {}
    for turn in range(rng.choice((0, 1, 2, 3, 4, 5, 6, 6)) if circuits else 0):
        found[f"bridge-{turn}"] = {
            "kind": rng.choice(("two-wire", "four-wire", "audio-network", "radio")),
            "device": rng.choice(boxes),
            "port": turn % 6 + 1 if rng.random() < 0.9 else rng.randint(1, 3),
            "target": rng.choice(targets),
            "circuit": rng.choice(circuits),
            **rng.choice(({}, {}, {"direction": "in"}, {"direction": "out"})),
            **({"away": "at repair"} if rng.random() < 0.07 else {}),
        }
        if turn and rng.random() < 0.2:
            _make_standby(rng, found, turn)
    return found


def _make_standby(rng: Random, bridges: Tree, turn: int) -> None:
    """It replaces an earlier one, often on the same target and circuit, and may share its port."""
    name = f"bridge-{rng.randrange(turn)}"
    mine = bridges[f"bridge-{turn}"]
    mine["standby"] = name
    for fields, share in ((("target", "circuit"), 0.6), (("device", "port"), 0.3)):
        if rng.random() < share:
            mine |= {field: bridges[name][field] for field in fields}


def _required(rng: Random, doc: Tree) -> Tree:
    found: Tree = {**_ends(rng, doc, 0.8), "why": "cues are called here"}
    single = found["to"] in {*doc["users"], *doc["circuits"]}
    if rng.random() < 0.25:
        found["at-least"] = 1 if single and rng.random() < 0.8 else rng.choice((1, 2, 2, 3))
    if rng.random() < 0.4:
        found["ways"] = 2
    return found


def _apart(rng: Random, doc: Tree) -> Tree:
    return {**_ends(rng, doc, 0.3), "why": "talent hears no show call"}


def _ends(rng: Random, doc: Tree, likely: float) -> Tree:
    """`over` a group, a line or nothing; a line is an end only where `over` names it. Likely ends have a path."""
    groups, lines = [*doc["groups"]], [*doc["lines"]]
    people = [name for name, user in doc["users"].items() if not user.get("port")]
    over = rng.choice(["", "", *groups, *groups, *lines])
    start, end = rng.sample([*people, *groups, *doc["circuits"], "department:stage", "department:rail", "everyone"], 2)
    if rng.random() < likely:
        target = over or rng.choice(groups)
        start, end = _likely_ends(rng, doc, target, people)
        wide = [target] * 3 if target in groups or over else ["department:stage", "everyone"]
        start = rng.choice(wide) if rng.random() < 0.1 else start
        end = rng.choice([*wide, "department:stage", "everyone"]) if rng.random() < 0.25 else end
    found: Tree = {"from": start, "to": end}
    found |= {"over": over} if over else {}
    return found | ({"both": True} if rng.random() < 0.15 else {})


def _likely_ends(rng: Random, doc: Tree, target: str, people: list[str]) -> tuple[str, str]:
    talkers, listeners = _on_target(doc, target, "talk", "in"), _on_target(doc, target, "listen", "out")
    start = rng.choice(talkers or people)
    return start, rng.choice(
        [each for each in listeners if each != start] or [each for each in people if each != start]
    )


def _on_target(doc: Tree, target: str, field: str, direction: str) -> list[str]:
    """Who is likely to talk or listen on a target: people who have it, circuits bridged to it or to a port that has it."""
    default = {"talk": "none", "listen": "always"}[field]
    lists = {name: {**user["channels"], **user["lines"]} for name, user in doc["users"].items()}
    has = {
        name for name, entries in lists.items() if target in entries and entries[target].get(field, default) != "none"
    }
    people = sorted(name for name in has if not doc["users"][name].get("port"))
    bridged = (each for each in doc["bridges"].values() if each["target"] in {target, *has} - {*people})
    return people + sorted({each["circuit"] for each in bridged if each.get("direction", direction) == direction})


# To a document that the format takes


def _take(after: Tree, other: Tree, section: str, name: str) -> None:
    if name in other.get(section, {}):
        after.setdefault(section, {})[name] = deepcopy(other[section][name])
    else:
        after.get(section, {}).pop(name, None)


def tidy(doc: Tree) -> Tree:
    """The document without anything that points at nothing, and without empty maps."""
    found = deepcopy(doc)
    groups, users, lines = found["groups"], found["users"], found["lines"]
    for user in users.values():
        user["channels"] = {
            name: each for name, each in user["channels"].items() if name.partition("#")[0] in {*groups, *users, *lines}
        }
        user["channels"] = {
            name: each for name, each in user["channels"].items() if name.partition("#")[0] in user["channels"]
        }
        _number(user["channels"])
        user["lines"] = {name: each for name, each in user["lines"].items() if name in lines}
    for body in [*found["devices"].values(), *found["carriers"].values()]:
        _tidy_on(body, found["carriers"])
    for device in found["devices"].values():
        _tidy_wearer(device, users, lines)
    _tidy_bridges(found, {*groups, *users, *lines})
    for section in ("required", "apart"):
        found[section] = {name: each for name, each in found[section].items() if _stands(each, found)}
    return _without_empty(found)


def _number(channels: Tree) -> None:
    for number, channel in enumerate(channels.values(), 1):
        channel["number"] = number


def _tidy_on(body: Tree, carriers: Tree) -> None:
    kept: list[Any] = []
    for each in body.pop("on", ()):
        there = [one for one in ([each] if isinstance(each, str) else each) if one in carriers]
        if there:
            kept.append(there if len(there) > 1 else there[0])
    if kept:
        body["on"] = [each for turn, each in enumerate(kept) if each not in kept[:turn]]


def _tidy_wearer(device: Tree, users: Tree, lines: Tree) -> None:
    if device.get("user") not in users or users[device["user"]].get("port"):
        device.pop("user", None)
    held = {*lines, *(users[device["user"]]["channels"] if "user" in device else ())}
    device["keys"] = {key: each for key, each in device.get("keys", {}).items() if each in held and "user" in device}


def _tidy_bridges(doc: Tree, targets: set[str]) -> None:
    bridges = doc["bridges"]
    doc["bridges"] = {
        name: body
        for name, body in bridges.items()
        if body["target"] in targets and body["circuit"] in doc["circuits"] and body["device"] in doc["devices"]
    }
    for body in doc["bridges"].values():
        if body.get("standby", "") not in doc["bridges"]:
            body.pop("standby", None)


def _stands(body: Tree, doc: Tree) -> bool:
    lines = {*doc["lines"]}
    known = {
        *doc["groups"],
        *doc["circuits"],
        "everyone",
        *(name for name, user in doc["users"].items() if not user.get("port")),
    }
    over = body.get("over")
    if over is not None and over not in {*doc["groups"], *lines}:
        return False
    ends = {body["from"], body["to"]}
    return all(end.startswith("department:") or end in known or (end in lines and over == end) for end in ends)


def _without_empty(doc: Tree) -> Tree:
    """A document as it is written: what is empty is left out, but a thing without fields is a thing."""
    kept = {name: value for name, value in doc.items() if value != {}}
    for section in ("users", "devices", "carriers"):
        for body in kept.get(section, {}).values():
            for field in [field for field in ("channels", "lines", "keys") if body.get(field) == {}]:
                del body[field]
    return kept
