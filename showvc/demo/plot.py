"""The plot of The Salt Road, as data: who and what there is, and what must be so.

Titles, names, units, sizes and addresses are invented. Positions, groups and how they talk are common practice, no
source.
"""

from __future__ import annotations

from typing import Any

Tree = dict[str, Any]

TITLE = "The Salt Road"
KINDS = {
    "rack-12": {"keys": 12, "pages": 3, "label": 8, "needs": {"watts": 14}},
    "belt-3": {"keys": 3, "label": 6, "needs": {"slots": 1}},
    "wall-6": {"keys": 6, "label": 6, "menu": False, "needs": {"watts": 6}},
    "gate-3": {"ports": 3, "needs": {"watts": 12}},
}
NOTES = """\
First plot for the rehearsal room.
Intercom is not an emergency stop. Line-check every position on headset before the show.
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
    "truck": ("Recording Truck", "TRUCK", "show"),
    "foyer": ("Foyer Announcements", "FOYER", "house"),
    "show-relay": ("Show Relay", "RELAY", "show"),
}
CRITICAL = frozenset({"fly", "rig", "auto", "pyro"})

# id: name | label | department | kind of device, `port` for an entry that is no person; then the channels in the
# order of their numbers: target, talk, and where not the default, listen and level in dB. A line has no number.
POSITIONS = """\
sm: Stage Manager | SM | stage management | rack-12
    cue latch always, lx latch, fly momentary always, spots latch, snd latch, auto momentary always,
    pyro momentary always, stage latch, video latch, band momentary, foh momentary, calls momentary none,
    dsm momentary, asm-left momentary, asm-right momentary, rig momentary, truck momentary always, paging momentary
dsm: Deputy Stage Manager | DSM | stage management | desk-8
    cue latch always, lx latch, fly momentary always, stage latch, calls momentary none, sm momentary, props latch
asm-left: Assistant Stage Manager, Left | ASM L | stage management | pack-4
    stage latch always, sm momentary, props latch
asm-right: Assistant Stage Manager, Right | ASM R | stage management | pack-4
    stage latch always, sm momentary, ward latch
lx-desk: Lighting Desk | LX DESK | lighting | desk-8
    lx latch always, cue momentary always, spots latch, sm momentary, video momentary
lx-chief: Chief Electrician | LX CHIEF | lighting | pack-4
    lx latch always, rig momentary, stage none
lx-floor-1: Lighting Floor, Left | LX 1 | lighting | belt-3
    lx latch always, stage none
lx-floor-2: Lighting Floor, Right | LX 2 | lighting | belt-3
    lx latch always, stage none
spot-1: Follow Spot 1 | SPOT 1 | lighting | pack-2
    spots latch always, cue none always
spot-2: Follow Spot 2 | SPOT 2 | lighting | pack-2
    spots latch always, cue none always
spot-3: Follow Spot 3 | SPOT 3 | lighting | pack-2
    spots latch always, cue none always
snd-desk: Sound Desk | SND DESK | sound | panel-16
    snd latch always, mics latch, cue momentary always, band latch, video momentary, sm momentary, foh momentary,
    truck momentary always
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
rig-1: Rigger, Grid | RIG 1 | rigging | belt-3
    rig momentary always, fly momentary always
auto-op: Automation Desk | AUTO OP | automation | desk-8
    auto momentary always, cue momentary always, fly momentary always, stage latch, sm momentary
auto-left: Automation Watch, Left | WATCH L | automation | belt-3
    auto momentary always, stage none
auto-right: Automation Watch, Right | WATCH R | automation | belt-3
    auto momentary always, stage none
pyro-op: Pyro Desk | PYRO OP | effects | pack-4
    pyro momentary always, cue none always, sm momentary
pyro-watch: Pyro Watch | PYRO W | effects | pack-2
    pyro momentary always, sm momentary
carp: Master Carpenter | CARP | stage | pack-4
    stage latch always, dock momentary, rig momentary, fly momentary always
deck-1: Deck 1, Left | DECK 1 | stage | belt-3
    stage latch always, auto none
deck-2: Deck 2, Left | DECK 2 | stage | belt-3
    stage latch always, auto none
deck-3: Deck 3, Right | DECK 3 | stage | belt-3
    stage latch always, auto none
deck-4: Deck 4, Right | DECK 4 | stage | belt-3
    stage latch always, auto none
dock-1: Dock Chief | DOCK 1 | stage | pack-4
    dock momentary always, stage latch, prod momentary
props-head: Head of Properties | PROPS HD | props | pack-4
    props latch always, stage latch, asm-left momentary
props-1: Properties, Right | PROPS 1 | props | belt-3
    props latch always, stage none
ward-head: Head of Wardrobe | WARD HD | wardrobe | pack-4
    ward latch always, calls none always, mics momentary, show-relay none
dresser-1: Quick Change, Left | QC L | wardrobe | belt-3
    ward latch always, stage none
dresser-2: Quick Change, Right | QC R | wardrobe | belt-3
    ward latch always, stage none
