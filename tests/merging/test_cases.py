"""The worked cases of `cases.py`: each merged, settled by either side, and merged again with the sides turned."""

from __future__ import annotations

import pytest

from showvc.changes import edits
from showvc.document import Show
from showvc.merging import Merge, Settlement, merge, settle
from showvc.rules import check
from tests.merging.cases import CLASHING as FIRST_CLASHING
from tests.merging.cases import CLEAN as FIRST_CLEAN
from tests.merging.cases import Case
from tests.merging.more_cases import MORE_CLASHING, MORE_CLEAN
from tests.merging.reasons import REASONS

CLEAN, CLASHING = (*FIRST_CLEAN, *MORE_CLEAN), (*FIRST_CLASHING, *MORE_CLASHING)
CASES = (*CLEAN, *CLASHING)

KINDS = {
    "both-changed", "removed-and-changed", "dangling", "double-booked", "same-id", "over-limit", "path-lost", "key-lost", "audio-loop", "twin"
}  # fmt: skip


def named(case: Case) -> str:
    return case.name


clean = pytest.mark.parametrize("case", CLEAN, ids=named)
clashing = pytest.mark.parametrize("case", CLASHING, ids=named)
every = pytest.mark.parametrize("case", CASES, ids=named)
sides = pytest.mark.parametrize("side", ["mine", "incoming"])


def after_settling(shows: tuple[Show, Show, Show], side: str) -> tuple[Merge, list[Settlement]]:
    """The merge after every conflict was settled by one side; an answer may bring up another conflict."""
    answers: list[Settlement] = []
    merged = merge(*shows)
    for _ in range(4):
        if merged.clean:
            break
        answers += [settle(conflict, side) for conflict in merged.conflicts]  # type: ignore[arg-type]
        merged = merge(*shows, answers)
    return merged, answers


def difference(one: Show, other: Show) -> list[str]:
    """Nothing, where the two are equal; else what a reader of the failing test wants to see."""
    return [f"{change.path}: {change.text}" for change in edits(one, other).changes]


def test_the_table_is_long_enough_and_has_every_kind() -> None:
    assert len(CASES) >= 150
    assert len({case.name for case in CASES}) == len(CASES)
    assert {clash.kind for case in CLASHING for clash in case.clashes} == KINDS


@clean
def test_clean(case: Case) -> None:
    merged = merge(*case.shows)
    assert [conflict.message for conflict in merged.conflicts] == []
    assert difference(case.wanted, merged.show) == []
    assert merged.show == case.wanted


@clashing
def test_conflicts(case: Case) -> None:
    merged = merge(*case.shows)
    assert not merged.clean
    assert [(found.kind, found.paths) for found in merged.conflicts] == [
        (clash.kind, clash.paths) for clash in case.clashes
    ]


@clashing
def test_what_the_engineer_reads(case: Case) -> None:
    merged = merge(*case.shows)
    for found, clash in zip(merged.conflicts, case.clashes, strict=True):
        assert found.message == clash.says if clash.says else found.message.isprintable()


@every
def test_every_case_has_the_reason_that_an_engineer_would_give(case: Case) -> None:
    assert case.why or REASONS[case.name]


@every
def test_what_was_wrong_on_one_side_already_is_its_problem(case: Case) -> None:
    assert tuple((found.side, found.code, found.path) for found in merge(*case.shows).problems) == case.problems


@sides
@clashing
def test_what_stands_when_one_side_was_taken(case: Case, side: str) -> None:
    merged, _ = after_settling(case.shows, side)
    assert merged.clean
    assert difference(case.taken(side), merged.show) == []
    assert merged.show == case.taken(side)


@sides
@clashing
def test_taking_a_side_breaks_nothing_new(case: Case, side: str) -> None:
    merged, _ = after_settling(case.shows, side)
    stops = {(found.code, found.paths) for found in check(merged.show) if found.severity == "block"}
    known = {(found.code, found.paths) for show in case.shows for found in check(show) if found.severity == "block"}
    assert stops <= known


@every
def test_the_sides_turned(case: Case) -> None:
    before, mine, incoming = case.shows
    one, other = merge(before, mine, incoming), merge(before, incoming, mine)
    assert one.show == other.show
    assert [found.key for found in one.conflicts] == [found.key for found in other.conflicts]
    for first, second in zip(one.conflicts, other.conflicts, strict=True):
        assert dict(zip(first.paths, first.mine, strict=True)) == dict(zip(second.paths, second.incoming, strict=True))


@sides
@clashing
def test_a_settlement_is_remembered_with_the_sides_turned(case: Case, side: str) -> None:
    merged, answers = after_settling(case.shows, side)
    before, mine, incoming = case.shows
    again = merge(before, incoming, mine, [Settlement.from_plain(answer.plain()) for answer in answers])
    assert again.clean
    assert again.show == merged.show


@every
def test_every_edit_that_is_in_no_conflict_is_in_the_result(case: Case) -> None:
    merged = merge(*case.shows)
    disputed = [path for conflict in merged.conflicts for path in conflict.paths]
    before, mine, incoming = case.shows
    left = {change.path for side in (mine, incoming) for change in edits(before, side).changes}
    undone = {change.path for change in edits(before, merged.show).changes}
    if case.name.startswith("another id"):  # what was done to the old id is done to the new one
        left = {path.replace("/lx", "/lighting") if "lx-op" not in path else path for path in left}
    for path in left - undone:
        assert any(f"{path}/".startswith(f"{place}/") or f"{place}/".startswith(f"{path}/") for place in disputed), path
