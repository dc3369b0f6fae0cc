"""Worked cases: who is there, how sound goes, over what, how and how surely, and what runs out."""

from __future__ import annotations

from tests.paths.oracle.building import (
    bridge,
    carrier,
    case,
    circuit,
    device,
    floor,
    line,
    port,
    user,
)

LISTENING = [
    case(
        "a-group-is-heard-by-who-listens",
        "b has FLY on his list with listen none: on the list is not on the ear",
        user("sm", "fly:mn"), user("a", "fly:na"), user("b", "fly:nn"), user("c"),
        paths="sm>a over fly: key sure", heard="sm>a",
    ),
    case(
        "nobody-hears-himself",
        "sm talks and listens on FLY alone: an empty matrix",
        user("sm", "fly:ma"),
        heard="",
    ),
    case(
        "an-ear-that-can-be-switched-off-is-unsure",
        "a may have FLY switched off when it matters",
        user("sm", "fly:mn"), user("a", "fly:ns"), user("b", "fly:n-"),
        paths="sm>a over fly: key unsure, sm>b over fly: key unsure",
    ),
    case(
        "always-at-minus-sixty-is-no-sure-ear",
        "-60 is off, whatever the floor says or does not say",
        user("sm", "fly:mn"), user("a", "fly:na@-60"), user("b", "fly:na@-59"),
        paths="sm>a over fly: key unsure, sm>b over fly: key sure",
    ),
    case(
        "at-the-floor-is-sure-below-it-is-not",
        "the floor itself is still heard",
        floor(-40), user("sm", "fly:mn"), user("a", "fly:na@-40"), user("b", "fly:na@-41"),
        paths="sm>a over fly: key sure, sm>b over fly: key unsure",
    ),
    case(
        "the-surest-of-two-channels-counts",
        "a has FLY twice, once turned down and once up",
        user("sm", "fly:mn"), user("a", "fly:na@-60", "fly#2:na"), user("b", "fly:nn", "fly#2:ns"),
        paths="sm>a over fly: key sure, sm>b over fly: key unsure",
    ),
    case(
        "talk-on-the-second-channel-counts",
        "sm listens on FLY and talks on FLY#2, which has the key",
        user("sm", "fly:na", "fly#2:mn"), user("a", "fly:na"),
        paths="sm>a over fly: key sure",
    ),
    case(
        "a-direct-call-needs-no-channel-there",
        "a has nothing on his list; his pack rings all the same",
        user("sm", "a:mn"), user("a"),
        paths="sm>a over a: key sure",
    ),
    case(
        "a-direct-call-is-refused-by-listen-none",
        "a has SM on his list and does not listen to him; sm listens to a, who so is heard",
        user("sm", "a:ma"), user("a", "sm:mn"),
        heard="a>sm",
    ),
    case(
        "one-entry-of-two-that-listens-is-enough",
        "a's SM says none, his SM#2 always; sm's own entry for a is listen none, so a is not heard back",
        user("sm", "a:mn"), user("a", "sm:nn", "sm#2:na"),
        paths="sm>a over a: key sure",
    ),
    case(
        "a-switchable-entry-for-the-caller-is-unsure",
        "with an entry the call may be switched off; without one it can't",
        user("sm", "a:mn"), user("a", "sm:ns"),
        paths="sm>a over a: key unsure",
    ),
]  # fmt: skip

