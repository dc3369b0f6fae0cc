"""A show can accept a finding, with a reason, as long as its facts stay; never one that blocks a release."""

from __future__ import annotations

import json
import shlex

import pytest
from pydantic import ValidationError

from showvc.document import Show, show_from_tree
from showvc.document.editing import ABSENT
from showvc.rules import Finding, check, open_findings
from tests.rules.base import BASE, Edits, edited
from tests.rules.cases import CASES, RuleCase

WHY = "known, and so since the first plot"


def finding(show: Show, code: str, at: str) -> Finding:
    (found,) = (found for found in check(show) if (found.code, found.path) == (code, at))
    return found


def accepted(edits: Edits, found: Finding, **other: str) -> Show:
    entry = {"rule": found.code, "at": found.path, "facts": found.facts, "why": WHY, **other}
    return edited(BASE, {**edits, "accepted/known": entry})


def told(case: RuleCase) -> Finding:
    return finding(edited(BASE, case.broken), case.code, case.at)


bound = [case for case in CASES if case.code != "accepted-nothing"]
milder = [case for case in bound if told(case).severity != "block"]
blocks = [case for case in bound if told(case).severity == "block"]
each = pytest.mark.parametrize("case", milder, ids=lambda case: f"{case.code} {case.at}")


@each
def test_a_warning_or_note_is_accepted_with_its_reason(case: RuleCase) -> None:
    show = accepted(case.broken, told(case))
    assert finding(show, case.code, case.at).accepted == WHY
    assert (case.code, case.at) not in {(found.code, found.path) for found in open_findings(show)}
    assert "accepted-nothing" not in {found.code for found in open_findings(show)}


@pytest.mark.parametrize("case", blocks, ids=lambda case: f"{case.code} {case.at}")
def test_a_block_cannot_be_accepted(case: RuleCase) -> None:
    show = accepted(case.broken, told(case))
    found = finding(show, case.code, case.at)
    assert (found.accepted, found.accept) == (None, None)
    assert found in open_findings(show)
    (idle,) = (each for each in open_findings(show) if each.code == "accepted-nothing")
    assert idle.message.startswith(f"accepted/known: accepts nothing; {case.code} at ")


@each
def test_another_place_or_another_rule_is_not_accepted(case: RuleCase) -> None:
    found = told(case)
    for other in ({"at": "/users/nobody"}, {"rule": "no-such-rule"}):
        show = accepted(case.broken, found, **other)
        assert finding(show, case.code, case.at).accepted is None
        assert [each.path for each in check(show) if each.code == "accepted-nothing"] == ["/accepted/known"]


@each
def test_with_other_facts_the_finding_comes_back_and_says_so(case: RuleCase) -> None:
    found = finding(accepted(case.broken, told(case), facts="00000000"), case.code, case.at)
    assert found.accepted is None
    assert "; accepted for other facts (" in found.message


@each
def test_the_command_that_is_offered_accepts_it(case: RuleCase) -> None:
    command = told(case).accept
    assert command is not None
    program, verb, field, value = shlex.split(command)
    assert (program, verb) == ("showvc", "set")
    show = edited(BASE, {**case.broken, field: json.loads(value)})
    assert finding(show, case.code, case.at).accepted == "REASON"


def test_an_acceptance_without_facts_is_bound_to_nothing_and_accepts_nothing() -> None:
    entry = {"rule": "device-without-user", "at": "/devices/pack-03", "why": WHY}
    found = finding(edited(BASE, {"accepted/known": entry}), "device-without-user", "/devices/pack-03")
    assert found.accepted is None
    assert found.message == (
        "device pack-03 (Spare pack): unassigned; accepted without its facts (assign it, or keep it as a spare)"
    )
    assert found.accept is not None
    assert found.accept.startswith("showvc set accepted/known ")


def test_who_talks_there_now_is_another_fact() -> None:
    """An accepted single talker: when it is another, somebody should look again."""
    one: Edits = {"users/asm/channels/snd/talk": "none", "bridges/radio/direction": "out"}
    other: Edits = {"users/sm/channels/snd/talk": "none", "bridges/radio/direction": "out"}
    found = finding(edited(BASE, one), "single-talker", "/groups/snd")
    assert finding(accepted(one, found), "single-talker", "/groups/snd").accepted == WHY
    assert finding(accepted(other, found), "single-talker", "/groups/snd").accepted is None


def test_of_two_at_one_place_each_is_accepted_by_itself() -> None:
    doubtful: Edits = {
        "circuits/house-a/hears": ABSENT,
        "apart/house": {"from": "lx", "to": "house-a"},
    }
    first, second = (each for each in check(edited(BASE, doubtful)) if each.code == "maybe-overheard")
    assert first.path == second.path
    show = accepted(doubtful, first)
    one, other = sorted(
        (each for each in check(show) if each.code == "maybe-overheard"), key=lambda each: each.facts != first.facts
    )
    assert (one.accepted, other.accepted) == (WHY, None)
    assert "accepted for other facts" not in other.message
    assert "accepted/known" not in (other.accept or "")
    assert "accepted-nothing" not in {each.code for each in check(show)}


def test_another_label_is_no_other_fact() -> None:
    found = finding(BASE, "device-without-user", "/devices/pack-03")
    show = accepted({"devices/pack-03/name": "Spare of the deck"}, found)
    assert finding(show, "device-without-user", "/devices/pack-03").accepted == WHY


def test_the_leading_slash_may_be_left_out() -> None:
    found = finding(BASE, "device-without-user", "/devices/pack-03")
    assert open_findings(accepted({}, found, at="devices/pack-03")) == ()


def test_what_is_accepted_comes_last() -> None:
    found = finding(BASE, "device-without-user", "/devices/pack-03")
    findings = check(accepted({"users/sm/channels/fly/talk": "none", "devices/pack-05": {"kind": "pack-2"}}, found))
    assert [each.path for each in findings][-2:] == ["/devices/pack-05", "/devices/pack-03"]


@pytest.mark.parametrize("why", ["", None])
def test_a_reason_must_be_given(why: str | None) -> None:
    with pytest.raises(ValidationError):
        show_from_tree({"accepted": {"one": {"rule": "user-alone", "at": "/users/sm", "why": why}}})


def test_of_two_at_one_place_both_are_accepted() -> None:
    doubtful: Edits = {"circuits/house-a/hears": ABSENT, "apart/house": {"from": "lx", "to": "house-a"}}
    first, second = (each for each in check(edited(BASE, doubtful)) if each.code == "maybe-overheard")
    entries = {
        f"accepted/{name}": {"rule": each.code, "at": each.path, "facts": each.facts, "why": WHY}
        for name, each in (("one", first), ("two", second))
    }
    codes = {each.code for each in open_findings(edited(BASE, {**doubtful, **entries}))}
    assert codes.isdisjoint({"maybe-overheard", "accepted-nothing"})
