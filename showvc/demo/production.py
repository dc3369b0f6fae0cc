"""The Salt Road: one invented touring production, as it was first plotted, and what its tour did to the plot.

People, towns, houses and addresses are invented. Positions, groups and how they talk are common practice,
no source. Every edit is a plain function from one show to the next.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from showvc.document import BUILT_IN_KINDS, Show, show_from_tree, target_of
from showvc.document.editing import ABSENT, get, put
from showvc.document.pointers import parse

Tree = dict[str, Any]
Change = Callable[[Show], Show]

TITLE = "The Salt Road"
KINDS = {"panel-15x2": {"keys": 15, "pages": 2}}
NOTES = """\
First plot for the rehearsal room.
Intercom is not a safety stop. Line-check every position on headset before the show.
Fly, rigging, automation and pyro groups are marked critical; their keys stay on page A.
Spare packs travel in case 4, charged, with the last release on them.
"""

# id: name, label, tags; the critical ones are those where a call can stop a moving thing.
GROUPS = {
    "cue": ("Cue Positions", "CUE", "cue show"),
    "stage": ("Stage Crew", "STAGE", "crew stage"),
    "lx": ("Lighting", "LX", "crew"),
    "spots": ("Follow Spots", "SPOTS", "cue house"),
    "snd": ("Sound", "SND", "crew"),
    "mics": ("Radio Microphones", "MICS", "stage"),
    "video": ("Video", "VIDEO", "crew"),
    "fly": ("Fly Rail", "FLY", "rig stage"),
    "rig": ("Rigging", "RIG", "rig"),
    "auto": ("Automation", "AUTO", "rig stage"),
    "pyro": ("Pyro and Flame", "PYRO", "stage"),
    "props": ("Properties", "PROPS", "stage"),
    "ward": ("Wardrobe and Wigs", "WARD", "stage"),
    "band": ("Orchestra", "BAND", "music"),
    "foh": ("Front of House", "FOH", "house"),
    "sec": ("House Security", "SEC", "house"),
    "prod": ("Production Office", "PROD", ""),
    "dock": ("Loading Dock", "DOCK", "stage"),
    "calls": ("Cast Calls", "CALLS", "show"),
}
CRITICAL = frozenset({"fly", "rig", "auto", "pyro"})

# id: name | label | department | device, and below it the channels in the order of their numbers: target, talk,
# and where they are not the default, listen and level in dB.
POSITIONS = """\
sm: Stage Manager | SM | stage management | panel-15x2
    cue latch always, lx latch, fly momentary always, spots latch, snd latch, auto momentary always,
    pyro momentary always, stage latch, video latch, band momentary, foh momentary, calls momentary none,
    dsm momentary, asm-left momentary, asm-right momentary, rig momentary, prod momentary
dsm: Deputy Stage Manager | DSM | stage management | desk-8
    cue latch always, lx latch, fly momentary, stage latch, calls momentary none, sm momentary, props latch
asm-left: Assistant Stage Manager, Left | ASM L | stage management | pack-4
    stage latch always, sm momentary, props latch
asm-right: Assistant Stage Manager, Right | ASM R | stage management | pack-4
    stage latch always, sm momentary, ward latch
lx-desk: Lighting Desk | LX DESK | lighting | desk-8
    lx latch always, cue momentary always, spots latch, sm momentary, video momentary
lx-chief: Chief Electrician | LX CHIEF | lighting | pack-4
    lx latch always, rig momentary, stage none
lx-floor-1: Lighting Floor, Left | LX 1 | lighting | pack-2
    lx latch always, stage none
lx-floor-2: Lighting Floor, Right | LX 2 | lighting | pack-2
    lx latch always, stage none
spot-1: Follow Spot 1 | SPOT 1 | lighting | pack-2
    spots latch always, cue none always
spot-2: Follow Spot 2 | SPOT 2 | lighting | pack-2
    spots latch always, cue none always
spot-3: Follow Spot 3 | SPOT 3 | lighting | pack-2
    spots latch always, cue none always
snd-desk: Sound Desk | SND DESK | sound | panel-16
    snd latch always, mics latch, cue momentary always, band latch, video momentary, sm momentary, foh momentary
snd-mon: Band Monitors | MON | sound | desk-8
    snd latch always, band latch always, mics latch, md momentary
snd-mic-1: Radio Microphones, Left | MIC 1 | sound | pack-4
    mics latch always, snd momentary, ward momentary -3