HEADSETS = [
    case(
        "who-wears-nothing-hears-nobody",
        "the automation watch has no pack: not heard, not hearing, whatever is on his list",
        user("sm", "auto:ma"), user("watch", "auto:ma", worn=False),
        off="watch", heard="", maybe="sm>watch, watch>sm",
    ),
    case(
        "an-interface-is-no-headset",
        "a device without keys does not put anybody on headset",
        user("sm", "fly:mn"), user("a", "fly:na", worn=False), device("box", "ports-2", user="a"),
        off="a", heard="",
    ),
    case(
        "a-pack-at-repair-is-no-headset",
        "it may come back, so what must be apart still counts him",
        user("sm", "fly:mn"), user("a", "fly:na", away="at repair"),
        off="a", heard="", maybe="sm>a",
    ),
    case(
        "a-lent-pack-is-no-headset",
        "the house crew has it",
        user("sm", "fly:mn"), user("a", "fly:na", lent={"to": "house crew"}),
        off="a", heard="",
    ),
    case(
        "a-second-pack-keeps-him-on-headset",
        "the first is at repair, the second stands, and its keys count",
        user("sm", "fly:mn", keys="A1=fly", away="at repair"), device("spare", keys="B1=fly", user="sm"), user("a", "fly:na"),
        off="", paths="sm>a over fly: page sure",
    ),
    case(
        "without-its-carrier-a-pack-is-off",
        "all packs hang on the one antenna that is named as out",
        carrier("ant"), user("sm", "fly:ma", on=["ant"]), user("a", "fly:ma"),
        out=("ant",), off="sm", heard="", maybe="",
    ),
    case(
        "an-id-of-two-things-is-named-with-its-section",
        "the interface and a bridge are both called x: the bridge alone is out",
        user("sm", "fly:mn", "cue:mn"), circuit("truck", "h"), device("x", "ports-2"), bridge("x", "fly", "truck", device="x", port=1),
        bridge("y", "cue", "truck", device="x", port=2),
        out=("bridges/x",), paths="sm>truck over cue: key sure",
    ),
    case(
        "one-of-two-alternatives-is-enough",
        "the pack roams to the other antenna",
        carrier("ant"), carrier("ant-2"), user("sm", "fly:mn", on=[["ant", "ant-2"]]), user("a", "fly:na"),
        out=("ant",), off="", heard="sm>a",
    ),
    case(
        "all-of-a-list-is-needed",
        "the switch and one of two supplies",
        carrier("switch"), carrier("ups-1"), carrier("ups-2"),
        user("sm", "fly:mn", on=["switch", ["ups-1", "ups-2"]]), user("a", "fly:na"),
        out=("ups-1", "ups-2"), off="sm", heard="",
    ),
    case(
        "carriers-hang-on-carriers",
        "the supply goes, the switch on it, the antenna on that, the pack",
        carrier("ups"), carrier("switch", ["ups"]), carrier("ant", ["switch"]), user("sm", "fly:mn", on=["ant"]), user("a", "fly:na"),
        out=("ups",), off="sm",
    ),
    case(
        "a-carrier-that-is-not-there-carries-nothing",
        "the document points at no such antenna: surely off, possibly on",
        user("sm", "fly:mn", on=["gone"]), user("a", "fly:na"),
        off="sm", heard="", maybe="sm>a",
    ),
]  # fmt: skip

KEYS = [
    case(
        "no-key-is-the-menu",
        "sm has FLY with talk and no key for it",
        user("sm", "fly:mn", keys=""), user("a", "fly:na"),
        paths="sm>a over fly: menu sure",
    ),
    case(
        "a-key-that-the-kind-lacks-is-no-key",
        "A9 on a pack of four keys, and D1 on one of three pages",
        user("sm", "fly:mn", kind="pack-4", keys="A9=fly"), user("dsm", "fly:mn", keys="D1=fly"), user("a", "fly:na"),
        paths="sm>a over fly: menu sure, dsm>a over fly: menu sure",
    ),
    case(
        "a-panel-without-menu-and-key-has-no-path",
        "nothing to press",
        user("sm", "fly:mn", kind="plate", keys=""), user("a", "fly:na"),
        heard="",
    ),
    case(
        "open-needs-neither-menu-nor-key",
        "always open on a plate without a menu",
        user("sm", "fly:on", kind="plate", keys=""), user("a", "fly:na"),
        paths="sm>a over fly: open sure",
    ),
    case(
        "a-key-on-page-b-is-told",
        "one has to turn the page first",
        user("sm", "fly:mn", keys="B3=fly"), user("a", "fly:na"),
        paths="sm>a over fly: page sure",
    ),
    case(
        "the-key-of-the-listening-channel-is-no-talk-key",
        "A1 is FLY, which only listens; FLY#2 talks and has no key",
        user("sm", "fly:na", "fly#2:mn", keys="A1=fly"), user("a", "fly:na"),
        paths="sm>a over fly: menu sure",
    ),
    case(
        "the-best-device-counts",
        "in the menu on the belt, on a key of the desk",
        user("sm", "fly:mn", keys=""), device("desk", "desk-8", "A8=fly", user="sm"), user("a", "fly:na"),
        paths="sm>a over fly: key sure",
    ),
    case(
        "the-key-of-a-device-that-is-away-does-not-count",
        "the desk is at repair; the belt has FLY in its menu",
        user("sm", "fly:mn", keys=""), device("desk", "desk-8", "A8=fly", user="sm", away="at repair"), user("a", "fly:na"),
        paths="sm>a over fly: menu sure",
    ),
]  # fmt: skip

