"""The effect holds every pair, whatever is folded in words; and what words fold can be unfolded again."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from tests.paths.plots import neighbour, random_plot, worked

from showvc.changes import Folder, effect_of
from showvc.changes.folding import _MOST_LINES, _count, _rows
from showvc.document import Show, show_from_tree
from showvc.paths import Pairs, hands_of, required_states, talk_paths

SEEDS = st.integers(0, 10**9)


def two_shows(seed: int, other: int) -> tuple[Show, Show]:
    plot = random_plot(seed)
    return show_from_tree(plot), show_from_tree(neighbour(plot, other))


def pairs(show: Show) -> set[tuple[str, str]]:
    return set(talk_paths(show).pairs())


def handy(show: Show) -> set[tuple[str, str]]:
    hands = hands_of(show, talk_paths(show))
    return {pair for pair in hands.matrix.pairs() if hands.hand(*pair) != "menu"}


# --- no pair is dropped


@given(SEEDS, SEEDS)
def test_json_has_every_pair_that_the_full_matrices_differ_in(seed: int, other: int) -> None:
    before, after = two_shows(seed, other)
    told = {name: {tuple(pair) for pair in found} for name, found in effect_of(before, after).plain().items()
            if name in ("lost", "gained", "menu", "critical")}  # fmt: skip
    assert told["lost"] == pairs(before) - pairs(after)
    assert told["gained"] == pairs(after) - pairs(before)
    assert told["menu"] == (handy(before) & pairs(after)) - handy(after)
    assert told["critical"] <= told["lost"]


@given(SEEDS, SEEDS)
def test_a_required_path_is_told_exactly_when_its_state_or_itself_differs(seed: int, other: int) -> None:
    plot = random_plot(seed)
    before = show_from_tree(plot)
    after = show_from_tree({**neighbour(plot, other), "required": random_plot(other)["required"]})
    old, new = ({state.name: state for state in required_states(show)} for show in (before, after))
    told = {change.name: (change.before, change.after) for change in effect_of(before, after).required}
    for name in old.keys() | new.keys():
        one, two = old.get(name), new.get(name)
        same = one and two and (one.state, one.required) == (two.state, two.required)
        assert (name in told) != bool(same)
        if name in told:
            assert told[name] == (one, two)


def test_a_required_path_that_is_no_longer_asked_for_is_told() -> None:
    users = {"sm": {"fly": "talk"}, "fly-1": {"fly": "listen"}}
    before = worked(users, "fly", required={"sm-fly": {"from": "sm", "to": "fly"}})
    found = effect_of(before, worked(users, "fly"))
    assert found.plain()["required"] == [{"id": "sm-fly", "before": "menu", "after": None}]


# --- nothing is lost in folding


@given(SEEDS, SEEDS)
def test_the_sentences_stand_for_every_pair_once(seed: int, other: int) -> None:
    before, after = two_shows(seed, other)
    for found in effect_of(before, after).lost, effect_of(before, after).gained:
        rows = list(_rows(found))
        unfolded = [(talker, listener) for talkers, listeners in rows for talker in talkers
                    for listener in listeners if talker != listener]  # fmt: skip
        assert sorted(unfolded) == sorted(found)
        assert sum(_count(*row) for row in rows) == len(found)


def lines(before: Show, after: Show, what: str = "no longer heard by") -> list[str]:
    effect = effect_of(before, after)
    return Folder(before, after, effect.matrices).lines(effect.lost, what)


def test_a_group_that_goes_is_one_sentence() -> None:
    users = {f"lx-{number}": {"lx": "both"} for number in range(1, 6)}
    assert lines(worked(users, "lx"), worked(users, "")) == ["all 5 who talk on LX are no longer heard by each other"]


def test_those_who_are_cut_off_from_each_other_and_from_others() -> None:
    users = {"sm": {"lx": "both"}, "dsm": {"lx": "both"}, "board": {"lx": "listen"}}
    assert lines(worked(users, "lx"), worked(users, "")) == [
        "dsm and sm are no longer heard by each other and board",
    ]


def test_all_listeners_of_a_group_are_one_word() -> None:
    crew = {f"spot-{number}": {"spots": "listen"} for number in range(1, 5)}
    before = worked({"sm": {"spots": "talk"}, **crew}, "spots")
    after = worked({"sm": {"spots": "neither"}, **crew}, "spots")
    assert lines(before, after) == ["sm is no longer heard by all 4 on SPOTS"]


def test_a_group_of_which_one_still_hears_is_told_by_name() -> None:
    crew = {f"spot-{number}": {"spots": "listen"} for number in range(1, 5)}
    before = worked({"sm": {"spots": "talk", "spot-2": "talk"}, **crew}, "spots")
    after = worked({"sm": {"spots": "neither", "spot-2": "talk"}, **crew}, "spots")
    assert lines(before, after) == ["sm is no longer heard by spot-1, spot-3 and spot-4"]


def test_beyond_some_sentences_the_rest_is_counted() -> None:
    order = tuple(f"u{number:02}" for number in range(_MOST_LINES + 10))
    # Each is heard by the next one alone, so that no two fit in one sentence.
    chain = Pairs(order, {slot: 1 << slot + 1 for slot in range(len(order) - 1)})
    show = worked({name: {} for name in order})
    told = Folder(show, show).lines(chain, "no longer heard by")
    assert len(told) == _MOST_LINES + 1
    assert told[0] == "u00 is no longer heard by u01"
    assert told[-1] == "and 9 more pairs: --json has them all"