snd-mic-2: Radio Microphones, Right | MIC 2 | sound | pack-4
    mics latch always, snd momentary, ward momentary -3
video-op: Video Desk | VID DESK | video | panel-16
    video latch always, cue momentary always, lx momentary, snd momentary, cam-1 momentary, cam-2 momentary
cam-1: Camera 1, Circle | CAM 1 | video | pack-2
    video latch always, cue none
cam-2: Camera 2, Pit | CAM 2 | video | pack-2
    video latch always, cue none
fly-head: Head Flyman | FLY HD | flys | desk-8
    fly momentary always, cue momentary always, rig momentary always, stage latch, auto momentary
fly-1: Fly Cue 1 | FLY 1 | flys | pack-2
    fly momentary always, cue none always
fly-2: Fly Cue 2 | FLY 2 | flys | pack-2
    fly momentary always, cue none always
fly-3: Fly Cue 3 | FLY 3 | flys | pack-2
    fly momentary always, cue none always
rig-head: Head Rigger | RIG HD | rigging | pack-4
    rig momentary always, fly momentary always, stage latch
rig-1: Rigger, Grid | RIG 1 | rigging | pack-2
    rig momentary always, fly momentary always
auto-op: Automation Desk | AUTO OP | automation | desk-8
    auto momentary always, cue momentary always, fly momentary always, stage latch, sm momentary
auto-left: Automation Watch, Left | WATCH L | automation | pack-2
    auto momentary always, stage none
auto-right: Automation Watch, Right | WATCH R | automation | pack-2
    auto momentary always, stage none
pyro-op: Pyro Desk | PYRO OP | effects | pack-4
    pyro momentary always, cue none always, sm momentary
pyro-watch: Pyro Watch | PYRO W | effects | pack-2
    pyro momentary always, sm momentary
carp: Master Carpenter | CARP | stage | pack-4
    stage latch always, dock latch, rig momentary, fly momentary
deck-1: Deck 1, Left | DECK 1 | stage | pack-2
    stage latch always, auto none
deck-2: Deck 2, Left | DECK 2 | stage | pack-2
    stage latch always, auto none
deck-3: Deck 3, Right | DECK 3 | stage | pack-2
    stage latch always, auto none
deck-4: Deck 4, Right | DECK 4 | stage | pack-2
    stage latch always, auto none
dock-1: Loading Dock | DOCK 1 | stage | pack-4
    dock latch always, stage latch, prod momentary
props-head: Head of Properties | PROPS HD | props | pack-4
    props latch always, stage latch, asm-left momentary
props-1: Properties, Right | PROPS 1 | props | pack-2
    props latch always, stage none
ward-head: Head of Wardrobe | WARD HD | wardrobe | pack-4
    ward latch always, calls none always, mics momentary
dresser-1: Quick Change, Left | QC L | wardrobe | pack-2
    ward latch always, stage none
dresser-2: Quick Change, Right | QC R | wardrobe | pack-2
    ward latch always, stage none
wigs: Head of Wigs | WIGS | wardrobe | pack-2
    ward latch always, calls none always
md: Musical Director | MD | music | desk-8
    band latch always, sm momentary always, snd momentary, cue none
keys-2: Second Keyboard | KEYS 2 | music | pack-2
    band latch always, md momentary
band-steward: Orchestra Steward | BAND ST | music | pack-4
    band latch always, calls none always, foh momentary
house: House Manager | HOUSE | house | desk-8
    foh latch always, sm momentary always, sec latch, calls none, fire-post momentary
foh-left: Stalls Doors | DOORS | house | pack-2
    foh latch always, sec latch
foh-circle: Circle Doors | CIRCLE | house | pack-2
    foh latch always, sec latch
medic: House Medic | MEDIC | house | pack-4
    foh latch always, sec latch, house momentary
prod-mgr: Production Manager | PM | production | desk-8
    prod latch always, stage latch, rig momentary, dock latch, sm momentary, tech momentary
tech: Technical Manager | TECH | production | pack-4
    prod latch always, stage latch, prod-mgr momentary
comms: Intercom Engineer | COMMS | sound | panel-15x2
    prod latch, stage latch, cue latch, fly none, lx latch, snd latch, foh latch, sm momentary, house momentary
fire-post: Fire Post | FIRE | house | none
    sec open always, foh open always