wigs: Head of Wigs | WIGS | wardrobe | pack-2
    ward latch always, calls none always, show-relay none
md: Musical Director | MD | music | desk-8
    band latch always, sm momentary always, snd momentary, cue none
keys-2: Second Keyboard | KEYS 2 | music | pack-2
    band latch always, md momentary
band-steward: Orchestra Steward | BAND ST | music | pack-4
    band latch always, calls none always, foh momentary
house: House Manager | HOUSE | house | desk-8
    foh latch always, sm momentary always, sec momentary, calls none, fire-post momentary,
    foyer momentary none, paging momentary
foh-left: Stalls Doors | DOORS | house | wall-6
    foh latch always, sec momentary
foh-circle: Circle Doors | CIRCLE | house | wall-6
    foh latch always, sec momentary
medic: House Medic | MEDIC | house | pack-4
    foh latch always, sec momentary, house momentary
prod-mgr: Production Manager | PM | production | desk-8
    prod latch always, stage latch, rig momentary, dock momentary, sm momentary, tech momentary
tech: Technical Manager | TECH | production | pack-4
    prod latch always, stage latch, prod-mgr momentary
comms: Intercom Engineer | COMMS | sound | rack-12
    prod latch, stage latch, cue latch, fly none always, lx latch, snd latch, foh latch, sm momentary, house momentary,
    truck none
fire-post: Fire Post | FIRE | house | port
    sec open always, house open none
