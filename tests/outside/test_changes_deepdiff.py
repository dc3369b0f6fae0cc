"""Our changes held to deepdiff: what it calls changed, we call changed, and the other way round.

Reference: the deepdiff library, its DeepDiff and Delta over the single documents.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from deepdiff import DeepDiff, Delta
from hypothesis import given

from showvc.changes import Change, edits
from showvc.document import Show, same
from showvc.document.pointers import join
from tests.wild import two_shows


def difference(before: Any, after: Any, **more: Any) -> DeepDiff:
    return DeepDiff(before, after, ignore_numeric_type_changes=False, ignore_private_variables=False, **more)


def leaves_that_differ(before: Show, after: Show) -> set[str]:
    """Pointers to everything that deepdiff reports."""
    found = difference(before.tree(), after.tree(), view="tree")
    levels = [level for group in found.values() for level in group]
    return {join(*(str(step) for step in level.path(output_format="list"))) for level in levels}


def places(change: Change) -> Iterator[str]:
    """Every place that a change speaks of; of two that traded, each."""
    if change.change == "swapped" or (change.change == "moved" and isinstance(change.after, dict)):
        for name in {**change.before, **change.after}:
            yield change.path + join(name)
    else:
        yield change.path


def meet(one: str, other: str) -> bool:
    """Whether one of the two pointers is at or above the other."""
    return f"{one}/".startswith(f"{other}/") or f"{other}/".startswith(f"{one}/")


@given(two_shows())
def test_the_delta_of_deepdiff_makes_after_of_before(case: tuple[Show, Show]) -> None:
    before, after = case
    delta = Delta(difference(before.tree(), after.tree()), raise_errors=True, force=True)
    assert before.tree() + delta == after.tree()


@given(two_shows())
def test_what_deepdiff_reports_we_report(case: tuple[Show, Show]) -> None:
    ours = {place for change in edits(*case).changes for place in places(change)}
    for leaf in leaves_that_differ(*case):
        assert any(meet(leaf, place) for place in ours), leaf


@given(two_shows())
def test_what_we_report_deepdiff_reports(case: tuple[Show, Show]) -> None:
    theirs = leaves_that_differ(*case)
    for change in edits(*case).changes:
        for place in places(change):
            assert any(meet(leaf, place) for leaf in theirs), change


@given(two_shows())
def test_no_change_exactly_when_deepdiff_has_none(case: tuple[Show, Show]) -> None:
    before, after = case
    assert bool(edits(before, after)) == bool(difference(before.tree(), after.tree()))
    assert bool(edits(before, after)) == (not same(before.tree(), after.tree()))
