"""Every rule of the list, on the show that it is made for and on the nearest that it leaves alone."""

from __future__ import annotations

import pytest

from showvc.document import show_from_tree
from showvc.rules import RULES, SEVERITIES, Finding, check, new_findings, rule
from showvc.rules.sentences import SENTENCES
from tests.rules.base import BASE, Edits, edited
from tests.rules.cases import CASES, RuleCase

each = pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.code} {case.at}")

IN_BASE = [("device-without-user", "/devices/pack-03")]
"""What the small show has already."""


def found(edits: Edits, code: str, at: str) -> list[Finding]:
    return [finding for finding in check(edited(BASE, edits)) if (finding.code, finding.path) == (code, at)]


@each
def test_the_rule_finds_it(case: RuleCase) -> None:
    (finding,) = found(case.broken, case.code, case.at)
    assert finding.accepted is None


@each
def test_the_rule_leaves_the_nearest_show_alone(case: RuleCase) -> None:
    assert found(case.nearest, case.code, case.at) == []


@each
def test_the_sentence(case: RuleCase) -> None:
    (finding,) = found(case.broken, case.code, case.at)
    assert finding.message.startswith(case.says)
    assert finding.message.endswith(f"({finding.way_out})")
    assert finding.message.isprintable()


def test_every_rule_of_the_list_has_a_case() -> None:
    assert {case.code for case in CASES} == {known.code for known in RULES} | {"accepted-nothing"} == {*SENTENCES}


def test_what_the_small_show_has_already() -> None:
    assert [(finding.code, finding.path) for finding in check(BASE)] == IN_BASE


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
    """Only what runs out is a conflict where two sum up to it, and no more than a warning where one has it alone."""
    assert {known.code for known in RULES if known.clash and known.severity != "block"} == {"over-capacity"}
    assert {known.clash for known in RULES if known.clash} == {
        "dangling", "double-booked", "same-id", "over-limit", "path-lost", "overheard", "audio-loop"
    }  # fmt: skip


def test_the_worst_comes_first() -> None:
    show = edited(BASE, {"groups/lx/label": "LIGHTINGS", "users/sm/channels/band": {"number": 5}})
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
    assert "critical-in-menu" not in {finding.code for finding in check(edited(BASE, edits))}


def test_three_things_in_one_place_are_three_pairs() -> None:
    twice = {"users/sm/channels/stage": {"number": 4}, "users/sm/channels/lx-op": {"number": 4}}
    messages = [finding.message for finding in check(edited(BASE, twice)) if finding.code == "number-twice"]
    assert messages == [
        "SM: channel 4 is both ASM and LX OP (give one of them a free number)",
        "SM: channel 4 is both ASM and STAGE (give one of them a free number)",
        "SM: channel 4 is both LX OP and STAGE (give one of them a free number)",
    ]


def test_a_group_that_nobody_hears_is_not_told_for_its_one_talker_too() -> None:
    show = edited(BASE, {"groups/pyro": {}, "users/sm/channels/pyro": {"number": 5, "talk": "latch", "listen": "none"}})
    assert [finding.code for finding in check(show) if finding.path == "/groups/pyro"] == ["group-unheard"]


def test_what_was_accepted_before_and_is_no_more_is_new() -> None:
    (spare,) = check(BASE)
    entry = {"rule": spare.code, "at": spare.path, "facts": spare.facts, "why": "a spare"}
    accepted = edited(BASE, {"accepted/one": entry})
    assert [finding.path for finding in new_findings(accepted, BASE)] == ["/devices/pack-03"]
    assert new_findings(BASE, accepted) == new_findings(BASE, BASE) == ()


@pytest.mark.parametrize(
    ("edits", "severity", "says"),
    [
        ({"devices/pack-01/away": "at repair"}, "warning", "ASM: off headset, device pack-01 is away ("),
        ({"devices/pack-02/away": "at repair"}, "block", "required path sm-fly ends here"),
        ({"devices/pack-02/away": "at repair", "required": {}}, "warning", "FLY 1: off headset"),
        (
            {"devices/desk-01/away": "at repair", "required": {}, "users/fly-1/channels/fly/talk": "none"},
            "block",
            "was the last talker on FLY",
        ),
        (
            {"devices/desk-01/away": "at repair", "required": {}, "users/fly-1/channels/fly/listen": "none"},
            "block",
            "was the last listener on FLY",
        ),
        ({"devices/desk-01/away": "at repair", "required": {}}, "block", "was the last talker on ALARM"),
    ],
)
def test_who_is_off_headset_is_a_block_where_a_required_path_ends_or_the_last_of_a_critical_group_goes(
    edits: Edits, severity: str, says: str
) -> None:
    (finding,) = (finding for finding in check(edited(BASE, edits)) if finding.code == "off-headset")
    assert finding.severity == severity
    assert says in finding.message


@pytest.mark.parametrize("severity", ["block", "warning", "note"])
def test_a_standard_has_the_severity_that_the_house_gives_it(severity: str) -> None:
    standard = {"for": "users/fly-1", "must": {"department": "rail"}, "severity": severity}
    (finding,) = found({"standards/a": standard}, "standard", "/users/fly-1/department")
    assert finding.severity == severity


def test_a_listener_of_a_programme_feed_and_a_paging_microphone_are_no_finding() -> None:
    """A circuit that alone speaks on a group, users who only listen there, and one who only pages everybody."""
    feed = {
        "limits/targets": 11,
        "groups/prog": {"label": "PROG"},
        "bridges/tape": {"kind": "four-wire", "device": "if-01", "port": 3, "target": "prog", "circuit": "tape",
                         "direction": "in"},
        "users/door": {"label": "DOOR", "channels": {"prog": {"number": 1, "listen": "always"}}},
        "devices/pack-03/user": "door",
        "users/caller": {"label": "CALLER", "channels": {"prog": {"number": 1, "talk": "momentary", "listen": "none"}},
                         "lines": {"paging": {"talk": "momentary", "listen": "none"}, "alarm": {"listen": "none"}}},
        "devices/pack-05": {"kind": "pack-2", "user": "caller", "keys": {"A1": "prog", "A2": "paging"}},
    }  # fmt: skip
    assert check(edited(BASE, feed)) == ()


def test_a_required_path_that_leads_to_nothing_is_told_once() -> None:
    codes = [finding.code for finding in check(edited(BASE, {"required/sm-fly/to": "band"}))]
    assert codes.count("required-to-nothing") == 1
    assert "required-lost" not in codes


def test_a_key_of_a_device_whose_user_is_unknown_points_at_nothing() -> None:
    codes = [finding.code for finding in check(edited(BASE, {"devices/pack-01/user": "band"}))]
    assert "user-unknown" in codes
