"""Worked cases: bridges, circuits, ports, one talker at a time, and what runs out."""

from __future__ import annotations

from tests.paths.oracle.building import bridge, carrier, case, circuit, device, port, user

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
