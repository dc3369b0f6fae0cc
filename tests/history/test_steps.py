"""The nearest snapshot is the one that a look at every snapshot would find, and none is opened to find it."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.formats.folder import folder_texts
from showvc.history.steps import Apart, Nearest, SnapshotStep, Turn, common_base, content_ids, nearest, state_at
from showvc.store.commits import blob_id
from tests.generator import apply_edits, random_edits, random_show
from tests.release.salt import edited, salt

Ids = dict[str, str]


def told(states: dict[str, Ids], parents: dict[str, tuple[str, ...]]) -> list[SnapshotStep]:
    """Whole states as the steps that git would tell."""

    def turns(old: Ids, new: Ids) -> tuple[Turn, ...]:
        changed = sorted(path for path in {*old, *new} if old.get(path) != new.get(path))
        return tuple(Turn(path, old.get(path), new.get(path)) for path in changed)

    return [
        SnapshotStep(code, parents.get(code, ()), turns(states[parents[code][0]] if parents.get(code) else {}, state))
        for code, state in states.items()
    ]


def random_history(seed: int, size: int) -> tuple[dict[str, Ids], dict[str, tuple[str, ...]]]:
    rng = Random(seed)
    states: dict[str, Ids] = {"s0": {f"users/u{number}.yaml": "0" for number in range(6)}}
    parents: dict[str, tuple[str, ...]] = {}
    for number in range(1, size):
        known = list(states)
        first = rng.choice(known[-3:])
        second = (rng.choice(known),) if rng.random() < 0.3 else ()
        state = dict(states[first])
        for _ in range(rng.randint(0, 3)):
            path = f"users/u{rng.randrange(9)}.yaml"
            if rng.random() < 0.25:
                state.pop(path, None)
            else:
                state[path] = str(rng.randrange(5))
        states[f"s{number}"] = state
        parents[f"s{number}"] = (first, *(other for other in second if other != first))
    return states, parents


def distance(one: Ids, other: Ids) -> int:
    return sum(one.get(path) != other.get(path) for path in {*one, *other})


LINE = {
    "s1": {"show.yaml": "a", "users/sm.yaml": "1", "users/lx.yaml": "1"},
    "s2": {"show.yaml": "a", "users/sm.yaml": "2", "users/lx.yaml": "1"},
    "s3": {"show.yaml": "a", "users/sm.yaml": "2", "users/lx.yaml": "2"},
}
HISTORY = told(LINE, {"s2": ("s1",), "s3": ("s2",)})


def find(wanted: Ids, history: list[SnapshotStep] = HISTORY, released: tuple[str, ...] = ()) -> Nearest:
    return nearest({"device": wanted}, history, released)["device"]


def test_a_recorded_show_is_found_with_nothing_apart() -> None:
    assert find(LINE["s2"]) == Nearest("s2")


def test_an_edit_that_no_snapshot_has_is_named() -> None:
    assert find({**LINE["s3"], "users/lx.yaml": "other"}).apart == (Apart("users/lx.yaml", "other"),)


def test_an_edit_that_another_snapshot_has_says_which() -> None:
    mixed = {**LINE["s3"], "users/sm.yaml": "1"}
    assert find(mixed, released=("s3",)) == Nearest("s3", (Apart("users/sm.yaml", "1", "s1"),))


def test_things_added_and_removed_on_the_device_are_named() -> None:
    changed = {"show.yaml": "a", "users/sm.yaml": "2", "users/new.yaml": "9"}
    assert find(changed).apart == (Apart("users/lx.yaml", None), Apart("users/new.yaml", "9"))


def test_of_two_equally_near_the_released_one_is_taken_else_the_earlier() -> None:
    between = {**LINE["s1"], "users/sm.yaml": "other"}
    assert find(between).code == "s1"
    assert find(between, released=("s2",)).code == "s2"


def test_a_show_recorded_twice_is_the_latest_of_them() -> None:
    states = {**LINE, "s4": LINE["s1"]}
    assert find(LINE["s1"], told(states, {"s2": ("s1",), "s3": ("s2",), "s4": ("s3",)})).code == "s4"


def test_an_empty_history_has_no_nearest() -> None:
    assert nearest({"device": LINE["s1"]}, []) == {}
    assert nearest({}, HISTORY) == {}


@given(st.integers(0, 10_000), st.integers(1, 25))
def test_it_is_what_a_look_at_every_snapshot_finds(seed: int, size: int) -> None:
    states, parents = random_history(seed, size)
    rng = Random(seed + 1)
    wanted = {number: dict(rng.choice(list(states.values()))) for number in range(4)}
    for ids in wanted.values():
        for _ in range(rng.randint(0, 2)):
            ids[f"users/u{rng.randrange(10)}.yaml"] = str(rng.randrange(7))
    found = nearest(wanted, told(states, parents))
    for number, ids in wanted.items():
        least = min(distance(ids, state) for state in states.values())
        assert distance(ids, states[found[number].code]) == least == len(found[number].apart)
        for apart in found[number].apart:
            assert apart.content == ids.get(apart.path) != states[found[number].code].get(apart.path)
            had = apart.known is not None
            assert not had or states[apart.known or ""].get(apart.path) == apart.content
            assert had or apart.content is None or all(s.get(apart.path) != apart.content for s in states.values())


@given(st.integers(0, 10_000))
def test_the_state_of_a_snapshot_is_put_together_from_its_steps(seed: int) -> None:
    states, parents = random_history(seed, 15)
    steps = {step.code: step for step in told(states, parents)}
    assert {code: state_at(code, steps) for code in steps} == states


@pytest.mark.parametrize(
    ("codes", "base"),
    [
        (("l2", "r2"), "s"),
        (("l1", "l2"), "l1"),
        (("l2", "m"), "l2"),
        (("l2", "m", "r1"), "s"),
        (("l2", "x"), None),
        ((), None),
    ],
)
def test_the_common_base_is_the_latest_that_all_came_from(codes: tuple[str, ...], base: str | None) -> None:
    parents = {"s": (), "l1": ("s",), "l2": ("l1",), "r1": ("s",), "r2": ("r1",), "m": ("l2", "r2"), "x": ()}
    assert common_base(codes, [SnapshotStep(code, came) for code, came in parents.items()]) == base


def test_content_ids_tell_every_file_and_change_with_it_alone() -> None:
    before, after = content_ids(salt()), content_ids(edited(salt(), "users", "sm", label="STAGE"))
    assert {"show.yaml", "groups/fly.yaml", "users/sm.yaml", "devices/desk-01.yaml"} <= before.keys()
    assert [path for path in before if before[path] != after[path]] == ["users/sm.yaml"]


@given(st.integers(0, 1_000))
def test_content_ids_are_those_of_the_folder_whether_bodies_are_remembered_or_not(seed: int) -> None:
    known: dict[tuple[str, str], str] = {}
    for edits in (0, 3, 6):
        show = apply_edits(random_show(seed), random_edits(random_show(seed), seed, edits))
        wanted = {path: blob_id(text.encode()) for path, text in folder_texts(show).items()}
        assert content_ids(show) == content_ids(show, known) == wanted
