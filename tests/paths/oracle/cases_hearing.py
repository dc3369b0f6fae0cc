"""Worked cases: who listens, who is on headset, keys and menus, lines."""

from __future__ import annotations

from tests.paths.oracle.building import bridge, carrier, case, circuit, device, floor, line, port, user

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
        user("sm", "fly:mn"), user("a", "fly:na", lent={"to": "house crew", "until": "2026-12-04"}),
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
        "a-channel-for-a-line-that-says-none-is-no-ear",
        "b has the line as channel 1 and does not listen there: what is there for everybody is what he turned off",
        line("alarm"), user("sm", "!alarm:mn"), user("b", "alarm:nn"), user("c", "alarm:ns"), user("d", "alarm:na"),
        paths="sm>c over alarm: key unsure, sm>d over alarm: key sure", hears={"alarm": "c, d"},
    ),
    case(
        "the-surest-of-a-channel-and-a-use-of-a-line-counts",
        "b's use says none and his channel always; c's the other way round; d's both none",
        line("alarm"), user("sm", "!alarm:mn"), user("b", "alarm:na", "!alarm:nn"), user("c", "alarm:nn", "!alarm:na"),
        user("d", "alarm:nn", "!alarm:nn"),
        paths="sm>b over alarm: key sure, sm>c over alarm: key sure", hears={"alarm": "b, c"},
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
