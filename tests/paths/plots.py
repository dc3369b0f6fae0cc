"""Small random plots for the laws of paths: bridges every way, ids that point at nothing, one id twice."""

from __future__ import annotations

from random import Random
from typing import Any

from showvc.document import Show, show_from_tree
from showvc.paths import talk_paths

Tree = dict[str, Any]

PEOPLE = ("sm", "dsm", "fly-1", "fly-2", "lx-op", "radio", "pit")
CONFERENCES = ("fly", "lx", "snd", "stage", "auto", "cams")
CIRCUITS = ("house-a", "house-a", "radio-base", None)


def random_plot(seed: int, bridges: int = 12) -> Tree:
    """The single document of a small show, from a seed. Much in it may be wrong; nothing of it may crash."""
    rng = Random(seed)
    users = rng.sample(PEOPLE, rng.randint(1, len(PEOPLE)))
    groups = rng.sample(CONFERENCES, rng.randint(1, 6))
    if rng.random() < 0.1:
        groups.append(rng.choice(users))
    targets = [*(groups * 3), *users, *(["gone"] if rng.random() < 0.3 else [])]
    return {
        "format": 2,
        "lines": {"alarm": {"label": "ALARM"}},
        "groups": {name: {} for name in groups},
        "users": {name: _user(rng, targets) for name in users},
        "devices": _devices(rng, [*users, "nobody"], targets),
        "bridges": {f"b{turn}": _bridge(rng, targets, turn) for turn in range(rng.randint(0, bridges))},
        "required": {
            f"r{turn}": {"from": rng.choice(targets), "to": rng.choice(targets), "both": rng.random() < 0.5}
            for turn in range(rng.randint(0, 2))
        },
    }


def random_small_show(seed: int, bridges: int = 12) -> Show:
    return show_from_tree(random_plot(seed, bridges))


def _user(rng: Random, targets: list[str]) -> Tree:
    named = rng.sample(targets, rng.randint(0, min(3, len(targets))))
    named += [f"{name}#2" for name in named if rng.random() < 0.15]
    return {"channels": {name: _channel(rng, number) for number, name in enumerate(named, 1)}}


def _channel(rng: Random, number: int) -> Tree:
    talk = rng.choice(("none", "none", "momentary", "latch", "open", "open"))
    return {"number": number, "talk": talk, "listen": rng.choice(("none", "none", "switchable", "always"))}


def _devices(rng: Random, users: list[str], targets: list[str]) -> Tree:
    held = [*targets, *(f"{name}#2" for name in targets), "alarm"]
    return {
        f"pack-{turn}": {
            "kind": "pack-4",
            "user": rng.choice(users),
            "keys": {f"{rng.choice('AB')}{number}": rng.choice(held) for number in range(1, rng.randint(1, 5))},
        }
        for turn in range(rng.randint(0, 4))
    }


def _bridge(rng: Random, targets: list[str], port: int) -> Tree:
    return {
        "kind": "four-wire",
        "device": "if-01",
        "port": port + 1,
        "target": rng.choice(targets),
        "circuit": rng.choice(CIRCUITS),
        "direction": rng.choice(("both", "in", "out")),
    }


def neighbour(tree: Tree, seed: int) -> Tree:
    """The same plot after a few edits: things put in and taken out in every section."""
    rng = Random(seed)
    other = random_plot(seed)
    result: Tree = {**tree}
    for section in ("groups", "users", "devices", "bridges"):
        mine = dict(tree[section])
        for name, body in other[section].items():
            if rng.random() < 0.3:
                mine[name] = body
        for name in list(mine):
            if rng.random() < 0.15:
                del mine[name]
        result[section] = mine
    return result


# --- worked cases ----------------------------------------------------------------------------------------------------

WORDS: dict[str, Tree] = {
    "talk": {"talk": "momentary", "listen": "none"},
    "listen": {"talk": "none", "listen": "always"},
    "both": {"talk": "latch", "listen": "switchable"},
    "open": {"talk": "open", "listen": "none"},
    "open and listen": {"talk": "open", "listen": "always"},
    "neither": {"talk": "none", "listen": "none"},
}


def worked(
    users: dict[str, dict[str, str]],
    groups: str = "",
    bridges: dict[str, tuple[str, str, str]] | None = None,
    keys: dict[str, str] | None = None,
    **head: Any,
) -> Show:
    """A show in short words.

    Channels are numbered as they stand. Bridges are (target, circuit, direction). `keys` gives a user a desk with
    these channels, parted by spaces, from A1 on.
    """
    return show_from_tree(
        {
            "groups": {name: {"label": name.upper()} for name in groups.split()},
            "users": {
                name: {
                    "channels": {at: {"number": n, **WORDS[word]} for n, (at, word) in enumerate(entries.items(), 1)}
                }
                for name, entries in users.items()
            },
            "bridges": {
                name: {
                    "kind": "four-wire",
                    "device": "if-01",
                    "port": port,
                    "target": to,
                    "circuit": tie.lower().replace(" ", "-") or None,
                    "direction": way,
                }
                for port, (name, (to, tie, way)) in enumerate((bridges or {}).items(), 1)
            },
            "devices": {
                f"desk-{user}": {
                    "kind": "desk-8",
                    "user": user,
                    "keys": {f"A{place}": channel for place, channel in enumerate(held.split(), 1)},
                }
                for user, held in (keys or {}).items()
            },
            **head,
        }
    )


def paths_in(show: Show) -> set[str]:
    """All paths as `talker > listener`."""
    return {f"{talker} > {listener}" for talker, listener in talk_paths(show).pairs()}
