"""Every critical listen, talk, key, device, bridge and circuit of the example show, taken away one at a time.

Whether a required path is lost by it, the reference says that was written apart and walks its graphs with networkx; no
such loss may be without a block, and a critical group or line of which nothing is left neither.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import pytest

import showvc
from showvc.document import show_from_tree
from showvc.document.pointers import parse
from showvc.rules import check
from tests.paths.oracle import ends

Tree = dict[str, Any]
Edit = tuple[str, ...]
EXAMPLE = Path(__file__).parents[2] / "fixtures" / "salt-road.show.yaml"


@cache
def example() -> Tree:
    return showvc.read(EXAMPLE).tree()


@cache
def critical() -> frozenset[str]:
    doc = example()
    return frozenset(
        name for section in ("groups", "lines") for name, body in doc[section].items() if body.get("critical")
    )


def entries(field: str, nothing: str, usual: str) -> Iterator[tuple[Edit, Any]]:
    """Each talk or listen on something critical."""
    for user, body in example()["users"].items():
        for section in ("channels", "lines"):
            for name, entry in body.get(section, {}).items():
                if name.partition("#")[0] in critical() and entry.get(field, usual) != nothing:
                    yield ("users", user, section, name, field), nothing


def keys() -> Iterator[tuple[Edit, Any]]:
    for device, body in example()["devices"].items():
        for key, channel in body.get("keys", {}).items():
            if channel.partition("#")[0] in critical():
                yield ("devices", device, "keys", key), None


def devices() -> Iterator[tuple[Edit, Any]]:
    """Each device of a user who has something critical on his list, and each with a bridge."""
    doc = example()
    bridged = {body["device"] for body in doc["bridges"].values()}
    for device, body in doc["devices"].items():
        user = doc["users"].get(body.get("user"), {})
        listed = {name.partition("#")[0] for name in (*user.get("channels", {}), *user.get("lines", {}))}
        if device in bridged or listed & critical():
            yield ("devices", device, "away"), "at repair"


def bridges() -> Iterator[tuple[Edit, Any]]:
    yield from ((("bridges", name), None) for name in example()["bridges"])


def circuits() -> Iterator[tuple[Edit, Any]]:
    """Who stands behind a circuit neither hears nor speaks."""
    for name in example().get("circuits", {}):
        yield from ((("circuits", name, field), False) for field in ("hears", "speaks"))


EDITS = {
    "listen": lambda: entries("listen", "none", "switchable"),
    "talk": lambda: entries("talk", "none", "none"),
    "key": keys,
    "device": devices,
    "bridge": bridges,
    "circuit": circuits,
}
LEAST = {"listen": 20, "talk": 20, "key": 20, "device": 20, "bridge": 1, "circuit": 1}
"""So many there are at least: a count of nothing proves nothing."""


LOSSES = {"listen": 1, "talk": 1, "key": 0, "device": 1, "bridge": 0, "circuit": 0}
"""So many required paths are lost by them at least."""


@cache
def usual() -> ends.Standing:
    return ends.standing(example())


def without(edit: Edit, value: Any) -> Tree:
    doc = deepcopy(example())
    place = doc
    for step in edit[:-1]:
        place = place.setdefault(step, {})
    if value is None:
        del place[edit[-1]]
    else:
        place[edit[-1]] = value
    return doc


def lost(doc: Tree, at: ends.Standing) -> set[str]:
    """The required paths that are lost for certain, as the reference has it."""
    return {name for name, body in doc["required"].items() if ends.state(at, body).state == "lost"}


def nothing_left(doc: Tree, at: ends.Standing) -> set[str]:
    """The critical groups and lines over which nobody is heard."""
    held = {name for what, name in ends.held({**doc, "required": {}}, at) if what == "target"}
    return set(critical()) - held


@pytest.mark.parametrize("sort", EDITS)
def test_no_loss_of_a_required_path_and_of_a_critical_group_is_without_a_block(sort: str) -> None:
    done = list(EDITS[sort]())
    untold: list[tuple[Edit, str]] = []
    counted = 0
    for edit, value in done:
        doc = without(edit, value)
        blocks = [each for each in check(show_from_tree(doc)) if each.severity == "block"]
        told = {parse(each.path)[1] for each in blocks if each.code.startswith("required")}
        silent = {parse(each.path)[1] for each in blocks if each.code.startswith("critical-no")}
        at = ends.standing(doc)
        losses = lost(doc, at) - lost(example(), usual())
        counted += len(losses)
        untold += [(edit, name) for name in (losses - told) | (nothing_left(doc, at) - silent)]
    assert untold == []
    assert len(done) >= LEAST[sort]
    assert counted >= LOSSES[sort]
