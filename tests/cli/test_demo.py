"""The example show: told once, in order, with the codes that it prints; one JSON document on request."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.history.desk import Desk, run


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[dict[str, Any]]]:
    home = tmp_path_factory.mktemp("demo")
    answer = run(home, "demo", "tour", "--json", who=None)
    assert (answer.code, answer.err) == (0, "")
    told = json.loads(answer.out)
    assert told["folder"] == str(home / "tour")
    return home / "tour", [beat for chapter in told["chapters"] for beat in chapter["beats"]]


def of(played: tuple[Path, list[dict[str, Any]]], word: str) -> list[dict[str, Any]]:
    return [beat for beat in played[1] if (beat["command"] or "").startswith(f"showvc {word}")]


def test_no_sentence_is_said_twice(played: tuple[Path, list[dict[str, Any]]]) -> None:
    texts = [beat["text"] for beat in played[1] if beat["text"]]
    assert len(texts) == len(set(texts))


def test_the_rollback_takes_the_code_that_the_trace_printed(played: tuple[Path, list[dict[str, Any]]]) -> None:
    (trace,), (rollback,) = of(played, "trace"), of(played, "rollback")
    assert played[1].index(trace) < played[1].index(rollback)
    assert rollback["command"] == f"showvc rollback {trace['answer']['values'][0]['code']}"


def test_the_trace_follows_a_path_that_the_check_misses(played: tuple[Path, list[dict[str, Any]]]) -> None:
    blocks = " ".join(each["message"] for each in of(played, "check")[0]["answer"]["findings"])
    assert of(played, "paths auto-left auto-op")[0]["command"] in blocks
    assert of(played, "paths dock-1 dock-base")[0]["command"] in blocks
    assert of(played, "check")[-1]["answer"]["findings"] == []


def test_a_loss_over_a_critical_group_is_told_though_another_way_remains(
    played: tuple[Path, list[dict[str, Any]]],
) -> None:
    (at_the_house, *_) = [beat for beat in of(played, "compare") if beat["who"] == "front-of-house engineer"]
    effect = at_the_house["answer"]["effect"]
    assert ["sm", "fly", "fly-1"] in effect["lost_over"]
    assert ["sm", "fly-1"] not in effect["lost"]


def test_people_behind_a_circuit_are_missed_and_come_back(played: tuple[Path, list[dict[str, Any]]]) -> None:
    assert of(played, "paths dock-1 dock-base")[0]["answer"]["holds"] is False
    assert Desk(played[0]).json("paths", "dock-1", "dock-base")["holds"] is True


def test_both_ways_to_the_truck_end_on_one_switch_in_velmoor_alone(played: tuple[Path, list[dict[str, Any]]]) -> None:
    (there,) = of(played, "paths sm recording-truck")
    assert there["answer"]["holds"] is False
    now = Desk(played[0]).json("paths", "sm", "recording-truck", "--without", "deck-switch")
    assert now["holds"] is True


def test_each_settlement_leaves_one_conflict_less(played: tuple[Path, list[dict[str, Any]]]) -> None:
    left = [len(beat["answer"]["conflicts"]) for beat in of(played, "settle")]
    assert left == [3, 2, 1, 0]


def test_what_was_good_is_there_at_the_end(played: tuple[Path, list[dict[str, Any]]]) -> None:
    desk = Desk(played[0])
    assert desk("check").code == 0
    assert "CART" in desk.read("users/auto-op.yaml")
    assert desk.json("now")["unrecorded"] == {}
