"""Each rule of the list: the edits to one small show that make it find something, and the nearest that do not."""

from __future__ import annotations

from dataclasses import dataclass

from tests.rules.base import GONE, Edits

CHANNEL = {"number": 5, "talk": "latch"}
TAPE = {"kind": "four-wire", "device": "if-01", "port": 3, "target": "snd", "circuit": "tape"}
TO_TAPE: Edits = {
    # SM talks to the tape room over the stage group.
    "users/sm/channels/stage": {"number": 5, "talk": "momentary"},
    "devices/desk-01/keys/A4": "stage",
    "bridges/tape": {**TAPE, "target": "stage", "direction": "out"},
    "required/tape": {"from": "sm", "to": "tape", "over": "stage", "why": "the tape is stopped here"},
}
POWER: Edits = {
    # Two packs that need six watts each, on one supply.
    "kinds/pack-4": {"keys": 4, "needs": {"watts": 6}},
    "carriers/ups": {"name": "Deck supply"},
    "devices/pack-01/on": ["ups"],
    "devices/pack-02/on": ["ups"],
}
MD: Edits = {"users/md": {"label": "MD"}, "devices/pack-03/user": "md"}
PLATE: Edits = {"kinds/plate": {"keys": 2, "pages": 2, "menu": False}, "devices/pack-02/kind": "plate"}
HARDWARE = "02-00-5E-10-00-01"  # that of desk-01


@dataclass(frozen=True)
class RuleCase:
    """`broken` makes the rule find something `at` this pointer and say so; `nearest` does not."""

    code: str
    broken: Edits
    nearest: Edits
    at: str
    says: str


