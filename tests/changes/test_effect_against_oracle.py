"""The effect against a reference written apart from the program (`tests/paths/oracle`), which walks with networkx."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from showvc.changes import Effect, Loss, effect_of
from showvc.changes.causes import taken_back
from showvc.document import Show, show_from_tree
from showvc.document.pointers import parse
from showvc.paths import talk_paths
from tests.paths.oracle import effect as oracle
from tests.paths.oracle.building import Case
from tests.paths.oracle.cases_effect import EFFECTS
from tests.paths.oracle.shows import document_pairs

Tree = Mapping[str, Any]
FIELDS = ("off_headset", "lost", "gained", "lost_over", "weaker", "overheard", "members")
a_law = settings(
    max_examples=int(os.environ.get("SHOWVC_EXAMPLES", "25")),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)


def show(tree: Tree) -> Show:
    return show_from_tree(dict(tree))


def told(effect: Effect) -> dict[str, list[Any]]:
    """What JSON has, each entry once."""
    plain = effect.plain()
    found = {name: [tuple(each) if isinstance(each, list) else each for each in plain[name]] for name in FIELDS}
    assert all(len(set(each)) == len(each) for each in found.values())
    return found


def wanted(before: Tree, after: Tree) -> dict[str, frozenset[Any]]:
    return {name: getattr(oracle.effect(before, after), name) for name in FIELDS}


@pytest.mark.parametrize("case", EFFECTS, ids=[case.name for case in EFFECTS])
def test_worked_by_hand(case: Case) -> None:
    found = told(effect_of(show(case.doc), show(case.after)))
    assert {name: frozenset(each) for name, each in found.items()} == wanted(case.doc, case.after), case.why


@a_law
@given(document_pairs)
def test_on_random_shows(pair: tuple[Tree, Tree]) -> None:
    found = told(effect_of(*map(show, pair)))
    assert {name: frozenset(each) for name, each in found.items()} == wanted(*pair)


@a_law
@given(document_pairs)
def test_it_is_the_same_whichever_show_is_known(pair: tuple[Tree, Tree]) -> None:
    before, after = map(show, pair)
    first = effect_of(before, after).plain()
    for known in (before, after):
        found = effect_of(before, after, talk_paths(known)).plain()
        assert {name: found[name] for name in FIELDS} == {name: first[name] for name in FIELDS}


# --- the edits that bring it


def still_lost(effect: oracle.Effect, loss: Loss) -> bool:
    """Whether a loss is one by the reference."""
    field = {1: effect.off_headset, 2: effect.lost, 3: effect.lost_over}[len(loss)]
    return (loss[0] if len(loss) == 1 else loss) in field  # type: ignore[comparison-overlap]


@a_law
@given(document_pairs)
def test_taking_back_the_edits_of_a_loss_makes_it_go(pair: tuple[Tree, Tree]) -> None:
    before, after = map(show, pair)
    found = effect_of(before, after)
    assert [cause.loss for cause in found.because] == [*found.losses]
    mended: dict[tuple[str, ...], oracle.Effect] = {}
    for cause in found.because:
        if cause.edits not in mended:
            back = taken_back(before, after, map(parse, cause.edits))
            mended[cause.edits] = oracle.effect(pair[0], back.tree())
        assert not still_lost(mended[cause.edits], cause.loss), cause


@a_law
@given(document_pairs)
def test_none_of_these_edits_is_needless(pair: tuple[Tree, Tree]) -> None:
    before, after = map(show, pair)
    for cause in effect_of(before, after).because:
        assert cause.fewest
        for left_out in cause.edits if len(cause.edits) > 1 else ():
            fewer = [parse(edit) for edit in cause.edits if edit != left_out]
            assert cause.loss in effect_of(before, taken_back(before, after, fewer)).losses


@a_law
@given(document_pairs)
def test_what_remains_is_what_the_reference_still_hears(pair: tuple[Tree, Tree]) -> None:
    left = {triple for triple in oracle.surely(pair[1]).paths if triple[1] not in pair[1].get("lines", {})}
    for cause in effect_of(*map(show, pair)).because:
        if len(cause.loss) == 3:
            talker, _, listener = cause.loss
            assert {(talker, target, listener) for target in cause.remains} == {
                triple for triple in left if (triple[0], triple[2]) == (talker, listener)
            }
        else:
            assert cause.remains == ()
