"""Before a choice: what would stand there, and what that does to people."""

from __future__ import annotations

import pytest

from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from showvc.merging import Settlement, choices, effect_of_choice, merge
from tests.merging.cases import CLASHING, Case


@pytest.mark.parametrize("case", CLASHING, ids=lambda case: case.name)
def test_what_a_choice_says_is_what_stands_when_it_is_taken(case: Case) -> None:
    merged = merge(*case.shows)
    for conflict in merged.conflicts:
        found = choices(conflict, merged)
        assert [choice.take for choice in found if choice.take != "value"] == list(conflict.sides)
        for choice in found:
            assert {*conflict.paths} <= {*choice.result}
            if conflict.kind == "twin":
                continue  # of two that become one, each takes over what the other had and it had not
            settled = merge(*case.shows, [choice.settlement(conflict)]).show
            for path, value in choice.result.items():
                stands = get(settled, parse(path))
                assert (stands is ABSENT) == (value is ABSENT)


def test_the_effect_of_a_choice_is_told_against_mine() -> None:
    case = next(each for each in CLASHING if each.name == "a required path that loses one way on each side")
    merged = merge(*case.shows)
    (conflict,) = merged.conflicts

    def again(more: object) -> object:
        return merge(*case.shows, list(more))  # type: ignore[call-overload]

    effects = {choice.take: effect_of_choice(again, conflict, choice).effect for choice in choices(conflict, merged)}  # type: ignore[arg-type]
    assert not effects["mine"]
    assert effects["both"] is not None
    assert ("sm", "fly-1") in [*effects["both"].lost]


def test_a_choice_as_json() -> None:
    case = next(each for each in CLASHING if each.name == "both take one number")
    merged = merge(*case.shows)
    (conflict,) = merged.conflicts
    assert [choice.plain() for choice in choices(conflict, merged)][-1] == {
        "take": "value",
        "result": {
            "/users/sm/channels/lx-op": {"number": 6, "talk": "latch"},
            "/users/sm/channels/stage": {"number": 5},
        },
        "effect": None,
    }


def test_an_answer_survives_a_file_whatever_was_chosen() -> None:
    for case in CLASHING:
        merged = merge(*case.shows)
        for conflict in merged.conflicts:
            for choice in choices(conflict, merged):
                answer = choice.settlement(conflict, "the deck engineer", "2026-11-25T19:30:00+01:00")
                assert Settlement.from_plain(answer.plain()) == answer