CASES = (
    # --- nothing points at nothing
    RuleCase(
        "channel-to-nothing",
        {"users/sm/channels/band": CHANNEL}, {"users/sm/channels/stage": CHANNEL},
        "/users/sm/channels/band",
        "SM, channel 5: 'band' is no group, user or line (add the target, or remove the channel)",
    ),
    RuleCase(
        "channel-to-nothing",
        {"users/sm/channels/stag": CHANNEL}, {"users/sm/channels/lx-op": CHANNEL},
        "/users/sm/channels/stag", "SM, channel 5: 'stag' is no group, user or line (did you mean stage?)",
    ),
    RuleCase(
        "channel-to-nothing",
        {"users/sm/channels/band#2": CHANNEL}, {"users/sm/channels/lx#2": CHANNEL},
        "/users/sm/channels/band#2", "SM, channel 5: 'band' is no group, user or line",
    ),
    RuleCase(
        "line-unknown",
        {"users/asm/lines/siren": {"talk": "momentary"}}, {"users/asm/lines/paging": {"talk": "momentary"}},
        "/users/asm/lines/siren", "user ASM: ",
    ),
    RuleCase(
        "key-to-nothing",
        {"devices/pack-01/keys/A2": "lx"}, {"devices/pack-01/keys/A2": "stage"},
        "/devices/pack-01/keys/A2", "device pack-01, key A2: holds 'lx', but ASM has no such channel",
    ),
    RuleCase(
        "key-to-nothing",
        {"devices/desk-01/keys/A1": "lx#2"}, {"devices/desk-01/keys/A1": "lx"},
        "/devices/desk-01/keys/A1", "device desk-01 (Prompt desk), key A1: holds 'lx#2', but SM has no such channel",
    ),
    RuleCase(
        "key-to-nothing",
        {"devices/pack-03/keys/A1": "lx"}, {"devices/pack-03/keys/A1": "alarm"},
        "/devices/pack-03/keys/A1", "device pack-03 (Spare pack), key A1: holds 'lx', but the device is unassigned",
    ),
    RuleCase(
        "user-unknown",
        {"devices/pack-03/user": "band"}, {"devices/pack-03/user": "lx-op"},
        "/devices/pack-03/user", "device pack-03 (Spare pack): user 'band' is no user",
    ),
    RuleCase(
        "user-unknown",
        {"devices/pack-03/user": "fly"}, {"devices/pack-03/user": "fly-1"},  # a group wears nothing
        "/devices/pack-03/user", "device pack-03 (Spare pack): user 'fly' is no user (did you mean fly-1?)",
    ),
    RuleCase(
        "kind-unknown",
        {"devices/pack-03/kind": "pack-9"}, {"devices/pack-03/kind": "pack-2"},
        "/devices/pack-03/kind", "device pack-03 (Spare pack): kind 'pack-9' is no kind",
    ),
    RuleCase(
        "kind-unknown",
        {"devices/pack-03/kind": "rack-panel"},
        {"devices/pack-03/kind": "rack-panel", "kinds/rack-panel": {"keys": 15, "pages": 2}},
        "/devices/pack-03/kind", "device pack-03 (Spare pack): kind 'rack-panel' is no kind",
    ),
    RuleCase(
        "carrier-unknown",
        {"devices/pack-03/on": ["switch-9"]}, {"devices/pack-03/on": ["switch-9"], "carriers/switch-9": {}},
        "/devices/pack-03/on", "device pack-03 (Spare pack): hangs on 'switch-9', which is no carrier (add the carrier, or name another)",
    ),
    RuleCase(
        "bridge-to-nothing",
        {"bridges/radio/target": "band"}, {"bridges/radio/target": "asm"},
        "/bridges/radio/target", "bridge radio: target 'band' is no group, user or line",
    ),
    RuleCase(
        "bridge-on-nothing",
        {"bridges/radio/device": "rack"}, {"bridges/radio/device": "if-01"},
        "/bridges/radio/device", "bridge radio: device 'rack' is no device",
    ),
    RuleCase(
        "circuit-unknown",
        {"bridges/radio/circuit": "town"}, {"bridges/radio/circuit": "tape"},
        "/bridges/radio/circuit", "bridge radio: circuit 'town' is no circuit",
    ),
    RuleCase(
        "standby-unknown",
        {"bridges/radio/standby": "band"}, {"bridges/radio/standby": "party-line"},
        "/bridges/radio/standby", "bridge radio: standby for 'band', which is no bridge",
    ),
    RuleCase(  # nothing stands in for itself, so that it is not what was meant
        "standby-unknown",
        {"bridges/radio/standby": "radi"}, {"bridges/radio/standby": "party-line"},
        "/bridges/radio/standby",
        "bridge radio: standby for 'radi', which is no bridge (name the bridge that it replaces)",
    ),
    RuleCase(
        "required-to-nothing",
        {"required/sm-fly/to": "band"}, {"required/sm-fly/to": "fly-1"},
        "/required/sm-fly/to", "required path sm-fly: to 'band', which is no user, group, circuit or line",
    ),
    RuleCase(
        "required-lost",
        {"required/sm-fly/from": "department:band"}, {"required/sm-fly/from": "department:stage", "users/asm/channels/fly": {"number": 3, "talk": "latch"}},
        "/required/sm-fly", "all of the band department -> group FLY: lost, nobody is in the department band",
    ),
    RuleCase(
        "required-to-nothing",
        {"required/sm-fly/over": "sm"}, {"required/sm-fly/over": "fly"},  # a path is over a group or a line
        "/required/sm-fly/over", "required path sm-fly: over 'sm', which is no group or line",
    ),
    RuleCase(
        "carrier-unknown",
        {"carriers/switch": {"name": "Deck switch", "on": ["ups-1"]}}, {"carriers/switch": {"name": "Deck switch"}},
        "/carriers/switch/on", "carrier switch (Deck switch): hangs on 'ups-1', which is no carrier",
    ),
    RuleCase(
        "apart-to-nothing",
        {"apart/a": {"from": "sm", "to": "band"}}, {"apart/a": {"from": "asm", "to": "lx-op"}},
        "/apart/a/to", "paths apart a: to 'band', which is no user, group, circuit or line",
    ),
    # --- nothing hangs on itself, or stands in for itself
    RuleCase(
        "carrier-circle",
        {"carriers/switch": {"name": "Deck switch", "on": ["switch"]}}, {"carriers/switch": {"name": "Deck switch"}},
        "/carriers/switch/on",
        "carrier switch (Deck switch): hangs on itself (hang it on something else, or on nothing)",
    ),
    RuleCase(
        "carrier-circle",
        {"carriers/switch": {"on": ["ups"]}, "carriers/ups": {"on": [["switch", "antenna"]]}, "carriers/antenna": {"on": ["ups"]}},
        # Each of two supplies may fall back on the other, as long as one has another way too.
        {"carriers/switch": {"on": ["ups"]}, "carriers/ups": {"on": [["switch", "antenna"]]}, "carriers/antenna": {}},
        "/carriers/antenna/on", "carriers antenna, switch and ups: hang on each other, and on nothing else",
    ),
    RuleCase(
        "standby-circle",
        {"bridges/radio/standby": "radio"}, {"bridges/radio/standby": "party-line"},
        "/bridges/radio/standby",
        "bridge radio: standby for itself (clear standby on the bridge that is used first)",
    ),
    RuleCase(
        "standby-circle",
        {"bridges/radio/standby": "party-line", "bridges/party-line/standby": "radio"},
        {"bridges/radio/standby": "party-line", "bridges/tape": {**TAPE, "standby": "radio"}},  # the third stands by
        "/bridges/party-line/standby", "bridges party-line and radio: standbys for each other",
    ),
    RuleCase(
        "same-id",
        {"groups/asm": {"name": "Assistants"}}, {"groups/assistants": {"name": "Assistants"}},
        "/groups/asm", "asm: both a group and a user (rename one of the two)",
    ),
    RuleCase(
        "same-id", {"circuits/sm": {}}, {"circuits/sm-radio": {}}, "/users/sm", "sm: both a user and a circuit",
    ),
    RuleCase(
        "same-id", {"lines/fly": {}}, {"lines/fly-page": {}}, "/groups/fly", "fly: both a group and a line",
    ),
    # --- one place, one thing
    RuleCase(
        "number-twice",
        {"users/sm/channels/stage": {"number": 4}}, {"users/sm/channels/stage": {"number": 5}},
        "/users/sm/channels/asm/number", "SM: channel 4 is both ASM and STAGE (give one of them a free number)",
    ),
    RuleCase(
        "port-twice",
        {"bridges/radio/port": 1}, {"bridges/radio/port": 3},
        "/bridges/party-line/port",
        "device if-01 (Rack interface): port 1 is both bridge party-line and bridge radio",
    ),
    RuleCase(
        "port-twice",
        {"bridges/tape": {**TAPE, "port": 2}, "devices/if-02": {"kind": "ports-2"}},
        {"bridges/tape": {**TAPE, "port": 2, "device": "if-02"}, "devices/if-02": {"kind": "ports-2"}},
        "/bridges/radio/port", "device if-01 (Rack interface): port 2 is both bridge radio and bridge tape",
    ),
    RuleCase(
        "port-twice",
        {"bridges/tape": {**TAPE, "port": 2}}, {"bridges/tape": {**TAPE, "port": 2, "standby": "radio"}},
        "/bridges/radio/port", "device if-01 (Rack interface): port 2 is both bridge radio and bridge tape",
    ),
    RuleCase(
        "hardware-twice",
        {"devices/pack-01/hardware": "0200.5e10.0001"}, {"devices/pack-01/hardware": "0200.5e10.0002"},
        "/devices/desk-01/hardware",
        f"device desk-01 (Prompt desk) and device pack-01: both have the hardware address {HARDWARE}",
    ),
    RuleCase(
        "hardware-twice",
        {"devices/pack-03/hardware": HARDWARE}, {},  # a spare is a unit too
        "/devices/desk-01/hardware", "device desk-01 (Prompt desk) and device pack-03 (Spare pack): both have",
    ),
    # --- what the system takes: only what is written
    RuleCase(
        "too-many-targets",
        {"limits/targets": 7}, {"limits/targets": GONE},
        "/limits/targets", "The Salt Road: 8 groups and users; the system takes 7",
    ),
    RuleCase(
        "too-many-devices",
        {"limits/devices": 5}, {"limits/devices": 6},
        "/limits/devices", "The Salt Road: 6 devices; the system takes 5",
    ),
    RuleCase(
        "channel-beyond-limit",
        {"users/sm/channels/lx/number": 7}, {"users/sm/channels/lx/number": 6},
        "/users/sm/channels/lx/number", "SM, LX: on channel 7; a list goes to 6",
    ),
    RuleCase(
        "channel-beyond-limit",
        {"limits/channels": 3, "users/sm/channels/asm/number": 3}, {"limits/channels": 4},
        "/users/sm/channels", "SM: 4 channels; a list takes 3",
    ),
    RuleCase(
        "key-beyond-kind",
        {"devices/pack-01/keys/A5": "stage"}, {"devices/pack-01/keys/A4": "stage"},
        "/devices/pack-01/keys/A5", "device pack-01: no key A5; kind pack-4 has 4 keys on 1 page",
    ),
    RuleCase(
        "key-beyond-kind",
        {"devices/pack-01/keys/B1": "stage"},
        {"devices/pack-01/keys/B1": "stage", "devices/pack-01/kind": "two-pages", "kinds/two-pages": {"keys": 1, "pages": 2}},
        "/devices/pack-01/keys/B1", "device pack-01: no key B1; kind pack-4 has 4 keys on 1 page",
    ),
    RuleCase(
        "port-beyond-kind",
        {"bridges/radio/port": 5}, {"bridges/radio/port": 4},
        "/bridges/radio/port", "bridge radio: no port 5 on device if-01 (Rack interface); kind ports-4 has 4 ports",
    ),
    RuleCase(
        "port-beyond-kind",
        {"bridges/radio/device": "pack-03"}, {"bridges/radio/device": "if-01"},
        "/bridges/radio/port", "bridge radio: no port 2 on device pack-03 (Spare pack); kind pack-4 has no ports",
    ),
    # --- who must hear whom
    RuleCase(
        "required-lost",
        {"users/sm/channels/fly/talk": "none"}, {"users/sm/channels/fly/talk": "latch"},
        "/required/sm-fly",
        "SM -> group FLY: lost, FLY 1 can't hear SM (required path sm-fly: fly cues are called here) (see: showvc paths",
    ),
    RuleCase(
        "required-lost",
        {"users/fly-1/channels/fly/listen": "none"}, {"users/fly-1/channels/fly/listen": "switchable"},
        "/required/sm-fly", "SM -> group FLY: lost, ",
    ),
    RuleCase(
        "required-lost",
        {"required/sm-fly/both": True, "users/fly-1/channels/fly/talk": "none"}, {"users/fly-1/channels/fly/talk": "none"},
        "/required/sm-fly", "SM -> group FLY, both ways: lost, ",
    ),
    RuleCase(
        "required-lost",
        {"devices/pack-02/away": "at repair"}, {"devices/pack-03/away": "at repair"},
        "/required/sm-fly", "SM -> group FLY: lost, FLY 1 is off headset",
    ),
    RuleCase(
        "required-lost",
        {"required/sm-fly/at-least": 2}, {"required/sm-fly/at-least": 1},
        "/required/sm-fly", "SM -> group FLY: lost, 1 of at least 2 on fly",
    ),
    RuleCase(
        "required-lost",
        {**TO_TAPE, "bridges/tape/away": "lent"}, TO_TAPE,
        "/required/tape", "SM -> Tape return (tape) over STAGE: lost, ",
    ),
    RuleCase(
        "required-in-menu",
        {"devices/desk-01/keys/A2": GONE}, {"devices/desk-01/keys/A2": GONE, "devices/desk-01/keys/A7": "fly"},
        "/required/sm-fly", "SM -> group FLY: menu only; FLY 1 hears SM without a key",
    ),
    RuleCase(
        "required-unsure",
        {"users/fly-1/channels/fly/listen": "switchable"}, {"users/fly-1/channels/fly/level": -40},
        "/required/sm-fly", "SM -> group FLY: unsure; FLY 1 may not hear SM",
    ),
    RuleCase(
        "required-unsure",
        {"users/fly-1/channels/fly/level": -41}, {"users/fly-1/channels/fly/level": -40},
        "/required/sm-fly", "SM -> group FLY: unsure; FLY 1 may not hear SM",
    ),
    RuleCase(
        "required-in-doubt",
        {**TO_TAPE, "circuits/tape/hears": GONE}, TO_TAPE,
        "/required/tape", "SM -> Tape return (tape) over STAGE: in doubt; met only if somebody behind circuit Tape return",
    ),
    RuleCase(
        "critical-no-talker",
        {"users/sm/lines/alarm/talk": "none"}, {},
        "/lines/alarm", "line ALARM: critical, and nobody can talk there (give somebody on headset talk there)",
    ),
    RuleCase(
        "critical-no-talker",
        {"required": {}, "users/sm/channels/fly/talk": "none", "users/fly-1/channels/fly/talk": "none"},
        {"required": {}, "users/sm/channels/fly/talk": "none"},
        "/groups/fly", "group FLY: critical, and nobody can talk there",
    ),
    RuleCase(
        "critical-no-ear",
        {"required": {}, "users/sm/channels/fly/listen": "none", "users/fly-1/channels/fly/talk": "none",
         "users/fly-1/channels/fly/listen": "none"},
        {"required": {}, "users/sm/channels/fly/listen": "none"},
        "/groups/fly", "group FLY: critical, and nobody hears what is said there",
    ),
    RuleCase(
        "critical-no-ear",  # the one who listens is the one who talks
        {"required": {}, "users/fly-1/channels/fly": GONE, "devices/pack-02/keys": {}},
        {"required": {}},
        "/groups/fly", "group FLY: critical, and nobody hears what is said there",
    ),
    # --- who must not hear whom
    RuleCase(
        "overheard",
        {"apart/house": {"from": "sm", "to": "house-a", "why": "cues are not for the house"}},
        {"apart/house": {"from": "asm", "to": "house-a"}},
        "/apart/house", "House party line A (house-a): hears SM over group LX, bridge party-line (apart house: cues are",
    ),
    RuleCase(
        "overheard",  # one way, unless both
        {"apart/house": {"from": "fly-1", "to": "sm", "both": True}, "users/fly-1/channels/fly/talk": "none"},
        {"apart/house": {"from": "fly-1", "to": "sm"}, "users/fly-1/channels/fly/talk": "none"},
        "/apart/house", "FLY 1: hears SM over group FLY (apart house)",
    ),
    RuleCase(
        "maybe-overheard",
        {"apart/house": {"from": "sm", "to": "house-a"}, "circuits/house-a/hears": GONE},
        {"apart/house": {"from": "sm", "to": "house-a"}, "circuits/house-a/hears": False},
        "/apart/house", "House party line A (house-a): would hear SM over group LX, bridge party-line if somebody behind",
    ),
    RuleCase(
        "maybe-overheard",
        {"apart/house": {"from": "sm", "to": "house-a"}, "devices/if-01/away": "at repair"},
        {"apart/house": {"from": "sm", "to": "house-a"}, "bridges/party-line/direction": "in"},
        "/apart/house", "House party line A (house-a): would hear SM over group LX, bridge party-line if device if-01 is back",
    ),
    RuleCase(
        "apart-of-nobody",
        {"apart/a": {"from": "department:stage", "to": "snd"}, "bridges/radio": GONE},
        {"apart/a": {"from": "department:stage", "to": "lx"}},
        "/apart/a", "apart a: keeps nobody apart, ",
    ),
    RuleCase(  # also where the other end is nothing, which is told beside it
        "apart-of-nobody",
        {"apart/a": {"from": "department:wardrobe", "to": "band"}}, {"apart/a": {"from": "department:stage", "to": "band"}},
        "/apart/a", "apart a: keeps nobody apart, nobody is in the department wardrobe (name ends",
    ),
    RuleCase(
        "apart-to-nothing",
        {"apart/a": {"from": "department:wardrobe", "to": "band"}}, {"apart/a": {"from": "department:wardrobe", "to": "sm"}},
        "/apart/a/to", "paths apart a: to 'band', which is no user, group, circuit or line",
    ),
    RuleCase(
        "required-and-apart",
        {"apart/a": {"from": "sm", "to": "department:fly"}}, {"apart/a": {"from": "department:fly", "to": "lx-op"}},
        "/apart/a", "apart a and required path sm-fly: both are about SM -> FLY 1 (change one of the two)",
    ),
    # --- the public, and circuits that take one talker at a time
    RuleCase(
        "open-to-public",
        {"circuits/house-a/public": True, "users/sm/channels/lx/talk": "open"},
        {"circuits/house-a/public": True, "users/sm/channels/lx/talk": "momentary"},
        "/users/sm/channels/lx", "SM, LX: is always open and reaches public circuit House party line A (house-a)",
    ),
    RuleCase(
        "open-to-public",
        {"circuits/house-a/public": True, "users/sm/channels/lx/talk": "open"},
        {"circuits/house-a/public": True, "users/sm/channels/lx/talk": "open",
         "required/feed": {"from": "sm", "to": "house-a", "over": "lx"}},  # that is how a feed is written
        "/users/sm/channels/lx", "SM, LX: is always open and reaches public circuit House party line A (house-a)",
    ),
    RuleCase(
        "maybe-to-public",
        {"circuits/house-a/public": True}, {"circuits/house-a/public": True, "bridges/party-line/direction": "in"},
        "/users/sm/channels/lx", "SM, LX: can latch and reaches public circuit House party line A (house-a)",
    ),
    RuleCase(
        "maybe-to-public",
        {"circuits/house-a/public": True, "users/sm/channels/lx/talk": "open", "bridges/party-line/away": "lent"},
        {"circuits/house-a/public": True, "users/sm/channels/lx/talk": "momentary", "bridges/party-line/away": "lent"},
        "/users/sm/channels/lx", "SM, LX: is always open and would reach public circuit House party line A (house-a) if bridge",
    ),
    RuleCase(
        "one-at-a-time",
        {"circuits/radio-base/one-at-a-time": True},
        {"circuits/radio-base/one-at-a-time": True, "users/sm/channels/snd/talk": "momentary"},
        "/users/sm/channels/snd", "SM, SND: can latch, and then nobody gets through on circuit Radio base, which takes",
    ),
    # --- rings
    RuleCase(
        "ring",
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}},
        {"bridges/tape": {**TAPE, "target": "snd", "circuit": "house-a"}},
        "/bridges/party-line", "bridges party-line and tape: close a ring: ",
    ),
    RuleCase(
        "ring",
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}},
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a", "direction": "in"},
         "bridges/party-line/direction": "in"},
        "/bridges/party-line", "bridges party-line and tape: close a ring: ",
    ),
    RuleCase(
        "ring",  # a standby is judged in the place of what it replaces, never beside it
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}},
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a", "standby": "party-line"}},
        "/bridges/party-line", "bridges party-line and tape: close a ring: ",
    ),
    RuleCase(
        "maybe-ring",
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}, "circuits/house-a/carries": GONE},
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}, "circuits/house-a/carries": False},
        "/bridges/party-line", "bridges party-line and tape: would close a ring if circuit House party line A",
    ),
    RuleCase(
        "over-capacity",
        {**POWER, "carriers/ups/gives": {"watts": 11}}, {**POWER, "carriers/ups/gives": {"watts": 12}},
        "/carriers/ups/gives/watts", "carrier ups (Deck supply): what can hang on nothing else needs more than 11 watts",
    ),
    # --- who is on headset
    RuleCase(
        "user-without-device",
        {"devices/pack-01/user": GONE, "devices/pack-01/keys": {}}, {"devices/pack-01/keys": {}},
        "/users/asm", "ASM: no device, so off headset (assign a device)",
    ),
    RuleCase(
        "user-without-device",
        {"users/radio-crew": {"label": "RADIO"}, "bridges/radio/target": "radio-crew"},
        {"users/radio-crew": {"label": "RADIO", "port": True}, "bridges/radio/target": "radio-crew"},
        "/users/radio-crew", "RADIO (radio-crew): no device, so off headset",
    ),
    RuleCase(
        "off-headset",
        {"devices/pack-01/away": "at repair"}, {"devices/pack-03/away": "at repair"},
        "/users/asm", "ASM: off headset, device pack-01 is away (assign a device that is here)",
    ),
    RuleCase(
        "off-headset",
        {"carriers/ups": {"on": ["mains"]}, "carriers/mains": {"on": ["ups"]}, "devices/pack-01/on": ["ups"]},
        {"carriers/ups": {}, "devices/pack-01/on": ["ups"]},
        "/users/asm", "ASM: off headset, device pack-01 lacks a carrier",
    ),
    RuleCase(
        "user-alone",
        MD, {**MD, "users/md/channels": {"lx": {"number": 1}}},
        "/users/md", "MD: hears nobody and nobody hears MD",
    ),
    RuleCase(
        "user-alone",
        MD, {**MD, "users/md/lines": {"paging": {"talk": "momentary"}}},  # a paging microphone
        "/users/md", "MD: hears nobody and nobody hears MD",
    ),
    RuleCase(
        "hears-nobody",
        {"users/lx-op/channels/lx/listen": "none"},
        {"users/lx-op/channels/lx/listen": "none", "users/sm/channels/lx/listen": "none",
         "bridges/party-line/direction": "out"},  # now both only call
        "/users/lx-op", "LX OP: talks on LX, and can't hear the answers (set listen on one of the channels)",
    ),
    RuleCase(
        "hears-nobody",
        {"users/lx-op/channels/lx/listen": "none"},
        {**MD, "users/md/channels": {"stage": {"number": 1, "talk": "momentary", "listen": "none"}},
         "users/asm/channels/stage/talk": "none"},  # a paging microphone: nobody answers there
        "/users/lx-op", "LX OP: talks on LX, and can't hear the answers",
    ),
    # --- how critical groups and lines are reached
    RuleCase(
        "critical-in-menu",
        {"devices/pack-02/keys": {"A1": "alarm"}}, {"devices/pack-02/keys": {"A1": "alarm", "A2": "fly"}},
        "/users/fly-1/channels/fly", "FLY 1, FLY: critical, and is in the menu only (put it under a key on page A)",
    ),
    RuleCase(
        "critical-in-menu",
        {"devices/pack-02/keys": {"A1": "alarm"}, "users/fly-1/channels/fly#2": {"number": 2, "talk": "latch"}},
        {"users/fly-1/channels/fly#2": {"number": 2, "talk": "latch"}},  # the other channel of it is on a key
        "/users/fly-1/channels/fly", "FLY 1, FLY: critical, and is in the menu only",
    ),
    RuleCase(
        "critical-in-menu",
        {"devices/desk-01/keys/A2": "fly#2", "users/sm/channels/fly#2": {"number": 5}},  # no talk under the key
        {"users/sm/channels/fly/talk": "open", "devices/desk-01/keys/A2": GONE},
        "/users/sm/channels/fly", "SM, FLY: critical, and is in the menu only",
    ),
    RuleCase(
        "critical-in-menu",
        {"devices/desk-01/keys/A8": GONE}, {"devices/desk-01/keys/A8": GONE, "devices/desk-01/keys/A7": "alarm"},
        "/users/sm/lines/alarm", "SM, ALARM: critical, and is in the menu only",
    ),
    RuleCase(
        "critical-in-menu",
        {**PLATE, "devices/pack-02/keys": {}}, {**PLATE},
        "/users/fly-1/channels/fly", "FLY 1, FLY: critical, and has no key, and there is no menu",
    ),
    RuleCase(
        "critical-off-page",
        {**PLATE, "devices/pack-02/keys": {"B1": "fly"}}, {**PLATE, "devices/pack-02/keys": {"A1": "fly", "B1": "fly"}},
        "/users/fly-1/channels/fly", "FLY 1, FLY: critical, and has its key on another page than A (move the key to page A)",
    ),
    # --- groups
    RuleCase(
        "group-unheard",
        {"groups/pyro": {"label": "PYRO"}},
        {"groups/pyro": {"label": "PYRO"}, "users/asm/channels/pyro": {"number": 3}},
        "/groups/pyro", "group PYRO: nobody talks or listens there",
    ),
    RuleCase(
        "group-unheard",
        {"users/asm/channels/stage/listen": "none"}, {},
        "/groups/stage", "group STAGE: ASM talks there, and nobody listens",
    ),
    RuleCase(
        "single-talker",
        {"users/lx-op/channels/lx/talk": "none", "bridges/party-line/direction": "out"},
        {"users/lx-op/channels/lx/talk": "none"},  # the house talks back over the party line
        "/groups/lx", "group LX: only SM talks there (let others talk, if they should)",
    ),
    RuleCase(
        "single-talker",
        {"users/lx-op/channels/lx/talk": "none", "bridges/party-line/direction": "out"},
        {"users/lx-op/channels/lx/talk": "none", "users/sm/channels/lx/talk": "none"},  # a feed: the house alone talks
        "/groups/lx", "group LX: only SM talks there",
    ),
    RuleCase(
        "single-talker",
        {"users/lx-op/channels/lx/talk": "none", "bridges/party-line/direction": "out"},
        {"users/lx-op/channels/lx/talk": "none", "bridges/party-line/direction": "out",
         "users/sm/channels/lx/listen": "none"},  # only pages there
        "/groups/lx", "group LX: only SM talks there",
    ),
    RuleCase(
        "priority-mismatch",
        {"users/sm/channels/lx/priority": "high"},
        {"users/sm/channels/lx/priority": "high", "users/sm/channels/lx/talk": "none"},
        "/groups/lx", "group LX: not critical, but 1 user talks there with high priority",
    ),
    RuleCase(
        "priority-mismatch",
        {"users/sm/channels/fly/priority": "normal"},
        {"users/sm/channels/fly/priority": "normal", "groups/fly/critical": False, "users/fly-1/channels/fly/priority": "normal"},
        "/groups/fly", "group FLY: critical, but 1 user talks there with normal priority",
    ),
    # --- channels
    RuleCase(
        "channel-idle",
        {"users/asm/channels/stage": {"number": 2, "listen": "none"}}, {"users/asm/channels/stage": {"number": 2}},
        "/users/asm/channels/stage", "ASM, STAGE: neither talks nor listens",
    ),
    RuleCase(
        "level-below-floor",
        {"users/sm/channels/fly/level": -41}, {"users/sm/channels/fly/level": -40},
        "/users/sm/channels/fly/level", "SM, FLY: level -41 dB is below the floor of -40 dB (raise the level)",
    ),
    RuleCase(
        "level-below-floor",
        {"users/lx-op/channels/lx/level": -60, "limits/floor": GONE},
        {"users/asm/channels/snd/level": -60, "limits/floor": GONE},  # switchable, and not critical
        "/users/lx-op/channels/lx/level", "LX OP, LX: level -60 dB is heard by nobody",
    ),
    # --- labels and names
    RuleCase(
        "label-too-long",
        {"groups/lx/label": "LIGHTINGS"}, {"groups/lx/label": "LIGHTING"},
        "/groups/lx/label", "label 'LIGHTINGS': 9 characters; a display shows 8 (shorten the label)",
    ),
    RuleCase(
        "label-too-long",
        {"users/sm/label": "STAGE MGR"}, {"users/sm/label": "STAGE MGR", "limits/label": GONE},
        "/users/sm/label", "label 'STAGE MGR': 9 characters; a display shows 8",
    ),
    RuleCase(
        "label-too-long",
        {"users/sm/channels/lx/label": "LIGHTINGS"}, {"users/sm/channels/lx/label": "LIGHTING"},
        "/users/sm/channels/lx/label", "label 'LIGHTINGS': 9 characters; a display shows 8",
    ),
    RuleCase(
        "label-too-long",
        {"kinds/tiny": {"keys": 4, "label": 4}, "devices/pack-01/kind": "tiny", "devices/pack-01/keys/A2": "stage"},
        {"kinds/tiny": {"keys": 4, "label": 5}, "devices/pack-01/kind": "tiny", "devices/pack-01/keys/A2": "stage"},
        "/devices/pack-01/keys/A2", "label 'STAGE': 5 characters; kind tiny shows 4",
    ),
    RuleCase(
        "label-twice",
        {"users/sm/channels/fly/label": "LX"}, {"users/sm/channels/asm/label": "LX"},  # ASM is on no key
        "/devices/desk-01/keys", "device desk-01 (Prompt desk): 'LX' is under A1, A2",
    ),
    RuleCase(
        "label-twice",
        {"users/sm/channels/lx#2": {"number": 5}, "devices/desk-01/keys/A4": "lx#2"},
        {"devices/desk-01/keys/A4": "lx"},  # one channel under two keys does the same
        "/devices/desk-01/keys", "device desk-01 (Prompt desk): 'LX' is under A1, A4",
    ),
    RuleCase(
        "one-name",
        {"users/asm/label": "sm"}, {"users/asm/label": "SM 2"},
        "/users/asm/label", "users/asm and users/sm: both have the label 'sm' (change one of them)",
    ),
    RuleCase(
        "one-name",
        {"groups/snd/name": "fly  rail"}, {"circuits/tape/name": "Fly Rail"},
        "/groups/fly/name", "groups/fly and groups/snd: both have the name 'Fly Rail'",
    ),
    RuleCase(
        "circuit-nearly-named",
        {"circuits/tape/name": "House  party-line a"}, {"circuits/tape/name": "House party line B"},
        "/circuits/house-a",
        "circuits/house-a and circuits/tape: nearly one name, 'House party line A' and 'House  party-line a'",
    ),
    # --- characters
    RuleCase(
        "invisible-character",
        {"groups/lx/label": "L\u200bX"}, {"groups/lx/label": "L X"},
        "/groups/lx/label", "groups/lx/label: 'L\\u200bX' holds U+200B ZERO WIDTH SPACE as character 2",
    ),
    RuleCase(
        "invisible-character",
        {"users/sm/department": "Sta\u00adge\u2060"}, {"users/sm/department": "Stage"},
        "/users/sm/department",
        "users/sm/department: 'Sta\\u00adge\\u2060' holds U+00AD SOFT HYPHEN as character 4, U+2060 WORD JOINER as character 7",
    ),
    RuleCase(
        "invisible-character",
        {"users/sm/channels/lx/label": "LX\ufe0f"}, {"users/sm/channels/lx/label": "❤\ufe0f"},
        "/users/sm/channels/lx/label",
        "users/sm/channels/lx/label: 'LX\ufe0f' holds U+FE0F VARIATION SELECTOR-16 as character 3",
    ),
    RuleCase(
        "look-alike",
        {"groups/pyro": {"label": "LX0"}, "groups/lx/label": "LXO"}, {"groups/pyro": {"label": "LX2"}, "groups/lx/label": "LXO"},
        "/groups/lx/label",
        "groups/lx/label and groups/pyro/label: look alike and differ, U+0030 DIGIT ZERO and U+004F LATIN CAPITAL LETTER O",
    ),
    RuleCase(
        "look-alike",
        {"users/sm/label": "S\u041c"}, {"users/sm/label": "\u0421\u041c"},  # all of it Cyrillic
        "/users/sm/label", "users/sm/label: 'S\u041c' looks like plain Latin, but mixes Cyrillic and Latin: U+041C CYRILLIC CAPITAL LETTER EM",
    ),
    RuleCase(
        "hardware-of-a-group",
        {"devices/pack-01/hardware": "03-00-5E-10-00-07"}, {"devices/pack-01/hardware": "02-00-5E-10-00-07"},
        "/devices/pack-01/hardware", "03-00-5E-10-00-07: the address of a group of devices, not of one",
    ),
    RuleCase(
        "device-without-user",
        {"devices/pack-05": {"kind": "pack-2"}}, {"devices/if-02": {"kind": "ports-2"}},
        "/devices/pack-05", "device pack-05: unassigned (assign it, or keep it as a spare)",
    ),
    # --- the house's own rules
    RuleCase(
        "standard",
        {"standards/fly-hears": {"for": "users/fly-*", "must": {"channels/fly/listen": "always"}, "why": "they fly people"},
         "users/fly-1/channels/fly/listen": "switchable"},
        {"standards/fly-hears": {"for": "users/fly-*", "must": {"channels/fly/listen": "always"}, "why": "they fly people"}},
        "/users/fly-1/channels/fly/listen",
        "users/fly-1/channels/fly/listen: is switchable, not always (standard fly-hears: they fly people)",
    ),
    RuleCase(
        "standard",  # with a condition
        {"standards/a": {"for": "users/*", "where": {"department": "stage"}, "must": {"channels/stage/talk": "latch"}}},
        {"standards/a": {"for": "users/*", "where": {"department": "stage", "label": "ASM"}, "must": {"channels/stage/talk": "latch"}}},
        "/users/sm/channels/stage/talk", "users/sm/channels/stage/talk: is missing, not latch (standard a)",
    ),
    RuleCase(
        "standard",  # every one below a pattern, and a default that is not written
        {"standards/a": {"for": "users/sm/channels/*", "must": {"priority": "normal"}}},
        {"standards/a": {"for": "users/lx-op/channels/*", "must": {"priority": "normal"}}},
        "/users/sm/channels/fly/priority", "users/sm/channels/fly/priority: is high, not normal (standard a)",
    ),
    RuleCase(
        "standard-of-nothing",
        {"standards/a": {"for": "users/spot-*", "must": {"department": "lighting"}}},
        {"standards/a": {"for": "users/lx-*", "must": {"department": "lighting"}}},
        "/standards/a", "standard a: nothing is at users/spot-*",
    ),
    RuleCase(
        "accepted-nothing",
        {"accepted/one": {"rule": "no-device", "at": "/users/lx-op", "why": "wears the spare"}}, {},
        "/accepted/one", "accepted/one: there is no rule 'no-device'",
    ),
    RuleCase(
        "accepted-nothing",
        {"accepted/one": {"rule": "user-without-device", "at": "/users/lx-op", "why": "wears the spare"}},
        {"accepted/one": {"rule": "device-without-user", "at": "/devices/pack-03", "facts": "12345678", "why": "a spare"}},
        "/accepted/one", "accepted/one: accepts nothing; user-without-device finds nothing at users/lx-op",
    ),
)  # fmt: skip