"""

# What the show's system takes: a small one, hired for the tour.
LIMITS = {"targets": 400, "devices": 120, "channels": 24, "label": 8, "floor": -40}
LINES = {"alarm": {"label": "ALARM", "critical": True}, "paging": {"label": "PAGE"}}
# id: name, whether somebody there listens, and talks.
CIRCUITS = {
    "house-ring": ("House party line, ring A", True, True),
    "booth-ring": ("Spot booth line, ring B", True, True),
    "pit": ("Pit talkback", True, True),
    "rooms": ("Dressing room relay", True, False),
    "dock-base": ("Dock radio base", True, True),
    "fire-base": ("Fire post radio", True, True),
}
# id: what it runs over, unit, port, target, circuit, direction.
BRIDGES = {
    "house-line": ("two-wire", "if-01", 1, "foh", "house-ring", "both"),
    "spot-booth": ("two-wire", "if-01", 2, "spots", "booth-ring", "both"),
    "pit-link": ("four-wire", "if-02", 1, "band", "pit", "both"),
    "relay": ("audio-network", "if-03", 1, "calls", "rooms", "out"),
    "dock-radio": ("radio", "if-02", 2, "dock", "dock-base", "both"),
    "fire-radio": ("radio", "if-02", 3, "fire-post", "fire-base", "both"),
}
INTERFACES = {
    "if-01": ("Rack A, two-wire", "ports-2"),
    "if-02": ("Rack A, four-wire", "ports-4"),
    "if-03": ("Rack B, network", "ports-4"),
}
SPARES = {"spare-1": ("Spare pack, case 4", "pack-4"), "spare-2": ("Spare pack, case 4", "pack-2")}
REQUIRED = {
    "sm-fly": {"from": "sm", "to": "fly-head", "both": True, "why": "fly cues are called and stopped here"},
    "sm-fly-1": {"from": "sm", "to": "fly-1", "why": "the header flies over the quick change"},
    "sm-auto": {"from": "sm", "to": "auto-op", "both": True, "why": "the salt cart moves on this call"},
    "sm-pyro": {"from": "sm", "to": "pyro-op", "both": True, "why": "armed and made safe on this call"},
    "watch-auto": {"from": "auto-left", "to": "auto-op", "why": "the watch stops the cart"},
    "watch-auto-right": {"from": "auto-right", "to": "auto-op", "why": "the watch stops the cart"},
    "rail-rig": {"from": "rig-head", "to": "fly", "why": "nobody on the grid while the rail moves"},
    "sm-house": {"from": "sm", "to": "house", "both": True, "why": "clearance and show stop"},
    "house-fire": {"from": "house", "to": "fire-post", "why": "the house calls the fire post first"},
}
ACCEPTED = {
    "spare-1": {"rule": "device-without-user", "at": "/devices/spare-1", "why": "a spare, given out on the night"},
    "spare-2": {"rule": "device-without-user", "at": "/devices/spare-2", "why": "a spare, given out on the night"},
}
PLACES = {
    "stage management": "Prompt corner",
    "lighting": "Dimmer room",
    "sound": "Sound position",
    "video": "Video position",
    "flys": "Fly floor",
    "rigging": "Grid",
    "automation": "Stage left",
    "effects": "Stage right",
    "stage": "Deck",
    "props": "Stage left",
    "wardrobe": "Quick change",
    "music": "Pit",
    "house": "Foyer",
    "production": "Office",
}


# --- as first plotted ------------------------------------------------------------------------------------------------


def production() -> Show:
    """The Salt Road as it was first plotted."""
    users = {name: body for name, body, _ in _positions()}
    return show_from_tree(
        {
            "format": 2,
            "title": TITLE,
            "limits": LIMITS,
            "lines": LINES,
            "kinds": KINDS,
            "required": REQUIRED,
            "accepted": ACCEPTED,
            "notes": NOTES,
            "groups": {name: _group(name, *parts) for name, parts in GROUPS.items()},
            "users": users,
            "devices": _devices(),
            "bridges": {
                name: dict(zip(("kind", "device", "port", "target", "circuit", "direction"), parts, strict=True))
                for name, parts in BRIDGES.items()
            },
            "circuits": {
                name: dict(zip(("name", "hears", "speaks"), parts, strict=True)) for name, parts in CIRCUITS.items()
            },
        }
    )


def _group(name: str, words: str, label: str, tags: str) -> Tree:
    return {"name": words, "label": label, "critical": name in CRITICAL, "tags": tags.split()}


def _positions() -> Iterator[tuple[str, Tree, str]]:
    """Each position's id, its body, and the kind of device that it wears, `none` for an outside one."""
    for part in re.split(r"\n(?=\S)", POSITIONS.strip()):
        head, _, channels = part.partition("\n")
        name, words, label, department, kind = re.split(r": | \| ", head)
        listed = enumerate(channels.split(","), start=1)
        entries = dict(_channel(number, words.split()) for number, words in listed)
        body: Tree = {"name": words, "label": label, "department": department, "channels": entries}
        if kind not in ("pack-2", "none"):
            body["lines"] = {"alarm": {"talk": "momentary"}, "paging": {}}
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
    worn = {f"unit-{name}": _worn(name, kind, body) for name, body, kind in _positions() if kind != "none"}
    racks = {name: {"name": words, "kind": kind, "place": "Comms rack"} for name, (words, kind) in INTERFACES.items()}
    spares = {name: {"name": words, "kind": kind, "place": "Case 4"} for name, (words, kind) in SPARES.items()}
    every = {**worn, **racks, **spares}
    return {name: {**body, "hardware": hardware(place)} for place, (name, body) in enumerate(every.items())}


