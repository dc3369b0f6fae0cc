"""More worked cases: edits that belong together, keys and wearers, ids, twins, and what format 2 brought.

Each with the reason that an engineer would give. The sentence that is read stands with the cases of `cases.py`; here
it is the kind, the places, and what comes of taking either side.
"""

from __future__ import annotations

from tests.merging.cases import GONE, Case, Clash, Edits

K = "devices/desk-01/keys/"
C = "users/sm/channels/"


def keys(**held: object) -> Edits:
    return {f"{K}{key}": channel for key, channel in held.items()}


def numbers(**given: int) -> Edits:
    return {f"{C}{name}/number": number for name, number in given.items()}


def clash(kind: str, *paths: str) -> tuple[Clash, ...]:
    return (Clash(kind, tuple(f"/{path}" for path in paths), ""),)


LATCH = {"talk": "latch"}
LIGHTING: Edits = {
    "groups/lx": GONE,
    "groups/lighting": {"name": "Lighting", "label": "LX"},
    "users/sm/channels/lx": GONE,
    "users/sm/channels/lighting": {"number": 1, "talk": "latch"},
    "users/lx-op/channels/lx": GONE,
    "users/lx-op/channels/lighting": {"number": 1, "talk": "latch", "listen": "always"},
    "devices/desk-01/keys/A1": "lighting",
    "bridges/party-line/target": "lighting",
}
PLAIN_PACKS: Edits = {"devices/pack-01/keys": {}, "devices/pack-02/keys": {}}
FIRST, SECOND = "02-00-5E-10-00-11", "02-00-5E-10-00-12"
ADDRESSES: Edits = {"devices/pack-01/hardware": FIRST, "devices/pack-02/hardware": SECOND}
TO_LX = {"devices/pack-01/user": "lx-op"}
SND_TOO: Edits = {"users/lx-op/channels/snd": {"number": 2, "talk": "latch"}}
SECOND_PACK: Edits = {"devices/pack-03": {"kind": "pack-4", "user": "sm", "keys": {"A1": "snd"}}}
SWITCH: Edits = {"carriers/deck": {"name": "Deck switch", "gives": {"watts": 200}}, "carriers/ups": {"name": "Backup"}}

