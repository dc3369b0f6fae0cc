"""What keeps a snapshot from being released, and what an override lets through."""

from __future__ import annotations

from typing import Any

import pytest

from showvc.document import ShowError
from showvc.release.gate import gate
from showvc.rules import UNLOADABLE_CODES, Finding, Severity, rule

UNLOADABLE = frozenset({"channel-to-nothing", "number-twice"})


def finding(code: str, severity: Severity = "block", accepted: str | None = None) -> Finding:
    return Finding(
        code,
        severity,
        "/users/sm",
        "SM: something is wrong (do this)",
        "it matters",
        "do this",
        ("/users/sm",),
        "9c41f0e2",
        accepted,
    )


def through(*findings: Finding, **more: Any) -> Any:
    return gate(findings, UNLOADABLE, **more)


def test_a_snapshot_without_findings_goes_through() -> None:
    assert through().opens
    assert through().refusals == ()


def test_notes_and_what_the_show_accepts_go_through_unsaid() -> None:
    result = through(finding("single-talker", "note"), finding("label-twice", "warning", accepted="known"))
    assert result.opens
    assert result.standing == ()


def test_a_warning_goes_along_and_is_told() -> None:
    result = through(finding("label-twice", "warning"))
    assert result.opens
    assert [found.code for found in result.standing] == ["label-twice"]


@pytest.mark.parametrize("code", ["required-lost", "channel-to-nothing", "number-twice", "a-rule-of-tomorrow"])
def test_any_block_keeps_it_back_and_says_the_way_out(code: str) -> None:
    result = through(finding(code))
    assert not result.opens
    assert [problem.message for problem in result.refusals] == ["SM: something is wrong (do this). It matters"]


def test_open_conflicts_keep_it_back_whatever_the_reason() -> None:
    result = through(open_conflicts=2, over="the truck leaves")
    assert not result.opens
    assert "2 conflicts" in result.refusals[0].message


def test_an_override_lets_a_lost_required_path_through_with_its_reason() -> None:
    result = through(finding("required-lost"), finding("label-twice", "warning"), over=" no fly rail in this venue ")
    assert result.opens
    assert [found.code for found in result.overridden] == ["required-lost", "label-twice"]
    assert result.reason == "no fly rail in this venue"


@pytest.mark.parametrize("code", ["channel-to-nothing", "number-twice"])
def test_an_override_never_lets_a_broken_reference_or_booking_through(code: str) -> None:
    result = through(finding(code), finding("required-lost"), over="the truck leaves")
    assert not result.opens
    assert [found.code for found in result.blocks] == [code]


@pytest.mark.parametrize("code", ["ring", "overheard", "open-to-public", "critical-no-ear", "off-headset"])
def test_an_override_lets_any_block_through_that_can_be_loaded(code: str) -> None:
    assert code not in UNLOADABLE_CODES
    assert through(finding(code), over="the truck leaves").opens


def test_what_cannot_be_loaded_are_references_double_bookings_and_limits() -> None:
    clashes = {rule(code).clash for code in UNLOADABLE_CODES}
    assert clashes == {"dangling", "double-booked", "same-id", "over-limit"}


def test_the_verdict_tells_what_an_override_lets_through() -> None:
    lost = Finding("required-lost", "block", "/required/a", "a", "b", "c", ("/required/a",), "9c41f0e2")
    for over in (None, "no fly rail in this venue"):
        verdict = through(lost, over=over).verdict
        assert (verdict.ready, verdict.blocks, verdict.required_lost) == (False, 1, ("a",))


def test_a_reason_with_nothing_to_override_is_not_printed_on_anything() -> None:
    assert through(over="just in case").reason is None


@pytest.mark.parametrize("reason", ["", "   ", "two\nlines", "\u202eback"])
def test_an_override_needs_a_reason_that_can_be_printed(reason: str) -> None:
    with pytest.raises(ShowError, match="reason"):
        through(finding("required-lost"), over=reason)