LINES = [
    case(
        "a-line-is-there-for-everybody",
        "b has no entry and hears it, c says none; no pair is made of it",
        line("alarm"), user("sm", "!alarm:m-"), user("b"), user("c", "!alarm:nn"), user("d", "!alarm:ns"), user("e", "!alarm:n-"),
        paths="sm>b over alarm: key sure, sm>d over alarm: key unsure, sm>e over alarm: key sure",
        heard="", raises={"alarm": "sm"}, hears={"alarm": "sm, b, d, e"},
    ),
    case(
        "an-alarm-that-nobody-can-raise",
        "all hear it and nobody has a talk on it",
        line("alarm", critical=True), user("sm"), user("a", "!alarm:n-"),
        raises={"alarm": ""}, hears={"alarm": "sm, a"}, paths="",
    ),
    case(
        "a-line-turned-down-is-unsure",
        "a written level below any floor makes the ear unsure, listen written or not",
        line("alarm"), user("sm", "!alarm:mn"), user("a", "!alarm:n-@-60"),
        paths="sm>a over alarm: key unsure",
    ),
    case(
        "who-is-off-headset-hears-no-alarm",
        "a page reaches worn packs only",
        line("page"), user("sm", "!page:mn"), user("a", worn=False),
        hears={"page": ""}, raises={"page": "sm"},
    ),
    case(
        "a-line-is-bridged-both-ways",
        "the hall loudspeaker hears the page; the fire panel raises the alarm",
        line("page"), line("alarm"), user("sm", "!page:mn", "!alarm:nn"), user("a", "!page:nn"),
        circuit("hall", "hS"), circuit("panel", "Hs"), bridge("b1", "page", "hall", "out"), bridge("b2", "alarm", "panel", "in"),
        paths="sm>hall over page: key sure, panel>a over alarm: open sure", heard="",
        raises={"page": "sm", "alarm": "panel"}, hears={"page": "hall", "alarm": "a"},
    ),
    case(
        "a-page-that-comes-back-on-a-group-is-still-over-the-line",
        "out of PAGE onto the party line, which carries it onto FLY: what sm reached first is PAGE, so it makes no pair",
        line("page"), user("sm", "!page:mn"), user("a", "fly:na", "!page:nn"), circuit("line", "HSc"),
        bridge("b1", "page", "line", "out"), bridge("b2", "fly", "line", "in"),
        paths="sm>a over page: key sure", heard="", hears={"page": "a"},
    ),
    case(
        "a-group-that-comes-out-on-a-line-is-over-the-group",
        "FLY onto the party line, which the paging line takes in: everybody hears sm over FLY, and that is a pair",
        line("page"), user("sm", "fly:mn"), user("a"), circuit("line", "HSc"),
        bridge("b1", "fly", "line", "out"), bridge("b2", "page", "line", "in"),
        paths="sm>a over fly: key sure", heard="sm>a", raises={"page": ""},
    ),
    case(
        "a-port-hears-only-its-own-written-line",
        "P writes page and not alarm: the truck gets the page alone",
        line("page"), line("alarm"), user("sm", "!page:mn", "!alarm:mn"), port("p", "!page:n-"),
        circuit("truck", "hS"), bridge("b1", "p", "truck", "out"),
        paths="sm>truck over page: key sure",
    ),
]  # fmt: skip

