"""The paths against a reference that was written apart, from the sentences alone, and walks its graphs with networkx."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from showvc.paths import Paths
from tests.paths.oracle import answers, rings
from tests.paths.oracle.building import Case
from tests.paths.oracle.cases import CASES
from tests.paths.oracle.shows import broken_documents, document_pairs, documents
from tests.paths.oracle.there import Doc, named
from tests.paths.ours import QUESTIONS, effect, maybe_rings, paths_of, sure_rings

ASKED = [
    pytest.param(case, question, id=f"{case.name}-{question}")
    for case in CASES
    for question in case.asks
    if question in QUESTIONS
]
CHANGED = [pytest.param(case, id=case.name) for case in CASES if "effect" in case.asks]
EFFECT = ("off_headset", "lost", "gained", "lost_over", "weaker")
a_law = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])


def _said(found: Any, question: str) -> Any:
    """Where single failures are not asked for, what only lacks a second way holds."""
    if question == "required":
        return {
            name: "holds" if state in ("met", "unsure", "menu only", "fragile") else state
            for name, state in found.items()
        }
    return found


@pytest.mark.parametrize(("case", "question"), ASKED)
def test_a_worked_case(case: Case, question: str) -> None:
    wanted, found = answers.wanted(case, question), QUESTIONS[question](paths_of(case.doc, named(case.doc, *case.out)))
    if question == "required" and "fragile" not in wanted.values():
        assert found == wanted, case.why
    assert _said(found, question) == _said(wanted, question), case.why


@pytest.mark.parametrize("case", CHANGED)
def test_a_worked_change(case: Case) -> None:
    wanted = {name: told for name, told in answers.wanted(case, "effect").items() if name in EFFECT}
    assert effect(case.doc, case.after) == wanted, case.why


def _agree(doc: Doc) -> None:
    paths, nothing = paths_of(doc), named(doc)
    for question, ask in QUESTIONS.items():
        wanted, found = answers.QUESTIONS[question](doc, nothing), ask(paths)
        if question == "names":
            wanted = {name: told for name, told in wanted.items() if name in found}
        if question == "required":
            fragile = {name for name, state in wanted.items() if state == "fragile"}
            assert all(found[name] in ("met", "unsure", "menu only") for name in fragile)
            found = {**found, **dict.fromkeys(fragile, "fragile")}
        assert found == wanted, question
    _agree_on_rings(doc, paths)


def _agree_on_rings(doc: Doc, paths: Paths) -> None:
    """Those that are told hold no smaller one, and are as many as are independent."""
    there, surely, maybe = rings.rings(doc), sure_rings(paths), maybe_rings(paths)
    possible = rings.possible_rings(doc)
    assert surely <= there
    assert len(surely) == len(rings.independent(there)) == len(rings.independent(surely))
    assert maybe <= possible
    assert len(rings.independent(surely | maybe)) == len(rings.independent(there | possible))


@a_law
@given(documents)
def test_any_show(doc: Doc) -> None:
    _agree(doc)


@a_law
@given(broken_documents)
def test_any_show_that_points_at_what_is_not_there(doc: Doc) -> None:
    _agree(doc)


@a_law
@given(document_pairs)
def test_what_differs_between_any_two_shows(pair: tuple[Doc, Doc]) -> None:
    wanted = {name: told for name, told in answers.effect(*pair).items() if name in EFFECT}
    assert effect(*pair) == wanted
