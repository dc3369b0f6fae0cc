"""Worked cases of merging, as a table: what was there before, what mine did, what incoming did, and what comes of it.

Every side is written as edits, pointer to value, on one small show. Where the sides clash, the whole sentence that
the engineer reads stands in the table: it is part of what is specified.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from showvc.document import Show, show_from_tree
from showvc.document.editing import ABSENT, put
from showvc.document.pointers import parse

Edits = Mapping[str, Any]
GONE = ABSENT

SMALL = show_from_tree(
    {
        "title": "The Salt Road",
        "limits": {"targets": 10, "devices": 6, "channels": 6, "label": 8},
        "lines": {"alarm": {"label": "ALARM", "critical": True}, "paging": {"label": "PAGE"}, "relay": {}},
        "required": {"sm-fly": {"from": "sm", "to": "fly", "why": "fly cues are called here"}},
        "notes": "Load-in at eight.\nCheck the fly rail on headset.\nSpare packs are in case 4.\nThe bus leaves at one.\n",
        "groups": {
            "fly": {"name": "Fly Rail", "label": "FLY", "critical": True, "tags": ["rig", "stage"]},
            "lx": {"name": "Lighting", "label": "LX"},
            "snd": {"name": "Sound", "label": "SND"},
            "stage": {"name": "Stage Crew", "label": "STAGE"},
        },
        "users": {
            "sm": {
                "name": "Stage Manager",
                "label": "SM",
                "department": "stage",
                "channels": {
                    "lx": {"number": 1, "talk": "latch"},
                    "fly": {"number": 2, "talk": "momentary", "listen": "always"},
                    "snd": {"number": 3, "talk": "latch"},
                    "asm": {"number": 4, "talk": "momentary"},
                },
                "lines": {"alarm": {"talk": "momentary"}},
            },
            "asm": {
                "name": "Assistant Stage Manager",
                "label": "ASM",
                "department": "stage",
                "channels": {"snd": {"number": 1, "talk": "latch"}, "stage": {"number": 2, "talk": "latch"}},
            },
            "fly-1": {
                "name": "Fly Cue",
                "label": "FLY 1",
                "department": "fly",
                "channels": {"fly": {"number": 1, "talk": "momentary", "listen": "always"}},
            },
            "lx-op": {
                "name": "Lighting Desk",
                "label": "LX OP",
                "department": "lighting",
                "channels": {"lx": {"number": 1, "talk": "latch", "listen": "always"}},
            },
        },
        "devices": {
            "desk-01": {
                "name": "Prompt desk",
                "kind": "desk-8",
                "user": "sm",
                "hardware": "02-00-5E-10-00-01",
                "keys": {"A1": "lx", "A2": "fly", "A3": "snd", "A8": "alarm"},
            },
            "pack-01": {"kind": "pack-4", "user": "asm", "keys": {"A1": "snd"}},
            "pack-02": {"kind": "pack-4", "user": "fly-1", "keys": {"A1": "fly"}},
            "pack-03": {"name": "Spare pack", "kind": "pack-4"},
            "if-01": {"name": "Rack interface", "kind": "ports-4"},
        },
        "circuits": {
            "house-a": {"name": "House party line A", "hears": True, "speaks": True, "carries": True},
            "radio-base": {"name": "Radio base", "hears": True, "speaks": True, "carries": True},
            "tape": {"name": "Tape return", "hears": True, "speaks": True, "carries": True},
            "town": {"name": "Town line", "hears": True, "speaks": True, "carries": True},
            "tie": {"name": "Tie line", "hears": True, "speaks": True, "carries": True},
        },
        "bridges": {
            "party-line": {
                "kind": "two-wire",
                "device": "if-01",
                "port": 1,
                "target": "lx",
                "circuit": "house-a",
            },
            "radio": {"kind": "radio", "device": "if-01", "port": 2, "target": "snd", "circuit": "radio-base"},
        },
    }
)


@dataclass(frozen=True)
class Clash:
    """A conflict that is expected: its kind, its places, and the sentence that a person reads."""

    kind: str
    paths: tuple[str, ...]
    says: str


@dataclass(frozen=True)
class Case:
    """`result` are the edits on before that make the merged show; not given, they are all those of both sides.

    With `clashes` there is no result yet: `if_mine` and `if_incoming` are what comes of taking that side for all of
    them; not given, it is that side's edits alone. `problems` are (side, code, path).
    """

    name: str
    mine: Edits
    incoming: Edits
    result: Edits | None = None
    before: Edits = field(default_factory=dict)
    clashes: tuple[Clash, ...] = ()
    if_mine: Edits | None = None
    if_incoming: Edits | None = None
    problems: tuple[tuple[str, str, str], ...] = ()
    why: str = ""
    """The reason that an engineer would give."""

    @property
    def shows(self) -> tuple[Show, Show, Show]:
        """Before, mine and incoming."""
        before = edited(SMALL, self.before)
        return before, edited(before, self.mine), edited(before, self.incoming)

    @property
    def wanted(self) -> Show:
        return edited(self.shows[0], {**self.mine, **self.incoming} if self.result is None else self.result)

    def taken(self, side: str) -> Show:
        """The show after every conflict was settled by this side."""
        stated = self.if_mine if side == "mine" else self.if_incoming
        return edited(self.shows[0], stated if stated is not None else self.mine if side == "mine" else self.incoming)


def edited(show: Show, edits: Edits) -> Show:
    return put(show, {parse(path): value for path, value in edits.items()})


SND_GONE: Edits = {
    "groups/snd": GONE,
    "users/sm/channels/snd": GONE,
    "users/asm/channels/snd": GONE,
    "devices/desk-01/keys/A3": GONE,
    "devices/pack-01/keys/A1": GONE,
    "bridges/radio/target": "stage",
}
ASM_GONE: Edits = {
    "users/asm": GONE,
    "users/sm/channels/asm": GONE,
    "devices/pack-01/user": GONE,
    "devices/pack-01/keys/A1": GONE,
}
TWO_WAYS: Edits = {
    # SM reaches the fly rail on FLY and on STAGE: either is enough.
    "required": {"sm-fly": {"from": "sm", "to": "fly-1", "why": "fly cues are called here"}},
    "users/sm/channels/stage": {"number": 5, "talk": "latch"},
    "users/fly-1/channels/stage": {"number": 2, "talk": "none", "listen": "always"},
}

CLEAN = (
    # --- one rule, leaf by leaf
    Case("edited by one side alone", {}, {"groups/lx/name": "Lights"}),
    Case("both rename a group alike", {"groups/lx/name": "Lights"}, {"groups/lx/name": "Lights"}),
    Case("name here, label there", {"groups/lx/name": "Lights"}, {"groups/lx/label": "LIGHT"}),
    Case(
        "renumber on one side and talk mode on the other",
        {"users/sm/channels/lx/number": 5},
        {"users/sm/channels/lx/talk": "dual"},
    ),
    Case(
        "swap and edit",
        {"users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1},
        {"users/sm/channels/lx/level": -3, "users/sm/channels/snd/talk": "momentary"},
    ),
    Case(
        "both make the same swap",
        {"users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1},
        {"users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1},
    ),
    Case(
        "keys swapped here, a key plotted there",
        {"devices/desk-01/keys/A1": "fly", "devices/desk-01/keys/A2": "lx"},
        {"devices/desk-01/keys/A4": "asm"},
    ),
    Case(
        "both add different channels",
        {"users/sm/channels/stage": {"number": 5, "talk": "latch"}},
        {"users/sm/channels/fly-1": {"number": 6, "talk": "momentary"}},
    ),
    Case(
        "both add the same channel, each with a field of his own",
        {"users/sm/channels/stage": {"number": 5, "talk": "latch"}},
        {"users/sm/channels/stage": {"number": 5, "level": -6}},
        result={"users/sm/channels/stage": {"number": 5, "talk": "latch", "level": -6}},
    ),
    Case(
        "both add the same group, each with a field of his own",
        {"groups/pyro": {"name": "Pyro", "critical": True}},
        {"groups/pyro": {"name": "Pyro", "label": "PYRO", "tags": ["effects"]}},
        result={"groups/pyro": {"name": "Pyro", "label": "PYRO", "critical": True, "tags": ["effects"]}},
    ),
    Case("removed on one side, untouched on the other", {}, SND_GONE),
    Case("removed on both sides", SND_GONE, SND_GONE),
    Case(
        "a device handed over here, moved to another place there",
        {"devices/pack-02/user": "asm", "devices/pack-02/keys/A1": "stage"},
        {"devices/pack-02/place": "Fly floor"},
        problems=(("mine", "required-lost", "/required/sm-fly"),),  # FLY 1 has no other device
    ),
    Case(
        "a bridge made one-way here, tied to another group there",
        {"bridges/radio/direction": "in"},
        {"bridges/radio/target": "stage"},
    ),
    Case(
        "two new devices, one of each side",
        {"devices/pack-04": {"kind": "pack-2"}},
        {"devices/pack-05": {"kind": "pack-2"}},
        before={"limits/devices": 7},
    ),
    # --- sets, texts and what is only carried along
    Case(
        "tags from both",
        {"groups/fly/tags": ["rig", "stage", "tour"]},
        {"groups/fly/tags": ["night", "stage"]},
        result={"groups/fly/tags": ["night", "stage", "tour"]},
    ),
    Case(
        "notes edited in different lines",
        {"notes": "Load-in at nine.\nCheck the fly rail on headset.\nSpare packs are in case 4.\nThe bus leaves at one.\n"},
        {"notes": "Load-in at eight.\nCheck the fly rail on headset.\nSpare packs are in case 4.\nThe bus leaves at two.\n"},
        result={
            "notes": "Load-in at nine.\nCheck the fly rail on headset.\nSpare packs are in case 4.\nThe bus leaves at two.\n"
        },
    ),
    Case(
        "extra fields, one of each side",
        {"groups/lx/extra": {"row": 12, "colour": {"lamp": "amber"}}},
        {"groups/lx/extra": {"row": 11, "colour": {"lamp": "amber", "ring": "white"}}},
        before={"groups/lx/extra": {"row": 11, "colour": {"lamp": "amber"}}},
        result={"groups/lx/extra": {"row": 12, "colour": {"lamp": "amber", "ring": "white"}}},
    ),
    Case(
        "the reason of a required path here, both ways there",
        {"required/sm-fly/why": "every fly cue is called here"},
        {"required/sm-fly/both": True},
    ),
    Case(
        "a finding quietened on each side",
        {"accepted/one": {"rule": "user-without-device", "at": "/users/lx-op", "why": "wears the spare"}},
        {"accepted/two": {"rule": "device-without-user", "at": "/devices/pack-03", "why": "is the spare"}},
    ),
    # --- what looks like a clash, and is none
    Case(
        "the same hardware address in two spellings on one device",
        {"devices/pack-01/hardware": "02:00:5e:10:00:07"},
        {"devices/pack-01/hardware": "0200.5E10.0007"},
        result={"devices/pack-01/hardware": "02-00-5E-10-00-07"},
    ),
    Case(
        "a number that the other side has just made free",
        {"users/sm/channels/asm": GONE},
        {"users/sm/channels/stage": {"number": 5}},
    ),
    Case(
        "the last place below the limit, taken by one side alone",
        {"groups/pyro": {"name": "Pyro"}},
        {"groups/lx/name": "Lights"},
    ),
    Case(
        "a list as long as the limit allows, one channel of each side",
        {"users/sm/channels/stage": {"number": 5}},
        {"users/sm/channels/lx-op": {"number": 6}},
    ),
    Case(
        "one of two ways to the fly rail taken",
        {"users/sm/channels/fly/talk": "none"},
        {"users/sm/channels/stage/level": -3},
        before=TWO_WAYS,
    ),
    # --- what was wrong on one side already is that side's problem
    Case(
        "a key at a channel that the user never had, on mine alone",
        {"devices/pack-01/keys/A2": "lx"},
        {"groups/lx/name": "Lights"},
        problems=(("mine", "key-to-nothing", "/devices/pack-01/keys/A2"),),
    ),
    Case(
        "one number given twice, on incoming alone",
        {"groups/lx/name": "Lights"},
        {"users/sm/channels/stage": {"number": 4}},
        problems=(("incoming", "number-twice", "/users/sm/channels/asm/number"),),
    ),
    Case(
        "dangling from the beginning",
        {"groups/lx/name": "Lights"},
        {"groups/lx/label": "LIGHT"},
        before={"bridges/radio/target": "band"},
        problems=(("both", "bridge-to-nothing", "/bridges/radio/target"),),
    ),
    Case(
        "one device too many on either side is no matter of the sum",
        {"devices/pack-04": {"kind": "pack-2"}},
        {"devices/pack-05": {"kind": "pack-2"}},
        before={"limits/devices": 5},
        problems=(("both", "too-many-devices", "/limits/devices"),),
    ),
)  # fmt: skip


def back(edits: Edits, *places: str) -> Edits:
    """The edits without these."""
    return {path: value for path, value in edits.items() if path not in places}


TAPE = {"kind": "four-wire", "device": "if-01", "port": 3, "target": "snd", "circuit": "tape"}
TOWN = {"kind": "four-wire", "device": "if-01", "port": 3, "target": "stage", "circuit": "town"}
TIE_LX = {"kind": "four-wire", "device": "if-02", "port": 1, "target": "lx", "circuit": "tie"}

CLASHING = (
    # --- both-changed
    Case(
        "both rename a group differently",
        {"groups/lx/name": "Lights"},
        {"groups/lx/name": "Electrics"},
        clashes=(
            Clash(
                "both-changed",
                ("/groups/lx/name",),
                "group LX (Lighting), name: mine says 'Lights', incoming says 'Electrics'; it was 'Lighting'",
            ),
        ),
    ),
    Case(
        "both give the show another title",
        {"title": "The Salt Road, winter"},
        {"title": "The Salt Road, spring"},
        clashes=(
            Clash(
                "both-changed",
                ("/title",),
                "title: mine says 'The Salt Road, winter', incoming says 'The Salt Road, spring'; it was 'The Salt Road'",
            ),
        ),
    ),
    Case(
        "both renumber a channel",
        {"users/sm/channels/lx/number": 5},
        {"users/sm/channels/lx/number": 6},
        clashes=(
            Clash(
                "both-changed",
                ("/users/sm/channels/lx/number",),
                "user SM (Stage Manager), channel LX, number: mine says 5, incoming says 6; it was 1",
            ),
        ),
    ),
    Case(
        "both change a talk mode",
        {"users/sm/channels/lx/talk": "dual"},
        {"users/sm/channels/lx/talk": "open"},
        clashes=(
            Clash(
                "both-changed",
                ("/users/sm/channels/lx/talk",),
                "user SM (Stage Manager), channel LX, talk: mine says dual, incoming says open; it was latch",
            ),
        ),
    ),
    Case(
        "a swap against a move of one of the two",
        {"users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1},
        {"users/sm/channels/lx/number": 6},
        clashes=(
            Clash(
                "both-changed",
                ("/users/sm/channels/lx/number", "/users/sm/channels/snd/number"),
                "user SM (Stage Manager), channel LX, channel SND: changed on both sides. Mine moved LX to channel 3 of SM and moved SND to channel 1 of SM; incoming moved LX to channel 6 of SM. These belong together",
            ),
        ),
    ),
    Case(
        "both add one channel, on two numbers",
        {"users/sm/channels/stage": {"number": 5}},
        {"users/sm/channels/stage": {"number": 6}},
        clashes=(
            Clash(
                "both-changed",
                ("/users/sm/channels/stage/number",),
                "user SM (Stage Manager), channel STAGE, number: mine says 5, incoming says 6; there was nothing before",
            ),
        ),
    ),
    Case(
        "both add one group, named differently",
        {"groups/pyro": {"name": "Pyro"}},
        {"groups/pyro": {"name": "Flame", "critical": True}},
        clashes=(
            Clash(
                "both-changed",
                ("/groups/pyro/name",),
                "group Pyro, name: mine says 'Pyro', incoming says 'Flame'; there was nothing before",
            ),
        ),
        if_mine={"groups/pyro": {"name": "Pyro", "critical": True}},
    ),
    Case(
        "both raise a limit",
        {"limits/devices": 20},
        {"limits/devices": 30},
        clashes=(
            Clash("both-changed", ("/limits/devices",), "limit of devices: mine says 20, incoming says 30; it was 6"),
        ),
    ),
    Case(
        "both describe one kind",
        {"kinds/rack-panel": {"keys": 15, "pages": 2}},
        {"kinds/rack-panel": {"keys": 12, "pages": 2}},
        clashes=(
            Clash(
                "both-changed",
                ("/kinds/rack-panel/keys",),
                "kind rack-panel, keys: mine says 15, incoming says 12; there was nothing before",
            ),
        ),
    ),
    Case(
        "both label a line",
        {"lines/relay": {"label": "HELP"}},
        {"lines/relay": {"label": "ALARM"}},
        clashes=(
            Clash(
                "both-changed",
                ("/lines/relay/label",),
                "line relay, label: mine says 'HELP', incoming says 'ALARM'; there was nothing before",
            ),
        ),
    ),
    Case(
        "one spare pack given to two users",
        {"devices/pack-03/user": "asm"},
        {"devices/pack-03/user": "lx-op"},
        clashes=(
            Clash(
                "both-changed",
                ("/devices/pack-03/user",),
                "device pack-03 (Spare pack), user: mine says ASM, incoming says LX OP; there was nothing before",
            ),
        ),
    ),
    Case(
        "a key changed to two targets",
        {"devices/desk-01/keys/A3": "asm"},
        {"devices/desk-01/keys/A3": "fly"},
        clashes=(
            Clash(
                "both-changed",
                ("/devices/desk-01/keys/A3",),
                "device desk-01 (Prompt desk), key A3: mine says ASM, incoming says FLY; it was SND",
            ),
        ),
    ),
    Case(
        "one line of the notes rewritten twice",
        {"notes": SMALL.head.notes.replace("eight", "nine"), "groups/lx/name": "Lights"},
        {"notes": SMALL.head.notes.replace("eight", "ten")},
        clashes=(
            Clash(
                "both-changed",
                ("/notes",),
                "notes: both rewrote the same lines; mine has 'Load-in at nine.', incoming has 'Load-in at ten.'",
            ),
        ),
        if_incoming={"notes": SMALL.head.notes.replace("eight", "ten"), "groups/lx/name": "Lights"},
    ),
    Case(
        "extra, where 1 is not true",
        {"groups/lx/extra": {"row": 1}},
        {"groups/lx/extra": {"row": True}},
        clashes=(
            Clash(
                "both-changed",
                ("/groups/lx/extra/row",),
                "group LX (Lighting), extra, row: mine says 1, incoming says true; there was nothing before",
            ),
        ),
    ),
    # --- removed-and-changed
    Case(
        "a label taken off here, changed there",
        {"groups/lx/label": GONE},
        {"groups/lx/label": "LIGHT"},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/groups/lx/label",),
                "group LX (Lighting), label: mine removed it, incoming changed it (label is now LIGHT, was LX)",
            ),
        ),
    ),
    Case(
        "a key cleared here, changed there",
        {"devices/desk-01/keys/A3": GONE},
        {"devices/desk-01/keys/A3": "asm"},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/devices/desk-01/keys/A3",),
                "device desk-01 (Prompt desk), key A3: mine removed it, incoming changed it (key A3 is now ASM, was SND)",
            ),
        ),
    ),
    Case(
        "a pack taken off its user here, given to another there",
        {"devices/pack-01/user": GONE, "devices/pack-01/keys/A1": GONE},
        {"devices/pack-01/user": "sm"},
        clashes=(
            Clash(
                "both-changed",
                ("/devices/pack-01/keys/A1", "/devices/pack-01/user"),
                "device pack-01, key A1, user: changed on both sides. Mine cleared key A1 of device pack-01 and took device pack-01 off its user; incoming gave device pack-01 to SM. These belong together",
            ),
        ),
        why="the key goes with whoever wears the pack",
    ),
    Case(
        "a channel removed here, changed there",
        {"users/sm/channels/asm": GONE},
        {"users/sm/channels/asm/talk": "latch"},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/users/sm/channels/asm",),
                "user SM (Stage Manager), channel ASM: mine removed it, incoming changed it (ASM: talk is now latch, was momentary)",
            ),
        ),
    ),
    Case(
        "a device removed here, renamed there",
        {"devices/pack-03": GONE},
        {"devices/pack-03/name": "Deck pack"},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/devices/pack-03",),
                "device pack-03 (Spare pack): mine removed it, incoming changed it (name is now Deck pack, was Spare pack)",
            ),
        ),
    ),
    Case(
        "a group removed here, renamed there",
        SND_GONE,
        {"groups/snd/name": "Audio"},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/groups/snd",),
                "group SND (Sound): mine removed it, incoming changed it (name is now Audio, was Sound)",
            ),
        ),
        if_incoming={**back(SND_GONE, "groups/snd"), "groups/snd/name": "Audio"},
    ),
    Case(
        "a user removed here, given a channel there",
        ASM_GONE,
        {"users/asm/channels/lx": {"number": 3}},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/users/asm",),
                "user ASM (Assistant Stage Manager): mine removed it, incoming changed it (channel 3 is now LX)",
            ),
        ),
        if_incoming={**back(ASM_GONE, "users/asm"), "users/asm/channels/lx": {"number": 3}},
    ),
    Case(
        "a user removed with his pack here, the pack renamed there: he comes back with it",
        {**ASM_GONE, "devices/pack-01": GONE},
        {"devices/pack-01/name": "Deck pack"},
        clashes=(
            Clash(
                "removed-and-changed",
                ("/devices/pack-01",),
                "device pack-01: mine removed it, incoming changed it (name is now Deck pack, was nothing)",
            ),
        ),
        if_incoming={"users/sm/channels/asm": GONE, "devices/pack-01/name": "Deck pack"},
    ),
    # --- dangling: something points at what the other side removed
    Case(
        "a group removed, a new channel to it",
        SND_GONE,
        {"users/lx-op/channels/snd": {"number": 2, "talk": "latch"}},
        clashes=(
            Clash(
                "dangling",
                ("/users/lx-op/channels/snd", "/groups/snd"),
                "LX OP, channel 2: 'snd' is no group, user or line. Mine removed group SND (Sound); incoming put SND on channel 2 of LX OP",
            ),
        ),
        if_incoming={**back(SND_GONE, "groups/snd"), "users/lx-op/channels/snd": {"number": 2, "talk": "latch"}},
    ),
    Case(
        "a group removed, a new bridge to it",
        SND_GONE,
        {"bridges/tape": TAPE},
        clashes=(
            Clash(
                "dangling",
                ("/bridges/tape", "/groups/snd"),
                "bridge tape: target 'snd' is no group, user or line. Mine removed group SND (Sound); incoming added bridge tape (Tape return)",
            ),
        ),
        if_incoming={**back(SND_GONE, "groups/snd"), "bridges/tape": TAPE},
    ),
    Case(
        "a group removed, a bridge that moves to it",
        SND_GONE,
        {"bridges/party-line/target": "snd"},
        clashes=(
            Clash(
                "dangling",
                ("/bridges/party-line/target", "/groups/snd"),
                "bridge party-line: target 'snd' is no group, user or line. Mine removed group SND (Sound); incoming tied bridge party-line (House party line A) to SND",
            ),
        ),
        if_incoming={**back(SND_GONE, "groups/snd"), "bridges/party-line/target": "snd"},
    ),
    Case(
        "a group removed, a new required path to it: its channels come back with it",
        SND_GONE,
        {"required/asm-snd": {"from": "asm", "to": "snd", "why": "the band is called here"}},
        clashes=(
            Clash(
                "dangling",
                ("/required/asm-snd", "/groups/snd"),
                "required path asm-snd: to 'snd', which is no user, group, circuit or line. Mine removed group SND (Sound); incoming added required path asm-snd",
            ),
        ),
        if_incoming={
            **back(SND_GONE, "groups/snd", "users/sm/channels/snd", "users/asm/channels/snd"),
            "required/asm-snd": {"from": "asm", "to": "snd", "why": "the band is called here"},
        },
        before={"bridges/radio/target": "stage"},
    ),
    Case(
        "a group removed, a new required path to it: the talker and the circuit behind it come back with it",
        SND_GONE,
        {"required/asm-snd": {"from": "asm", "to": "snd", "why": "the band is called here"}},
        clashes=(
            Clash(
                "dangling",
                ("/required/asm-snd", "/groups/snd"),
                "required path asm-snd: to 'snd', which is no user, group, circuit or line. Mine removed group SND (Sound); incoming added required path asm-snd",
            ),
        ),
        if_incoming={
            **back(SND_GONE, "groups/snd", "bridges/radio/target", "users/asm/channels/snd"),
            "required/asm-snd": {"from": "asm", "to": "snd", "why": "the band is called here"},
        },
        why="one ear is enough for the path, and nobody asked for more",
    ),
    Case(
        "a user removed, a device that starts wearing him",
        ASM_GONE,
        {"devices/pack-03/user": "asm"},
        clashes=(
            Clash(
                "dangling",
                ("/devices/pack-03/user", "/users/asm"),
                "device pack-03 (Spare pack): user 'asm' is no user. Mine removed user ASM (Assistant Stage Manager); incoming gave device pack-03 (Spare pack) to ASM",
            ),
        ),
        if_incoming={**back(ASM_GONE, "users/asm"), "devices/pack-03/user": "asm"},
    ),
    Case(
        "a user removed, a new channel that calls him",
        ASM_GONE,
        {"users/fly-1/channels/asm": {"number": 2, "talk": "momentary"}},
        clashes=(
            Clash(
                "dangling",
                ("/users/fly-1/channels/asm", "/users/asm"),
                "FLY 1, channel 2: 'asm' is no group, user or line. Mine removed user ASM (Assistant Stage Manager); incoming put ASM on channel 2 of FLY 1",
            ),
        ),
        if_incoming={**back(ASM_GONE, "users/asm"), "users/fly-1/channels/asm": {"number": 2, "talk": "momentary"}},
    ),
    Case(
        "a channel removed, a key that starts to hold it",
        {"users/sm/channels/asm": GONE},
        {"devices/desk-01/keys/A4": "asm"},
        clashes=(
            Clash(
                "dangling",
                ("/devices/desk-01/keys/A4", "/users/sm/channels/asm"),
                "device desk-01 (Prompt desk), key A4: holds 'asm', but SM has no such channel. Mine took ASM off the list of SM; incoming put ASM under key A4 of device desk-01 (Prompt desk)",
            ),
        ),
    ),
    Case(
        "a pack handed to another user, a key of it plotted for the old one",
        {"devices/pack-02/user": "lx-op", "devices/pack-02/keys/A1": "lx"},
        {"devices/pack-02/keys/A2": "fly"},
        clashes=(
            Clash(
                "both-changed",
                ("/devices/pack-02/keys/A1", "/devices/pack-02/keys/A2", "/devices/pack-02/user"),
                "device pack-02, key A1, key A2, user: changed on both sides. Mine put LX under key A1 of device pack-02 and gave device pack-02 to LX OP; incoming put FLY under key A2 of device pack-02. These belong together",
            ),
        ),
        problems=(("mine", "required-lost", "/required/sm-fly"),),  # FLY 1 has no other device
        why="the key was meant for who wore the pack then",
    ),
    Case(
        "a kind removed, a new device of it",
        {"kinds/panel-15x2": GONE},
        {"devices/panel-01": {"kind": "panel-15x2"}},
        clashes=(
            Clash(
                "dangling",
                ("/devices/panel-01", "/kinds/panel-15x2"),
                "device panel-01: kind 'panel-15x2' is no kind that the show knows. Mine removed kind panel-15x2; incoming added device panel-01",
            ),
        ),
        before={"kinds/panel-15x2": {"keys": 15, "pages": 2}},
    ),
    Case(
        "an interface removed, a new bridge on it",
        {"devices/if-02": GONE},
        {"bridges/tape": {**TAPE, "device": "if-02", "port": 1}},
        clashes=(
            Clash(
                "dangling",
                ("/bridges/tape", "/devices/if-02"),
                "bridge tape: device 'if-02' is no device. Mine removed device if-02; incoming added bridge tape (Tape return)",
            ),
        ),
        before={"devices/if-02": {"kind": "ports-2"}},
    ),
    # --- double-booked
    Case(
        "both take one number",
        {"users/sm/channels/stage": {"number": 5}},
        {"users/sm/channels/lx-op": {"number": 5, "talk": "latch"}},
        clashes=(
            Clash(
                "double-booked",
                ("/users/sm/channels/lx-op", "/users/sm/channels/stage"),
                "SM: channel 5 is both LX OP and STAGE. Mine put STAGE on channel 5 of SM; incoming put LX OP on channel 5 of SM",
            ),
        ),
    ),
    Case(
        "one moves a channel to a number, the other plots a new one there",
        {"users/sm/channels/lx/number": 5},
        {"users/sm/channels/stage": {"number": 5}},
        clashes=(
            Clash(
                "double-booked",
                ("/users/sm/channels/lx/number", "/users/sm/channels/stage"),
                "SM: channel 5 is both LX and STAGE. Mine moved LX to channel 5 of SM; incoming put STAGE on channel 5 of SM",
            ),
        ),
    ),
    Case(
        "both move a channel to one number",
        {"users/sm/channels/lx/number": 5},
        {"users/sm/channels/snd/number": 5},
        clashes=(
            Clash(
                "double-booked",
                ("/users/sm/channels/lx/number", "/users/sm/channels/snd/number"),
                "SM: channel 5 is both LX and SND. Mine moved LX to channel 5 of SM; incoming moved SND to channel 5 of SM",
            ),
        ),
    ),
    Case(
        "an empty key given to two targets",
        {"devices/desk-01/keys/A4": "asm"},
        {"devices/desk-01/keys/A4": "fly"},
        clashes=(
            Clash(
                "double-booked",
                ("/devices/desk-01/keys/A4",),
                "device desk-01 (Prompt desk), key A4: mine says ASM, incoming says FLY; there was nothing before",
            ),
        ),
    ),
    Case(
        "one hardware address, in two spellings, for two devices",
        {"devices/pack-01/hardware": "02:00:5e:10:00:07"},
        {"devices/pack-02/hardware": "0200.5E10.0007"},
        clashes=(
            Clash(
                "double-booked",
                ("/devices/pack-01/hardware", "/devices/pack-02/hardware"),
                "device pack-01 and device pack-02: both have the hardware address 02-00-5E-10-00-07. Mine gave device pack-01 the address 02-00-5E-10-00-07; incoming gave device pack-02 the address 02-00-5E-10-00-07",
            ),
        ),
    ),
    Case(
        "one hardware address for two new devices",
        {"devices/pack-04": {"kind": "pack-2", "hardware": "02-00-5E-10-00-07"}},
        {"devices/pack-05": {"kind": "pack-2", "hardware": "02-00-5E-10-00-07"}},
        clashes=(
            Clash(
                "twin",
                ("/devices/pack-04", "/devices/pack-05"),
                "device pack-04 of mine (pack-04) and device pack-05 of incoming (pack-05) look like the same thing: one or two?",
            ),
        ),
        before={"limits/devices": 7},
        why="one address is one unit in the hand",
    ),
    # --- twin: one or two?
    Case(
        "both add the radio group, under two ids",
        {"groups/house-radio": {"name": "House Radio"}},
        {"groups/radio": {"name": "house radio"}},
        clashes=(
            Clash(
                "twin",
                ("/groups/house-radio", "/groups/radio"),
                "group House Radio of mine (house-radio) and group house radio of incoming (radio) look like the same thing: one or two?",
            ),
        ),
        why="two groups of one name are two half-empty groups on the night",
    ),
    Case(
        "both plug in the town's line, under two ids, to be heard only",
        {
            "bridges/town": {
                "kind": "four-wire",
                "device": "if-01",
                "port": 3,
                "target": "stage",
                "circuit": "town",
                "direction": "in",
            }
        },
        {
            "bridges/town-line": {
                "kind": "four-wire",
                "device": "if-01",
                "port": 4,
                "target": "stage",
                "circuit": "town",
                "direction": "in",
            }
        },
        clashes=(
            Clash(
                "twin",
                ("/bridges/town", "/bridges/town-line"),
                "bridge town (Town line) of mine (town) and bridge town-line (Town line) of incoming (town-line) look like the same thing: one or two?",
            ),
        ),
        why="one line has one plug",
    ),
    Case(
        "one port for two new bridges",
        {"bridges/tape": TAPE},
        {"bridges/town": TOWN},
        clashes=(
            Clash(
                "double-booked",
                ("/bridges/tape", "/bridges/town"),
                "device if-01 (Rack interface): port 3 is both bridge tape and bridge town. Mine added bridge tape (Tape return); incoming added bridge town (Town line)",
            ),
        ),
    ),
    Case(
        "both move a bridge to one port",
        {"bridges/radio/port": 3},
        {"bridges/party-line/port": 3},
        clashes=(
            Clash(
                "double-booked",
                ("/bridges/party-line/port", "/bridges/radio/port"),
                "device if-01 (Rack interface): port 3 is both bridge party-line and bridge radio. Mine moved bridge radio (Radio base) to port 3; incoming moved bridge party-line (House party line A) to port 3",
            ),
        ),
    ),
    # --- same-id
    Case(
        "one id as group here and as user there",
        {"groups/band": {"name": "Band"}},
        {"users/band": {"name": "Band Leader"}},
        clashes=(
            Clash(
                "same-id",
                ("/groups/band", "/users/band"),
                "band: both a group and a user. Mine added group Band; incoming added user Band Leader",
            ),
        ),
    ),
    # --- over-limit: each side keeps to it, the sum does not
    Case(
        "targets, by the sum",
        {"groups/band": {"name": "Band"}, "groups/video": {"name": "Video"}},
        {"users/md": {"name": "Musical Director"}},
        clashes=(
            Clash(
                "over-limit",
                ("/groups/band", "/groups/video", "/users/md"),
                "The Salt Road: 11 groups and users; the system takes 10. Mine added group Band and added group Video; incoming added user Musical Director",
            ),
        ),
    ),
    Case(
        "devices, by the sum",
        {"devices/pack-04": {"kind": "pack-2"}},
        {"devices/pack-05": {"kind": "pack-2"}},
        clashes=(
            Clash(
                "over-limit",
                ("/devices/pack-04", "/devices/pack-05"),
                "The Salt Road: 7 devices; the system takes 6. Mine added device pack-04; incoming added device pack-05",
            ),
        ),
    ),
    Case(
        "a limit lowered here, a device more there",
        {"limits/devices": 5},
        {"devices/pack-04": {"kind": "pack-2"}},
        clashes=(
            Clash(
                "over-limit",
                ("/limits/devices", "/devices/pack-04"),
                "The Salt Road: 6 devices; the system takes 5. Mine set the limit of devices to 5; incoming added device pack-04",
            ),
        ),
    ),
    Case(
        "channels of a list, by the sum",
        {"users/sm/channels/stage": {"number": 5}, "users/sm/channels/lx-op": {"number": 6}},
        {"users/sm/channels/fly-1": {"number": 6}},
        clashes=(
            Clash(
                "double-booked",
                ("/users/sm/channels/fly-1", "/users/sm/channels/lx-op"),
                "SM: channel 6 is both FLY 1 and LX OP. Mine put LX OP on channel 6 of SM; incoming put FLY 1 on channel 6 of SM",
            ),
            Clash(
                "over-limit",
                ("/users/sm/channels/fly-1", "/users/sm/channels/lx-op", "/users/sm/channels/stage"),
                "SM: 7 channels; a list takes 6. Mine put LX OP on channel 6 of SM and put STAGE on channel 5 of SM; incoming put FLY 1 on channel 6 of SM",
            ),
        ),
    ),
    Case(
        "a number that the other side's limit no longer allows",
        {"limits/channels": 4},
        {"users/sm/channels/lx/number": 5},
        clashes=(
            Clash(
                "over-limit",
                ("/users/sm/channels/lx/number", "/limits/channels"),
                "SM, LX: on channel 5; a list goes to 4. Mine set the limit of channels to 4; incoming moved LX to channel 5 of SM",
            ),
        ),
    ),
    Case(
        "keys, of a smaller kind",
        {"devices/pack-01/kind": "pack-2"},
        {"devices/pack-01/keys/A4": "stage"},
        clashes=(
            Clash(
                "over-limit",
                ("/devices/pack-01/keys/A4", "/devices/pack-01/kind"),
                "device pack-01: no key A4; kind pack-2 has 2 keys on 1 page. Mine changed device pack-01 to kind pack-2; incoming put STAGE under key A4 of device pack-01",
            ),
        ),
    ),
    Case(
        "keys, of a kind of the show's own",
        {"kinds/rack-panel/keys": 4},
        {"devices/panel-01/keys/A8": "stage"},
        clashes=(
            Clash(
                "over-limit",
                ("/devices/panel-01/keys/A8", "/kinds/rack-panel"),
                "device panel-01: no key A8; kind rack-panel has 4 keys on 1 page. Mine changed kind rack-panel; incoming put STAGE under key A8 of device panel-01",
            ),
        ),
        before={"kinds/rack-panel": {"keys": 8}, "devices/panel-01": {"kind": "rack-panel", "user": "asm"}},
    ),
    Case(
        "ports, of a smaller interface",
        {"devices/if-01/kind": "ports-2"},
        {"bridges/tape": TAPE},
        clashes=(
            Clash(
                "over-limit",
                ("/bridges/tape", "/devices/if-01/kind"),
                "bridge tape: no port 3 on device if-01 (Rack interface); kind ports-2 has 2 ports. Mine changed device if-01 (Rack interface) to kind ports-2; incoming added bridge tape (Tape return)",
            ),
        ),
    ),
    # --- path-lost: each side leaves one way, together they leave none
    Case(
        "a required path that loses one way on each side",
        {"users/sm/channels/fly/talk": "none"},
        {"users/fly-1/channels/stage/listen": "none"},
        clashes=(
            Clash(
                "path-lost",
                ("/users/fly-1/channels/stage/listen", "/users/sm/channels/fly/talk"),
                "SM -> FLY 1: lost, FLY 1 can't hear SM (required path sm-fly: fly cues are called here). Mine set talk of FLY on the list of SM to none; incoming set listen of STAGE on the list of FLY 1 to none",
            ),
        ),
        before=TWO_WAYS,
    ),
    Case(
        "a required path to a group that loses one listener on each side",
        {"users/fly-1/channels/fly/listen": "none"},
        {"users/fly-2/channels/fly": GONE},
        clashes=(
            Clash(
                "path-lost",
                ("/users/fly-1/channels/fly/listen", "/users/fly-2/channels/fly"),
                "SM -> group FLY: lost, sm alone is at both ends (required path sm-fly: fly cues are called here). Mine set listen of FLY on the list of FLY 1 to none; incoming took FLY off the list of FLY 2",
            ),
        ),
        before={
            "users/fly-2": {"label": "FLY 2", "channels": {"fly": {"number": 1, "listen": "always"}}},
            "devices/pack-04": {"kind": "pack-4", "user": "fly-2"},
        },
    ),
    Case(
        "a path required here, and cut there",
        {"required/blackouts": {"from": "asm", "to": "lx-op", "why": "blackouts are called here"}},
        {"users/asm/channels/lx-op": GONE},
        clashes=(
            Clash(
                "path-lost",
                ("/required/blackouts", "/users/asm/channels/lx-op"),
                "ASM -> LX OP: lost, LX OP can't hear ASM (required path blackouts: blackouts are called here). Mine added required path blackouts; incoming took LX OP off the list of ASM",
            ),
        ),
        before={
            "users/asm/channels/lx-op": {"number": 3, "talk": "latch"},
            "devices/pack-03/user": "lx-op",
        },
    ),
    Case(
        "a required path with a second way over two bridges, which the other side unplugs",
        {"users/sm/channels/lx/talk": "none"},
        {"bridges/tie": GONE},
        clashes=(
            Clash(
                "path-lost",
                ("/bridges/tie", "/users/sm/channels/lx/talk"),
                "SM -> FLY 1: lost, FLY 1 can't hear SM (required path sm-fly: fly cues are called here). Mine set talk of LX on the list of SM to none; incoming removed bridge tie (House party line A)",
            ),
        ),
        before={
            "bridges/tie": {**TAPE, "target": "snd", "circuit": "house-a", "port": 4},
            "users/fly-1/channels": {"lx": {"number": 1, "listen": "always"}},
            "devices/pack-02/keys/A1": "lx",
            "required": {"sm-fly": {"from": "sm", "to": "fly-1", "why": "fly cues are called here"}},
        },
    ),
    # --- audio-loop
    Case(
        "two bridges that close a ring only together",
        {"bridges/house-snd": {**TAPE, "circuit": "house-a"}},
        {"bridges/tie-snd": {**TAPE, "port": 4, "circuit": "tie"}},
        clashes=(
            Clash(
                "audio-loop",
                ("/bridges/house-snd", "/bridges/tie-snd"),
                "bridges house-snd, party-line, tie-lx and tie-snd: close a ring: SND - bridge house-snd - circuit House party line A (house-a) - bridge party-line - LX - bridge tie-lx - circuit Tie line (tie) - bridge tie-snd - SND. Mine added bridge house-snd (House party line A); incoming added bridge tie-snd (Tie line)",
            ),
        ),
        before={"devices/if-02": {"kind": "ports-2"}, "bridges/tie-lx": TIE_LX},
    ),
    Case(
        "two one-way bridges made two-way",
        {"bridges/tie-snd/direction": "both"},
        {"bridges/tie-lx/direction": "both"},
        clashes=(
            Clash(
                "audio-loop",
                ("/bridges/tie-lx", "/bridges/tie-snd"),
                "bridges house-snd, party-line, tie-lx and tie-snd: close a ring: LX - bridge party-line - circuit House party line A (house-a) - bridge house-snd - SND - bridge tie-snd - circuit Tie line (tie) - bridge tie-lx - LX. Mine changed bridge tie-snd (Tie line) (direction is now both, was in); incoming changed bridge tie-lx (Tie line) (direction is now both, was out)",
            ),
        ),
        before={
            "bridges/party-line/direction": "out",
            "bridges/house-snd": {**TAPE, "circuit": "house-a", "direction": "in"},
            "bridges/tie-snd": {**TAPE, "port": 4, "circuit": "tie", "direction": "in"},
            "devices/if-02": {"kind": "ports-2"},
            "bridges/tie-lx": {**TIE_LX, "direction": "out"},
        },
    ),
    # --- several at once
    Case(
        "a number taken twice and a group renamed twice, and an edit that nobody disputes",
        {"users/sm/channels/stage": {"number": 5}, "groups/lx/name": "Lights", "devices/pack-03/place": "Dock"},
        {"users/sm/channels/lx-op": {"number": 5}, "groups/lx/name": "Electrics"},
        clashes=(
            Clash(
                "both-changed",
                ("/groups/lx/name",),
                "group LX (Lighting), name: mine says 'Lights', incoming says 'Electrics'; it was 'Lighting'",
            ),
            Clash(
                "double-booked",
                ("/users/sm/channels/lx-op", "/users/sm/channels/stage"),
                "SM: channel 5 is both LX OP and STAGE. Mine put STAGE on channel 5 of SM; incoming put LX OP on channel 5 of SM",
            ),
        ),
        if_incoming={
            "users/sm/channels/lx-op": {"number": 5},
            "groups/lx/name": "Electrics",
            "devices/pack-03/place": "Dock",
        },
    ),
)

CASES = (*CLEAN, *CLASHING)
