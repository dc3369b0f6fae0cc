"""A show can accept a finding, with a reason; never one that stops a release."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from showvc.document import Show
from showvc.rules import RULES, Finding, check, open_findings
from tests.merging.cases import SMALL, edited
from tests.rules.cases import CASES, RuleCase

WHY = "known, and so since the first plot"


def quietened(case: RuleCase, at: str | None = None, rule: str | None = None) -> Show:
    entry = {"rule": rule or case.code, "at": at or case.at, "why": WHY}
    return edited(SMALL, {**case.broken, "accepted/known": entry})


def finding(show: Show, case: RuleCase) -> Finding:
    (found,) = (found for found in check(show) if (found.code, found.path) == (case.code, case.at))
    return found


severity = {known.code: known.severity for known in RULES}
quiet = [case for case in CASES if severity.get(case.code, "stop") != "stop"]
loud = [case for case in CASES if severity.get(case.code) == "stop"]


@pytest.mark.parametrize("case", quiet, ids=lambda case: f"{case.code} {case.at}")
def test_a_warning_or_note_is_quietened_with_its_reason(case: RuleCase) -> None:
    show = quietened(case)
    assert finding(show, case).quiet == WHY
    assert (case.code, case.at) not in {(found.code, found.path) for found in open_findings(show)}


@pytest.mark.parametrize("case", loud, ids=lambda case: f"{case.code} {case.at}")
def test_a_stop_cannot_be_quietened(case: RuleCase) -> None:
    show = quietened(case)
    assert finding(show, case).quiet is None
    assert finding(show, case) in open_findings(show)
    assert [found.code for found in open_findings(show)].count("quiet-unknown") == 1


@pytest.mark.parametrize("case", quiet, ids=lambda case: f"{case.code} {case.at}")
def test_another_place_or_another_rule_is_not_quietened(case: RuleCase) -> None:
    other = next(code for code in severity if code != case.code and severity[code] != "stop")
    assert finding(quietened(case, at="/users/nobody"), case).quiet is None
    assert finding(quietened(case, rule=other), case).quiet is None


def test_the_leading_slash_may_be_left_out() -> None:
    show = edited(SMALL, {"accepted/one": {"rule": "user-without-device", "at": "users/lx-op", "why": WHY}})
    assert "user-without-device" not in {found.code for found in open_findings(show)}


def test_what_is_quiet_comes_last() -> None:
    show = edited(SMALL, {"accepted/one": {"rule": "user-without-device", "at": "/users/lx-op", "why": WHY}})
    assert [found.code for found in check(show)][-1] == "user-without-device"
    assert check(show)[-1].quiet == WHY


@pytest.mark.parametrize("why", ["", None])
def test_a_reason_must_be_given(why: str | None) -> None:
    from showvc.document import show_from_tree

    with pytest.raises(ValidationError):
        show_from_tree({"accepted": {"one": {"rule": "user-alone", "at": "/users/sm", "why": why}}})
