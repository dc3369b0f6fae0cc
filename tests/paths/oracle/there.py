"""Who is there: what a plain document says about devices, carriers, bridges and positions on headset.

The oracle of who hears whom, built from the sentences alone: slow, without a line of the product. It works on the single
document as plain maps. Each function is one sentence, which its docstring gives in short.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any

Doc = Mapping[str, Any]
Body = Mapping[str, Any]
Thing = tuple[str, str]
"""A section and an id in it."""

NOTHING: Body = {}
BUILT_IN: dict[str, Body] = {
    "pack-2": {"keys": 2},
    "pack-4": {"keys": 4},
    "desk-8": {"keys": 8},
    "panel-16": {"keys": 16},
    "ports-2": {"ports": 2},
    "ports-4": {"ports": 4},
}
OUTABLE = ("devices", "bridges", "circuits", "carriers")


@dataclass(eq=False)
class Scene:
    """A document as it is read: what unwritten means, whether the absent come back, which standbys are in, what is out.

    Nothing in it changes; the two that are kept are only worked out once.
    """

    doc: Doc
    unwritten: bool = False
    absent: bool = False
    swapped: frozenset[str] = frozenset()
    out: frozenset[Thing] = frozenset()

    @cached_property
    def carriers(self) -> set[str]:
        return standing_carriers(self)

    @cached_property
    def devices(self) -> set[str]:
        return {name for name in section(self.doc, "devices") if _stands(self, name)}


@dataclass(frozen=True)
class Entry:
    """A channel or the use of a line: its id on the list, what it points at, and how it talks and listens."""

    id: str
    target: str
    talk: str
    listen: str
    level: float


def section(doc: Doc, name: str) -> Mapping[str, Any]:
    return doc.get(name) or NOTHING


def named(doc: Doc, *names: str) -> frozenset[Thing]:
    """What `--without` names: an id, or `section/id` where an id is two things."""
    found: set[Thing] = set()
    for name in names:
        place, _, rest = name.partition("/")
        found |= {(place, rest)} if rest else {(each, name) for each in OUTABLE if name in section(doc, each)}
    return frozenset(found)


def what_is(doc: Doc, name: str) -> str | None:
    """A target is a group, a user or a line."""
    for place, word in (("groups", "group"), ("users", "user"), ("lines", "line")):
        if name in section(doc, place):
            return word
    return None


def entries(doc: Doc, user: str) -> list[Entry]:
    """A user's channels (`lx#2` points at lx) and his written lines; `listen` is switchable by default, on a line always."""
    body = section(doc, "users")[user]
    found = [
        Entry(
            name,
            name.partition("#")[0],
            each.get("talk", "none"),
            each.get("listen", "switchable"),
            each.get("level", 0),
        )
        for name, each in (body.get("channels") or {}).items()
    ]
    found += [
        Entry(name, name, each.get("talk", "none"), each.get("listen", "always"), each.get("level", 0))
        for name, each in (body.get("lines") or {}).items()
    ]
    return [each for each in found if what_is(doc, each.target)]


def is_port(doc: Doc, user: str) -> bool:
    return bool(section(doc, "users").get(user, NOTHING).get("port", False))


def people(doc: Doc) -> list[str]:
    return [user for user in section(doc, "users") if not is_port(doc, user)]


def positions(doc: Doc) -> list[str]:
    """Positions are users who are no ports, and circuits."""
    return [*people(doc), *section(doc, "circuits")]


def kind_of(doc: Doc, device: str) -> Body:
    kind = section(doc, "devices")[device].get("kind", "")
    found: Body = section(doc, "kinds").get(kind) or BUILT_IN.get(kind) or NOTHING
    return found


def carried(on: Iterable[Any], up: set[str]) -> bool:
    """`on` names all that is needed; an inner list is alternatives."""
    return all(each in up if isinstance(each, str) else any(one in up for one in each) for each in on)


def standing_carriers(scene: Scene) -> set[str]:
    """What is named as out takes out all that needs it.

    A carrier that is not in the document, or hangs on itself alone, stands only in the possible reading.
    """
    bodies = section(scene.doc, "carriers")
    names = {name for name in {*bodies, *_mentioned(scene.doc)} if ("carriers", name) not in scene.out}
    if scene.absent:
        up = set(names)
        while gone := {name for name in up if not carried(bodies.get(name, NOTHING).get("on", ()), up)}:
            up -= gone
        return up
    up = set()
    while more := {name for name in names & {*bodies} if carried(bodies[name].get("on", ()), up)} - up:
        up |= more
    return up


