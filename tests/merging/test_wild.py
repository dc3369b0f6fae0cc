"""However broken the shows are: a merge answers, either side can be taken, and the end is reached."""

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show
from showvc.merging import Merge, Settlement, merge, settle
from showvc.merging.conflict import Conflict
from tests.wild import wild_sides

Sides = tuple[Show, Show, Show]


def settled(case: Sides, side: str) -> Merge:
    """The merge after every conflict was settled by one side; an answer may bring up another conflict."""
    answers: list[Settlement] = []
    for _ in range(12):
        merged = merge(*case, answers)
        if merged.clean:
            break
        answers += [settle(conflict, side) for conflict in merged.conflicts]  # type: ignore[arg-type]
    return merged


@given(wild_sides(), st.sampled_from(["mine", "incoming"]))
def test_taking_one_side_every_time_ends(case: Sides, side: str) -> None:
    assert settled(case, side).clean


@given(wild_sides())
def test_swapping_the_sides_swaps_nothing_but_the_names(case: Sides) -> None:
    before, mine, incoming = case
    one, other = merge(before, mine, incoming), merge(before, incoming, mine)
    assert one.show == other.show
    assert [named(conflict) for conflict in one.conflicts] == [named(conflict) for conflict in other.conflicts]


def named(conflict: Conflict) -> tuple[str, frozenset[str], str]:
    return conflict.kind, frozenset(conflict.paths), conflict.key


@given(wild_sides())
def test_an_untouched_side_makes_no_conflict_of_what_was_wrong_before(case: Sides) -> None:
    before, mine, _ = case
    for sides in ((mine, before), (before, mine)):
        merged = merge(before, *sides)
        assert merged.clean
        assert merged.show == mine


@given(wild_sides())
def test_every_conflict_is_a_sentence_and_lies_where_the_sides_differ(case: Sides) -> None:
    for conflict in merge(*case).conflicts:
        assert conflict.message
        assert "\n" not in conflict.message
        assert conflict.paths
        assert repr(conflict.mine) != repr(conflict.incoming)  # 1 and true are two values of `extra`
