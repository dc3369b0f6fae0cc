"""A merge is settled on the page as it is in the terminal: the same decisions, the same log, the same record."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from showvc.review.conflicts import MOST_DRAWN
from tests.history.desk import ENGINEER, Desk
from tests.review.visitor import Visitor, clash, served


@pytest.fixture(autouse=True)
def who(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SHOWVC_WHO", ENGINEER)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return clash(tmp_path / "show")


@pytest.fixture
def visitor(desk: Desk) -> Iterator[Visitor]:
    with served(desk) as found:
        found.enter()
        yield found


def open_ones(desk: Desk) -> dict[str, str]:
    return {each["id"]: each["kind"] for each in desk.json("settle", code=None)["conflicts"]}


def test_every_conflict_is_drawn_with_its_three_sides(visitor: Visitor) -> None:
    text = visitor.get("/merge").text
    assert "3 conflicts to settle" in text
    for kind in ("path-lost", "double-booked", "both-changed"):
        assert kind in text
    assert "mine says momentary, incoming says dual; it was latch" in text
    assert "/users/sm/channels/lx/talk latch momentary dual" in text
    assert "before A1 LX latch A2 critical FLY momentary" in text
    assert re.search(r"incoming \(Ada Rook, \d\d:\d\d\) A1 changed LX dual", text), text
    assert "2 FLY (critical) disputed talk momentary, listen switchable" in text


def test_both_is_offered_only_where_it_may_stand_and_a_value_only_where_one_settles_it(visitor: Visitor) -> None:
    html = visitor.get("/merge").html
    parts = html.split('<section class="conflict"')[1:]
    assert ["Keep both" in part for part in parts] == [True, False, False]
    assert ["Take this value" in part for part in parts] == [False, True, True]


def test_settled_one_by_one_the_last_records_with_both_parents(desk: Desk, visitor: Visitor) -> None:
    assert visitor.press("Take mine", 0).code == 303
    assert visitor.press("Take this value", 0, value="5").code == 303
    assert open_ones(desk) == {"3": "both-changed"}
    reply = visitor.press("Take incoming", 0)
    assert reply.code == 200
    last = desk.json("history")["snapshots"][0]
    assert f"All is settled: recorded as {last['code']}" in reply.text
    assert "Ready to" in reply.text
    assert len(desk.git("rev-parse", "HEAD^1", "HEAD^2").split()) == 2
    assert "snd: {number: 5, talk: latch}" in desk.read("users/board.yaml")
    assert "lx: {number: 1, talk: dual}" in desk.read("users/sm.yaml")
    assert desk.fsck() == []


def test_a_merge_that_edits_in_the_folder_have_settled_is_recorded_by_its_own_button(
    desk: Desk, visitor: Visitor
) -> None:
    assert "Record the merge" not in visitor.get("/merge").html
    desk("set", "users/sm/channels/lx/talk", "dual")
    desk("set", "users/board/channels/fly/number", "4")
    desk("remove", "required/sm-fly")
    text = visitor.get("/merge").text
    assert "0 conflicts to settle" in text
    assert "Nothing is left to settle, and nothing is recorded yet. Record the merge, or drop it." in text
    assert "Take mine for all" not in text
    reply = visitor.press("Record the merge", 0)
    assert f"recorded as {desk.json('history')['snapshots'][0]['code']}" in reply.text
    assert desk.json("now")["merge"] is None


def test_the_log_has_the_words_of_the_terminal_and_undo_steps_back(desk: Desk, visitor: Visitor) -> None:
    visitor.press("Take mine", 2)
    visitor.press("Take this value", 0, value="5")
    said = [each["command"] for each in desk.json("undo", "--list")["operations"][:2]]
    assert said == ["settle 2 --value 5", "settle 3 --take mine"]
    desk("undo")
    assert set(open_ones(desk)) == {"1", "2"}
    assert "settle 3 --take mine" not in visitor.get("/merge").text, "the last was an undo"


def test_one_steps_back_on_the_page_too_and_only_over_what_it_shows(desk: Desk, visitor: Visitor) -> None:
    visitor.press("Take mine", 2)
    assert visitor.press("Step back over it").code == 303
    assert set(open_ones(desk)) == {"1", "2", "3"}
    visitor.press("Take mine", 2)
    number = str(desk.json("undo", "--list")["operations"][0]["number"])
    desk("settle", "1", "--take", "mine", code=1)
    reply = visitor.post("/merge/back", {"number": number})
    assert reply.code == 400 and "another command was given since" in reply.text


def test_all_for_one_side(desk: Desk, visitor: Visitor) -> None:
    assert "recorded as" in visitor.press("Take incoming for all").text
    assert desk.json("now")["conflicts"] == 0
    assert "No merge is open" in visitor.get("/merge").text


def test_kept_both_knowingly_is_told_as_a_stop_that_it_brings(desk: Desk, visitor: Visitor) -> None:
    visitor.press("Keep both")
    assert visitor.press("Take mine for all").code == 303, "the whole effect is shown before it is recorded"
    reply = visitor.press("Record the merge")
    assert "BLOCKED: " in reply.text and "required-lost" in reply.text


def test_what_was_settled_before_is_offered_so(desk: Desk, visitor: Visitor) -> None:
    visitor.press("Take incoming for all")
    assert visitor.press("Step back over it").code == 303
    assert "3 conflicts" in visitor.get("/merge").text
    assert visitor.press("As before: incoming").code in (200, 303)
    assert len(open_ones(desk)) == 2
    assert "recorded as" in visitor.press("Settle 2 as they were settled before").text


def test_dropping_leaves_the_folder_as_it_was(desk: Desk, visitor: Visitor) -> None:
    files = desk.files()
    assert visitor.press("Drop the merge").code == 303
    assert "No merge is open" in visitor.get("/merge").text
    assert desk.files() == files
    desk("undo")
    assert "3 conflicts" in visitor.get("/merge").text


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"take": "value", "value": "lach"}, "found 'lach', allowed: none, momentary, latch, dual, open"),
        ({"take": "both"}, "a both-changed is settled by mine or incoming"),
        ({"take": ""}, "is settled by mine or incoming"),
        ({"take": "remembered"}, "this conflict was not settled before"),
        ({"take": "value", "value": "x" * 600}, "is too long"),
    ],
)
def test_an_answer_that_cannot_stand_is_told_and_changes_nothing(
    desk: Desk, visitor: Visitor, fields: dict[str, str], said: str
) -> None:
    html = visitor.get("/merge").html
    key = html.rpartition('name="conflict" value="')[2].partition('"')[0]
    reply = visitor.post("/merge/settle", {"conflict": key, **fields})
    assert reply.code == 400 and said in reply.text
    assert set(open_ones(desk)) == {"1", "2", "3"}


def test_twins_are_made_one(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk("draft", "open", "house")
    desk("set", "groups/radio-house", "{name: House Radio, label: RADIO}")
    desk("set", "users/sm/channels/lx/talk", "dual")
    desk("record", "--note", "House radio")
    desk("draft", "go", "main")
    desk("set", "groups/house-radio", "{name: House Radio, label: RADIO}")
    desk("set", "users/sm/channels/lx/talk", "none")
    desk("record", "--note", "House radio")
    desk("merge", "house", code=1)
    with served(desk) as visitor:
        visitor.enter()
        visitor.press("Take mine for all")
        page = visitor.get("/merge").text
        assert "1 conflict to settle" in page
        assert page.count("look like the same thing: one or two?") == 1
        assert "Take mine for all" not in page
        visitor.press("One: keep mine")
    assert len([name for name in desk.files() if "radio" in name]) == 1


def test_a_rollback_says_what_its_sides_are(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk("set", "users/sm/channels/lx/talk", "none")
    code = desk.record("bad")
    desk("set", "users/sm/channels/lx/talk", "dual")
    desk.record("later")
    desk("rollback", code, code=1)
    with served(desk) as visitor:
        visitor.enter()
        said = visitor.get("/merge").text
        assert re.search(rf"before \(with {code}\) mine \(now; Ada Rook, \d\d:\d\d\) incoming \(without {code}\)", said)


def test_very_many_conflicts_come_up_some_at_a_time(tmp_path: Path) -> None:
    lists = {f"users/u{number}.yaml": "channels:\n  lx: {number: 1, talk: latch}\n" for number in range(MOST_DRAWN + 3)}
    desk = Desk.begun(tmp_path / "show", {"groups/lx.yaml": "name: Lights\n", **lists})
    desk("draft", "open", "house")
    for talk, draft in (("dual", "main"), ("none", None)):
        for path, text in lists.items():
            desk.write(path, text.replace("latch", talk))
        desk("record", "--note", talk, code=None)
        if draft:
            desk("draft", "go", draft)
    desk("merge", "house", code=1)
    with served(desk) as visitor:
        visitor.enter()
        page = visitor.get("/merge")
        assert f"{MOST_DRAWN + 3} conflicts to settle" in page.text and "3 more come up" in page.text
        assert page.html.count('<section class="conflict"') == MOST_DRAWN
        assert "recorded as" in visitor.press("Take mine for all").text
