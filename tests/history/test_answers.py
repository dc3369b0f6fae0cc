"""Answers to the conflicts of an open merge: which one is meant, and what is decided."""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.document import ShowError
from showvc.history.answers import by_side, by_value, conflict_named, open_merge, settle_every, settle_remembered
from showvc.history.joining import sides_of
from tests.history.desk import ENGINEER, Desk
from tests.review.visitor import clash


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.setenv("SHOWVC_WHO", ENGINEER)
    return clash(tmp_path / "show")


def test_the_three_sides_are_those_that_the_merge_was_made_of(desk: Desk) -> None:
    archive, shows = desk.archive, desk.shows
    sides = sides_of(archive, open_merge(archive, shows), shows)
    talks = [show.users["sm"].channels["lx"].talk for show in (sides.before, sides.mine, sides.incoming)]
    assert talks == ["latch", "momentary", "dual"]


def test_a_conflict_is_named_by_its_number_and_a_wrong_one_is_told_with_those_open(desk: Desk) -> None:
    outcome = open_merge(desk.archive, desk.shows)
    assert conflict_named(outcome, "3").kind == "both-changed"
    with pytest.raises(ShowError, match=r"there is no open conflict 9 .open are: 1, 2, 3"):
        conflict_named(outcome, "9")


def test_a_decision_is_signed_and_holds_the_typed_value(desk: Desk) -> None:
    conflict = conflict_named(open_merge(desk.archive, desk.shows), "3")
    made = by_value(desk.archive, conflict, "open")
    assert (made.values, made.who) == ({"/users/sm/channels/lx/talk": "open"}, ENGINEER)
    assert by_side(desk.archive, conflict, "incoming").values == {"/users/sm/channels/lx/talk": "dual"}
    with pytest.raises(ShowError, match="settled by mine or incoming"):
        by_side(desk.archive, conflict, "both")


def test_all_are_settled_for_one_side_and_are_remembered_after_a_step_back(desk: Desk) -> None:
    archive, shows = desk.archive, desk.shows
    with pytest.raises(ShowError, match="none of the open conflicts was settled before"):
        settle_remembered(archive, shows)
    for wrong in (None, "both"):
        with pytest.raises(ShowError, match="side"):
            settle_every(archive, shows, wrong)
    assert settle_every(archive, shows, "mine").merge.clean
    with pytest.raises(ShowError, match="no merge is open"):
        open_merge(archive, shows)
    desk("undo")
    assert len(open_merge(desk.archive, desk.shows).offers) == 3
    assert settle_remembered(desk.archive, desk.shows).merge.clean
