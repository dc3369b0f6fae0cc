"""The oracle itself: against the worked cases, each with its outcome by hand, and against laws that follow from the sentences."""

from __future__ import annotations

import os
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from tests.paths.oracle import ends, rings, sound
from tests.paths.oracle.answers import QUESTIONS, answer, wanted
from tests.paths.oracle.building import Case
from tests.paths.oracle.cases import CASES
from tests.paths.oracle.effect import effect
from tests.paths.oracle.shows import broken_documents, document_pairs, documents, random_document
from tests.paths.oracle.there import OUTABLE, off_headset, root_of

ASKED = [pytest.param(case, question, id=f"{case.name}-{question}") for case in CASES for question in case.asks]
a_law = settings(
    max_examples=int(os.environ.get("SHOWVC_EXAMPLES", "25")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
Tree = dict[str, Any]


@pytest.mark.parametrize(("case", "question"), ASKED)
def test_the_oracle_says_what_an_engineer_says(case: Case, question: str) -> None:
    assert answer(case, question) == wanted(case, question), case.why


def test_there_are_cases_for_every_question() -> None:
    assert len({case.name for case in CASES}) == len(CASES) >= 60
    assert {question for case in CASES for question in case.asks} == {*QUESTIONS, "effect"}


@a_law
@given(documents)
def test_whatever_is_surely_is_possibly(doc: Tree) -> None:
    certain, maybe = sound.surely(doc), sound.possibly(doc)
    assert {*certain.paths} <= {*maybe.paths}
    assert certain.circuits <= maybe.circuits
    assert all(any(least <= ring for least in rings.possible_rings(doc)) for ring in rings.rings(doc))


@a_law
@given(documents)
def test_who_is_off_headset_is_in_no_path(doc: Tree) -> None:
    ends_of = {who for talker, _, listener in sound.surely(doc).paths for who in (talker, listener)}
    assert ends_of.isdisjoint(off_headset(doc))


@a_law
@given(documents)
def test_with_every_bridge_and_carrier_out_only_people_hear_people(doc: Tree) -> None:
    out = frozenset(("bridges", name) for name in doc.get("bridges", {}))
    assert {who for x, _, y in sound.possibly(doc, out).paths for who in (x, y)} <= {*doc["users"]}
    assert rings.possible_rings(doc, out) == set()


@a_law
@given(documents)
def test_told_rings_are_least_and_their_number_is_that_of_the_independent(doc: Tree) -> None:
    found = rings.possible_rings(doc)
    chosen = rings.independent(found)
    assert {*chosen} <= found
    assert bool(chosen) == bool(found)
    assert not any(one < other for one in found for other in found)
    roots = [[root_of(doc, name) for name in ring] for ring in found]
    assert all(len(set(each)) == len(each) for each in roots), "a standby rings beside what it replaces"


@a_law
@given(documents)
def test_a_required_path_that_no_single_failure_takes_away_is_not_fragile(doc: Tree) -> None:
    for name, told in ends.required(doc).items():
        assert (told.state == "fragile") == bool(told.takes_away)
        assert {place for place, _ in told.takes_away} <= {*OUTABLE}
        assert not told.takes_away or doc["required"][name]["ways"] == 2


@a_law
@given(document_pairs)
def test_an_effect_turned_round_gains_what_it_lost(pair: tuple[Tree, Tree]) -> None:
    there, back = effect(*pair), effect(*pair[::-1])
    assert (there.lost, there.gained) == (back.gained, back.lost)
    same = effect(pair[0], pair[0])
    assert not any(getattr(same, field) for field in same.__dataclass_fields__)


@a_law
@given(broken_documents)
def test_references_to_nothing_bring_nothing_and_break_nothing(doc: Tree) -> None:
    there = {*doc["users"], *doc.get("circuits", {})} if "users" in doc else {*doc.get("circuits", {})}
    assert {who for x, _, y in sound.possibly(doc).paths for who in (x, y)} <= there
    ends.required(doc), ends.apart(doc), ends.public(doc), rings.possible_rings(doc)


def test_the_random_shows_are_worth_asking() -> None:
    """Most have paths, many have doubt, some every state: else the laws would say little."""
    shows = [random_document(seed) for seed in range(80)]
    heard = [sound.surely(doc) for doc in shows]
    assert sum(bool(each.paths) for each in heard) > 70
    assert sum(bool(each.circuits) for each in heard) > 30
    assert sum(bool(rings.rings(doc)) for doc in shows) > 5
    states = {told.state for doc in shows for told in ends.required(doc).values()}
    assert states == {*ends.STATES, "fragile"}
    apart = [told for doc in shows for told in ends.apart(doc).values()]
    assert any(told.surely for told in apart) and any(told.only_possibly for told in apart)


def test_the_random_shows_point_at_nothing_that_is_not_there() -> None:
    for seed in range(200):
        doc = random_document(seed)
        targets = {*doc.get("groups", {}), *doc["users"], *doc.get("lines", {})}
        for user in doc["users"].values():
            channels = user.get("channels", {})
            assert {name.partition("#")[0] for name in channels} <= targets
            assert sorted(each["number"] for each in channels.values()) == [*range(1, len(channels) + 1)]
        for bridge in doc.get("bridges", {}).values():
            assert (
                {bridge["target"]} <= targets
                and bridge["circuit"] in doc["circuits"]
                and bridge["device"] in doc["devices"]
            )
