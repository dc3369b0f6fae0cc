"""Worked cases: required paths, two ways, what must stay apart, the public, and rings."""

from __future__ import annotations

from tests.paths.oracle.building import bridge, carrier, case, circuit, critical, device, line, must, never, port, user

FLY = [user("sm", "fly:ma"), user("a", "fly:ma"), user("b", "fly:ma")]

REQUIRED = [
    case("met", "sure and on a key", user("sm", "fly:mn"), user("a", "fly:na"), must("r", "sm", "a"), required={"r": "met"}),
    case("met-on-page-b", "a key is a key", user("sm", "fly:mn", keys="B1=fly"), user("a", "fly:na"), must("r", "sm", "a"), required={"r": "met"}),
    case("unsure", "he can switch it off", user("sm", "fly:mn"), user("a", "fly:ns"), must("r", "sm", "a"), required={"r": "unsure"}),
    case("menu-only", "no key for it", user("sm", "fly:mn", keys=""), user("a", "fly:ns"), must("r", "sm", "a"), required={"r": "menu only"}),
    case(
        "in-doubt", "it holds if the truck has an ear",
        user("sm", "fly:mn"), circuit("truck"), bridge("b1", "fly", "truck"), must("r", "sm", "truck"), required={"r": "in doubt"},
    ),
    case(
        "written-false-is-no-doubt", "the truck has no ear",
        user("sm", "fly:mn"), circuit("truck", "H"), bridge("b1", "fly", "truck"), must("r", "sm", "truck"), required={"r": "lost"},
    ),
    case(
        "a-way-over-something-else-does-not-serve",
        "the required path is over FLY; SM's direct key to a does not hold it",
        user("sm", "fly:mn", "a:mn"), user("a", "fly:nn"), must("r", "sm", "a", over="fly"), must("any", "sm", "a"),
        required={"r": "lost", "any": "met"},
    ),
    case(
        "one-member-of-a-group-off-headset-loses-it",
        "five of six is not six: whom the document lists must hear",
        *FLY, user("c", "fly:ma", worn=False), must("r", "sm", "fly", over="fly"), required={"r": "lost"},
    ),
    case("every-listener-of-a-group-must-hear", "all do", *FLY, must("r", "sm", "fly", over="fly", at_least=2), required={"r": "met"}),
    case(
        "at-least-does-not-count-who-is-the-other-end",
        "sm listens on FLY too; two are left, and three are wanted",
        *FLY, must("r", "sm", "fly", over="fly", at_least=3), required={"r": "lost"},
    ),
    case(
        "at-least-never-excuses-a-member",
        "two hear, as many as wanted, and the third does not",
        *FLY, user("c", "fly:ma", worn=False), must("r", "sm", "fly", at_least=2), required={"r": "lost"},
    ),
    case(
        "an-empty-end-is-lost", "nobody listens on CUE, nobody bears the department",
        user("sm", "cue:mn"), must("r", "sm", "cue"), must("d", "department:rig", "sm"), required={"r": "lost", "d": "lost"},
    ),
    case("no-pair-left-is-lost", "sm alone on both ends", user("sm", "fly:ma"), must("r", "fly", "fly"), required={"r": "lost"}),
    case(
        "a-department-and-everyone-count-no-ports",
        "the port of the stage department is nobody",
        user("sm", "fly:ma", department="stage"), user("a", "fly:ma", department="stage"), {"users": {"p": {"port": True, "department": "stage"}}},
        must("d", "department:stage", "sm"), must("e", "sm", "everyone"), required={"d": "met", "e": "met"},
    ),
    case(
        "both-turns-it-round", "a hears sm and can't answer",
        user("sm", "fly:ma"), user("a", "fly:na"), must("one", "sm", "a"), must("two", "sm", "a", both=True), required={"one": "met", "two": "lost"},
    ),
    case(
        "a-hearing-circuit-is-a-member",
        "the loaders hear FLY as listeners do, and a does not reach them: his FLY goes out by no bridge",
        user("sm", "fly:ma"), circuit("loaders", "h"), bridge("b1", "fly", "loaders", "out", away="at repair"),
        must("r", "sm", "fly"), required={"r": "lost"},
    ),
    case(
        "an-unknown-ear-on-the-group-makes-it-unsure",
        "a is met; whether anybody hears behind the house line is unwritten",
        user("sm", "fly:mn"), user("a", "fly:na"), circuit("house", "S"), bridge("b1", "fly", "house"),
        must("r", "sm", "fly"), required={"r": "unsure"}, names={"r": "house"},
    ),
    case(
        "circuits-behind-a-port-are-members",
        "P has FLY: the truck hears, and so must hear sm; it speaks openly, so it is among the talkers",
        user("sm", "fly:ma"), port("p", "fly:oa"), circuit("truck", "hs"), bridge("b1", "p", "truck"),
        must("to", "sm", "fly"), must("from", "fly", "sm"),
        required={"to": "met", "from": "met"},
    ),
    case(
        "at-least-counts-the-talkers-too",
        "both ends are groups: two listen, but one alone talks, and two are wanted",
        user("sm", "fly:mn"), user("a", "fly:na"), user("b", "fly:na"),
        must("two", "fly", "fly", over="fly", at_least=2), must("one", "fly", "fly", over="fly", at_least=1), must("single", "sm", "a", at_least=2),
        required={"two": "lost", "one": "met", "single": "lost"},
    ),
    case(
        "an-unknown-voice-on-the-group-makes-nothing-unsure",
        "nobody is sure to speak behind the house line; that it has no ear is written",
        user("sm", "fly:mn"), user("a", "fly:na"), circuit("house", "H"), bridge("b1", "fly", "house"),
        must("r", "fly", "a"), required={"r": "met"}, names={"r": ""},
    ),
    case(
        "in-doubt-over-what-may-not-carry",
        "the box is written neither to carry nor not to",
        user("sm", "fly:mn"), user("a", "rig:na"), circuit("box", "HS"), bridge("b1", "fly", "box"), bridge("b2", "rig", "box"),
        must("r", "sm", "a"), must("rig", "sm", "a", over="rig"), required={"r": "in doubt", "rig": "lost"},
    ),
    case(
        "a-circuit-that-only-a-standby-brings-is-no-member",
        "the van stands in for the truck, never beside it: nobody on FLY is missing",
        user("sm", "fly:mn"), circuit("truck", "hS"), circuit("van", "hS"),
        bridge("main", "fly", "truck"), bridge("spare", "fly", "van", standby="main"), must("r", "sm", "fly"), required={"r": "met"},
    ),
    case(
        "a-standby-holds-no-required-path",
        "until somebody plugs it in, the truck is lost; no unwritten field would change that",
        user("sm", "fly:mn"), circuit("truck", "hs"), bridge("main", "fly", "truck", away="at repair"), bridge("spare", "fly", "truck", standby="main"),
        must("r", "sm", "truck"), required={"r": "lost"},
    ),
    case(
        "a-line-as-an-end",
        "everybody must hear the alarm from whoever can raise it; a says none and is no listener",
        line("alarm"), user("sm", "!alarm:m-"), user("a", "!alarm:nn"), user("b"),
        must("r", "sm", "alarm", over="alarm"), must("s", "sm", "a", over="alarm"), must("off", "sm", "b"),
        required={"r": "met", "s": "lost", "off": "lost"},
    ),
    case(
        "the-surest-way-counts",
        "over CUE sure in the menu, over FLY on a key and unsure: the key is the better state",
        user("sm", "cue:mn", "fly:mn", keys="A1=fly"), user("a", "cue:na", "fly:ns"), must("r", "sm", "a"), required={"r": "unsure"},
    ),
]  # fmt: skip

