"""Worked cases: what an edit does to people."""

from __future__ import annotations

from tests.paths.oracle.building import (
    GONE,
    becomes,
    bridge,
    but,
    carrier,
    circuit,
    critical,
    line,
    must,
    never,
    show,
    user,
)

PYRO = show(
    critical("pyro"), line("alarm", critical=True),
    user("sm", "pyro:ma", "op:ma", "!alarm:m-"), user("op", "pyro:ma", "sm:ma"), user("dsm", "cue:ma"),
    must("call", "sm", "op"), must("group", "op", "pyro", over="pyro"),
)  # fmt: skip
HOUSE = show(
    user("sm", "fly:ma", "rec:ma"), user("a", "fly:na"),
    circuit("truck", "hs"), circuit("radio", "hs"), bridge("b1", "rec", "truck"), bridge("b2", "fly", "radio"),
)  # fmt: skip

EFFECTS = [
    becomes(
        "the-watch-without-a-pack",
        "op's pack removed: he is off headset and every path with him is lost",
        PYRO, ("devices/pack-op", GONE),
        off_headset="op", lost="sm>op, op>sm", lost_over="sm>op over pyro, op>sm over pyro, sm>op over alarm",
    ),
    becomes(
        "a-direct-key-does-not-hide-the-loss-of-a-critical-group",
        "SM stops listening on PYRO; the pair stays over the direct call, and so does nothing in the matrix",
        PYRO, ("users/sm/channels/pyro/listen", "none"),
        lost_over="op>sm over pyro", members="group sm",
    ),
    becomes(
        "critical-before-this-edit-counts-too",
        "PYRO is critical before: taking the mark off in the same edit hides nothing",
        PYRO, ("users/sm/channels/pyro/listen", "none"), ("groups/pyro", {}),
        lost_over="op>sm over pyro", members="group sm",
    ),
    becomes(
        "critical-since-this-edit-counts-too",
        "CUE is critical only after; what it lost meanwhile is told",
        show(user("sm", "cue:mn", "a:mn"), user("a", "cue:na")),
        ("groups/cue", {"critical": True}), ("users/a/channels/cue/listen", "none"),
        lost_over="sm>a over cue",
    ),
    becomes(
        "the-ear-on-the-alarm",
        "the alarm is nobody's pair, and its loss is told all the same",
        PYRO, ("users/op/lines", {"alarm": {"listen": "none"}}),
        lost_over="sm>op over alarm",
    ),
    becomes(
        "nobody-left-to-raise-the-alarm",
        "every listener loses it",
        PYRO, ("users/sm/lines", GONE),
        lost_over="sm>op over alarm, sm>dsm over alarm",
    ),
    becomes(
        "the-bridge-of-the-truck-removed",
        "people behind a circuit are people",
        HOUSE, ("bridges/b1", GONE), lost="sm>truck, truck>sm",
    ),
    becomes(
        "the-radio-turned-to-in-only",
        "the radio still speaks and hears nothing now",
        HOUSE, ("bridges/b2/direction", "in"), lost="sm>radio",
    ),
    becomes(
        "a-user-removed",
        "told as off headset, though the edit says it too; his pairs are lost",
        HOUSE, ("users/a", GONE), ("devices/pack-a", GONE), off_headset="a", lost="sm>a, radio>a",
    ),
    becomes(
        "a-circuit-removed",
        "lost as a user's paths are; it is no user, and so not off headset",
        HOUSE, ("circuits/truck", GONE), ("bridges/b1", GONE), lost="sm>truck, truck>sm",
    ),
    becomes(
        "always-became-switchable",
        "the ear is unsure now; the direct call keeps the pair as good as it was",
        PYRO, ("users/op/channels/pyro/listen", "switchable"), weaker="sm>op over pyro: ear",
    ),
    becomes(
        "a-level-went-to-minus-sixty",
        "it would be sure were all levels 0",
        PYRO, ("users/op/channels/pyro/level", -60), weaker="sm>op over pyro: level",
    ),
    becomes(
        "a-key-went-to-page-b",
        "PYRO is a page away; the pair keeps its direct key",
        PYRO, ("devices/pack-sm/keys", {"B1": "pyro", "A2": "op", "A3": "alarm"}), weaker="sm>op over pyro: page",
    ),
    becomes(
        "a-key-removed",
        "menu only: on the group and, in the next line, on the line",
        PYRO, ("devices/pack-sm/keys", {"A2": "op"}),
        weaker="sm>op over pyro: menu, sm>op over alarm: menu, sm>dsm over alarm: menu",
    ),
    becomes(
        "the-last-good-way-of-a-pair",
        "both ways of the pair lose their key: the pair itself is worse, told without a target",
        PYRO, ("devices/pack-op/keys", {}),
        weaker="op>sm over pyro: menu, op>sm over sm: menu, op>sm over -: menu",
    ),
    becomes(
        "a-better-way-is-lost-and-a-worse-remains",
        "PYRO off the list of op's ear and the direct call in the menu: the pair was on a key and sure, and is menu only",
        but(PYRO, ("devices/pack-sm/keys", {"A1": "pyro"})), ("users/op/channels/pyro/listen", "none"),
        lost_over="sm>op over pyro", weaker="sm>op over -: menu", members="group op",
    ),
    becomes(
        "open-became-a-key-on-page-b",
        "always open is as near as page A",
        show(user("sm", "fly:on"), user("a", "fly:na")),
        ("users/sm/channels/fly/talk", "momentary"), ("devices/pack-sm/keys", {"B1": "fly"}),
        weaker="sm>a over fly: page, sm>a over -: page",
    ),
    becomes(
        "one-of-two-packs",
        "the pyro operator wears another that has his keys: nothing is lost, nothing weaker",
        but(PYRO, ("devices/pack-op-2", {"kind": "belt", "user": "op", "keys": {"A1": "pyro", "A2": "sm"}})), ("devices/pack-op", GONE),
    ),
    becomes(
        "the-last-of-two-packs",
        "both removed: what neither edit alone did",
        but(PYRO, ("devices/pack-op-2", {"kind": "belt", "user": "op", "keys": {"A1": "pyro", "A2": "sm"}})),
        ("devices/pack-op", GONE), ("devices/pack-op-2", GONE),
        off_headset="op", lost="sm>op, op>sm", lost_over="sm>op over pyro, op>sm over pyro, sm>op over alarm",
    ),
    becomes(
        "a-page-hides-no-loss",
        "a hears sm's page still, and no longer sm",
        show(line("page"), user("sm", "fly:mn", "!page:mn"), user("a", "fly:na")),
        ("users/a/channels", {}), lost="sm>a",
    ),
    becomes(
        "the-party-line-taken-off-the-group",
        "the loaders heard FLY and spoke on it; over CUE the second bridge has them still, one way",
        show(user("sm", "fly:ma", "cue:mn"), circuit("loaders", "hsC"), bridge("b1", "fly", "loaders"), bridge("b2", "cue", "loaders", "out")),
        ("bridges/b1", GONE), lost="loaders>sm",
    ),
    becomes(
        "the-party-line-of-a-critical-group",
        "the same on a critical group: the loss of the group is told though the pair remains",
        show(critical("fly"), user("sm", "fly:ma", "cue:mn"), circuit("loaders", "hsC"), bridge("b1", "fly", "loaders"), bridge("b2", "cue", "loaders", "out")),
        ("bridges/b1", GONE), lost="loaders>sm", lost_over="sm>loaders over fly, loaders>sm over fly",
    ),
    becomes(
        "what-is-gained",
        "dsm comes onto PYRO's ear",
        PYRO, ("users/dsm/channels/pyro", {"number": 2, "listen": "always"}), gained="sm>dsm, op>dsm",
    ),
    becomes(
        "what-is-overheard",
        "green gets the show call on his list, against what is written",
        show(user("sm", "cue:mn"), user("green", "foyer:na"), never("talent", "sm", "green")),
        ("users/green/channels/cue", {"number": 2}),
        gained="sm>green", overheard="sm>green talent",
    ),
    becomes(
        "a-microphone-to-the-public",
        "from momentary to open on a group that the hall hears",
        show(user("sm", "foh:mn"), circuit("hall", "hSp"), bridge("b1", "foh", "hall", "out")),
        ("users/sm/channels/foh/talk", "open"),
        overheard="sm>hall -",
    ),
    becomes(
        "a-latch-to-the-public-is-a-warning-and-not-overheard",
        "check warns of it; the effect tells open microphones",
        show(user("sm", "foh:mn"), circuit("hall", "hSp"), bridge("b1", "foh", "hall", "out")),
        ("users/sm/channels/foh/talk", "latch"),
    ),
    becomes(
        "a-user-without-a-pack-removed",
        "he had no path to lose; that he is gone is told",
        show(user("sm", "fly:mn"), user("a", "fly:na", worn=False)),
        ("users/a", GONE), off_headset="a",
    ),
    becomes(
        "five-of-six-packs-gone",
        "those without a pack are still members, so nobody left an end, and the required path is lost by them",
        show(critical("fly"), user("sm", "fly:mn"), *(user(f"f{turn}", "fly:na") for turn in (1, 2, 3)), must("r", "sm", "fly", over="fly")),
        ("devices/pack-f2", GONE), ("devices/pack-f3", GONE),
        off_headset="f2, f3", lost="sm>f2, sm>f3", lost_over="sm>f2 over fly, sm>f3 over fly",
    ),
    becomes(
        "who-left-the-department-left-the-end",
        "the required path is met with fewer than before, and that is told",
        show(user("sm", "fly:mn"), user("a", "fly:na", department="rail"), user("b", "fly:na", department="rail"), must("r", "sm", "department:rail")),
        ("users/b/department", "deck"),
        members="r b",
    ),
    becomes(
        "an-over-full-antenna-makes-ears-unsure",
        "one pack more than slots: nobody of them is sure of his any more",
        show(carrier("ant", slots=1), user("sm", "fly:mn"), user("a", "fly:na", kind="radio-belt", on=["ant"])),
        ("devices/extra", {"kind": "radio-belt", "on": ["ant"]}),
        weaker="sm>a over fly: ear, sm>a over -: ear",
    ),
    becomes(
        "nothing-of-the-kind",
        "a label is no path",
        PYRO, ("users/sm/label", "SM"),
    ),
]  # fmt: skip
