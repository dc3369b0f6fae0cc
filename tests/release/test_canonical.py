"""One show, one spelling: what canonical JSON keeps, and what it refuses by name."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError, show_from_tree
from showvc.release.canonical import EXACT, canonical_json, canonical_show, content_hash

values: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-EXACT, EXACT)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=20,
)


@given(values)
def test_reading_it_back_gives_the_same_value_and_the_same_bytes(value: Any) -> None:
    written = canonical_json(value)
    assert json.loads(written, parse_int=float) == value
    assert canonical_json(json.loads(written)) == written


@given(st.dictionaries(st.text(max_size=5), st.integers(-9, 9), max_size=8))
def test_the_order_of_writing_does_not_matter(value: dict[str, int]) -> None:
    assert canonical_json(dict(reversed(value.items()))) == canonical_json(value)


def test_a_show_is_its_single_document_without_defaults() -> None:
    show = show_from_tree({"title": "The Salt Road", "groups": {"fly": {"name": "Fly Rail", "critical": False}}})
    written = b'{"format":2,"groups":{"fly":{"name":"Fly Rail"}},"title":"The Salt Road"}'
    assert canonical_show(show) == written
    assert content_hash(show) == hashlib.sha256(written).hexdigest()


@pytest.mark.parametrize(
    ("extra", "said"),
    [
        ({"serial": 2**53 + 1}, "/groups/fly/extra/serial is a whole number that JSON readers round"),
        ({"rack": [1, {"serial": -(2**60)}]}, "/groups/fly/extra/rack/1/serial"),
        ({"huge": 10**290}, "/groups/fly/extra/huge"),
    ],
)
def test_what_json_cannot_carry_is_named_with_the_way_out(extra: dict[str, Any], said: str) -> None:
    show = show_from_tree({"groups": {"fly": {"extra": extra}}})
    with pytest.raises(ShowError, match=said) as caught:
        canonical_show(show)
    assert all(problem.way_out for problem in caught.value.problems)


@pytest.mark.parametrize("value", [{"note": "\ud800"}, {"\udfff": 1}])
def test_half_a_character_is_refused(value: Any) -> None:
    with pytest.raises(ShowError, match="holds half a character"):
        canonical_json(value)


def test_every_unfit_value_is_named_not_the_first_alone() -> None:
    with pytest.raises(ShowError) as caught:
        canonical_json({"a": 2**53 + 1, "b": float("nan"), "c": [float("-inf")]})
    assert len(caught.value.problems) == 3


def test_nesting_without_end_is_refused() -> None:
    deep: list[Any] = []
    for _ in range(100_000):
        deep = [deep]
    with pytest.raises(ShowError, match="nested too deep"):
        canonical_json(deep)