def _mentioned(doc: Doc) -> Iterator[str]:
    for place in ("devices", "carriers"):
        for body in section(doc, place).values():
            for each in body.get("on", ()):
                yield from [each] if isinstance(each, str) else each


def device_stands(scene: Scene, device: str) -> bool:
    """Neither away, lent nor without a carrier that it needs; possibly, what is away comes back."""
    return device in scene.devices


def _stands(scene: Scene, device: str) -> bool:
    body: Body = section(scene.doc, "devices")[device]
    if ("devices", device) in scene.out:
        return False
    if not scene.absent and ("away" in body or "lent" in body):
        return False
    return carried(body.get("on", ()), scene.carriers)


def headsets(doc: Doc, user: str) -> list[str]:
    """The devices with keys that a user wears."""
    return [
        name
        for name, body in section(doc, "devices").items()
        if body.get("user") == user and kind_of(doc, name).get("keys", 0) > 0
    ]


def on_headset(scene: Scene, user: str) -> bool:
    """A user who wears a device with keys that stands; possibly, whoever is off headset comes back, if with a device that is not out."""
    if user not in people(scene.doc):
        return False
    worn = headsets(scene.doc, user)
    return any(device_stands(scene, each) for each in worn) or (scene.absent and not worn)


def off_headset(doc: Doc, out: frozenset[Thing] = frozenset()) -> set[str]:
    return {user for user in people(doc) if not on_headset(Scene(doc, out=out), user)}


def has_key(kind: Body, key: str) -> bool:
    """A key that the kind has: its page letter and its number."""
    page, number = ord(key[0]) - ord("A"), int(key[1:])
    return bool(page < kind.get("pages", 1) and 1 <= number <= kind.get("keys", 0))


def root_of(doc: Doc, bridge: str) -> str:
    """The bridge that a chain of standbys replaces in the end."""
    bridges, seen = section(doc, "bridges"), {bridge}
    while (replaced := bridges.get(bridge, NOTHING).get("standby")) and replaced not in seen:
        bridge = replaced
        seen.add(bridge)
    return bridge


def swaps(doc: Doc) -> list[frozenset[str]]:
    """A standby is judged in the place of what it replaces, never beside it: for each replaced bridge one of them is in."""
    ranks: dict[str, list[str]] = {}
    for name, body in section(doc, "bridges").items():
        if body.get("standby"):
            ranks.setdefault(root_of(doc, name), [""]).append(name)
    return [frozenset(filter(None, chosen)) for chosen in product(*ranks.values())]


def in_place(scene: Scene, bridge: str) -> bool:
    """A standby only where it was put in, and then not the one that it replaces."""
    if section(scene.doc, "bridges")[bridge].get("standby"):
        return bridge in scene.swapped
    return all(root_of(scene.doc, each) != bridge for each in scene.swapped)


def port_is_its_alone(doc: Doc, bridge: str) -> bool:
    """The port exists and no other bridge has it, but a standby may share the port of what it replaces."""
    bridges = section(doc, "bridges")
    mine = bridges[bridge]
    device = mine.get("device", "")
    if device not in section(doc, "devices") or mine["port"] > kind_of(doc, device).get("ports", 0):
        return False
    here = {name for name, body in bridges.items() if (body.get("device"), body["port"]) == (device, mine["port"])}
    replaced = mine.get("standby")
    return all(
        bridges[other].get("standby") == bridge
        or other == replaced
        or (replaced in here and bridges[other].get("standby") == replaced)
        for other in here - {bridge}
    )


def live(scene: Scene, bridge: str) -> bool:
    """Neither standby nor away, its device stands in the same sense, its port exists and is its alone."""
    body = section(scene.doc, "bridges")[bridge]
    circuit = body.get("circuit", "")
    return (
        {("bridges", bridge), ("circuits", circuit)}.isdisjoint(scene.out)
        and circuit in section(scene.doc, "circuits")
        and what_is(scene.doc, body["target"]) is not None
        and in_place(scene, bridge)
        and (scene.absent or "away" not in body)
        and device_stands(scene, body.get("device", ""))
        and port_is_its_alone(scene.doc, bridge)
    )


def live_bridges(scene: Scene) -> dict[str, Body]:
    return {name: body for name, body in section(scene.doc, "bridges").items() if live(scene, name)}


def goes(body: Body, way: str) -> bool:
    """Whether a bridge goes this way, `in` or `out`; `both` is the default."""
    return body.get("direction", "both") in (way, "both")


def says(scene: Scene, circuit: str, field: str) -> bool:
    """`hears`, `speaks`, `carries` of a circuit; unwritten is left out surely, put in possibly."""
    return bool(section(scene.doc, "circuits")[circuit].get(field, scene.unwritten))
