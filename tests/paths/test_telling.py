"""What is told of the matrix, of one position, of a group, and of required paths; in tables and in words."""

from __future__ import annotations

from hypothesis import given

from showvc.paths import (
    CSV_HEAD,
    Paths,
    alone,
    best_grade,
    between_words,
    csv_rows,
    department_shares,
    letters,
    matrix_text,
    reach_of,
    reach_text,
    required_between,
    required_states,
    required_words,
    ring_words,
    rings,
    summary_text,
    target_members,
)
from tests.paths.oracle.building import bridge, circuit, line, must, show, user
from tests.paths.oracle.shows import documents
from tests.paths.oracle.there import Doc
from tests.paths.ours import paths_of

HOUSE = show(
    user("sm", "fly:ma", "cue:mn", keys="A1=fly B1=cue", department="AUTO"), user("a", "fly:ms", "cue:na", keys="", department="AUTO"),
    user("b", "fly:na", worn=False), circuit("truck", "h"), bridge("b1", "fly", "truck"), line("alarm"),
    {"groups": {"fly": {"label": "FLY"}}},
)  # fmt: skip


def test_the_matrix_has_letters_for_how_and_a_mark_for_unsure() -> None:
    paths = paths_of(HOUSE)
    assert paths.surely.positions == ("a", "b", "sm", "truck")
    assert letters(paths, "sm", paths.surely.positions) == ["P", "·", "-", "K"]
    assert letters(paths, "a", paths.surely.positions) == ["-", "·", "m", "m"]


def test_a_pair_is_as_good_as_its_best_path() -> None:
    """Unsure on a key is better than sure in the menu: so are the states of required paths ordered."""
    doc = show(user("sm", "fly:mn", "cue:mn", keys="A1=fly"), user("a", "fly:ns", "cue:na"))
    grade = best_grade(paths_of(doc).surely, "sm", "a")
    assert grade is not None
    assert (grade.menu, grade.unsure) == (False, True)


def test_the_words_of_the_matrix_tell_who_is_off_headset_and_who_can_raise_a_line() -> None:
    text = matrix_text(paths_of(HOUSE))
    assert "off headset: b" in text
    assert "can raise alarm: none" in text
    assert "FLY" in summary_text(paths_of(HOUSE))


def test_a_department_s_share_counts_pairs_and_circuits_have_their_own() -> None:
    shares = department_shares(paths_of(HOUSE))
    assert shares["AUTO", "AUTO"] == (2, 2)
    assert shares["AUTO", "(circuits)"] == (2, 2)
    assert shares["(circuits)", "AUTO"] == (0, 2)


def test_a_row_for_each_path_over_each_target() -> None:
    assert CSV_HEAD == ("listener", "talker", "talker has it", "sure", "over")
    assert [row for row in csv_rows(paths_of(HOUSE)) if row[1] == "sm"] == [
        ("a", "sm", "on a key of another page", "yes", "cue"),
        ("a", "sm", "on a key", "no", "fly"),
        ("truck", "sm", "on a key", "yes", "fly"),
    ]


def test_the_reach_of_a_position_is_told_by_target_and_says_what_a_path_is() -> None:
    paths = paths_of(HOUSE)
    text = reach_text(paths.show, reach_of(paths, "sm"))
    assert text.startswith("sm is heard by 2 positions:\n")
    assert "  over FLY: a (unsure), truck" in text
    assert "sm hears 1 position:\n  over FLY: a (menu)" in text
    assert text.splitlines()[-1].startswith("A path says what the configuration allows.")


def test_the_members_of_a_group_are_those_on_headset_and_who_is_off_is_named() -> None:
    fly = next(each for each in target_members(paths_of(HOUSE)) if each.target == "fly")
    assert (fly.talkers, fly.listeners, fly.off_headset) == (("a", "sm"), ("a", "sm", "truck"), ("b",))
    assert fly.unknown == ("truck",), "whether somebody talks there is not written"


def test_who_is_alone() -> None:
    found = alone(paths_of(HOUSE))
    assert set(found.heard_by_nobody) == {"b", "truck"}
    assert set(found.hears_nobody) == {"b"}


def _words(*parts: Doc) -> list[str]:
    paths = paths_of(show(HOUSE, *parts))
    return [required_words(paths.show, state) for state in required_states(paths)]


def test_a_department_and_a_group_of_one_name_read_differently() -> None:
    (said,) = _words(must("r", "department:AUTO", "fly", why="fly cues"))
    assert said.startswith("all of the AUTO department -> group FLY: lost, b is off headset")
    assert said.endswith("(required path r: fly cues)")


def test_the_words_of_each_state() -> None:
    assert _words(must("r", "sm", "truck")) == ["sm -> truck: met (required path r)"]
    assert _words(must("r", "sm", "a", over="fly")) == ["sm -> a over FLY: unsure; a may not hear sm (required path r)"]
    assert _words(must("r", "a", "sm")) == ["a -> sm: menu only; sm hears a without a key (required path r)"]
    assert _words(must("r", "truck", "sm")) == [
        "truck -> sm: in doubt; met only if somebody behind circuit truck talks (required path r)"
    ]
    assert _words(must("r", "sm", "b")) == ["sm -> b: lost, b is off headset (required path r)"]
    assert _words(must("r", "a", "b", over="cue"), {"devices": {"pack-b": {"kind": "belt", "user": "b"}}}) == [
        "a -> b over cue: lost, b can't hear a over cue (required path r)"
    ]


def test_a_line_as_an_end_wants_a_line_to_go_over() -> None:
    (said,) = _words(must("r", "sm", "alarm"))
    assert "alarm is a line, and the path does not say over which line it goes" in said


def test_between_two_ends_that_nobody_asked_for() -> None:
    paths = paths_of(HOUSE)
    state = required_between(paths, "sm", "fly")
    assert state.state == "lost"
    assert between_words(paths.show, state) == "sm -> group FLY: lost, b is off headset"


def test_a_ring_is_told_as_a_way_round() -> None:
    doc = show(circuit("house", "hsc"), bridge("b1", "fly", "house"), bridge("b2", "fly", "house"))
    paths = paths_of(doc)
    (ring,) = rings(paths)
    assert ring_words(paths.show, ring) == "fly - bridge b1 - circuit house - bridge b2 - fly"


@given(documents)
def test_every_show_can_be_told(doc: Doc) -> None:
    paths: Paths = paths_of(doc)
    assert matrix_text(paths)
    assert summary_text(paths)
    rows = list(csv_rows(paths))
    lines = paths.surely.line_names
    assert {(row[1], row[0]) for row in rows if row[4] not in lines} == set(paths.surely.pairs())
    for state in required_states(paths):
        assert state.state in required_words(paths.show, state)
    for ring in rings(paths):
        assert all(name in ring_words(paths.show, ring) for name in ring.bridges)