MORE_CLEAN = (
    # --- keys that are one edit, and what does not touch them
    Case("keys swapped here, a level of one of them there", keys(A1="fly", A2="lx"), {f"{C}lx/level": -3},
         why="what a key holds is not how loud it is"),
    Case("keys swapped alike by both", keys(A1="fly", A2="lx"), keys(A1="fly", A2="lx"), why="we agree"),
    Case("three keys rotated alike by both", keys(A1="fly", A2="snd", A3="lx"), keys(A1="fly", A2="snd", A3="lx"),
         why="we agree"),
    Case("two pairs of keys, a swap each", keys(A1="fly", A2="lx"), keys(A3="asm", A4="snd"),
         before=keys(A4="asm"), why="two swaps that share no key"),
    Case("keys swapped here, the panel renamed there", keys(A1="fly", A2="lx"), {"devices/desk-01/name": "Corner desk"},
         why="the name of the panel moves no key"),
    Case("a key moved to an empty one here, another plotted there", keys(A3=GONE, A4="snd"), keys(A5="asm"),
         why="neither hand was on the other's key"),
    # --- numbers that are one edit
    Case("numbers swapped here, a mode of one of them there", numbers(lx=2, fly=1), {f"{C}fly/talk": "dual"},
         why="the mode goes with the channel"),
    Case("numbers rotated alike by both", numbers(lx=2, fly=3, snd=1), numbers(lx=2, fly=3, snd=1), why="we agree"),
    Case("a list shifted by one here, its last number taken by nobody", {f"{C}stage": {"number": 3}, **numbers(snd=4, asm=5)},
         {f"{C}lx-op": {"number": 6}}, why="6 is free for both of us"),
    Case("numbers swapped on one list here, on another there", numbers(lx=2, fly=1),
         {"users/asm/channels/snd/number": 2, "users/asm/channels/stage/number": 1}, why="two lists, two swaps"),
    # --- addresses, wearers
    Case("addresses swapped here, a third unit gets one there",
         {"devices/pack-01/hardware": SECOND, "devices/pack-02/hardware": FIRST},
         {"devices/pack-03/hardware": "02-00-5E-10-00-13"}, before=ADDRESSES, why="the third unit has nothing to do with it"),
    Case("packs traded here, one of them moved to another place there",
         {"devices/pack-01/user": "fly-1", "devices/pack-02/user": "asm"}, {"devices/pack-01/place": "Dock"},
         before=PLAIN_PACKS, why="where a pack lies says nothing about who wears it"),
    Case("packs traded alike by both", {"devices/pack-01/user": "fly-1", "devices/pack-02/user": "asm"},
         {"devices/pack-01/user": "fly-1", "devices/pack-02/user": "asm"}, before=PLAIN_PACKS, why="we agree"),
    # --- keys and who wears them
    Case("a line put under a key here, the pack given away there", {"devices/pack-01/keys/A4": "alarm"}, TO_LX,
         before=SND_TOO, why="the alarm is the same for whoever wears it"),
    Case("a key drawn alike, the pack given away there", {"devices/pack-01/keys/A2": "snd", "devices/pack-01/keys/A1": "lx"},
         {**TO_LX, "devices/pack-01/keys/A2": "snd", "devices/pack-01/keys/A1": "lx"},
         before={**SND_TOO, "users/asm/channels/lx": {"number": 3}}, why="the new wearer has it there anyway"),
    Case("the pack given away here, its place changed there", TO_LX, {"devices/pack-01/place": "Dock"}, before=SND_TOO,
         why="no key was touched"),
    Case("one of two keys of a target taken here, another key plotted there", {"devices/pack-03/keys/A1": GONE},
         keys(A4="asm"), before=SECOND_PACK, why="the other key is still there"),
    # --- ids
    Case("another id here, the label there", LIGHTING, {"groups/lx/label": "LIGHT"},
         result={**LIGHTING, "groups/lighting": {"name": "Lighting", "label": "LIGHT"}}, why="it is the same group"),
    Case("another id here, a new listener there", LIGHTING, {"users/asm/channels/lx": {"number": 3}},
         result={**LIGHTING, "users/asm/channels/lighting": {"number": 3}}, why="who joins the group joins it under its id"),
    Case("another id here, a new key there", LIGHTING, {"devices/desk-01/keys/A4": "lx"},
         result={**LIGHTING, "devices/desk-01/keys/A4": "lighting"}, why="the key means the group, not the word"),
    Case("another id here, a required path there", LIGHTING, {"required/x": {"from": "sm", "to": "lx-op", "over": "lx"}},
         result={**LIGHTING, "required/x": {"from": "sm", "to": "lx-op", "over": "lighting"}},
         before={"devices/pack-03/user": "lx-op"}, why="what is required stays so"),
    Case("another id on both sides alike", LIGHTING, LIGHTING, result=LIGHTING, why="we agree"),
    Case("another id here, a mode there", LIGHTING, {f"{C}lx/talk": "dual"},
         result={**LIGHTING, f"{C}lighting": {"number": 1, "talk": "dual"}}, why="the channel went along"),
    Case("another id here, a channel to it taken there", LIGHTING, {"users/lx-op/channels/lx": GONE},
         result={path: value for path, value in LIGHTING.items() if path != "users/lx-op/channels/lighting"},
         why="who left the group left it"),
    Case("another id here, another thing entirely there", LIGHTING, {"groups/snd/name": "Audio"}, why="nothing in common"),
    # --- what looks alike and is two
    Case("follow spots 1 and 2, one of each side", {"users/spot-1": {"name": "Follow Spot 1"}},
         {"users/spot-2": {"name": "Follow Spot 2"}}, why="a number that differs is another position"),
    Case("booths B and C, one of each side", {"users/booth-b": {"name": "Booth B"}}, {"users/booth-c": {"name": "Booth C"}},
         why="a letter that differs is another position"),
    Case("two packs of one name and two addresses", {"devices/p8": {"kind": "pack-2", "name": "Deck", "hardware": FIRST}},
         {"devices/p9": {"kind": "pack-2", "name": "Deck", "hardware": SECOND}}, before={"limits/devices": 9},
         why="an address that differs is another unit"),
    Case("one target on two lists", {"users/lx-op/channels/stage": {"number": 2}}, {"users/fly-1/channels/stage": {"number": 2}},
         why="each on his own list"),
    # --- carriers, circuits, lines, paths apart
    Case("what a switch gives here, what it hangs on there", {"carriers/deck/gives/watts": 240}, {"carriers/deck/on": ["ups"]},
         before=SWITCH, why="two facts of one switch"),
    Case("a device put on a carrier by each side", {"devices/pack-01/on": ["deck"]}, {"devices/pack-01/on": ["ups"]},
         before=SWITCH, result={"devices/pack-01/on": ["deck", "ups"]}, why="it needs both"),
    Case("a circuit hears here, is public there", {"circuits/town/hears": GONE}, {"circuits/town/public": True},
         why="two facts of one circuit"),
    Case("one at a time here, the people there", {"circuits/town/one-at-a-time": True}, {"circuits/town/people": "dock loaders"},
         why="two facts of one circuit"),
    Case("a pack away here, renamed there", {"devices/pack-03/away": "at repair"}, {"devices/pack-03/name": "Deck pack"},
         why="it keeps its name at the workshop"),
    Case("a path kept apart by each side", {"apart/a": {"from": "sm", "to": "lx-op", "why": "x"}},
         {"apart/b": {"from": "asm", "to": "lx-op", "why": "y"}}, why="each knows of another leak"),
    Case("a line of the show labelled here, critical there", {"lines/alarm/label": "HELP"}, {"lines/alarm/critical": True},
         before={"lines/alarm": {"label": "ALARM"}}, why="two facts of one line"),
    Case("two ways asked for here, the reason there", {"required/sm-fly/ways": 2}, {"required/sm-fly/why": "every cue"},
         why="how safe and why are two things"),
    Case("a standard of the house by each side",
         {"standards/a": {"for": "users/*", "must": {"department": "stage"}, "severity": "note", "why": "x"}},
         {"standards/b": {"for": "users/*", "must": {"department": "rig"}, "severity": "note", "why": "y"}},
         why="each is a rule of its own"),
)  # fmt: skip