"""

# What the show's system takes: a small one, hired for the tour.
LIMITS = {"targets": 180, "devices": 90, "channels": 24, "label": 8, "floor": -40}
LINES = {
    "alarm": {"name": "Stop and stand clear", "label": "ALARM", "critical": True},
    "paging": {"name": "Backstage paging", "label": "PAGE"},
}

# --- what is outside, and what everything hangs on ---

# id: name, who stands behind it, and what is so of it.
CIRCUITS: dict[str, tuple[str, str, Tree]] = {
    "house-ring": ("House party line, ring A", "ushers and the box office", {"speaks": True, "carries": True}),
    "booth-ring": ("Spot booth line, ring B", "the house's own spot crew", {"speaks": True, "carries": True}),
    "pit": ("Pit talkback", "players with a loudspeaker in the pit", {"speaks": True}),
    "rooms": ("Dressing room loudspeakers", "the cast in their rooms", {}),
    "paging-horns": ("Backstage loudspeakers", "everybody behind the curtain", {}),
    "foyer-speakers": ("Foyer loudspeakers", "the audience in the foyers", {"public": True}),
    "stage-mics": ("Show relay microphones", "the stage, as it is picked up", {"hears": False, "speaks": True}),
    "recording-truck": ("Recording truck talkback", "the recording engineer and the assistant", {"speaks": True}),
    "dock-base": ("Dock radio base", "loaders and drivers on the ramp", {"speaks": True, "one-at-a-time": True}),
    "fire-base": ("Fire post radio", "the fire officer on watch", {"speaks": True, "one-at-a-time": True}),
}
# id: what it runs over, unit, port, target, circuit, direction; and the bridge that it stands by for.
BRIDGES = {
    "house-line": ("two-wire", "if-01", 1, "foh", "house-ring", "both"),
    "spot-booth": ("two-wire", "if-01", 2, "spots", "booth-ring", "both"),
    "pit-link": ("four-wire", "if-02", 1, "band", "pit", "both"),
    "dock-radio": ("radio", "if-02", 2, "dock", "dock-base", "both"),
    "fire-radio": ("radio", "if-02", 3, "fire-post", "fire-base", "both"),
    "house-line-spare": ("four-wire", "if-02", 4, "foh", "house-ring", "both", "house-line"),
    "relay": ("audio-network", "if-03", 1, "calls", "rooms", "out"),
    "paging-out": ("audio-network", "if-03", 2, "paging", "paging-horns", "out"),
    "truck-main": ("audio-network", "if-03", 3, "truck", "recording-truck", "both"),
    "foyer-out": ("audio-network", "if-04", 1, "foyer", "foyer-speakers", "out"),
    "stage-mics-in": ("audio-network", "if-04", 2, "show-relay", "stage-mics", "in"),
    "truck-second": ("audio-network", "if-04", 3, "truck", "recording-truck", "both"),
}
# id: name, kind, place, what it hangs on.
INTERFACES: dict[str, tuple[str, str, str, list[str]]] = {
    "if-01": ("Rack A, two-wire", "ports-2", "Comms rack", ["deck-ups"]),
    "if-02": ("Rack A, four-wire", "ports-4", "Comms rack", ["deck-ups"]),
    "if-03": ("Rack A, network", "gate-3", "Comms rack", ["deck-switch"]),
    "if-04": ("Rack B, network", "gate-3", "Sound position", ["house-switch"]),
}
CARRIERS: Tree = {
    "deck-ups": {"name": "Battery supply, comms rack"},
    "house-ups": {"name": "Battery supply, sound position"},
    "deck-switch": {"name": "Deck switch", "gives": {"watts": 80}, "on": ["deck-ups"]},
    "house-switch": {"name": "House switch", "gives": {"watts": 60}, "on": ["house-ups"]},
    "deck-antenna": {"name": "Deck antenna", "gives": {"slots": 14}, "on": ["deck-switch"]},
    "grid-antenna": {"name": "Grid antenna", "gives": {"slots": 14}, "on": ["house-switch"]},
}
# What hangs on something: a kind's units, or those of single users. An inner list is alternatives.
ON_KIND: Tree = {"belt-3": [["deck-antenna", "grid-antenna"]], "wall-6": ["house-switch"]}
ON_USER: Tree = {"sm": [["deck-switch", "house-switch"]], "comms": ["deck-switch"]}
SPARES: Tree = {
    "spare-1": {"name": "Spare pack, case 4", "kind": "pack-4", "place": "Case 4"},
    "spare-2": {"name": "Spare pack, case 4", "kind": "pack-2", "place": "Case 4"},
    "spare-3": {"name": "Spare pack, case 5", "kind": "pack-4", "away": "at repair, back on 2026-12-11"},
    "belt-comms": {
        "name": "Intercom Engineer belt", "kind": "belt-3", "user": "comms", "keys": {"A1": "stage", "A2": "cue"},
        "on": ON_KIND["belt-3"], "lent": {"to": "the guest choir", "until": "2026-12-04"},
    },
}  # fmt: skip

# --- what must be so ---

REQUIRED: Tree = {
    "sm-fly": {"from": "sm", "to": "fly-head", "both": True, "why": "fly cues are called and stopped here"},
    "sm-fly-1": {"from": "sm", "to": "fly-1", "why": "the header flies over the quick change"},
    "rail": {
        "from": "fly-head", "to": "department:flys", "over": "fly", "at-least": 3,
        "why": "the header takes three on the rail",
    },
    "rail-rig": {"from": "rig-head", "to": "fly", "over": "fly", "why": "nobody on the grid while the rail moves"},
    "sm-auto": {"from": "sm", "to": "auto-op", "both": True, "why": "the salt cart moves on this call"},
    "watch-auto": {"from": "auto-left", "to": "auto-op", "why": "the watch stops the cart"},
    "watch-auto-right": {"from": "auto-right", "to": "auto-op", "why": "the watch stops the cart"},
    "watch-alarm": {
        "from": "department:automation", "to": "everyone", "over": "alarm",
        "why": "who sees the cart run away clears the stage",
    },
    "sm-pyro": {"from": "sm", "to": "pyro-op", "both": True, "why": "armed and made safe on this call"},
    "sm-house": {"from": "sm", "to": "house", "both": True, "why": "clearance and show stop"},
    "house-fire": {"from": "house", "to": "fire-base", "both": True, "why": "the house calls the fire officer first"},
    "house-foyer": {"from": "house", "to": "foyer-speakers", "over": "foyer", "why": "the audience is called in"},
    "loaders": {"from": "dock-1", "to": "dock-base", "why": "the ramp is cleared on this call"},
    "sm-truck": {
        "from": "sm", "to": "recording-truck", "both": True, "ways": 2,
        "why": "the recording starts and stops on this call",
    },
}  # fmt: skip
APART: Tree = {
    "audience": {
        "from": "department:stage management", "to": "foyer-speakers", "why": "the audience hears no show call",
    },
    "cast": {"from": "fly", "to": "rooms", "over": "fly", "why": "the cast does not hear what flies over it"},
}  # fmt: skip
STANDARDS: Tree = {
    "spots-on-cue": {
        "for": "users/spot-*", "where": {"department": "lighting"},
        "must": {"channels/cue/listen": "always", "channels/spots/listen": "always"},
        "why": "a spot that switches off misses its cue",
    },
    "rail-sure": {
        "for": "users/fly-*", "must": {"channels/fly/listen": "always", "channels/fly/priority": "high"},
        "severity": "block", "why": "a stop on the rail is heard by the whole rail",
    },
}  # fmt: skip
# `facts` are the digest that `check` prints: an acceptance ends where what was accepted changes.
ACCEPTED: Tree = {
    "spare-1": {
        "rule": "device-without-user", "at": "/devices/spare-1", "facts": "1771a781",
        "why": "a spare, given out on the night",
    },
    "spare-2": {
        "rule": "device-without-user", "at": "/devices/spare-2", "facts": "76b04bb8",
        "why": "a spare, given out on the night",
    },
    "spare-3": {
        "rule": "device-without-user", "at": "/devices/spare-3", "facts": "2b68af4c",
        "why": "a spare, given out on the night",
    },
    "house-fire": {
        "rule": "required-unsure", "at": "/required/house-fire", "facts": "ab55bf73",
        "why": "a radio, one at a time; called again until it answers",
    },
    "loaders": {
        "rule": "required-unsure", "at": "/required/loaders", "facts": "0f8c9129",
        "why": "a radio, one at a time; no truck moves before it answers",
    },
}  # fmt: skip
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