TRUCK = [
    user("sm", "rec:ma"), circuit("truck", "hs"), carrier("sw-1"), carrier("sw-2"),
    device("if-1", "ports-2", on=["sw-1"]), device("if-2", "ports-2", on=["sw-2"]),
    bridge("four", "rec", "truck", device="if-1", port=1),
]  # fmt: skip

WAYS = [
    case(
        "one-way-is-fragile",
        "the bridge, its interface, its switch: each takes the truck away; sm's own headset does not count",
        *TRUCK, must("r", "sm", "truck", ways=2),
        required={"r": "fragile"}, takes={"r": "bridges/four, devices/if-1, carriers/sw-1"},
    ),
    case(
        "two-bridges-over-two-switches-are-two-ways",
        "any one may go",
        *TRUCK, bridge("net", "rec", "truck", device="if-2", port=1), must("r", "sm", "truck", ways=2), required={"r": "met"}, takes={"r": ""},
    ),
    case(
        "a-standby-by-hand-is-a-second-way",
        "the audio network is plugged in when the four-wire dies",
        *TRUCK, bridge("net", "rec", "truck", device="if-2", port=1, standby="four"), must("r", "sm", "truck", ways=2), required={"r": "met"},
    ),
    case(
        "a-standby-on-the-same-switch-is-none",
        "one switch takes both away",
        *TRUCK, bridge("net", "rec", "truck", device="if-1", port=2, standby="four"), must("r", "sm", "truck", ways=2),
        required={"r": "fragile"}, takes={"r": "devices/if-1, carriers/sw-1"},
    ),
    case(
        "the-carrier-of-an-end-counts-his-pack-does-not",
        "both packs on one antenna",
        carrier("ant"), user("sm", "fly:mn", on=["ant"]), user("a", "fly:na", on=["ant"]), must("r", "sm", "a", ways=2),
        required={"r": "fragile"}, takes={"r": "carriers/ant"},
    ),
    case(
        "a-circuit-between-may-go",
        "sm comes to a through the house line only",
        user("sm", "fly:mn"), user("a", "rig:na"), circuit("line", "hsc"), bridge("b1", "fly", "line"), bridge("b2", "rig", "line"),
        must("r", "sm", "a", ways=2),
        required={"r": "fragile"}, takes={"r": "bridges/b1, bridges/b2, circuits/line, devices/if"},
    ),
    case(
        "in-the-menu-at-worst-still-holds",
        "the direct key goes over nothing that can go; no failure beside the two packs",
        user("sm", "a:mn", keys=""), user("a"), must("r", "sm", "a", ways=2), required={"r": "menu only"}, takes={"r": ""},
    ),
]  # fmt: skip

