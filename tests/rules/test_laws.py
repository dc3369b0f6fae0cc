"""However broken a show is, check answers, and says of every finding where it is."""

from __future__ import annotations

from hypothesis import given

from showvc.document import SECTIONS, Show, show_from_tree
from showvc.document.pointers import join, parse
from showvc.rules import RULES, SEVERITIES, Scene, check
from showvc.rules.listed_unloadable import UNLOADABLE
from tests.strategies import plain_shows, shows
from tests.wild import wild_shows


@given(wild_shows())
def test_check_answers_whatever_is_broken(show: Show) -> None:
    for finding in check(show):
        assert finding.message
        assert finding.severity in SEVERITIES
        assert finding.path == finding.paths[0]


@given(shows())
def test_check_answers_whatever_the_texts_are(show: Show) -> None:
    assert all(finding.why and finding.way_out for finding in check(show))


@given(wild_shows())
def test_every_finding_is_at_something_that_stands_in_the_show(show: Show) -> None:
    for finding in check(show):
        steps = parse(finding.path)
        if steps[0] in SECTIONS:
            assert steps[1] in show.section(steps[0]), finding


@given(wild_shows())
def test_no_two_findings_of_a_rule_are_the_same(show: Show) -> None:
    for known in RULES:
        found = [each.identity for each in known.look(Scene(show))]
        assert len(found) == len(set(found)), known.code


@given(wild_shows())
def test_check_gives_the_same_however_the_show_was_put_together(show: Show) -> None:
    tree = show.tree()
    for section in SECTIONS:
        tree[section] = dict(reversed(tree.get(section, {}).items()))
    assert check(show_from_tree(tree)) == check(show)


@given(plain_shows())
def test_a_generated_show_can_be_loaded(show: Show) -> None:
    unloadable = {known.code for known in UNLOADABLE}
    assert [finding.message for finding in check(show) if finding.code in unloadable] == []


@given(plain_shows())
def test_each_thing_taken_out_leaves_nothing_dangling_untold(show: Show) -> None:
    """Whatever target goes, every channel, bridge and required path to it is found, and nothing else dangles."""
    for section in ("groups", "users"):
        for gone in list(show.section(section))[:2]:
            left = show.with_section(section, {gone: None})
            told = {finding.path for finding in check(left) if finding.code.endswith("to-nothing")}
            assert pointing_at(left, gone) <= told


def pointing_at(show: Show, gone: str) -> set[str]:
    channels = {
        join("users", user, "channels", channel)
        for user, body in show.users.items()
        for channel in body.channels
        if channel.partition("#")[0] == gone
    }
    bridges = {join("bridges", name, "target") for name, body in show.bridges.items() if body.target == gone}
    ends = {
        join("required", name, end)
        for name, path in show.required.items()
        for end, target in (("from", path.from_), ("to", path.to))
        if target == gone
    }
    return channels | bridges | ends
