"""The verdict: may a show be released, and if not, what stands in the way."""

from __future__ import annotations

import pytest

from showvc.rules import Verdict, from_kept, judge, kept, rules_version, verdict_cell, verdict_words
from tests.rules.base import BASE, Edits, edited

TO_BAND: Edits = {"required/sm-fly/to": "band"}
LOST: Edits = {"users/sm/channels/fly/talk": "none"}


@pytest.mark.parametrize(
    ("edits", "verdict"),
    [
        ({}, Verdict(0)),
        ({"groups/lx/label": "LIGHTINGS"}, Verdict(0)),  # a warning holds nothing back
        (LOST, Verdict(1, ("sm-fly",))),
        (TO_BAND, Verdict(1, ("sm-fly",))),  # a path to nothing is lost as well
        ({**LOST, "users/asm/channels/snd/number": 2}, Verdict(2, ("sm-fly",))),
    ],
)
def test_a_show_is_ready_where_no_block_stands(edits: Edits, verdict: Verdict) -> None:
    found = judge(edited(BASE, edits))
    assert found == verdict
    assert found.ready == (verdict.blocks == 0)


def test_json_has_it_in_one_shape() -> None:
    found = judge(edited(BASE, LOST)).with_conflicts(2)
    plain = {"ready": False, "blocks": 1, "required_lost": ["sm-fly"], "conflicts": 2, "frozen": None}
    assert found.plain() == plain
    assert Verdict.from_plain(plain) == found


def test_an_open_conflict_alone_stands_in_the_way() -> None:
    found = judge(BASE).with_conflicts(1)
    assert not found.ready
    assert verdict_words(found) == "BLOCKED: 1 open conflict. Details: showvc settle"


@pytest.mark.parametrize(
    ("verdict", "words", "cell"),
    [
        (Verdict(0), "Ready to release", "ready"),
        (None, "UNKNOWN: not every file can be read, so nothing was checked", "not checked"),
        (
            Verdict(3, ("sm-fly", "truck"), 1),
            "BLOCKED: 3 blocks, 2 required paths lost (sm-fly, truck), 1 open conflict. Details: showvc check",
            "3 blocks, 2 required paths lost, 1 open conflict",
        ),
        (
            Verdict(4, ("a", "b", "c", "d")),
            "BLOCKED: 4 blocks, 4 required paths lost (a, b, c, …). Details: showvc check",
            "4 blocks, 4 required paths lost",
        ),
    ],
)
def test_in_words(verdict: Verdict | None, words: str, cell: str) -> None:
    assert verdict_words(verdict) == words
    assert verdict_cell(verdict) == cell


def test_what_is_kept_comes_back() -> None:
    found = judge(edited(BASE, LOST))
    assert from_kept(kept(found)) == found


@pytest.mark.parametrize("text", ["", "{}", "[1]", '["1", []]', "[true, []]", "[0, {}]", "ready"])
def test_what_is_no_verdict_is_not_taken_for_one(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        from_kept(text)


def test_the_rules_have_a_version() -> None:
    assert rules_version() == rules_version()
    assert len(rules_version()) == 16