BRIDGES = [
    case(
        "a-circuit-hears-and-speaks-as-written",
        "unwritten is unknown: not surely, but possibly; b1's circuit comes over FLY to the others on it",
        user("sm", "fly:ma"), circuit("yes", "hs"), circuit("no", "HS"), circuit("what"),
        bridge("b1", "fly", "yes"), bridge("b2", "fly", "no"), bridge("b3", "fly", "what"),
        paths="sm>yes over fly: key sure, yes>sm over fly: open sure",
        heard="sm>yes, yes>sm", maybe="sm>what, what>sm, yes>what, what>yes",
    ),
    case(
        "a-bridge-goes-its-way-only",
        "in: they are heard, and hear nothing; out: the other way round",
        user("sm", "fly:ma"), circuit("spk", "hs"), circuit("ear", "hs"),
        bridge("b1", "fly", "spk", "in"), bridge("b2", "fly", "ear", "out"),
        heard="spk>sm, spk>ear, sm>ear",
    ),
    case(
        "a-party-line-carries-on",
        "what FLY puts onto the line comes out on RIG; the path is over FLY, which sm reaches first",
        user("sm", "fly:mn"), user("a", "rig:na"), circuit("line", "HSc"), bridge("b1", "fly", "line"), bridge("b2", "rig", "line"),
        paths="sm>a over fly: key sure",
    ),
    case(
        "a-circuit-that-does-not-carry-ends-there",
        "four-wire ports of one box that are not joined",
        user("sm", "fly:mn"), user("a", "rig:na"), circuit("box", "HSC"), bridge("b1", "fly", "box"), bridge("b2", "rig", "box"),
        heard="", maybe="",
    ),
    case(
        "whether-it-carries-is-unknown",
        "surely not, possibly yes",
        user("sm", "fly:mn"), user("a", "rig:na"), circuit("box", "HS"), bridge("b1", "fly", "box"), bridge("b2", "rig", "box"),
        heard="", maybe="sm>a",
    ),
    case(
        "nothing-goes-back-over-the-bridge-that-brought-it",
        "the one bridge of the house line brings FLY in and does not return it: the carpenter does not hear himself, rig does not come twice",
        user("a", "fly:na"), circuit("line", "hsc"), bridge("b1", "fly", "line"),
        heard="line>a",
    ),
    case(
        "two-circuits-on-one-group-hear-each-other",
        "out by every bridge but the one that brought it",
        user("sm"), circuit("house", "hs"), circuit("radio", "hs"), bridge("b1", "fly", "house"), bridge("b2", "fly", "radio"),
        paths="house>radio over fly: open sure, radio>house over fly: open sure",
    ),
    case(
        "a-bridge-that-is-not-live-brings-nothing",
        "away, device away, no such port, two on one port, standby: five ways to be dead",
        user("sm", "fly:mn"), circuit("c", "h"),
        bridge("away", "fly", "c", away="at repair"), bridge("box-away", "fly", "c", device="if-2", port=1),
        device("if-2", "ports-2", away="at repair"), bridge("no-port", "fly", "c", device="if-3", port=3), device("if-3", "ports-2"),
        bridge("one", "fly", "c", device="if-4", port=1), bridge("other", "fly", "c", device="if-4", port=1), device("if-4", "ports-2"),
        bridge("spare", "fly", "c", standby="away"),
        heard="", maybe="sm>c",
    ),
    case(
        "a-standby-may-share-the-port",
        "the main stays live beside its standby on the same port",
        user("sm", "fly:mn"), circuit("truck", "h"),
        bridge("main", "fly", "truck", port=1), bridge("spare", "cue", "truck", port=1, standby="main"), user("a", "cue:mn"),
        heard="sm>truck", maybe="a>truck",
    ),
    case(
        "a-standby-is-never-beside-what-it-replaces",
        "main brings the radio onto FLY, its standby would take FLY to the truck: never both at once, so radio never comes to the truck",
        circuit("radio", "sH"), circuit("truck", "hS"), user("sm"),
        bridge("main", "fly", "radio", "in"), bridge("spare", "fly", "truck", "out", standby="main"),
        heard="", maybe="",
    ),
    case(
        "without-the-interface-the-circuit-is-cut",
        "the supply under the interface goes, and the truck with it",
        carrier("ups"), user("sm", "fly:mn"), circuit("truck", "h"), bridge("b1", "fly", "truck", device="box", port=1),
        device("box", "ports-2", on=["ups"]),
        out=("ups",), heard="", maybe="",
    ),
    case(
        "a-circuit-that-is-out-carries-nothing",
        "its bridges need it",
        user("sm", "fly:mn"), user("a", "rig:na"), circuit("line", "hsc"), bridge("b1", "fly", "line"), bridge("b2", "rig", "line"),
        out=("circuits/line",), heard="",
    ),
]  # fmt: skip

