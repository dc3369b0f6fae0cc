"""The laws of compare, over whole random shows, valid ones and broken ones; and what it reads."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given

from showvc.changes import compare, edits, json_patch
from showvc.document import SECTIONS, Entries, Show, same, to_tree
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from tests.generator import apply_edits, random_edits, random_show
from tests.wild import two_shows


def at(tree: Any, steps: tuple[str, ...]) -> Any:
    """What stands at these steps, within lists too."""
    for step in steps:
        tree = tree[int(step)] if isinstance(tree, list) else tree[step]
    return tree


def resolves(show: Show, pointer: str) -> bool:
    steps = parse(pointer)
    if "extra" not in steps:
        return get(show, steps) is not ABSENT
    try:
        at(show.tree(), steps)
    except (KeyError, IndexError, TypeError):
        return False
    return True


@given(two_shows())
def test_there_is_no_change_exactly_when_the_shows_are_equal(case: tuple[Show, Show]) -> None:
    before, after = case
    assert bool(edits(before, after)) == (before != after) == (not same(before.tree(), after.tree()))
    assert not edits(before, before)


@given(two_shows())
def test_every_path_leads_somewhere_in_one_of_the_two_shows(case: tuple[Show, Show]) -> None:
    for change in edits(*case).changes:
        assert resolves(case[0], change.path) or resolves(case[1], change.path), change


@given(two_shows())
def test_no_place_is_told_twice_and_every_change_is_a_sentence(case: tuple[Show, Show]) -> None:
    found = edits(*case).changes
    told = [(change.path, str(change.before), str(change.after)) for change in found]
    assert len(set(told)) == len(told)
    for change in found:
        assert change.text
        assert change.text.isprintable()


@given(two_shows())
def test_the_other_way_round_adds_what_was_removed(case: tuple[Show, Show]) -> None:
    turned = {"added": "removed", "removed": "added"}
    there, back = edits(*case).counts(), edits(*case[::-1]).counts()
    assert {turned.get(kind, kind): count for kind, count in there.items()} == back


@given(two_shows())
def test_paths_that_are_lost_one_way_are_gained_the_other(case: tuple[Show, Show]) -> None:
    there, back = compare(*case).effect, compare(*case[::-1]).effect
    assert there is not None
    assert back is not None
    assert set(there.lost) == set(back.gained)
    told_over = {target for _, target, _ in (*there.lost_over, *back.gained_over)}
    assert told_over <= there.critical | case[0].lines.keys() | case[1].lines.keys()
    assert set(there.lost_over) == set(back.gained_over)
    assert set(there.critical_losses) <= set(there.lost_over)
    assert not set(there.lost) & {(talker, listener) for talker, target, listener, _ in there.weaker if target is None}
    assert not set(there.lost_over) & {each[:3] for each in there.weaker}


# --- what is read


class Counting:
    """A show whose bodies are read when first asked for, as from a history."""

    def __init__(self, show: Show) -> None:
        self.asked: set[tuple[str, str]] = set()
        sections = {section: self.entries(section, show.section(section)) for section in SECTIONS}
        self.show = Show(show.head, **sections)  # type: ignore[arg-type]

    def entries(self, section: str, bodies: Entries[Any]) -> Entries[Any]:
        def load(names: tuple[str, ...]) -> dict[str, Any]:
            self.asked |= {(section, name) for name in names}
            return {name: bodies[name] for name in names}

        return Entries({}, {name: str(to_tree(body)) for name, body in bodies.items()}, load)


@pytest.mark.parametrize("made", [edits, json_patch])
@pytest.mark.parametrize("seed", range(5))
def test_only_what_changed_is_read(made: Any, seed: int) -> None:
    show = random_show(seed, users=60, groups=12, devices=60, bridges=6)
    edited = apply_edits(show, random_edits(show, seed, 5))
    before, after = Counting(show), Counting(edited)
    assert bool(made(before.show, after.show)) == (show != edited)
    changed = {
        (section, name)
        for section in SECTIONS
        for name in {*show.section(section), *edited.section(section)}
        if show.section(section).get(name) != edited.section(section).get(name)
    }
    # Words need the labels of what a change points at, and the user of a device: a handful more, never the whole.
    assert changed <= before.asked | after.asked
    assert len(before.asked | after.asked) <= len(changed) + 4 * len(changed) + 4


def test_a_leaf_of_one_user_reads_that_user_alone_and_whom_his_channels_name() -> None:
    show = random_show(3, users=60, groups=12, devices=60)
    user = next(iter(show.users))
    edited = show.with_section("users", {user: show.users[user].model_copy(update={"department": "night"})})
    before, after = Counting(show), Counting(edited)
    assert [change.path for change in edits(before.show, after.show).changes] == [f"/users/{user}/department"]
    assert before.asked == after.asked == {("users", user)}