FAILURES = [
    case(
        "the-worst-single-failures",
        "one switch takes the truck and all of FLY away; the bridge and its interface the truck, sm's pack everything; the line is not critical",
        critical("fly"), line("page"), *TRUCK[1:], user("sm", "rec:ma", "fly:mn", "!page:m-"), user("a", "fly:na", on=["sw-1"]),
        must("r", "sm", "truck"),
        failures={"carriers/sw-1": "r, fly", "bridges/four": "r", "devices/if-1": "r", "circuits/truck": "r", "devices/pack-sm": "r, fly", "devices/pack-a": "fly"},
    ),
    case(
        "a-failure-that-a-hand-mends",
        "the audio network is plugged in where the four-wire died; nothing mends the truck itself",
        *TRUCK, bridge("net", "rec", "truck", device="if-2", port=1, standby="four"), must("r", "sm", "truck"),
        failures={"carriers/sw-1": "(r)", "bridges/four": "(r)", "devices/if-1": "(r)", "circuits/truck": "r", "devices/pack-sm": "r"},
    ),
    case(
        "half-of-a-group-is-not-all-of-it",
        "a's pack takes his own ear away, b's remains; without sm nothing is left",
        critical("fly"), user("sm", "fly:mn"), user("a", "fly:na"), user("b", "fly:na"),
        failures={"devices/pack-sm": "fly"},
    ),
]  # fmt: skip