PORTS = [
    case(
        "a-port-listens-and-speaks-for-its-circuit",
        "FLY is on its list, open: out goes what FLY says, in comes the truck over FLY and not over the port",
        user("sm", "fly:ma"), port("p", "fly:os"), circuit("truck", "hs"), bridge("b1", "p", "truck"),
        paths="sm>truck over fly: key sure, truck>sm over fly: open sure",
    ),
    case(
        "a-port-speaks-only-where-it-is-open",
        "nobody is there to press a momentary key",
        user("sm", "fly:ma"), port("p", "fly:ma"), circuit("truck", "hs"), bridge("b1", "p", "truck"),
        heard="sm>truck",
    ),
    case(
        "a-port-that-listens-to-nothing-takes-only-direct-calls",
        "called directly, it sends out; FLY it does not have",
        user("sm", "p:mn", "fly:mn"), port("p"), circuit("truck", "hs"), bridge("b1", "p", "truck"),
        paths="sm>truck over p: key sure",
    ),
    case(
        "a-port-turned-down-is-unsure",
        "a port that listens at -60 hands on silence",
        user("sm", "fly:mn"), port("p", "fly:na@-60"), circuit("truck", "h"), bridge("b1", "p", "truck"),
        paths="sm>truck over fly: key unsure",
    ),
    case(
        "a-port-does-not-send-back-what-its-bridge-brought",
        "the truck does not hear itself; the second truck on the same port does",
        user("sm"), port("p", "fly:oa"), circuit("truck", "hs"), circuit("van", "hS"),
        bridge("b1", "p", "truck"), bridge("b2", "p", "van", "out"),
        paths="truck>van over fly: open sure",
    ),
    case(
        "a-call-to-a-port-does-not-come-back-over-its-bridge",
        "sm's call goes out by b1; the line carries it, but not back in by the same bridge and onto FLY",
        user("sm", "p:mn"), user("a", "fly:na"), port("p", "fly:on"), circuit("line", "hsc"), bridge("b1", "p", "line"),
        paths="sm>line over p: key sure, line>a over fly: open sure",
    ),
    case(
        "two-ports-hand-on-to-each-other",
        "P calls Q openly: whoever speaks into P's bridge comes out at Q's",
        user("sm"), port("p", "q:on"), port("q"), circuit("north", "hs"), circuit("south", "hs"),
        bridge("b1", "p", "north"), bridge("b2", "q", "south"),
        paths="north>south over q: open sure",
    ),
    case(
        "a-bridge-to-a-person-carries-direct-calls-and-his-ear",
        "FLY, which a hears, does not go out; the radio comes to a's ear and no further",
        user("sm", "a:mn", "fly:mn"), user("a", "fly:na"), user("b", "a:nn", "fly:na"), circuit("radio", "hs"), bridge("b1", "a", "radio"),
        paths="sm>a over a: key sure, sm>radio over a: key sure, sm>a over fly: key sure, sm>b over fly: key sure, radio>a over a: open sure",
    ),
    case(
        "a-call-goes-out-whether-he-listens-or-not",
        "a refuses sm and is off headset besides; his radio gets the call",
        user("sm", "a:mn"), user("a", "sm:nn", worn=False), circuit("radio", "hS"), bridge("b1", "a", "radio"),
        heard="sm>radio", off="a",
    ),
]  # fmt: skip

