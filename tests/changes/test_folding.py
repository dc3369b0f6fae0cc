"""Large sets of positions in few words, and nobody lost in them."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from showvc.changes import Folder, effect_of
from showvc.changes.folding import _MOST_LINES, CAN_NO_LONGER, HEARS, _count, _rows
from showvc.document import Show, show_from_tree
from showvc.paths import talk_paths
from tests.paths.oracle.shows import random_pair


def folder(before: Show, after: Show | None = None) -> Folder:
    return Folder(talk_paths(before), talk_paths(after or before))


def crew(departments: dict[str, int], **more: dict[str, object]) -> Show:
    users = {
        f"{name}-{number}": {"label": f"{name.upper()} {number}", "department": name}
        for name, count in departments.items()
        for number in range(1, count + 1)
    }
    return show_from_tree({"users": {**users, **more}})


def words(show: Show, *names: str) -> str:
    return folder(show).words(names)


def test_a_whole_department_is_one_word() -> None:
    show = crew({"lx": 14, "fly": 2})
    assert words(show, *(f"lx-{number}" for number in range(1, 15))) == "all 14 of the lx department"


def test_a_department_with_one_missing_is_told_by_name() -> None:
    assert words(crew({"lx": 4}), "lx-1", "lx-2", "lx-4") == "LX 1, LX 2 and LX 4"


def test_two_of_two_are_told_by_name() -> None:
    assert words(crew({"fly": 2}), "fly-1", "fly-2") == "FLY 1 and FLY 2"


def test_departments_first_the_largest_on_top_then_names() -> None:
    show = crew({"lx": 4, "snd": 3, "fly": 2}, sm={"label": "SM"})
    rows = {"lx": 4, "snd": 3}
    names = ["sm", "fly-2", *(f"{name}-{turn}" for name, most in rows.items() for turn in range(1, most + 1))]
    assert words(show, *names) == "all 4 of the lx department, all 3 of the snd department, FLY 2 and SM"


def test_many_single_names_are_counted() -> None:
    assert words(crew({"lx": 30}), *(f"lx-{number}" for number in range(1, 21))).endswith(" and 8 more")


def test_nobody() -> None:
    assert words(crew({})) == "nobody"


def test_a_department_counts_who_was_in_it_before_or_is_after() -> None:
    both = folder(crew({"lx": 4}), crew({"lx": 3}))
    assert both.words(["lx-1", "lx-2", "lx-3"]) == "LX 1, LX 2 and LX 3"
    assert both.words(["lx-1", "lx-2", "lx-3", "lx-4"]) == "all 4 of the lx department"


# --- departments, groups and lines of one name


def auto(talk: str = "momentary") -> Show:
    """Three who listen on the group AUTO, and three others of the department AUTO."""
    listens = {"channels": {"auto": {"number": 1, "listen": "always"}}}
    watch = {f"w{turn}": {"label": f"W {turn}", **listens} for turn in (1, 2, 3)}
    cart = {f"c{turn}": {"label": f"C {turn}", "department": "AUTO"} for turn in (1, 2, 3)}
    sm = {"label": "SM", "channels": {"auto": {"number": 1, "talk": talk, "listen": "none"}}}
    users = {"sm": sm, **watch, **cart}
    packs = {f"pack-{name}": {"kind": "pack-4", "user": name, "keys": {}} for name in users}
    return show_from_tree({"groups": {"auto": {"label": "AUTO"}}, "users": users, "devices": packs})


def test_a_department_and_a_group_of_one_name_cannot_be_mixed_up() -> None:
    told = folder(auto())
    assert told.words(["w1", "w2", "w3"], talking=False) == "all 3 on group AUTO"
    assert told.words(["c1", "c2", "c3"], talking=False) == "all 3 of the AUTO department"
    assert told.on("auto") == "on group AUTO"


# --- sentences of pairs


def test_who_can_no_longer_hear() -> None:
    pairs = [("sm", name) for name in ("w1", "w2", "w3")]
    assert folder(auto()).lines(pairs, CAN_NO_LONGER) == ["all 3 on group AUTO can no longer hear SM"]
    assert folder(auto()).lines(pairs[:1], HEARS, " by direct call") == ["W 1 hears SM by direct call"]


def test_those_who_are_cut_off_from_each_other_and_from_others() -> None:
    show = crew({}, sm={}, dsm={}, board={})
    each = [("sm", "dsm"), ("dsm", "sm")]
    assert folder(show).lines(each, CAN_NO_LONGER) == ["dsm and sm can no longer hear each other"]
    assert folder(show).lines([*each, ("sm", "board"), ("dsm", "board")], CAN_NO_LONGER) == [
        "dsm and sm can no longer hear each other, and board can no longer hear any of them"
    ]


def test_beyond_some_sentences_the_rest_is_counted() -> None:
    # Each is heard by the next one alone, so that no two fit in one sentence.
    chain = [(f"u{turn:02}", f"u{turn + 1:02}") for turn in range(_MOST_LINES + 9)]
    told = folder(show_from_tree({})).lines(chain, CAN_NO_LONGER)
    assert len(told) == _MOST_LINES + 1
    assert told[0] == "u01 can no longer hear u00"
    assert told[-1] == "and 9 more pairs: --json has them all"


@given(st.integers(0, 10**9))
def test_the_sentences_stand_for_every_pair_once(seed: int) -> None:
    effect = effect_of(*map(show_from_tree, random_pair(seed)))
    for found in (effect.lost, effect.gained):
        rows = list(_rows(found))
        unfolded = [(x, y) for talkers, listeners in rows for x in talkers for y in listeners if x != y]
        assert sorted(unfolded) == sorted(found)
        assert sum(_count(*row) for row in rows) == len(found)
