"""The effect of edits in sentences: the gravest first, the listener first, and nobody mixed up."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from showvc.changes import compare, effect_of
from showvc.changes.caution import CAUTION
from showvc.document import show_from_tree
from showvc.report.effect_words import UNHEARD, caution_line, effect_sections, unheard
from tests.paths.oracle.building import GONE, bridge, but, circuit, critical, line, must, never, show, user
from tests.paths.oracle.shows import random_pair

Tree = dict[str, Any]

# On FLY: SM, DSM, FLY HD and FLY 1. On CUE: SM and FLY HD. SM and FLY 1 call each other. The truck is behind REC.
SHOW = show(
    critical("fly"), line("alarm", critical=True), line("page"),
    user("sm", "fly:ma", "cue:ma", "rec:ma", "!alarm:m-", "!page:m-", keys="A1=fly A2=cue A3=alarm A4=page A5=rec"),
    user("dsm", "fly:ma", department="stage"),
    user("fly-hd", "fly:ma", "cue:ma", department="rail"),
    user("fly-1", "fly:ma", "sm:ma", department="rail"),
    user("gate", "foyer:na"),
    circuit("truck", "hs"), circuit("hall", "hSp"), bridge("feed", "rec", "truck"), bridge("ring", "foh", "hall", "out"),
    must("head", "sm", "fly-hd", both=True, why="fly cues are called here"),
    never("talent", "sm", "gate", why="the gate hears no cue"),
)  # fmt: skip
SHOW = but(SHOW, *((f"users/{name}/label", name.upper().replace("-", " ")) for name in SHOW["users"]))
SHOW = but(SHOW, *((f"groups/{name}/label", name.upper()) for name in SHOW["groups"]))


def told(*edits: tuple[str, Any], before: Tree = SHOW) -> dict[str, list[str]]:
    old, new = show_from_tree(before), show_from_tree(but(before, *edits))
    return {section.title: [*section.lines] for section in effect_sections(old, new, effect_of(old, new))}


def caution(*edits: tuple[str, Any]) -> str | None:
    old, new = show_from_tree(SHOW), show_from_tree(but(SHOW, *edits))
    return caution_line(old, new, effect_of(old, new))


# --- losses


def test_who_is_off_headset_stands_first_with_whom_he_lost() -> None:
    found = told(("devices/pack-fly-hd", GONE))
    assert [*found] == ["Off headset", "Required paths lost"]
    assert found["Off headset"] == [
        "FLY HD is off headset: DSM, FLY 1 and SM can no longer hear FLY HD, FLY HD can no longer hear DSM, FLY 1 and SM; "
        "critical: line alarm and group FLY (edit: devices/pack-fly-hd)"
    ]
    assert found["Required paths lost"][0].startswith("LOST: SM -> FLY HD, both ways: lost, FLY HD is off headset")
    assert found["Required paths lost"][0].endswith("(required path head: fly cues are called here); met before")


def test_what_a_second_way_would_hide_is_told_with_what_remains() -> None:
    assert told(("users/sm/channels/fly/listen", "none")) == {
        "Lost on critical groups and lines": [
            "SM can no longer hear anyone on group FLY; still hears FLY 1 by direct call; still hears FLY HD on group CUE; "
            "hears DSM no other way (edit: users/sm/channels/fly/listen)"
        ]
    }


def test_who_can_no_longer_talk_is_told_with_who_still_hears_him() -> None:
    assert told(("users/sm/channels/fly/talk", "none")) == {
        "Lost on critical groups and lines": [
            "SM can no longer talk on group FLY; FLY HD still hears SM on group CUE; DSM and FLY 1 hear SM no other way "
            "(edit: users/sm/channels/fly/talk)"
        ]
    }


def test_an_alarm_that_nobody_can_raise_any_more() -> None:
    (said,) = told(("users/sm/lines/alarm", GONE))["Lost on critical groups and lines"]
    assert said.startswith("SM can no longer talk on line alarm; ")


def test_an_ear_on_a_line_that_is_not_critical() -> None:
    assert told(("users/dsm/lines", {"page": {"listen": "none"}})) == {
        "Lost on lines": [
            "DSM can no longer hear anyone on line page; still hears SM on group FLY (edit: users/dsm/lines/page)"
        ]
    }


def test_people_behind_a_circuit_are_told_like_users() -> None:
    assert told(("bridges/feed", GONE)) == {"Lost": ["SM and truck can no longer hear each other (edit: bridges/feed)"]}
    assert told(("bridges/feed/direction", "in")) == {
        "Lost": ["truck can no longer hear SM (edit: bridges/feed/direction)"]
    }


def test_the_edits_that_only_together_bring_it_are_named_together() -> None:
    edits = (("users/sm/channels/fly/talk", "none"), ("users/sm/channels/cue/talk", "none"))
    said = told(*edits)["Required paths lost"]
    assert said[0].startswith("LOST: SM -> FLY HD")
    gone = told(("circuits/truck", GONE), ("bridges/feed", GONE))["Lost"]
    assert gone[0].endswith("(edits together: bridges/feed and circuits/truck)")


# --- what is worse, overheard, better


def test_what_became_weaker_is_told_by_what_is_worse() -> None:
    assert told(("users/fly-1/channels/fly/listen", "switchable"))["Now unsure, was sure"] == [
        "FLY 1 hears DSM, FLY HD and SM on group FLY", "FLY 1 hears SM",
    ][:1]  # fmt: skip
    assert told(("users/fly-1/channels/fly/level", -60))["Now unsure: level too low"] == [
        "FLY 1 hears DSM, FLY HD and SM on group FLY"
    ]
    keys = {"A2": "cue", "A3": "alarm", "A4": "page", "A5": "rec"}
    assert told(("devices/pack-sm/keys", keys))["Now menu only, no key"] == [
        "DSM, FLY 1 and FLY HD hear SM on group FLY"
    ]
    keyed = told(("devices/pack-sm/keys", {**keys, "B1": "fly"}))
    assert keyed["Now on a key of another page"] == ["DSM, FLY 1 and FLY HD hear SM on group FLY"]


def test_what_is_overheard() -> None:
    found = told(("users/gate/channels/cue", {"number": 2}))
    assert found["Overheard"] == ["GATE hears SM, and must not (apart talent: the gate hears no cue)"]
    public = told(("users/dsm/channels/foh", {"number": 2, "talk": "open", "listen": "none"}))
    assert public["Overheard"] == ["Public circuit hall hears DSM: the microphone is open"]


def test_what_comes_back_is_told_also_where_the_pair_was_there() -> None:
    before = but(SHOW, ("users/sm/channels/fly/listen", "none"))
    assert told(("users/sm/channels/fly/listen", "always"), before=before)["Gained"] == [
        "SM can now hear DSM", "SM can now hear FLY 1 and FLY HD on group FLY",
    ]  # fmt: skip
    off = but(SHOW, ("devices/pack-dsm/away", "at repair"))
    assert told(("devices/pack-dsm/away", GONE), before=off)["Gained"][0] == "DSM is on headset again"


def test_nothing_is_said_in_one_sentence() -> None:
    old, new = show_from_tree(SHOW), show_from_tree(but(SHOW, ("devices/pack-sm/place", "Left")))
    assert effect_sections(old, new, effect_of(old, new)) == []
    assert unheard(compare(old, new)) == [UNHEARD]
    assert unheard(compare(old, old)) == []


# --- the caution


def test_the_whole_caution_stands_where_a_critical_path_is_lost() -> None:
    assert caution(("users/sm/channels/fly/listen", "none")) == f"Critical groups affected: FLY. {CAUTION}"
    assert caution(("users/sm/channels/fly/level", -3)) == "Critical groups affected: FLY."
    assert caution(("users/sm/channels/cue/level", -3)) is None


def unfolded(tree: Tree) -> Tree:
    """Without departments, which would stand for their members."""
    users = {name: {**body, "department": f"of {name}"} for name, body in tree["users"].items()}
    return {**tree, "users": users}


@given(st.integers(0, 10**9))
def test_whatever_changes_for_somebody_is_in_some_sentence(seed: int) -> None:
    before, after = (show_from_tree(unfolded(tree)) for tree in random_pair(seed))
    effect = effect_of(before, after)
    sections = effect_sections(before, after, effect)
    assert bool(sections) == bool(effect)
    assert all(section.lines for section in sections)
    said = " ".join(line for section in sections for line in section.lines)
    for loss in effect.losses:
        ends = {loss[0], loss[-1]}
        assert all(name in said for name in ends & {*effect.off_headset} or ends), loss
