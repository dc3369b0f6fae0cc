"""Every rule of the list, on the show that it is made for and on the nearest that it leaves alone."""

from __future__ import annotations

import pytest

from showvc.document import show_from_tree
from showvc.rules import RULES, SEVERITIES, Finding, check, new_findings, rule
from tests.merging.cases import SMALL, Edits, edited
from tests.rules.cases import CASES, RuleCase

each = pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.code} {case.at}")

IN_SMALL = [
    # What the small show has already, none of it a stop.
    ("user-without-device", "/users/lx-op"),
    ("device-without-user", "/devices/pack-03"),
    ("single-talker", "/groups/stage"),
    ("priority-mismatch", "/groups/fly"),
]


def found(edits: Edits, code: str, at: str) -> list[Finding]:
    return [finding for finding in check(edited(SMALL, edits)) if (finding.code, finding.path) == (code, at)]


@each
def test_the_rule_finds_it(case: RuleCase) -> None:
    (finding,) = found(case.broken, case.code, case.at)
    assert finding.quiet is None


@each
def test_the_rule_leaves_the_nearest_show_alone(case: RuleCase) -> None:
    assert found(case.nearest, case.code, case.at) == []


@each
def test_the_sentence(case: RuleCase) -> None:
    (finding,) = found(case.broken, case.code, case.at)
    told_by_paths = case.code in ("required-lost", "required-in-menu", "ring")  # the rest of these is tested there
    assert finding.message.startswith(case.says) if told_by_paths else finding.message == case.says
    assert finding.message.isprintable()


def test_every_rule_of_the_list_has_a_case() -> None:
    assert {case.code for case in CASES} == {known.code for known in RULES} | {"quiet-unknown"}


def test_what_the_small_show_has_already() -> None:
    assert [(finding.code, finding.path) for finding in check(SMALL)] == IN_SMALL


def test_an_empty_show_has_nothing_wrong() -> None:
    assert check(show_from_tree({})) == ()


def test_every_rule_says_why_it_matters_and_the_way_out() -> None:
    for known in RULES:
        assert known.why
        assert known.way_out
        assert known.severity in SEVERITIES
        assert rule(known.code) is known
    assert len({known.code for known in RULES}) == len(RULES)


def test_what_clashes_in_a_merge_may_not_be_released() -> None:
    assert all(known.severity == "stop" for known in RULES if known.clash)
    assert {known.clash for known in RULES if known.clash} == {
        "dangling", "double-booked", "same-id", "over-limit", "path-lost", "audio-loop"
    }  # fmt: skip


def test_the_worst_comes_first() -> None:
    show = edited(SMALL, {"groups/lx/label": "LIGHTINGS", "users/sm/channels/band": {"number": 5}, "users/md": {}})
    severities = [SEVERITIES.index(finding.severity) for finding in check(show)]
    assert severities == sorted(severities)
    assert len(set(severities)) == 3


@pytest.mark.parametrize("label", ["LIGHTING", "ÉCLAIRÉ1", "日本語日本語日本"])
def test_a_label_of_eight_characters_fits_whatever_they_are(label: str) -> None:
    assert found({"groups/lx/label": label}, "label-too-long", "/groups/lx/label") == []


@pytest.mark.parametrize(
    "edits",
    [
        {"users/fly-1/channels/fly#2": {"number": 2, "talk": "latch"}},
        {"users/fly-1/channels/fly/talk": "open", "users/fly-1/channels/fly#2": {"number": 2, "talk": "latch"},
         "devices/pack-02/keys": {"A1": "alarm"}},
    ],
)  # fmt: skip
def test_a_critical_group_that_is_at_hand_on_one_channel_may_have_another_in_the_menu(edits: Edits) -> None:
    assert "critical-in-menu" not in {finding.code for finding in check(edited(SMALL, edits))}


def test_three_things_in_one_place_are_three_pairs() -> None:
    twice = {"users/sm/channels/stage": {"number": 4}, "users/sm/channels/lx-op": {"number": 4}}
    messages = [finding.message for finding in check(edited(SMALL, twice)) if finding.code == "number-twice"]
    assert messages == [
        "SM: channel 4 is ASM and LX OP at once",
        "SM: channel 4 is ASM and STAGE at once",
        "SM: channel 4 is LX OP and STAGE at once",
    ]


def test_a_group_that_nobody_hears_is_not_told_for_its_one_talker_too() -> None:
    show = edited(
        SMALL, {"groups/pyro": {}, "users/sm/channels/pyro": {"number": 5, "talk": "latch", "listen": "none"}}
    )
    assert [finding.code for finding in check(show) if finding.path == "/groups/pyro"] == ["group-unheard"]


def test_what_was_accepted_before_and_is_no_more_is_new() -> None:
    quiet = edited(
        SMALL, {"accepted/one": {"rule": "user-without-device", "at": "/users/lx-op", "why": "shares a desk"}}
    )
    assert [finding.path for finding in new_findings(quiet, SMALL)] == ["/users/lx-op"]
    assert new_findings(SMALL, quiet) == new_findings(SMALL, SMALL) == ()


def test_a_required_path_that_leads_to_nothing_is_told_once() -> None:
    codes = [finding.code for finding in check(edited(SMALL, {"required/sm-fly/to": "band"}))]
    assert codes.count("required-to-nothing") == 1
    assert "required-lost" not in codes


def test_a_key_of_a_device_whose_user_is_unknown_points_at_nothing() -> None:
    codes = [finding.code for finding in check(edited(SMALL, {"devices/pack-01/user": "band"}))]
    assert "worn-by-nobody-known" in codes
