"""The three sides of a merge as one value."""

from hypothesis import given
from hypothesis import strategies as st

from showvc.merging import Sides
from showvc.merging.sides import OPEN

VALUES = st.one_of(st.none(), st.booleans(), st.integers(0, 2), st.sampled_from("ab"))


@given(VALUES, VALUES)
def test_what_one_side_alone_changed_stands(before: object, changed: object) -> None:
    assert repr(Sides(before, changed, before).resolved()) == repr(changed)
    assert repr(Sides(before, before, changed).resolved()) == repr(changed)
    assert repr(Sides(before, changed, changed).resolved()) == repr(changed)


def test_what_both_changed_differently_is_open() -> None:
    assert Sides(1, 2, 3).resolved() is OPEN
    assert Sides("", 1, True).resolved() is OPEN  # a file tells 1 from true


@given(VALUES, VALUES, VALUES)
def test_turned_it_gives_the_same(before: object, mine: object, incoming: object) -> None:
    sides = Sides(before, mine, incoming)
    assert repr(sides.resolved()) == repr(sides.turned().resolved())
    assert sides.map(repr).turned() == sides.turned().map(repr)
