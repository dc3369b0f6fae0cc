"""Each rule of the list: the edits to one small show that make it find something, and the nearest that do not."""

from __future__ import annotations

from dataclasses import dataclass

from tests.merging.cases import GONE, Edits

CHANNEL = {"number": 5, "talk": "latch"}
TAPE = {"kind": "four-wire", "device": "if-01", "port": 3, "target": "snd", "circuit": "tape"}
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
        "/users/sm/channels/band", "SM: channel 5 points at 'band', which is no group, user or line",
    ),
    RuleCase(
        "channel-to-nothing",
        {"users/sm/channels/stag": CHANNEL}, {"users/sm/channels/lx-op": CHANNEL},
        "/users/sm/channels/stag", "SM: channel 5 points at 'stag', which is no group, user or line; did you mean stage?",
    ),
    RuleCase(
        "channel-to-nothing",
        {"users/sm/channels/band#2": CHANNEL}, {"users/sm/channels/lx#2": CHANNEL},
        "/users/sm/channels/band#2", "SM: channel 5 points at 'band', which is no group, user or line",
    ),
    RuleCase(
        "key-to-nothing",
        {"devices/pack-01/keys/A2": "lx"}, {"devices/pack-01/keys/A2": "stage"},
        "/devices/pack-01/keys/A2", "device pack-01: key A2 holds 'lx', but ASM has no such channel",
    ),
    RuleCase(
        "key-to-nothing",
        {"devices/desk-01/keys/A1": "lx#2"}, {"devices/desk-01/keys/A1": "lx"},
        "/devices/desk-01/keys/A1", "device desk-01 (Prompt desk): key A1 holds 'lx#2', but SM has no such channel",
    ),
    RuleCase(
        "key-to-nothing",
        {"devices/pack-03/keys/A1": "lx"}, {"devices/pack-03/keys/A1": "alarm"},
        "/devices/pack-03/keys/A1", "device pack-03 (Spare pack): key A1 holds 'lx', but the device is worn by nobody",
    ),
    RuleCase(
        "worn-by-nobody-known",
        {"devices/pack-03/user": "band"}, {"devices/pack-03/user": "lx-op"},
        "/devices/pack-03/user", "device pack-03 (Spare pack): user 'band', which is no user",
    ),
    RuleCase(
        "worn-by-nobody-known",
        {"devices/pack-03/user": "fly"}, {"devices/pack-03/user": "fly-1"},  # a group wears nothing
        "/devices/pack-03/user",
        "device pack-03 (Spare pack): user 'fly', which is no user; did you mean fly-1?",
    ),
    RuleCase(
        "kind-unknown",
        {"devices/pack-03/kind": "pack-9"}, {"devices/pack-03/kind": "pack-2"},
        "/devices/pack-03/kind", "device pack-03 (Spare pack): kind 'pack-9', which is no kind that the show knows; did you mean pack-4 or pack-2?",
    ),
    RuleCase(
        "kind-unknown",
        {"devices/pack-03/kind": "rack-panel"},
        {"devices/pack-03/kind": "rack-panel", "kinds/rack-panel": {"keys": 15, "pages": 2}},
        "/devices/pack-03/kind", "device pack-03 (Spare pack): kind 'rack-panel', which is no kind that the show knows",
    ),
    RuleCase(
        "bridge-to-nothing",
        {"bridges/radio/target": "band"}, {"bridges/radio/target": "asm"},
        "/bridges/radio/target", "bridge radio: target 'band', which is no group, user or line",
    ),
    RuleCase(
        "bridge-on-nothing",
        {"bridges/radio/device": "rack"}, {"bridges/radio/device": "if-01"},
        "/bridges/radio/device", "bridge radio: device 'rack', which is no device",
    ),
    RuleCase(
        "required-to-nothing",
        {"required/sm-fly/to": "band"}, {"required/sm-fly/to": "fly-1"},
        "/required/sm-fly/to", "required path sm-fly: to 'band', which is no user, group, circuit or line",
    ),
    RuleCase(
        "required-to-nothing",
        {"required/sm-fly/from": "band"}, {"required/sm-fly/from": "stage"},
        "/required/sm-fly/from", "required path sm-fly: from 'band', which is no user, group, circuit or line",
    ),
    RuleCase(
        "required-to-nothing",
        {"required/sm-fly/over": "sm"}, {"required/sm-fly/over": "fly"},  # a path is over a group or a line
        "/required/sm-fly/over", "required path sm-fly: over 'sm', which is no group or line",
    ),
    RuleCase(
        "required-to-nothing",
        {"required/all": {"from": "department:flys", "to": "everyone"}},
        {"required/all": {"from": "department:fly", "to": "everyone"}},
        "/required/all/from", "required path all: nobody is of the department 'flys'; did you mean fly?",
    ),
    RuleCase(
        "apart-to-nothing",
        {"apart/talent": {"from": "department:cast", "to": "house-a"}},
        {"apart/talent": {"from": "department:stage", "to": "house-a"}},
        "/apart/talent/from", "paths apart talent: nobody is of the department 'cast'",
    ),
    RuleCase(
        "apart-to-nothing",
        {"apart/talent": {"from": "sm", "to": "green-room"}}, {"apart/talent": {"from": "sm", "to": "tie"}},
        "/apart/talent/to", "paths apart talent: to 'green-room', which is no user, group, circuit or line",
    ),
    RuleCase(
        "line-unknown",
        {"users/sm/lines/alarms": {}}, {"users/sm/lines/alarm": {}},
        "/users/sm/lines/alarms", "user SM: 'alarms', which is no line; did you mean alarm?",
    ),
    RuleCase(
        "circuit-unknown",
        {"bridges/radio/circuit": "house-b"}, {"bridges/radio/circuit": "tie"},
        "/bridges/radio/circuit", "bridge radio: circuit 'house-b', which is no circuit; did you mean house-a?",
    ),
    RuleCase(
        "standby-unknown",
        {"bridges/radio/standby": "new-line"}, {"bridges/radio/standby": "party-line"},
        "/bridges/radio/standby", "bridge radio: standby for 'new-line', which is no bridge",
    ),
    RuleCase(
        "carrier-unknown",
        {"devices/desk-01/on": ["switch", ["ups-1", "ups-2"]], "carriers/switch": {}, "carriers/ups-1": {}},
        {"devices/desk-01/on": ["switch", ["ups-1", "ups-2"]], "carriers/switch": {}, "carriers/ups-1": {}, "carriers/ups-2": {}},
        "/devices/desk-01/on", "device desk-01 (Prompt desk): hangs on 'ups-2', which is no carrier; did you mean ups-1?",
    ),
    RuleCase(
        "carrier-unknown",
        {"carriers/switch": {"name": "Deck switch", "on": ["ups-1"]}}, {"carriers/switch": {"name": "Deck switch"}},
        "/carriers/switch/on", "carrier switch (Deck switch): hangs on 'ups-1', which is no carrier",
    ),
    RuleCase(
        "same-id",
        {"groups/asm": {"name": "Assistants"}}, {"groups/assistants": {"name": "Assistants"}},
        "/groups/asm", "'asm' is a group and a user at once: what refers to it could mean either",
    ),
    RuleCase(
        "same-id",
        {"circuits/sm": {}}, {"circuits/sm-radio": {}},
        "/users/sm", "'sm' is a user and a circuit at once: what refers to it could mean either",
    ),
    RuleCase(
        "same-id",
        {"lines/fly": {}}, {"lines/fly-page": {}},
        "/groups/fly", "'fly' is a group and a line at once: what refers to it could mean either",
    ),
    # --- one place, one thing
    RuleCase(
        "number-twice",
        {"users/sm/channels/stage": {"number": 4}}, {"users/sm/channels/stage": {"number": 5}},
        "/users/sm/channels/asm/number", "SM: channel 4 is ASM and STAGE at once",
    ),
    RuleCase(
        "port-twice",
        {"bridges/radio/port": 1}, {"bridges/radio/port": 3},
        "/bridges/party-line/port", "port 1 of device if-01 is bridge party-line and bridge radio at once",
    ),
    RuleCase(
        "port-twice",
        {"bridges/tape": {**TAPE, "port": 2}, "devices/if-02": {"kind": "ports-2"}},
        {"bridges/tape": {**TAPE, "port": 2, "device": "if-02"}, "devices/if-02": {"kind": "ports-2"}},
        "/bridges/radio/port", "port 2 of device if-01 is bridge radio and bridge tape at once",
    ),
    RuleCase(
        "hardware-twice",
        {"devices/pack-01/hardware": "0200.5e10.0001"}, {"devices/pack-01/hardware": "0200.5e10.0002"},
        "/devices/desk-01/hardware", f"devices desk-01 and pack-01 both have the hardware address {HARDWARE}",
    ),
    RuleCase(
        "hardware-twice",
        {"devices/pack-03/hardware": HARDWARE}, {},  # a spare is a unit too
        "/devices/desk-01/hardware", f"devices desk-01 and pack-03 both have the hardware address {HARDWARE}",
    ),
    # --- what the system takes
    RuleCase(
        "too-many-targets",
        {"limits/targets": 7}, {"limits/targets": 8},
        "/limits/targets", "8 groups and users; the system takes 7",
    ),
    RuleCase(
        "too-many-devices",
        {"limits/devices": 4}, {"limits/devices": 5},
        "/limits/devices", "5 devices; the system takes 4",
    ),
    RuleCase(
        "channel-beyond-limit",
        {"users/sm/channels/lx/number": 7}, {"users/sm/channels/lx/number": 6},
        "/users/sm/channels/lx/number", "SM: LX is on channel 7; a list takes 6",
    ),
    RuleCase(
        "channel-beyond-limit",
        {"limits/channels": 3, "users/sm/channels/asm/number": 3}, {"limits/channels": 4},
        "/users/sm/channels", "SM: 4 channels; a list takes 3",
    ),
    RuleCase(
        "key-beyond-kind",
        {"devices/pack-01/keys/A5": "stage"}, {"devices/pack-01/keys/A4": "stage"},
        "/devices/pack-01/keys/A5", "device pack-01 has no key A5: kind pack-4 has 4 keys on 1 page",
    ),
    RuleCase(
        "key-beyond-kind",
        {"devices/pack-01/keys/B1": "stage"},
        {"devices/pack-01/keys/B1": "stage", "devices/pack-01/kind": "two-pages", "kinds/two-pages": {"keys": 1, "pages": 2}},
        "/devices/pack-01/keys/B1", "device pack-01 has no key B1: kind pack-4 has 4 keys on 1 page",
    ),
    RuleCase(
        "port-beyond-kind",
        {"bridges/radio/port": 5}, {"bridges/radio/port": 4},
        "/bridges/radio/port", "bridge radio is on port 5 of if-01: kind ports-4 has 4 ports",
    ),
    RuleCase(
        "port-beyond-kind",
        {"bridges/radio/device": "pack-03"}, {"bridges/radio/device": "if-01"},
        "/bridges/radio/port", "bridge radio is on port 2 of pack-03: kind pack-4 has no ports",
    ),
    # --- who must hear whom
    RuleCase(
        "required-lost",
        {"users/sm/channels/fly/talk": "none"}, {"users/sm/channels/fly/talk": "latch"},
        "/required/sm-fly", "FLY 1 does not hear SM (required path sm-fly: fly cues are called here)",
    ),
    RuleCase(
        "required-lost",
        {"users/fly-1/channels/fly/listen": "none"}, {"users/fly-1/channels/fly/listen": "switchable"},
        "/required/sm-fly", "SM to FLY: lost, nobody else listens on FLY (required path sm-fly: fly cues are called here)",
    ),
    RuleCase(
        "required-lost",
        {"required/sm-fly/both": True, "users/fly-1/channels/fly/talk": "none"}, {"users/fly-1/channels/fly/talk": "none"},
        "/required/sm-fly", "SM does not hear FLY 1 (required path sm-fly: fly cues are called here)",
    ),
    RuleCase(
        "required-in-menu",
        {"devices/desk-01/keys/A2": GONE}, {"devices/desk-01/keys/A2": GONE, "devices/desk-01/keys/A7": "fly"},
        "/required/sm-fly", "FLY 1 hears SM from the menu only",
    ),
    RuleCase(
        "ring",
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}},
        {"bridges/tape": {**TAPE, "target": "snd", "circuit": "house-a"}},
        "/bridges/party-line", "bridges close a ring: ",
    ),
    RuleCase(
        "ring",
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a"}},
        {"bridges/tape": {**TAPE, "target": "lx", "circuit": "house-a", "direction": "in"},
         "bridges/party-line/direction": "in"},
        "/bridges/party-line", "bridges close a ring: ",
    ),
    # --- what works badly
    RuleCase(
        "user-alone",
        {"users/md": {"label": "MD"}}, {"users/md": {"label": "MD", "channels": {"lx": {"number": 1}}}},
        "/users/md", "MD hears nobody and is heard by nobody",
    ),
    RuleCase(
        "critical-in-menu",
        {"devices/pack-02/keys": {"A1": "alarm"}}, {"devices/pack-02/keys": {"A1": "alarm", "A2": "fly"}},
        "/users/fly-1/channels/fly", "FLY 1 reaches FLY only through the menu",
    ),
    RuleCase(
        "critical-in-menu",
        {"devices/pack-02/keys": {"A1": "alarm"}, "users/fly-1/channels/fly#2": {"number": 2, "talk": "latch"}},
        {"users/fly-1/channels/fly#2": {"number": 2, "talk": "latch"}},  # the other channel of it is on a key
        "/users/fly-1/channels/fly", "FLY 1 reaches FLY only through the menu",
    ),
    RuleCase(
        "critical-in-menu",
        {"devices/desk-01/keys/A2": "fly#2", "users/sm/channels/fly#2": {"number": 5}},  # no talk under the key
        {"users/sm/channels/fly/talk": "open", "devices/desk-01/keys/A2": GONE},
        "/users/sm/channels/fly", "SM reaches FLY only through the menu",
    ),
    RuleCase(
        "critical-in-menu",
        {"users/asm/channels/fly#2": {"number": 5, "talk": "latch"}, "users/asm/channels/fly": {"number": 6}},
        {"users/asm/channels/fly#2": {"number": 5, "talk": "latch"}, "devices/pack-01/keys/A2": "fly#2"},
        "/users/asm/channels/fly#2", "ASM reaches FLY only through the menu",
    ),
    RuleCase(
        "group-unheard",
        {"groups/pyro": {"label": "PYRO"}},
        {"groups/pyro": {"label": "PYRO"}, "users/asm/channels/pyro": {"number": 3}},
        "/groups/pyro", "nobody listens on PYRO",
    ),
    RuleCase(
        "user-without-device",
        {"devices/pack-01/user": GONE, "devices/pack-01/keys": {}}, {"devices/pack-01/keys": {}},
        "/users/asm", "ASM has no device",
    ),
    RuleCase(
        "user-without-device",
        {"users/radio-crew": {"label": "RADIO"}}, {"users/radio-crew": {"label": "RADIO"}, "bridges/radio/target": "radio-crew"},
        "/users/radio-crew", "RADIO has no device",
    ),
    RuleCase(
        "label-too-long",
        {"groups/lx/label": "LIGHTINGS"}, {"groups/lx/label": "LIGHTING"},
        "/groups/lx/label", "label 'LIGHTINGS' has 9 characters",
    ),
    RuleCase(
        "label-too-long",
        {"users/sm/label": "STAGE MGR"}, {"users/sm/label": "STAGEMGR"},
        "/users/sm/label", "label 'STAGE MGR' has 9 characters",
    ),
    RuleCase(
        "label-too-long",
        {"users/sm/channels/lx/label": "LIGHTINGS"}, {"users/sm/channels/lx/label": "LIGHTING"},
        "/users/sm/channels/lx/label", "label 'LIGHTINGS' has 9 characters",
    ),
    RuleCase(
        "label-twice",
        {"users/sm/channels/fly/label": "LX"}, {"users/sm/channels/asm/label": "LX"},  # ASM is on no key
        "/devices/desk-01/keys", "device desk-01: 'LX' stands under A1, A2",
    ),
    RuleCase(
        "label-twice",
        {"users/sm/channels/lx#2": {"number": 5}, "devices/desk-01/keys/A4": "lx#2"},
        {"devices/desk-01/keys/A4": "lx"},  # one channel under two keys does the same
        "/devices/desk-01/keys", "device desk-01: 'LX' stands under A1, A4",
    ),
    RuleCase(
        "hardware-of-a-group",
        {"devices/pack-01/hardware": "03-00-5E-10-00-07"}, {"devices/pack-01/hardware": "02-00-5E-10-00-07"},
        "/devices/pack-01/hardware", "03-00-5E-10-00-07 is the address of a group of devices, not of one",
    ),
    RuleCase(
        "device-without-user",
        {"devices/pack-04": {"kind": "pack-2"}}, {"devices/if-02": {"kind": "ports-2"}},
        "/devices/pack-04", "device pack-04 is worn by nobody",
    ),
    RuleCase(
        "single-talker",
        {"users/lx-op/channels/lx/talk": "none", "bridges/party-line/direction": "out"},
        {"users/lx-op/channels/lx/talk": "none"},  # the house talks back over the party line
        "/groups/lx", "only SM talks on LX",
    ),
    RuleCase(
        "priority-mismatch",
        {"users/sm/channels/lx/priority": "high"},
        {"users/sm/channels/lx/priority": "high", "users/sm/channels/lx/talk": "none"},
        "/groups/lx", "LX is not critical, but 1 user talks on it with high priority",
    ),
    RuleCase(
        "priority-mismatch",
        {"users/sm/channels/lx/priority": "high", "users/sm/channels/lx#2": {"number": 5, "talk": "latch", "priority": "high"}},
        {"users/sm/channels/lx#2": {"number": 5, "priority": "high"}},
        "/groups/lx", "LX is not critical, but 1 user talks on it with high priority",
    ),
    RuleCase(
        "quiet-unknown",
        {"accepted/one": {"rule": "no-device", "at": "/users/lx-op", "why": "wears the spare"}},
        {"accepted/one": {"rule": "user-without-device", "at": "/users/lx-op", "why": "wears the spare"}},
        "/accepted/one/rule", "quietens 'no-device', which is no rule that can be quietened",
    ),
)  # fmt: skip