def _worn(user: str, kind: str, body: Tree) -> Tree:
    device = {"name": f"{body['name']} unit", "kind": kind, "user": user, "place": PLACES[body["department"]]}
    return {**device, "keys": dict(zip(_keys(kind), _held(kind, body["channels"]), strict=False))}


def _keys(kind: str) -> Iterator[str]:
    made = KINDS.get(kind) or {"keys": BUILT_IN_KINDS[kind].keys, "pages": 1}
    yield from (f"{page}{number}" for page in "AB"[: made["pages"]] for number in range(1, made["keys"] + 1))


def _held(kind: str, channels: Tree) -> list[str]:
    """What stands under the keys: critical groups first, then by number; a big unit ends page A with the alarm."""
    talked = [name for name, channel in channels.items() if channel["talk"] != "none"]
    ordered = sorted(talked, key=lambda name: target_of(name) not in CRITICAL)
    if kind == "pack-2":
        return ordered or list(channels)
    last = sum(1 for key in _keys(kind) if key.startswith("A")) - 1
    return [*ordered[:last], "alarm", *ordered[last:]]


def hardware(place: int) -> str:
    """An address of the range for documentation, 00-00-5E-00-53-00 to -FF (RFC 7042 section 2.1.1, from memory)."""
    return f"00-00-5E-00-53-{place:02X}"


# --- the tour --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Step:
    """One recorded edit of the story: who made it, the note they left, and the edit itself.

    `mark` names the snapshot that it makes, where the story gives it a name.
    """

    who: str
    note: str
    change: Change
    mark: str | None = None


def edited(show: Show, values: dict[str, Any]) -> Show:
    """The show with these values at their pointers; None takes a place out."""
    return put(show, {parse(pointer): ABSENT if value is None else value for pointer, value in values.items()})


def _pack(user: str, name: str, place: str, kind: str, address: int, *keys: str) -> Tree:
    held = {f"A{number + 1}": channel for number, channel in enumerate(keys)}
    return {"name": name, "kind": kind, "user": user, "hardware": hardware(address), "place": place, "keys": held}


def at_skerrowby(show: Show) -> Show:
    """The Net Loft, Skerrowby: hemp flying, a long gallery, a house party line of its own."""
    fly_4 = {
        "name": "Fly Cue 4",
        "label": "FLY 4",
        "department": "flys",
        "channels": {
            "fly": {"number": 1, "talk": "momentary", "listen": "always", "priority": "high"},
            "cue": {"number": 2, "listen": "always"},
        },
    }
    return edited(
        show,
        {
            "/users/fly-4": fly_4,
            "/devices/unit-fly-4": _pack("fly-4", "Fly Cue 4 unit", "Fly floor", "pack-2", 0x60, "fly"),
            "/circuits/house-ring/name": "Net Loft party line, red",
            "/circuits/booth-ring/name": "Net Loft party line, blue",
            "/groups/foh/name": "House and Foyer",
            "/notes": show.head.notes + "Skerrowby: hemp house, four on the rail.\n",
        },
    )