APART = [
    case(
        "what-must-be-apart-and-is-heard",
        "the green room listens on the show call",
        user("sm", "cue:mn"), user("green", "cue:ns"), never("talent", "sm", "green"), apart={"talent": "broken sm>green"},
    ),
    case(
        "apart-is-one-way-unless-both",
        "green talks to sm, which only `both` forbids",
        user("sm", "cue:na"), user("green", "cue:mn"), never("one", "sm", "green"), never("two", "sm", "green", both=True),
        apart={"one": "kept", "two": "broken green>sm"},
    ),
    case(
        "what-may-come-back-may-be-heard",
        "the green room's pack is at repair, and tomorrow it is back",
        user("sm", "cue:mn"), user("green", "cue:na", away="at repair"), never("talent", "sm", "green"), apart={"talent": "maybe sm>green"},
    ),
    case(
        "a-standby-may-leak",
        "put in by hand, the spare takes CUE to the foyer",
        user("sm", "cue:mn"), circuit("foyer", "h"), bridge("main", "foyer-call", "foyer"), bridge("spare", "cue", "foyer", standby="main"),
        never("x", "sm", "foyer"), apart={"x": "maybe sm>foyer"},
    ),
    case(
        "a-line-is-no-leak-unless-over-names-it",
        "everybody hears the page; the page itself may be forbidden",
        line("page"), user("sm", "!page:mn"), user("green"), never("call", "sm", "green"), never("page", "sm", "green", over="page"),
        apart={"call": "kept", "page": "broken sm>green"},
    ),
    case(
        "who-is-in-both-ends-leaves-the-plural-one",
        "sm is of the stage department and alone is the other end: asm reaches him, he himself is no leak",
        user("sm", "cue:ma", department="stage"), user("asm", "cue:ma", department="stage"),
        never("x", "department:stage", "sm"), never("y", "sm", "sm"), apart={"x": "broken asm>sm", "y": "kept"},
    ),
    case(
        "who-is-in-both-leaves-both-plural-ends",
        "sm calls the foyer and monitors it: he leaves the department and the group, so that only asm's way to green is told",
        user("sm", "foyer:ma", department="stage"), user("asm", "foyer:mn", department="stage"), user("green", "foyer:na"),
        never("x", "department:stage", "foyer"), apart={"x": "broken asm>green"},
    ),
    case(
        "an-empty-end-is-told",
        "a department that nobody bears keeps nothing apart",
        user("sm", "cue:ma"), never("x", "sm", "department:talent"), apart={"x": "empty"},
    ),
    case(
        "required-and-apart-at-once",
        "one sentence says it must be, the other that it must never be",
        user("sm", "cue:mn"), user("a", "cue:na"), must("must", "sm", "a", over="cue"), never("never", "sm", "everyone"),
        clash="must never sm>a", apart={"never": "broken sm>a"},
    ),
    case(
        "required-over-one-and-apart-over-another-is-no-clash",
        "cue calls yes, the fly call no",
        user("sm", "cue:mn"), user("a", "cue:na"), must("must", "sm", "a", over="cue"), never("never", "sm", "a", over="fly"),
        user("b", "fly:na"), clash="", apart={"never": "kept"},
    ),
]  # fmt: skip

PUBLIC = [
    case(
        "a-latch-on-a-channel-hides-no-open-use-of-the-same-line",
        "sm has the page as channel 1, which latches, and a use of it that is always open",
        line("page"), user("sm", "page:ln", "!page:on"), circuit("hall", "hp"), bridge("b1", "page", "hall", "out"),
        public="sm over page to hall: open surely",
    ),
    case(
        "an-open-microphone-to-the-audience",
        "the hall's loudspeaker need not be a listener; a momentary key is meant",
        user("sm", "foh:on"), user("dsm", "foh:ln"), user("asm", "foh:mn"), user("lx", "foh:dn"),
        circuit("hall", "HSp"), bridge("b1", "foh", "hall", "out"),
        public="sm over foh to hall: open surely, dsm over foh to hall: latch surely, lx over foh to hall: latch surely",
    ),
    case(
        "a-feed-is-written-as-a-required-path",
        "the conductor's microphone is open to the broadcast on purpose",
        user("mic", "feed:on"), circuit("air", "hSp"), bridge("b1", "feed", "air", "out"), must("r", "mic", "air", over="feed"),
        public="",
    ),
    case(
        "a-feed-over-another-target-excuses-nothing",
        "required over FEED, leaking over CUE",
        user("mic", "feed:on", "cue:on"), circuit("air", "hSp"), bridge("b1", "feed", "air", "out"), bridge("b2", "cue", "air", "out"),
        must("r", "mic", "air", over="feed"), public="mic over cue to air: open surely",
    ),
    case(
        "an-open-line-reaches-the-public-as-well",
        "a page that is always open into the foyer",
        line("page"), user("sm", "!page:o-"), circuit("foyer", "hp"), bridge("b1", "page", "foyer", "out"),
        public="sm over page to foyer: open surely",
    ),
    case(
        "who-is-off-headset-may-leak-tomorrow",
        "his pack is at repair",
        user("sm", "foh:on", away="at repair"), circuit("hall", "hp"), bridge("b1", "foh", "hall", "out"),
        public="sm over foh to hall: open possibly",
    ),
    case(
        "unwritten-public-is-not-public",
        "only `public: true` says that the audience hears it",
        user("sm", "foh:on"), circuit("hall", "h"), bridge("b1", "foh", "hall"), public="",
    ),
    case(
        "it-may-reach-the-public-through-a-box-of-which-nothing-is-written",
        "possibly: a warning that names the doubt",
        user("sm", "foh:on"), circuit("box"), circuit("air", "p"), bridge("b1", "foh", "box"), bridge("b2", "rig", "box"), bridge("b3", "rig", "air"),
        public="sm over foh to air: open possibly",
    ),
]  # fmt: skip

