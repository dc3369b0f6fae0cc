"""How positions are called, and refusals for names that are no user's."""

from __future__ import annotations

import pytest

from showvc.document import ShowError, show_from_tree
from showvc.paths import check_user, spoken
from tests.paths.plots import worked


@pytest.mark.parametrize(
    ("name", "label", "called"),
    [
        ("sm", "SM", "SM"),
        ("fly-1", "FLY 1", "FLY 1"),
        ("fly-1", "FLY1", "FLY1"),
        ("fly-1", None, "fly-1"),
        ("auto-op", "CART", "CART (auto-op)"),
        ("fly-1", "FLY 11", "FLY 11 (fly-1)"),
        ("sm", "\u821e\u53f0", "\u821e\u53f0 (sm)"),
    ],
)
def test_a_position_is_called_as_the_displays_call_it(name: str, label: str | None, called: str) -> None:
    assert spoken(show_from_tree({"users": {name: {} if label is None else {"label": label}}}), name) == called


def test_what_is_not_there_is_called_by_its_id() -> None:
    assert spoken(show_from_tree({}), "gone") == "gone"


def test_a_group_s_name_for_a_user_offers_those_who_are_on_it() -> None:
    crew = {f"fly-{number}": {"fly": "listen"} for number in range(1, 10)}
    for show, offer in (
        (worked({"sm": {"fly": "talk"}}, "fly"), "name a user; on it are sm"),
        (worked(crew, "fly"), "name a user; on it are fly-1, fly-2, fly-3, fly-4, fly-5, fly-6 and 3 more"),
        (worked({"sm": {}}, "fly"), "name a user"),
    ):
        with pytest.raises(ShowError) as refused:
            check_user(show, "fly")
        (problem,) = refused.value.problems
        assert (problem.message, problem.way_out) == ("fly is a group; a path begins and ends at a user", offer)
