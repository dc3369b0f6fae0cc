"""Shows of any size from a seed, and edits to them from a seed.

A generated show is valid: nothing dangles, nothing is booked twice, no limit is passed, every required path
is there, no ring. The same holds after its random edits.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Any, Final

from showvc.document import (
    DOCUMENT,
    SECTIONS,
    Head,
    Required,
    Shape,
    Show,
    head_tree,
    shape_of,
    show_from_tree,
    target_of,
    to_tree,
)
from showvc.document.pointers import join

Steps = tuple[str, ...]
Tree = dict[str, Any]

GROUPS = (
    ("fly", "Fly Rail", "FLY"), ("lx", "Lighting", "LX"), ("snd", "Sound", "SND"), ("spots", "Follow Spots", "SPOT"),
    ("stage", "Stage Crew", "STAGE"), ("auto", "Automation", "AUTO"), ("pyro", "Pyro and Flame", "PYRO"),
    ("video", "Video", "VID"), ("props", "Props", "PROPS"), ("wardrobe", "Wardrobe", "WARD"), ("band", "Band", "BAND"),
    ("foh", "Front of House", "FOH"), ("cams", "Cameras", "CAMS"), ("rig", "Rigging", "RIG"), ("mics", "Radio Mics", "MICS"),
)  # fmt: skip
CRITICAL = frozenset({"fly", "auto", "pyro", "rig"})
POSITIONS = (
    ("sm", "Stage Manager", "stage"), ("dsm", "Deputy Stage Manager", "stage"), ("asm", "Assistant Stage Manager", "stage"),
    ("fly-cue", "Fly Cue", "fly"), ("spot", "Follow Spot", "lighting"), ("lx-op", "Lighting Desk", "lighting"),
    ("snd-op", "Sound Desk", "sound"), ("deck", "Deck Hand", "stage"), ("dresser", "Dresser", "wardrobe"),
    ("auto-op", "Automation Desk", "automation"), ("cam", "Camera", "video"), ("md", "Musical Director", "band"),
)  # fmt: skip
PLACES = (
    "Prompt corner",
    "Fly floor",
    "Dimmer room",
    "House left",
    "House right",
    "Orchestra pit",
    "Under stage",
    "Dock",
)
TALKS = ("momentary", "momentary", "latch", "latch", "dual", "none", "open")
LISTENS = ("switchable", "switchable", "always", "none")
WORN = (
    ("pack-2", 2, 1),
    ("pack-4", 4, 1),
    ("pack-4", 4, 1),
    ("desk-8", 8, 1),
    ("panel-16", 16, 1),
    ("panel-15x2", 15, 2),
)
TAGS = ("stage", "rig", "house", "cue", "radio", "tour", "spare")
# Check values of size. Common practice, no source.
LIMITS = {"targets": 3000, "devices": 250, "channels": 32}
LINES = ("alarm", "paging", "relay")


# --- shows -----------------------------------------------------------------------------------------------------------


def random_show(
    seed: int,
    users: int = 12,
    groups: int = 6,
    devices: int = 12,
    bridges: int = 2,
    channels: int = 6,
    full: bool = False,
) -> Show:
    """A valid show of exactly this many users, groups, devices and bridges.

    A user's list has half of `channels` to `channels` entries, with `full` exactly `channels`, as far as there
    are targets. ValueError when there are more bridges than the devices could have ports.
    """
    return show_from_tree(random_tree(seed, users, groups, devices, bridges, channels, full))


def random_tree(
    seed: int,
    users: int = 12,
    groups: int = 6,
    devices: int = 12,
    bridges: int = 2,
    channels: int = 6,
    full: bool = False,
) -> Tree:
    """The same show as plain values."""
    interfaces = -(-bridges // 4)
    if interfaces > devices:
        raise ValueError(f"{bridges} bridges need {interfaces} interfaces; there are {devices} devices")
    rng = Random(seed)
    made = _groups(rng, groups)
    people = _users(rng, users, tuple(made), channels, full)
    tree = {
        "format": 2,
        "title": f"The Salt Road, plot {seed}",
        "limits": _limits(users + groups, devices, channels),
        "lines": {line: {"label": line.upper(), "critical": line == "alarm"} for line in LINES},
        "kinds": {"panel-15x2": {"keys": 15, "pages": 2}},
        "required": {},
        "notes": "First plot.\nCheck the fly rail on headset.\nSpare packs are in case 4.\n",
        "groups": made,
        "users": people,
        "devices": _devices(rng, devices, interfaces, people),
        "bridges": _bridges(rng, bridges, [*made, *people]),
        "circuits": {_circuit(place): _outside(place) for place in range(bridges)},
    }
    tree["required"] = _required(rng, people, frozenset(made), wanted=min(8, users // 4))
    return tree


def _limits(targets: int, devices: int, channels: int) -> Tree:
    needed = {"targets": targets, "devices": devices, "channels": channels}
    return {name: needed[name] + 50 if needed[name] > most else most for name, most in LIMITS.items()}


def _numbered(base: Sequence[tuple[str, str, str]], count: int) -> Iterator[tuple[str, str, str, int]]:
    for place in range(count):
        name, words, third = base[place % len(base)]
        yield name, words, third, place // len(base) + 1


def _groups(rng: Random, count: int) -> Tree:
    groups: Tree = {}
    for name, words, label, turn in _numbered(GROUPS, count):
        group: Tree = {
            "name": words if turn == 1 else f"{words} {turn}",
            "label": label if turn == 1 else f"{label}{turn}",
        }
        if name in CRITICAL and turn == 1:
            group["critical"] = True
        if rng.random() < 0.4:
            group["tags"] = sorted(rng.sample(TAGS, rng.randint(1, 3)))
        if rng.random() < 0.1:
            group["extra"] = {"colour": rng.choice(["amber", "violet", "white"]), "row": rng.randint(1, 40)}
        groups[name if turn == 1 else f"{name}-{turn}"] = group
    return groups


def _users(rng: Random, count: int, groups: Sequence[str], channels: int, full: bool) -> Tree:
    ids = [name if turn == 1 else f"{name}-{turn}" for name, _, _, turn in _numbered(POSITIONS, count)]
    users: Tree = {}
    for user, (_, words, department, turn) in zip(ids, _numbered(POSITIONS, count), strict=True):
        users[user] = {
            "name": words if turn == 1 else f"{words} {turn}",
            "label": user.upper(),
            "department": department,
            "channels": _channels(rng, user, groups, ids, channels, full),
        }
        if rng.random() < 0.5:
            users[user]["lines"] = {"alarm": {"talk": "momentary", "listen": "always"}}
    return users


def _channels(rng: Random, user: str, groups: Sequence[str], users: Sequence[str], most: int, full: bool) -> Tree:
    count = most if full else rng.randint((most + 1) // 2, most)
    named = rng.sample(groups, min(len(groups), count if full else max(1, count - 2)) if groups else 0)
    others = rng.sample(users, min(len(users), count - len(named) + 1))
    targets = (named + [other for other in others if other != user])[:count]
    numbers = list(range(1, len(targets) + 1)) if full else sorted(rng.sample(range(1, most + 1), len(targets)))
    return {target: _channel(rng, number) for target, number in zip(targets, numbers, strict=True)}


def _channel(rng: Random, number: int) -> Tree:
    channel: Tree = {"number": number, "talk": rng.choice(TALKS), "listen": rng.choice(LISTENS)}
    chance = rng.random()
    if chance < 0.2:
        channel["level"] = rng.choice((-12, -6, -3, 3, -1.5))
    elif chance < 0.25:
        channel["priority"] = "high"
    elif chance < 0.3:
        channel["label"] = f"CUE {number}"
    return channel


def _devices(rng: Random, count: int, interfaces: int, users: Tree) -> Tree:
    devices: Tree = {}
    ids = list(users)
    for place in range(count):
        if place < interfaces:
            name, device = f"if-{place + 1:02}", {"name": f"Interface {place + 1}", "kind": "ports-4"}
        else:
            name, device = (
                f"pack-{place + 1:02}",
                _worn(rng, ids[(place - interfaces) % len(ids)] if ids else "", users),
            )
        devices[name] = {**device, "hardware": _hardware(place), "place": rng.choice(PLACES)}
    return devices


def _worn(rng: Random, user: str, users: Tree) -> Tree:
    kind, keys, pages = rng.choice(WORN)
    places = [f"{page}{number}" for page in "AB"[:pages] for number in range(1, keys + 1)]
    if not user:
        return {"name": "Spare", "kind": kind}
    plotted = [*users[user]["channels"]][: len(places) - 1]
    held = dict(zip(places, plotted, strict=False))
    if rng.random() < 0.7:
        held[places[-1]] = "alarm"
    return {"name": f"{users[user]['name']} station", "kind": kind, "user": user, "keys": held}


def _hardware(place: int) -> str:
    # RFC 7042 section 2.1.1 keeps 00-00-5E-00-53-00 to -FF for documentation (from memory).
    return f"00-00-5E-00-53-{place:02X}" if place < 256 else f"02-00-5E-10-{place // 256:02X}-{place % 256:02X}"


def _bridges(rng: Random, count: int, targets: Sequence[str]) -> Tree:
    # One circuit, one bridge: no ring can close.
    kinds = ("two-wire", "four-wire", "audio-network", "radio")
    return {
        f"bridge-{place + 1:02}": {
            "kind": kinds[place % 4],
            "device": f"if-{place // 4 + 1:02}",
            "port": place % 4 + 1,
            "target": targets[place % len(targets)] if rng.random() < 0.9 else rng.choice(targets),
            "circuit": _circuit(place),
            "direction": rng.choice(("both", "both", "in", "out")),
        }
        for place in range(count)
    }


def _circuit(place: int) -> str:
    return f"outside-{place + 1}"


def _outside(place: int) -> Tree:
    return {"name": f"Outside circuit {place + 1}", "people": "the house crew", "hears": True, "speaks": True}


def _required(rng: Random, users: Tree, groups: frozenset[str], wanted: int) -> Tree:
    """Paths that the show has: somebody with a talk to a group that somebody else listens on."""
    found: Tree = {}
    listeners: dict[str, str] = {}
    for user, body in users.items():
        for target, channel in body["channels"].items():
            if channel["listen"] != "none":
                listeners.setdefault(target, user)
    for user in rng.sample(list(users), len(users)):
        if len(found) >= wanted:
            break
        for target, channel in users[user]["channels"].items():
            heard = channel["talk"] != "none" and target in groups and listeners.get(target, user) != user
            if heard:
                to = rng.choice((target, listeners[target]))
                found[f"{user[:18]}-to-{to[:18]}"] = {"from": user, "to": to, "why": "cues are called here"}
                break
    return found


# --- edits -----------------------------------------------------------------------------------------------------------


class Gone:
    """The value of what is not there."""

    def __repr__(self) -> str:
        return "GONE"


GONE: Final = Gone()


@dataclass(frozen=True, slots=True)
class Put:
    """Puts a plain value at these steps, or takes away what stands there."""

    steps: Steps
    value: Any = GONE


@dataclass(frozen=True, slots=True)
class Edit:
    """One edit to a show, as data.

    `uses` are pointers that must stand as they are where it is made; `claims` are things that two edits made in parallel
    cannot both have (a number on a list, a key, a port, a place below a limit).
    """

    what: str
    puts: tuple[Put, ...]
    uses: frozenset[str] = frozenset()
    claims: frozenset[str] = frozenset()

    @property
    def pointers(self) -> tuple[str, ...]:
        """The leaves that it touches; a pointer to a record or map stands for all below it."""
        return tuple(join(*put.steps) for put in self.puts)

    def applied(self, show: Show) -> Show:
        """The show with this edit. What points into a thing that is not there is passed over."""
        places: dict[Steps, list[Put]] = {}
        for put in self.puts:
            places.setdefault(put.steps[:2] if put.steps[0] in SECTIONS else (), []).append(put)
        for place, puts in places.items():
            show = _with_puts(show, place, puts)
        return show


def apply_edits(show: Show, edits: Iterable[Edit]) -> Show:
    """The show after all of these edits, one after the other."""
    for edit in edits:
        show = edit.applied(show)
    return show


def _with_puts(show: Show, place: Steps, puts: Sequence[Put]) -> Show:
    if not place:
        tree = head_tree(show.head)
        for put in puts:
            _put(tree, put.steps, put.value, DOCUMENT)
        return replace(show, head=Head.model_validate(tree))
    section, name = place
    entries = show.section(section)
    model = SECTIONS[section]
    body: Tree | None = to_tree(entries[name]) if name in entries else None
    for put in puts:
        if len(put.steps) == 2:
            body = None if put.value is GONE else {**put.value}
        elif body is not None:
            _put(body, put.steps[2:], put.value, shape_of(model))
    return show.with_section(section, {name: None if body is None else model.model_validate(body)})


def _put(tree: Tree, steps: Steps, value: Any, shape: Shape) -> None:
    """Changes the tree in place. Maps and records that are at their default are made; items of maps are not."""
    if len(steps) == 1:
        if value is GONE:
            tree.pop(steps[0], None)
        else:
            tree[steps[0]] = value
        return
    below = shape.at(steps[0])
    if below is None or (shape.kind == "map" and steps[0] not in tree):
        return
    tree[steps[0]] = dict(tree.get(steps[0], {}))
    _put(tree[steps[0]], steps[1:], value, below)


def different_leaves(one: Edit, other: Edit) -> bool:
    """Whether no leaf is touched by both."""
    return not _meet(one.pointers, other.pointers)


def independent(one: Edit, other: Edit) -> bool:
    """Whether two engineers can make these two edits in parallel without a conflict of any kind."""
    return not (
        one.claims & other.claims
        or _meet(one.pointers, other.pointers)
        or _touched(one.uses, other)
        or _touched(other.uses, one)
    )


def _touched(uses: frozenset[str], edit: Edit) -> bool:
    """Whether the edit puts or takes away one of these places, or what they stand in."""
    return bool((uses | _above(uses)) & set(edit.pointers))


def _meet(some: Iterable[str], others: Iterable[str]) -> bool:
    """Whether a pointer of one is at, above or below a pointer of the other."""
    first, second = set(some), set(others)
    return bool(first & second or _above(first) & second or first & _above(second))


def _above(pointers: Iterable[str]) -> set[str]:
    found: set[str] = set()
    for pointer in pointers:
        steps = pointer.split("/")
        found.update("/".join(steps[:end]) for end in range(2, len(steps)))
    return found


def parallel_edits(show: Show, seed: int, n: int) -> tuple[list[Edit], list[Edit]]:
    """Two scripts of together `n` edits, each edit of the one independent of each of the other."""
    edits = random_edits(show, seed, n)
    sides = Random(seed)
    side_of: list[int] = []
    lots: list[set[int]] = []
    for place, edit in enumerate(edits):
        tied = [lot for lot in lots if any(not independent(edit, edits[other]) for other in lot)]
        lots = [lot for lot in lots if lot not in tied] + [set().union({place}, *tied)]
    chosen = {place: side for lot in lots for side in (sides.randint(0, 1),) for place in lot}
    side_of = [chosen[place] for place in range(len(edits))]
    return (
        [edit for edit, side in zip(edits, side_of, strict=True) if side == 0],
        [edit for edit, side in zip(edits, side_of, strict=True) if side == 1],
    )


def random_edits(show: Show, seed: int, n: int, only: Iterable[str] | None = None) -> list[Edit]:
    """`n` edits, each made for the show as the edits before it left it; `only` names kinds of edit.

    Ids of new things carry the seed, so two scripts of different seeds never make the same thing.
    """
    kinds = {name: make for name, make in EDITS.items() if only is None or name in only}
    desk = _Desk(Random(seed), show, seed)
    edits: list[Edit] = []
    for _ in range(n * 50):
        if len(edits) == n:
            break
        edit = kinds[desk.rng.choice(list(kinds))](desk)
        if edit is not None:
            desk.show = edit.applied(desk.show)
            edits.append(edit)
    return edits


class _Desk:
    """Where the edits of one script are made: the show so far, the dice, and the next unused number."""

    def __init__(self, rng: Random, show: Show, seed: int) -> None:
        self.rng, self.show, self.seed, self.turn = rng, show, seed, 0
        # A limit that one script raises does not hold in a parallel one: all keep to the first.
        unwritten = {name: most for name, most in LIMITS.items() if getattr(show.limits, name) is None}
        self.limits = show.limits.model_copy(update=unwritten)
        self.paths_at_first = tuple(show.required.values())

    def fresh(self, base: str) -> str:
        self.turn += 1
        return f"{base}-s{self.seed}n{self.turn}"

    def pick(self, names: Iterable[Any]) -> Any:
        """One of these, or None when there are none."""
        found = sorted(names)
        return self.rng.choice(found) if found else None

    def channel(self) -> tuple[str, str] | None:
        user = self.pick(self.show.users)
        channel = self.pick(self.show.users[user].channels) if user else None
        return (user, channel) if channel else None

    def targets(self) -> list[str]:
        return [*self.show.groups, *self.show.users]

    def free_number(self, user: str) -> int | None:
        taken = {channel.number for channel in self.show.users[user].channels.values()}
        number: int | None = self.pick(set(range(1, self.limits.channels + 1)) - taken)
        return number

    def worn_by(self, user: str) -> list[str]:
        return [name for name, device in self.show.devices.items() if device.user == user]

    def free_key(self, device: str) -> str | None:
        kind = self.show.kind(self.show.devices[device].kind)
        if kind is None:
            return None
        places = {f"{chr(65 + page)}{number}" for page in range(kind.pages) for number in range(1, kind.keys + 1)}
        key: str | None = self.pick(places - set(self.show.devices[device].keys))
        return key

    def free_port(self) -> tuple[str, int] | None:
        taken = {(bridge.device, bridge.port) for bridge in self.show.bridges.values()}
        ports = {
            (name, port)
            for name, device in self.show.devices.items()
            if (kind := self.show.kind(device.kind))
            for port in range(1, kind.ports + 1)
        }
        port: tuple[str, int] | None = self.pick(ports - taken)
        return port

    def paths(self, *names: str) -> frozenset[str]:
        """The claim on all required paths, when one of these targets is an end of one."""
        ends = {end for path in self.all_paths() for end in (path.from_, path.to)}
        reached = ends | {target for user in ends & {*self.show.users} for target in self.show.users[user].channels}
        return frozenset({"required"}) if reached & {*names} else frozenset()

    def needed(self, target: str) -> bool:
        return any(target in (path.from_, path.to) for path in self.all_paths())

    def all_paths(self) -> list[Required]:
        """Also those that this script took out: in a parallel one they still stand."""
        return [*self.paths_at_first, *self.show.required.values()]


Make = Callable[[_Desk], Edit | None]


def _edit(what: str, *puts: tuple[Steps, Any], uses: Iterable[Sequence[str]] = (), claims: Iterable[str] = ()) -> Edit:
    return Edit(what, tuple(Put(*put) for put in puts), frozenset(join(*step) for step in uses), frozenset(claims))


def _renumber(desk: _Desk) -> Edit | None:
    found = desk.channel()
    number = desk.free_number(found[0]) if found else None
    if found is None or number is None:
        return None
    old = desk.show.users[found[0]].channels[found[1]].number
    claims = {f"number {found[0]} {each}" for each in (number, old)}
    return _edit("renumber", ((*_at(found), "number"), number), claims=claims)


def _at(found: tuple[str, str]) -> Steps:
    return ("users", found[0], "channels", found[1])


def _swap(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None:
        return None
    channels = desk.show.users[found[0]].channels
    other = desk.pick(set(channels) - {found[1]})
    if other is None:
        return None
    one, two = channels[found[1]].number, channels[other].number
    puts = ((*_at(found), "number"), two), ((*_at((found[0], other)), "number"), one)
    return _edit("swap", *puts, claims={f"number {found[0]} {each}" for each in (one, two)})


def _talk(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None:
        return None
    now = desk.show.users[found[0]].channels[found[1]].talk
    tied = desk.paths(*found)
    talk = desk.pick({"momentary", "latch", "dual", *(() if tied else ("none", "open"))} - {now})
    return _edit("talk", ((*_at(found), "talk"), talk), claims=tied)


def _listen(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None:
        return None
    now = desk.show.users[found[0]].channels[found[1]].listen
    tied = desk.paths(*found)
    listen = desk.pick({"switchable", "always", *(() if tied else ("none",))} - {now})
    return _edit("listen", ((*_at(found), "listen"), listen), claims=tied)


def _level(desk: _Desk) -> Edit | None:
    found = desk.channel()
    level = desk.rng.choice((-20, -7, -4.5, 0, 2, 6))
    return _edit("level", ((*_at(found), "level"), level)) if found else None


def _channel_priority(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None:
        return None
    now = desk.show.users[found[0]].channels[found[1]].priority
    return _edit("priority", ((*_at(found), "priority"), "high" if now == "normal" else "normal"))


def _channel_label(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None:
        return None
    label = GONE if desk.show.users[found[0]].channels[found[1]].label else desk.fresh("C").upper()
    return _edit("channel label", ((*_at(found), "label"), label))


def _add_channel(desk: _Desk) -> Edit | None:
    user = desk.pick(desk.show.users)
    if user is None:
        return None
    channels = desk.show.users[user].channels
    target, number = desk.pick({*desk.targets()} - {*channels, user}), desk.free_number(user)
    if desk.rng.random() < 0.2 and channels:
        first = target_of(desk.pick(channels))
        target = f"{first}#2" if f"{first}#2" not in channels else None
    if target is None or number is None:
        return None
    to = target_of(target)
    section = "groups" if to in desk.show.groups else "users"
    claims = {f"number {user} {number}", *desk.paths(user, to)}
    if len(channels) + 8 > desk.limits.channels:
        claims.add(f"length {user}")
    channel = {**_channel(desk.rng, number), "talk": "momentary"}
    return _edit("add channel", (_at((user, target)), channel), uses=[("users", user), (section, to)], claims=claims)


def _remove_channel(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None or desk.paths(*found):
        return None
    user, channel = found
    puts: list[tuple[Steps, Any]] = [(_at(found), GONE)]
    for name in desk.worn_by(user):
        keys = desk.show.devices[name].keys
        puts += [(("devices", name, "keys", key), GONE) for key, held in keys.items() if held == channel]
    number = desk.show.users[user].channels[channel].number
    claims = {f"wearing {user}", f"number {user} {number}", _pointing(channel)}
    return _edit("remove channel", *puts, claims=claims)


def _pointing(channel: str) -> str:
    """The claim on a target of all edits that take away what points at it, and of the one that removes it."""
    return f"points at {target_of(channel)}"


def _line_use(desk: _Desk) -> Edit | None:
    user = desk.pick(desk.show.users)
    if user is None:
        return None
    use = {"talk": desk.rng.choice(TALKS), "listen": "always", "level": desk.rng.choice((-6, 0, 3))}
    line = desk.pick(desk.show.lines)
    return _edit("line", (("users", user, "lines", line), use)) if line else None


def _add_user(desk: _Desk) -> Edit | None:
    if len(desk.targets()) >= desk.limits.targets:
        return None
    name = desk.fresh("crew")
    others = desk.targets()
    targets = desk.rng.sample(others, min(3, len(others)))
    channels = {target: _channel(desk.rng, number + 1) for number, target in enumerate(targets)}
    body = {"name": f"Crew {name[5:]}", "label": name.upper(), "department": "crew", "channels": channels}
    uses = [("groups" if target in desk.show.groups else "users", target) for target in targets]
    return _edit("add user", (("users", name), body), uses=uses, claims=_below(desk, "targets"))


def _below(desk: _Desk, limit: str) -> set[str]:
    count = len(desk.show.devices) if limit == "devices" else len(desk.targets())
    return {f"below {limit}"} if count + 30 > getattr(desk.limits, limit) else set()


def _add_group(desk: _Desk) -> Edit | None:
    if len(desk.targets()) >= desk.limits.targets:
        return None
    name = desk.fresh("group")
    body: Tree = {"name": f"Group {name[6:]}", "label": name.upper(), "tags": desk.rng.sample(TAGS, 2)}
    return _edit("add group", (("groups", name), body), claims=_below(desk, "targets"))


def _remove_group(desk: _Desk) -> Edit | None:
    return _remove_target(desk, "groups")


def _remove_user(desk: _Desk) -> Edit | None:
    return _remove_target(desk, "users")


def _remove_target(desk: _Desk, section: str) -> Edit | None:
    """Takes away a target and all that points at it."""
    if len(desk.show.section(section)) < 3:
        return None
    name = desk.pick(desk.show.section(section))
    listened = desk.show.users[name].channels if section == "users" else ()
    if desk.needed(name) or desk.paths(name, *listened):
        return None
    puts: list[tuple[Steps, Any]] = [((section, name), GONE)]
    claims = {_pointing(name), *map(_pointing, listened)}
    if section == "users":
        claims.add(f"wearing {name}")
        for device in desk.worn_by(name):
            puts += [(("devices", device, "user"), GONE), (("devices", device, "keys"), GONE)]
    for user, body in desk.show.users.items():
        pointing = [channel for channel in body.channels if target_of(channel) == name] if user != name else []
        puts += [(_at((user, channel)), GONE) for channel in pointing]
        claims |= {f"wearing {user}"} if pointing else set()
        for device in desk.worn_by(user) if pointing else ():
            keys = desk.show.devices[device].keys
            puts += [(("devices", device, "keys", key), GONE) for key, held in keys.items() if held in pointing]
    bridges = [bridge for bridge, body in desk.show.bridges.items() if body.target == name]
    puts += [(("bridges", bridge), GONE) for bridge in bridges]
    claims |= _ports(desk, bridges)
    return _edit(f"remove {section[:-1]}", *puts, claims=claims)


def _rename(desk: _Desk) -> Edit | None:
    section = desk.rng.choice([section for section in SECTIONS if section != "bridges"])
    name = desk.pick(desk.show.section(section))
    second = {"devices": "place", "circuits": "people", "carriers": "name"}.get(section, "label")
    field = desk.rng.choice(("name", second))
    return _edit("rename", ((section, name, field), f"Renamed {desk.fresh('r')}")) if name else None


def _department(desk: _Desk) -> Edit | None:
    user = desk.pick(desk.show.users)
    return _edit("department", (("users", user, "department"), desk.fresh("dept"))) if user else None


def _critical(desk: _Desk) -> Edit | None:
    group = desk.pick(desk.show.groups)
    return _edit("critical", (("groups", group, "critical"), not desk.show.groups[group].critical)) if group else None


def _tags(desk: _Desk) -> Edit | None:
    group = desk.pick(desk.show.groups)
    if group is None:
        return None
    now = desk.show.groups[group].tags
    changed = now - {desk.pick(now)} if now and desk.rng.random() < 0.5 else now | {desk.fresh("tag")}
    return _edit("tags", (("groups", group, "tags"), sorted(changed)))


def _keyed(desk: _Desk) -> str | None:
    device: str | None = desk.pick(name for name, body in desk.show.devices.items() if body.user in desk.show.users)
    return device


def _set_key(desk: _Desk) -> Edit | None:
    device = _keyed(desk)
    key = desk.free_key(device) if device else None
    if device is None or key is None:
        return None
    user = desk.show.devices[device].user or ""
    channel = desk.pick([*desk.show.users[user].channels, *desk.show.lines])
    if channel is None:
        return None
    uses: list[Steps] = [("devices", device, "user"), ("devices", device, "kind")]
    uses += [] if channel in desk.show.lines else [_at((user, channel))]
    claims = {f"wearing {user}"} | ({f"keys {device}"} if len(desk.show.devices[device].keys) > 0 else set())
    return _edit("set key", (("devices", device, "keys", key), channel), uses=uses, claims=claims)


def _remove_key(desk: _Desk) -> Edit | None:
    device = desk.pick(desk.show.devices)
    key = desk.pick(desk.show.devices[device].keys) if device else None
    if key is None:
        return None
    return _edit("remove key", (("devices", device, "keys", key), GONE), claims=_worn_claim(desk, device))


def _worn_claim(desk: _Desk, device: str) -> set[str]:
    """The claim on the keys of all devices that a user wears: what removes a channel clears them too."""
    return {f"wearing {desk.show.devices[device].user}"}


def _swap_keys(desk: _Desk) -> Edit | None:
    device = desk.pick(name for name, body in desk.show.devices.items() if len(body.keys) > 1)
    if device is None:
        return None
    keys = desk.show.devices[device].keys
    one, two = desk.rng.sample(sorted(keys), 2)
    puts = [(("devices", device, "keys", key), held) for key, held in ((one, keys[two]), (two, keys[one]))]
    user = desk.show.devices[device].user
    uses = [_at((user, channel)) for channel in (keys[one], keys[two]) if user and channel not in desk.show.lines]
    return _edit("swap keys", *puts, uses=uses, claims={f"keys {device}", f"wearing {user}"})


def _add_device(desk: _Desk) -> Edit | None:
    if len(desk.show.devices) >= desk.limits.devices:
        return None
    name, user = desk.fresh("unit"), desk.pick(desk.show.users)
    address = f"02-00-5E-{desk.seed >> 8 & 255:02X}-{desk.seed & 255:02X}-{desk.turn & 255:02X}"
    body: Tree = {
        "name": f"Unit {name[5:]}",
        "kind": desk.rng.choice(("pack-2", "pack-4", "ports-2")),
        "hardware": address,
    }
    if user and body["kind"] != "ports-2":
        body["user"] = user
    used = {f"hardware {address}"} | _below(desk, "devices")
    uses = [("users", user)] if "user" in body else []
    if any(device.hardware == address for device in desk.show.devices.values()):
        return None
    return _edit("add device", (("devices", name), body), uses=uses, claims=used)


def _remove_device(desk: _Desk) -> Edit | None:
    device = desk.pick(desk.show.devices)
    if device is None:
        return None
    bridges = [name for name, bridge in desk.show.bridges.items() if bridge.device == device]
    puts = [(("bridges", name), GONE) for name in bridges]
    claims = {_pointing(device), *_ports(desk, bridges), *_worn_claim(desk, device)}
    return _edit("remove device", (("devices", device), GONE), *puts, claims=claims)


def _ports(desk: _Desk, bridges: Iterable[str]) -> set[str]:
    """The claims on the ports that these bridges leave; their circuits may carry required paths."""
    taken = {f"port {body.device} {body.port}" for body in (desk.show.bridges[name] for name in bridges)}
    pointing = {
        _pointing(end) for name in bridges for end in (desk.show.bridges[name].target, desk.show.bridges[name].device)
    }
    return taken | pointing | ({"required"} if taken else set())


def _hand_over(desk: _Desk) -> Edit | None:
    """Another user wears the device; its keys are cleared."""
    device, user = _keyed(desk), desk.pick(desk.show.users)
    if device is None or desk.show.devices[device].user == user:
        return None
    claims = {f"wearing {desk.show.devices[device].user}", f"wearing {user}", f"keys {device}"}
    puts = (("devices", device, "user"), user), (("devices", device, "keys"), GONE)
    return _edit("hand over", *puts, uses=[("users", user)], claims=claims)


def _device_kind(desk: _Desk) -> Edit | None:
    device = desk.pick(name for name, body in desk.show.devices.items() if body.kind in ("pack-2", "pack-4"))
    return _edit("kind", (("devices", device, "kind"), "desk-8"), claims={f"keys {device}"}) if device else None


def _hardware_change(desk: _Desk) -> Edit | None:
    device = desk.pick(desk.show.devices)
    if device is None:
        return None
    desk.turn += 1
    address = f"06-00-5E-{desk.seed >> 8 & 255:02X}-{desk.seed & 255:02X}-{desk.turn & 255:02X}"
    return _edit("hardware", (("devices", device, "hardware"), address), claims={f"hardware {address}"})


def _add_bridge(desk: _Desk) -> Edit | None:
    port, target = desk.free_port(), desk.pick(desk.targets())
    if port is None or target is None:
        return None
    name = desk.fresh("link")
    circuit = f"outside-of-{name}"
    body = {"kind": "four-wire", "device": port[0], "port": port[1], "target": target, "circuit": circuit}
    outside = (("circuits", circuit), {"name": f"Circuit {name}", "hears": True, "speaks": True})
    uses = [("devices", port[0], "kind"), ("groups" if target in desk.show.groups else "users", target)]
    return _edit("add bridge", (("bridges", name), body), outside, uses=uses, claims={f"port {port[0]} {port[1]}"})


def _remove_bridge(desk: _Desk) -> Edit | None:
    bridge = desk.pick(desk.show.bridges)
    return _edit("remove bridge", (("bridges", bridge), GONE), claims=_ports(desk, [bridge])) if bridge else None


def _bridge_direction(desk: _Desk) -> Edit | None:
    bridge = desk.pick(desk.show.bridges)
    way = desk.pick({"both", "in", "out"} - {desk.show.bridges[bridge].direction}) if bridge else None
    return _edit("direction", (("bridges", bridge, "direction"), way), claims={"required"}) if bridge else None


def _bridge_target(desk: _Desk) -> Edit | None:
    bridge, target = desk.pick(desk.show.bridges), desk.pick(desk.targets())
    if bridge is None or desk.show.bridges[bridge].target == target:
        return None
    uses = [("groups" if target in desk.show.groups else "users", target)]
    claims = {"required", _pointing(desk.show.bridges[bridge].target)}
    return _edit("bridge target", (("bridges", bridge, "target"), target), uses=uses, claims=claims)


def _add_kind(desk: _Desk) -> Edit | None:
    kind = {"keys": desk.rng.randint(1, 24), "pages": desk.rng.randint(1, 3)}
    return _edit("add kind", (("kinds", desk.fresh("panel")), kind))


def _limit(desk: _Desk) -> Edit | None:
    # Never lowered below what could be plotted by then.
    field = desk.rng.choice(("targets", "devices", "channels"))
    return _edit(
        "limit", (("limits", field), (getattr(desk.show.limits, field) or LIMITS[field]) + desk.rng.randint(1, 40))
    )


def _add_required(desk: _Desk) -> Edit | None:
    found = desk.channel()
    if found is None or found[1] not in desk.show.groups:
        return None
    user, group = found
    listeners = [
        other
        for other, body in desk.show.users.items()
        if other != user and (entry := body.channels.get(group)) and entry.listen != "none"
    ]
    if not listeners or desk.show.users[user].channels[group].talk == "none":
        return None
    path = {"from": user, "to": group, "why": "added on tour"}
    uses = [("groups", group), (*_at((user, group)), "talk"), (*_at((listeners[0], group)), "listen")]
    return _edit("add required", (("required", desk.fresh("path")), path), uses=uses, claims={"required"})


def _remove_required(desk: _Desk) -> Edit | None:
    path = desk.pick(desk.show.required)
    return _edit("remove required", (("required", path), GONE), claims={"required"}) if path else None


def _required_why(desk: _Desk) -> Edit | None:
    path = desk.pick(desk.show.required)
    return _edit("why", (("required", path, "why"), f"reason {desk.fresh('w')}")) if path else None


def _quiet(desk: _Desk) -> Edit | None:
    if desk.show.accepted and desk.rng.random() < 0.4:
        return _edit("speak up", (("accepted", desk.pick(desk.show.accepted)), GONE))
    user = desk.pick(desk.show.users)
    entry = {"rule": "user-without-device", "at": f"/users/{user}", "why": "shares a pack"}
    return _edit("quieten", (("accepted", desk.fresh("quiet")), entry)) if user else None


def _notes(desk: _Desk) -> Edit | None:
    lines = desk.show.head.notes.splitlines()
    place = desk.rng.randint(0, len(lines))
    taken = 1 if desk.rng.random() < 0.3 else 0
    lines[place : place + taken] = [f"Note {desk.fresh('n')}: check it again."]
    return _edit("notes", (("notes",), "".join(line + "\n" for line in lines)))


def _title(desk: _Desk) -> Edit | None:
    return _edit("title", (("title",), f"The Salt Road {desk.fresh('t')}"))


def _line_label(desk: _Desk) -> Edit | None:
    line = desk.pick(desk.show.lines)
    return _edit("line label", (("lines", line, "label"), desk.fresh("L").upper())) if line else None


def _extra(desk: _Desk) -> Edit | None:
    found = desk.channel() if desk.rng.random() < 0.3 else None
    section = desk.rng.choice([*SECTIONS, ""])
    name = desk.pick(desk.show.section(section)) if section else ""
    if name is None:
        return None
    at: Steps = _at(found) if found else (section, name) if section else ()
    body: Any = (
        desk.show.users[found[0]].channels[found[1]]
        if found
        else desk.show.section(section)[name]
        if section
        else desk.show.head
    )
    if body.extra and desk.rng.random() < 0.3:
        return _edit("extra gone", ((*at, "extra", desk.pick(body.extra)), GONE))
    value = desk.rng.choice((None, True, 7, 1.25, "NO", "012", ["a", 1], {"at": "12:30", "on": False}))
    return _edit("extra", ((*at, "extra", desk.rng.choice(("colour", "row", "on", "a/b", "x~y"))), value))


EDITS: dict[str, Make] = {
    "renumber": _renumber, "swap": _swap, "talk": _talk, "listen": _listen, "level": _level,
    "priority": _channel_priority, "channel label": _channel_label, "add channel": _add_channel,
    "remove channel": _remove_channel, "line": _line_use, "add user": _add_user, "remove user": _remove_user,
    "add group": _add_group, "remove group": _remove_group, "rename": _rename, "department": _department,
    "critical": _critical, "tags": _tags, "set key": _set_key, "remove key": _remove_key, "swap keys": _swap_keys,
    "add device": _add_device, "remove device": _remove_device, "hand over": _hand_over, "kind": _device_kind,
    "hardware": _hardware_change, "add bridge": _add_bridge, "remove bridge": _remove_bridge,
    "direction": _bridge_direction, "bridge target": _bridge_target, "add kind": _add_kind, "limit": _limit,
    "add required": _add_required, "remove required": _remove_required, "why": _required_why, "accepted": _quiet,
    "notes": _notes, "title": _title, "line label": _line_label, "extra": _extra,
}  # fmt: skip
"""The kinds of edit, by name; each makes one for the show on the desk, or None where it cannot."""