def at_tarnhollow(show: Show) -> Show:
    """The Assize Hall, Tarnhollow: no wing on the right, one watch for the cart, a second pit camera."""
    return edited(
        show,
        {
            "/users/auto-right": None,
            "/devices/unit-auto-right": None,
            "/required/watch-auto-right": None,
            "/users/fly-4": None,
            "/devices/unit-fly-4": None,
            "/users/cam-2/name": "Camera 2, Pit Left",
            "/users/deck-4/channels/auto/number": 3,
            "/users/deck-4/channels/props": {"number": 2, "talk": "latch"},
            "/devices/unit-deck-4/keys/A2": "props",
            "/circuits/house-ring/name": "Assize Hall ring A",
            "/bridges/spot-booth": None,
            "/circuits/booth-ring": None,
            "/notes": show.head.notes.replace("Skerrowby: hemp house, four on the rail.\n", "")
            + "Tarnhollow: no wing on the right, the cart parks left.\n",
        },
    )


def at_velmoor(show: Show) -> Show:
    """The Old Granary, Velmoor: spots on a bridge over the house, a wing on the right again."""
    started = production()
    return edited(
        show,
        {
            "/users/auto-right": get(started, ("users", "auto-right")),
            "/devices/unit-auto-right": get(started, ("devices", "unit-auto-right")),
            "/required/watch-auto-right": get(started, ("required", "watch-auto-right")),
            "/bridges/spot-booth": get(started, ("bridges", "spot-booth")),
            "/circuits/booth-ring": {**get(started, ("circuits", "booth-ring")), "name": "Granary bridge line"},
            "/groups/spots/label": "BRIDGE",
            "/users/lx-desk/channels/spots/level": 3,
            "/users/spot-3/name": "Follow Spot 3, Bridge",
            "/devices/unit-spot-3/place": "Bridge",
            "/devices/unit-dsm/keys/A2": get(show, ("devices", "unit-dsm", "keys", "A3")),
            "/devices/unit-dsm/keys/A3": get(show, ("devices", "unit-dsm", "keys", "A2")),
            "/notes": show.head.notes.replace("Tarnhollow: no wing on the right, the cart parks left.\n", "")
            + "Velmoor: the spot bridge is reached through the house, allow ten minutes.\n",
        },
    )


def at_brinemouth(show: Show) -> Show:
    """The Tide House, Brinemouth: powered flying beside the rail, the pit under the stage."""
    return edited(
        show,
        {
            "/groups/spots/label": "SPOTS",
            "/users/fly-3/name": "Fly Cue 3, Winch Desk",
            "/users/fly-3/channels/auto": {"number": 3, "talk": "momentary", "listen": "always", "priority": "high"},
            "/devices/unit-fly-3/kind": "pack-4",
            "/devices/unit-fly-3/keys/A2": "auto",
            "/devices/unit-fly-3/keys/A4": "alarm",
            "/required/winch-auto": {
                "from": "fly-3",
                "to": "auto-op",
                "both": True,
                "why": "winch and cart share the left track",
            },
            "/circuits/house-ring/name": "Tide House line 1",
            "/bridges/pit-link/kind": "audio-network",
            "/users/md/channels/cue/listen": "always",
            "/notes": show.head.notes.replace(
                "Velmoor: the spot bridge is reached through the house, allow ten minutes.\n", ""
            )
            + "Brinemouth: winches and rail together, the winch desk is on AUTO.\n",
        },
    )


STOPS = (
    Step("touring engineer", "Skerrowby: four on the rail, house lines renamed", at_skerrowby, "skerrowby"),
    Step("touring engineer", "Tarnhollow: no wing right, one watch, no spot booth line", at_tarnhollow, "tarnhollow"),
    Step("touring engineer", "Velmoor: spots on the bridge, right wing back", at_velmoor, "velmoor"),
    Step("touring engineer", "Brinemouth: winch desk beside the rail", at_brinemouth, "brinemouth"),
)
"""The four towns, each made from the plot of the one before."""


# --- two engineers at once -------------------------------------------------------------------------------------------