MORE_CLASHING = (
    # --- keys
    Case("three keys rotated here, two of them swapped there", keys(A1="fly", A2="snd", A3="lx"), keys(A1="fly", A2="lx"),
         clashes=clash("both-changed", f"{K}A1", f"{K}A2", f"{K}A3"), why="half of each leaves FLY on no key"),
    Case("keys swapped here, one of them cleared there", keys(A1="fly", A2="lx"), keys(A1=GONE),
         clashes=clash("both-changed", f"{K}A1", f"{K}A2"), why="which of the two was to go?"),
    Case("keys swapped here, one of them given to another there", keys(A1="fly", A2="lx"), keys(A2="asm"),
         clashes=clash("both-changed", f"{K}A1", f"{K}A2"), why="half a swap loses LX"),
    Case("two swaps that share a key", keys(A1="fly", A2="lx"), keys(A2="snd", A3="fly"),
         clashes=clash("both-changed", f"{K}A1", f"{K}A2", f"{K}A3"), why="the shared key ends up with both, or none"),
    Case("a key moved onto another here, that one moved away there", keys(A1=GONE, A2="lx"), keys(A2=GONE, A4="fly"),
         clashes=clash("both-changed", f"{K}A1", f"{K}A2", f"{K}A4"), why="one of us lost FLY on purpose, one did not"),
    Case("two rotations the other way round", keys(A1="fly", A2="snd", A3="lx"), keys(A1="snd", A2="lx", A3="fly"),
         clashes=clash("both-changed", f"{K}A1", f"{K}A2", f"{K}A3"), why="no panel in between makes sense"),
    # --- numbers
    Case("numbers rotated here, two of them swapped there", numbers(lx=2, fly=3, snd=1), numbers(lx=2, fly=1),
         clashes=clash("both-changed", f"{C}fly/number", f"{C}lx/number", f"{C}snd/number"),
         why="half of each puts two channels on one number"),
    Case("numbers swapped here, one of the two channels removed there", numbers(lx=2, fly=1), {f"{C}lx": GONE, f"{K}A1": GONE},
         clashes=clash("both-changed", f"{C}fly/number", f"{C}lx"), why="without LX there is nothing to swap with",
         if_mine={**numbers(lx=2, fly=1), f"{K}A1": GONE}),
    Case("a list shifted by one here, a channel added there", {f"{C}stage": {"number": 3}, **numbers(snd=4, asm=5)},
         {f"{C}lx-op": {"number": 5}},
         clashes=clash("double-booked", f"{C}asm/number", f"{C}lx-op", f"{C}snd/number", f"{C}stage"),
         why="the shift goes as a whole, or the new channel moves"),
    Case("a chain of numbers here, its last one taken there", numbers(lx=2, fly=6), numbers(asm=6),
         clashes=clash("double-booked", f"{C}asm/number", f"{C}fly/number", f"{C}lx/number"),
         why="LX can only move if FLY does"),
    # --- addresses and wearers
    Case("addresses swapped here, one of them corrected there",
         {"devices/pack-01/hardware": SECOND, "devices/pack-02/hardware": FIRST}, {"devices/pack-01/hardware": "02-00-5E-10-00-19"},
         before=ADDRESSES, clashes=clash("both-changed", "devices/pack-01/hardware", "devices/pack-02/hardware"),
         why="half a swap gives two units one address"),
    Case("packs traded here, one of them given to a third there",
         {"devices/pack-01/user": "fly-1", "devices/pack-02/user": "asm"}, {"devices/pack-01/user": "lx-op"}, before=PLAIN_PACKS,
         clashes=clash("both-changed", "devices/pack-01/user", "devices/pack-02/user"), why="half a trade leaves ASM without a pack"),
    Case("packs traded here, one of them removed there",
         {"devices/pack-01/user": "fly-1", "devices/pack-02/user": "asm"}, {"devices/pack-01": GONE}, before=PLAIN_PACKS,
         clashes=clash("both-changed", "devices/pack-01", "devices/pack-02/user"), why="half a trade leaves FLY 1 without a pack"),
    # --- keys and who wears them
    Case("a key for ASM here, the pack given to LX OP there", {"devices/pack-01/keys/A2": "snd", "devices/pack-01/keys/A1": GONE},
         TO_LX, before=SND_TOO,
         clashes=clash("both-changed", "devices/pack-01/keys/A1", "devices/pack-01/keys/A2", "devices/pack-01/user"),
         why="the key was meant for ASM"),
    Case("keys drawn for each wearer", {"devices/pack-01/keys/A2": "stage"}, {**TO_LX, "devices/pack-01/keys/A1": "lx"},
         before=SND_TOO,
         clashes=clash("both-changed", "devices/pack-01/keys/A1", "devices/pack-01/keys/A2", "devices/pack-01/user"),
         why="one panel for each of the two, not half of each"),
    Case("a key taken on each of two panels", keys(A3=GONE), {"devices/pack-03/keys/A1": GONE}, before=SECOND_PACK,
         clashes=clash("key-lost", f"{K}A3", "devices/pack-03/keys/A1"), why="each relied on the key that the other took"),
    Case("one key moved to two others", keys(A3=GONE, A4="snd"), keys(A3=GONE, A5="snd"),
         clashes=clash("key-lost", f"{K}A4", f"{K}A5"), why="one key was wanted, and nobody wants it twice"),
    # --- ids
    Case("another id here, the same field changed by both",
         {**LIGHTING, "groups/lighting": {"name": "Lighting", "label": "LITE"}}, {"groups/lx/label": "LAMP"},
         clashes=clash("both-changed", "groups/lighting/label"), why="the clash is the label, not the id",
         if_incoming={**LIGHTING, "groups/lighting": {"name": "Lighting", "label": "LAMP"}}),
    # --- twins
    Case("one position, spelt two ways", {"users/spot-1": {"name": "Follow Spot 1"}}, {"users/f-spot": {"name": "Followspot 1"}},
         clashes=clash("twin", "users/f-spot", "users/spot-1"), why="the same headset under two names"),
    Case("two groups of one label", {"groups/cam": {"name": "Cameras", "label": "CAM"}},
         {"groups/video": {"name": "Video Village", "label": "Cam"}}, clashes=clash("twin", "groups/cam", "groups/video"),
         why="two keys that read the same"),
    Case("one target on one list twice", {f"{C}stage": {"number": 5, "talk": "latch"}}, {f"{C}stage#2": {"number": 6}},
         clashes=clash("twin", f"{C}stage", f"{C}stage#2"), why="who asked for it twice?"),
    # --- what format 2 brought
    Case("both say what a switch gives", {"carriers/deck/gives/watts": 240}, {"carriers/deck/gives/watts": 120}, before=SWITCH,
         clashes=clash("both-changed", "carriers/deck/gives/watts"), why="it gives what it gives: somebody read it wrongly"),
    Case("both say whether a circuit hears", {"circuits/town/carries": False}, {"circuits/town/carries": GONE},
         clashes=clash("removed-and-changed", "circuits/town/carries"), why="known, or not known?"),
    Case("a carrier removed here, a device put on it there", {"carriers/ups": GONE}, {"devices/pack-01/on": ["ups"]}, before=SWITCH,
         clashes=clash("dangling", "devices/pack-01/on", "carriers/ups"), why="it would hang on nothing"),
    Case("a circuit removed here, a bridge tied to it there", {"circuits/tape": GONE},
         {"bridges/tape": {"kind": "four-wire", "device": "if-01", "port": 3, "target": "snd", "circuit": "tape"}},
         clashes=clash("dangling", "bridges/tape/circuit", "circuits/tape"), why="it would lead nowhere",
         if_mine={"circuits/tape": GONE,
                  "bridges/tape": {"kind": "four-wire", "device": "if-01", "port": 3, "target": "snd"}}),
    Case("both say why a pack is away", {"devices/pack-03/away": "at repair"}, {"devices/pack-03/away": "lost"},
         clashes=clash("both-changed", "devices/pack-03/away"), why="where is it?"),
    Case("both keep a path apart, for two lines of sound", {"apart/a": {"from": "sm", "to": "lx-op", "why": "x"}},
         {"apart/a": {"from": "asm", "to": "lx-op", "why": "x"}}, clashes=clash("both-changed", "apart/a/from"),
         why="which of the two must not be heard?"),
)  # fmt: skip