RINGS = [
    case(
        "two-bridges-of-one-party-line-on-one-group",
        "FLY goes out by b1, comes back in by b2: it howls",
        user("sm"), circuit("line", "hsc"), bridge("b1", "fly", "line"), bridge("b2", "fly", "line"), rings="b1+b2", independent=1,
    ),
    case(
        "three-of-them-are-two-independent-rings",
        "each two close one; two of the three say it all",
        user("sm"), circuit("line", "hsc"), bridge("b1", "fly", "line"), bridge("b2", "fly", "line"), bridge("b3", "fly", "line"),
        rings="b1+b2, b1+b3, b2+b3", independent=2,
    ),
    case(
        "in-and-out-is-no-ring-where-nothing-is-carried",
        "four-wire sockets that are not joined outside",
        user("sm"), circuit("box", "hsC"), bridge("b1", "fly", "box"), bridge("b2", "fly", "box"), rings="", maybe_rings="",
    ),
    case(
        "whether-it-rings-is-unknown",
        "unwritten carries",
        user("sm"), circuit("box", "hs"), bridge("b1", "fly", "box", "in"), bridge("b2", "fly", "box", "out"), rings="", maybe_rings="b1+b2",
    ),
    case(
        "both-in-is-no-ring",
        "nothing goes out",
        user("sm"), circuit("line", "hsc"), bridge("b1", "fly", "line", "in"), bridge("b2", "fly", "line", "in"), rings="", maybe_rings="",
    ),
    case(
        "a-ring-over-two-groups-and-two-lines",
        "out of FLY by the north line into RIG, out of RIG by the south line into FLY",
        user("sm"), circuit("north", "c"), circuit("south", "c"),
        bridge("b1", "fly", "north", "out"), bridge("b2", "rig", "north", "in"), bridge("b3", "rig", "south", "out"), bridge("b4", "fly", "south", "in"),
        rings="b1+b2+b3+b4", independent=1,
    ),
    case(
        "a-ring-through-a-port",
        "P listens on FLY and has it open; the line comes in by P and goes out of FLY by b2",
        user("sm"), port("p", "fly:oa"), circuit("line", "hsc"), bridge("b1", "p", "line"), bridge("b2", "fly", "line"), rings="b1+b2",
    ),
    case(
        "a-ring-through-a-listening-port",
        "P speaks on nothing: FLY goes out by P, and the line comes back onto FLY by b2",
        user("sm"), port("p", "fly:na"), circuit("line", "hsc"), bridge("b1", "p", "line"), bridge("b2", "fly", "line", "in"), rings="b1+b2",
    ),
    case(
        "a-ring-over-two-ports-that-call-each-other",
        "P has Q open: what P's bridge brings goes out by Q's, into the same line",
        user("sm"), port("p", "q:on"), port("q"), circuit("line", "hsc"), bridge("b1", "p", "line"), bridge("b2", "q", "line"), rings="b1+b2",
    ),
    case(
        "a-port-alone-is-no-ring",
        "its one bridge does not follow itself",
        user("sm"), port("p", "fly:oa"), circuit("line", "hsc"), bridge("b1", "p", "line"), rings="", maybe_rings="",
    ),
    case(
        "a-standby-is-no-ring-with-what-it-replaces",
        "one of the two at a time",
        user("sm"), circuit("line", "hsc"), bridge("b1", "fly", "line"), bridge("b2", "fly", "line", standby="b1"), rings="", maybe_rings="",
    ),
    case(
        "a-standby-may-ring-in-its-place",
        "put in, b2 closes the ring with b3 that b1, on another group, did not",
        user("sm"), circuit("line", "hsc"), bridge("b1", "rig", "line"), bridge("b2", "fly", "line", standby="b1"), bridge("b3", "fly", "line"),
        rings="", maybe_rings="b2+b3",
    ),
    case(
        "a-bridge-to-a-person-closes-no-ring",
        "the radio comes to his ear, no further",
        user("a", "fly:oa"), circuit("line", "hsc"), bridge("b1", "a", "line"), bridge("b2", "fly", "line"), rings="", maybe_rings="",
    ),
    case(
        "two-bridges-to-one-person-close-no-ring",
        "only direct calls to him go out, and what comes in stays in his ear",
        user("a"), circuit("line", "hsc"), bridge("b1", "a", "line"), bridge("b2", "a", "line"), rings="", maybe_rings="",
    ),
]  # fmt: skip