def of_the_deck_engineer(show: Show) -> Show:
    """Clears the cue group of everybody on the rail, and plots what the deck asked for."""
    values: dict[str, Any] = {
        # Clashes: channel 18 of the stage manager, the talk of the deputy, the house radio under its own id.
        "/users/sm/channels/dock": {"number": 18, "talk": "momentary"},
        "/users/dsm/channels/lx/talk": "momentary",
        "/groups/house-radio": {"name": "House Radio", "label": "RADIO", "tags": ["house"]},
        "/users/carp/channels/house-radio": {"number": 5, "talk": "momentary"},
        "/users/tech/channels/house-radio": {"number": 4, "talk": "momentary"},
        # Agrees with the other side, word for word.
        "/groups/ward/label": "WARDROBE",
        # Goes together with the other side.
        "/groups/stage/tags": sorted([*show.groups["stage"].tags, "deck"]),
        "/users/carp/channels/dock/number": 6,
        "/users/deck-1/name": "Deck 1, Cart",
        "/notes": "Deck: the cart has its own page of keys from tonight.\n" + show.head.notes,
    }
    # "They hear every cue on FLY anyhow": true for as long as the stage manager is on FLY.
    for user in show.users:
        if user.startswith("fly-") and "cue" in show.users[user].channels:
            values[f"/users/{user}/channels/cue"] = None
            for key, channel in show.devices[f"unit-{user}"].keys.items():
                if channel == "cue":
                    values[f"/devices/unit-{user}/keys/{key}"] = None
    return edited(show, values)


def of_the_front_of_house_engineer(show: Show) -> Show:
    """Tidies the stage manager's panel, and plots what the house asked for."""
    fly_keys = [key for key, channel in show.devices["unit-sm"].keys.items() if channel == "fly"]
    return edited(
        show,
        {
            "/users/sm/channels/sec": {"number": 18, "talk": "momentary"},
            "/users/dsm/channels/lx/talk": "dual",
            "/groups/radio-house": {"name": "House radio", "label": "HSE RAD"},
            "/users/house/channels/radio-house": {"number": 6, "talk": "momentary"},
            "/users/medic/channels/radio-house": {"number": 4, "talk": "momentary"},
            "/groups/ward/label": "WARDROBE",
            "/groups/stage/tags": sorted([*show.groups["stage"].tags, "show"]),
            "/users/carp/channels/dock/talk": "momentary",
            "/users/foh-circle/label": "UPPER",
            # "The rail hears the stage manager on CUE": true for as long as the rail is on CUE.
            "/users/sm/channels/fly": None,
            **{f"/devices/unit-sm/keys/{key}": "sec" for key in fly_keys},
            "/notes": show.head.notes + "House: security asked for a key on the prompt panel.\n",
        },
    )


DECK = Step(
    "deck engineer", "Rail off the cue group, dock key for the stage manager, house radio", of_the_deck_engineer
)
FRONT_OF_HOUSE = Step(
    "front-of-house engineer",
    "Security key for the stage manager, house radio, doors renamed",
    of_the_front_of_house_engineer,
)
"""Two edits of the same plot, made at the same time; neither alone takes a required path away."""


# --- a bad night, and what was good in it ----------------------------------------------------------------------------


def bad_edit(show: Show) -> Show:
    """A hurried tidy-up: what looks unused is silenced, and with it the watch that stops the cart."""
    return edited(
        show,
        {
            "/users/auto-op/channels/auto/listen": "none",
            "/users/auto-op/channels/fly/listen": "none",
            "/users/pyro-op/channels/cue/listen": "none",
            "/users/pyro-watch/channels/pyro/talk": "none",
            "/users/spot-1/channels/cue/listen": "none",
            "/users/spot-2/channels/cue/listen": "none",
            "/users/spot-3/channels/cue/listen": "none",
        },
    )


def spare_for_the_pit(show: Show) -> Show:
    """A spare goes to the second camera, which had lost its pack."""
    return edited(
        show,
        {
            "/devices/unit-cam-2/hardware": get(show, ("devices", "spare-2", "hardware")),
            "/devices/spare-2": None,
            "/accepted/spare-2": None,
        },
    )


def louder_for_the_watch(show: Show) -> Show:
    """The watch asked for more level, the automation desk for its own name on the strip."""
    return edited(
        show,
        {
            "/users/auto-left/channels/auto/level": 6,
            "/users/auto-op/label": "CART",
            "/users/auto-op/channels/auto/level": 3,
        },
    )


BAD = Step("front-of-house engineer", "Tidied up listens nobody uses", bad_edit)
GOOD_AFTER = (
    Step("deck engineer", "Spare pack to camera 2", spare_for_the_pit),
    Step("deck engineer", "More level for the cart watch, CART on the strip", louder_for_the_watch),
)
"""Recorded after the bad edit; a rollback of that one keeps these."""
