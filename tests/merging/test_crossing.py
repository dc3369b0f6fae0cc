"""Crosswise histories: what one engineer answered and the other answered otherwise is asked again, never lost."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show
from showvc.document.editing import get
from showvc.document.pointers import parse
from showvc.merging import Base, Merge, crossed, merge, settle, settle_by_value
from tests.merging.cases import CLASHING, SMALL, Case, edited
from tests.wild import wild_sides


def answered(before: Base, mine: Show, incoming: Show, side: str) -> Merge:
    """The merge after every conflict was settled by one side."""
    answers: list = []
    for _ in range(12):
        merged = merge(before.show, mine, incoming, answers, asked=before.asked)
        if merged.clean:
            break
        answers += [settle(conflict, side) for conflict in merged.conflicts]
    assert merged.clean
    return merged


CUE = {"users/sm/channels/stage": {"number": 5, "talk": "latch"}}
SND = {"users/sm/channels/lx-op": {"number": 5, "talk": "latch"}}


def test_two_channels_on_one_number_settled_oppositely_are_asked_again_and_neither_is_lost() -> None:
    one, other = edited(SMALL, CUE), edited(SMALL, SND)
    main, draft = (answered(Base(SMALL), *pair, "mine").show for pair in ((one, other), (other, one)))
    base = crossed(Base(SMALL), one, other)
    merged = merge(base.show, main, draft, asked=base.asked)
    (conflict,) = merged.conflicts
    assert conflict.kind == "double-booked"
    assert "settled differently on the two sides" in conflict.message
    assert merge(base.show, main, draft, [settle(conflict, "mine")], asked=base.asked).show == one
    assert merge(base.show, main, draft, [settle(conflict, "incoming")], asked=base.asked).show == other


@pytest.mark.parametrize("case", CLASHING, ids=lambda case: case.name)
@pytest.mark.parametrize("sides", [("mine", "mine"), ("incoming", "incoming")])
def test_whatever_clashes_is_asked_again_where_it_was_settled_oppositely(case: Case, sides: tuple[str, str]) -> None:
    before, mine, incoming = case.shows
    first = answered(Base(before), mine, incoming, sides[0]).show
    second = answered(Base(before), incoming, mine, sides[1]).show
    base = crossed(Base(before), mine, incoming)
    merged = merge(base.show, first, second, asked=base.asked)
    assert not merged.clean
    if "comes back with it" in case.name:
        return  # whom an answer brought back along, stays: his removal is no part of the question
    for side, wanted in (("mine", first), ("incoming", second)):
        assert answered(base, first, second, side).show == wanted


@pytest.mark.parametrize("case", CLASHING, ids=lambda case: case.name)
@pytest.mark.parametrize("side", ["mine", "incoming"])
def test_what_both_settled_alike_stands_unasked(case: Case, side: str) -> None:
    before, mine, incoming = case.shows
    other = "incoming" if side == "mine" else "mine"
    first = answered(Base(before), mine, incoming, side).show
    second = answered(Base(before), incoming, mine, other).show
    assert first == second
    base = crossed(Base(before), mine, incoming)
    merged = merge(base.show, first, second, asked=base.asked)
    assert merged.clean
    assert merged.show == first


def test_an_answer_back_to_what_stood_before_is_an_answer() -> None:
    """Main takes its own value, the draft answers with the old one: that is no untouched side."""
    talk = "/users/sm/channels/lx/talk"
    one, other = edited(SMALL, {talk: "dual"}), edited(SMALL, {talk: "open"})
    (conflict,) = merge(SMALL, other, one).conflicts
    draft = merge(SMALL, other, one, [settle_by_value(conflict, "latch")]).show
    assert draft == SMALL
    base = crossed(Base(SMALL), one, other)
    for sides in ((one, draft), (draft, one)):
        assert [each.paths for each in merge(base.show, *sides, asked=base.asked).conflicts] == [(talk,)]


def test_edits_made_after_the_answers_are_kept() -> None:
    one, other = edited(SMALL, CUE), edited(SMALL, SND)
    main = edited(one, {"groups/fly/label": "FLYS"})
    draft = edited(other, {"groups/snd/label": "SOUND"})
    base = crossed(Base(SMALL), one, other)
    merged = answered(base, main, draft, "incoming").show
    assert (merged.groups["fly"].label, merged.groups["snd"].label) == ("FLYS", "SOUND")


def test_crossed_twice_it_is_asked_twice() -> None:
    talk = "/users/sm/channels/lx/talk"
    one, other = edited(SMALL, {talk: "dual"}), edited(SMALL, {talk: "open"})
    first = crossed(Base(SMALL), one, other)
    second = crossed(first, one, other)  # each answered for itself once more
    merged = merge(second.show, one, other, asked=second.asked)
    assert [each.paths for each in merged.conflicts] == [(talk,)]
    keys = {each.key for base in (Base(SMALL), first, second) for each in merge(base.show, one, other, asked=base.asked).conflicts}  # fmt: skip
    assert len(keys) == 3, "what was answered once is not taken for the answer to the next question"


@given(wild_sides(), st.sampled_from(list(product(("mine", "incoming"), repeat=2))))
def test_no_answer_is_overturned_unasked(case: tuple[Show, Show, Show], sides: tuple[str, str]) -> None:
    """At every place that was asked, the second meeting has what both answered, or a conflict."""
    before, mine, incoming = case
    first = answered(Base(before), mine, incoming, sides[0]).show
    second = answered(Base(before), incoming, mine, sides[1]).show
    base = crossed(Base(before), mine, incoming)
    merged = merge(base.show, first, second, asked=base.asked)
    open_at = [path for conflict in merged.conflicts for path in conflict.paths]
    for path in {place for group in base.asked for place in group.places}:
        one, other = (get(show, parse(path)) for show in (first, second))
        if one == other and not any(
            f"{path}/".startswith(f"{at}/") or f"{at}/".startswith(f"{path}/") for at in open_at
        ):
            assert get(merged.show, parse(path)) == one
        elif one != other:
            assert any(f"{path}/".startswith(f"{at}/") or f"{at}/".startswith(f"{path}/") for at in open_at), path