TURNS = [
    case(
        "one-at-a-time-is-unsure",
        "somebody else may be talking: at the circuit's ear, from its mouth and between",
        user("sm", "fly:ma"), user("a", "rig:na"), circuit("walkie", "hsco"), bridge("b1", "fly", "walkie"), bridge("b2", "rig", "walkie"),
        paths="sm>walkie over fly: key unsure, walkie>sm over fly: open unsure, walkie>a over rig: open unsure, sm>a over fly: key unsure",
    ),
    case(
        "an-open-microphone-holds-the-channel",
        "sm is open on FLY, which transmits all the time: nobody on the walkies gets in, nor dsm through them; sm himself does",
        user("sm", "fly:oa"), user("dsm", "fly:mn"), user("a", "rig:na"),
        circuit("walkie", "hsco"), bridge("b1", "fly", "walkie"), bridge("b2", "rig", "walkie"),
        heard="sm>walkie, sm>a, dsm>sm, dsm>walkie", maybe="",
    ),
    case(
        "a-closed-microphone-holds-nothing",
        "momentary: they take turns",
        user("sm", "fly:ma"), circuit("walkie", "hso"), bridge("b1", "fly", "walkie"),
        heard="sm>walkie, walkie>sm",
    ),
    case(
        "an-open-microphone-off-headset-holds-nothing",
        "his pack is at repair",
        user("sm", "fly:oa", away="at repair"), user("a", "fly:na"), circuit("walkie", "hso"), bridge("b1", "fly", "walkie"),
        heard="walkie>a", maybe="sm>a, sm>walkie, walkie>sm",
    ),
    case(
        "what-may-hold-it-surely-counts-as-held",
        "whether the box carries sm's open microphone to the walkie is unwritten: surely walkie does not come in, possibly it does",
        user("sm", "fly:on"), user("a", "rig:na"), circuit("box", "HS"), circuit("walkie", "Hso"),
        bridge("b1", "fly", "box"), bridge("b2", "rig", "box"), bridge("b3", "rig", "walkie"),
        heard="", maybe="sm>a, walkie>a",
    ),
    case(
        "two-open-microphones-and-neither-surely-comes-through",
        "both hold it; which one is carried on is a matter of luck",
        user("sm", "fly:on"), user("dsm", "fly:on"), user("a", "rig:na"), circuit("walkie", "HSco"),
        bridge("b1", "fly", "walkie"), bridge("b2", "rig", "walkie"),
        heard="", maybe="sm>a, dsm>a",
    ),
]  # fmt: skip

CAPACITIES = [
    case(
        "three-packs-round-an-antenna-of-two",
        "who of the three gets a slot is open, so every path of theirs is unsure; sm hangs on nothing",
        carrier("ant", slots=2), user("sm", "fly:mn"),
        user("a", "fly:na", kind="radio-belt", on=["ant"]), user("b", "fly:na", kind="radio-belt", on=["ant"]),
        user("c", "fly:nn", kind="radio-belt", on=["ant"]),
        full="ant slots", paths="sm>a over fly: key unsure, sm>b over fly: key unsure",
    ),
    case(
        "what-is-away-takes-no-slot",
        "two packs stand",
        carrier("ant", slots=2), user("sm", "fly:mn"),
        user("a", "fly:na", kind="radio-belt", on=["ant"]), user("b", "fly:na", kind="radio-belt", on=["ant"]),
        user("c", kind="radio-belt", on=["ant"], away="at repair"),
        full="", paths="sm>a over fly: key sure, sm>b over fly: key sure",
    ),
    case(
        "an-antenna-alone-must-hold-all",
        "two antennas of one slot for two packs: either one out, the other is over-full",
        carrier("ant-1", slots=1), carrier("ant-2", slots=1),
        user("a", "fly:ma", kind="radio-belt", on=[["ant-1", "ant-2"]]), user("b", "fly:ma", kind="radio-belt", on=[["ant-1", "ant-2"]]),
        full="ant-1 slots, ant-2 slots",
    ),
    case(
        "the-other-alternative-is-roomy",
        "ant-1 would be over-full without ant-2; a path through either is as sure as the better one",
        carrier("ant-1", slots=1), carrier("ant-2", slots=9),
        user("a", "fly:mn", kind="radio-belt", on=[["ant-1", "ant-2"]]), user("b", "fly:na", kind="radio-belt", on=[["ant-1", "ant-2"]]),
        full="ant-1 slots", paths="a>b over fly: key sure",
    ),
    case(
        "watts-add-up-through-carriers",
        "both packs' chargers hang on the supply through two switches",
        {"kinds": {"desk-w": {"keys": 4, "needs": {"watts": 9}}}},
        carrier("ups", watts=17), carrier("sw-1", ["ups"], watts=9), carrier("sw-2", ["ups"], watts=9),
        user("a", "fly:ma", kind="desk-w", on=["sw-1"]), user("b", "fly:ma", kind="desk-w", on=["sw-2"]),
        full="ups watts", paths="a>b over fly: key unsure, b>a over fly: key unsure",
    ),
    case(
        "an-interface-on-an-over-full-switch",
        "the bridge may be without power",
        {"kinds": {"box-w": {"ports": 4, "needs": {"watts": 9}}}},
        carrier("sw", watts=5), user("sm", "fly:mn"), device("box", "box-w", on=["sw"]), circuit("truck", "h"),
        bridge("b1", "fly", "truck", device="box", port=1),
        full="sw watts", paths="sm>truck over fly: key unsure",
    ),
]  # fmt: skip
