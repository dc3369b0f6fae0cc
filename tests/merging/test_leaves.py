"""The rule of one leaf where no field of ours says what stands there."""

from __future__ import annotations

from typing import Any

import pytest

from showvc.document import show_from_tree
from showvc.merging import merge


@pytest.mark.parametrize(
    ("before", "mine", "incoming", "result", "paths"),
    [
        ({}, {"a": {"x": 1}}, {"a": {"y": 2}}, {"a": {"x": 1, "y": 2}}, []),
        ({"a": {"x": 1, "y": 1}}, {"a": {"y": 1}}, {"a": {"x": 1}}, {"a": {}}, []),
        ({"a": {"x": 1}}, {"a": {"x": 1, "y": [1]}}, {"a": {"x": 2}}, {"a": {"x": 2, "y": [1]}}, []),
        ({"a": 1}, {"a": {"x": 1}}, {"a": {"y": 2}}, {"a": 1}, ["/extra/a"]),
        ({"a": {"x": 1}}, {"a": 1}, {"a": {"x": 2}}, {"a": {"x": 1}}, ["/extra/a"]),
        ({"a": {"x": 1}}, {}, {"a": {"x": 2}}, {"a": {"x": 2}}, ["/extra/a"]),
        ({"a": [1, 2]}, {"a": [1, 2, 3]}, {"a": [0, 1, 2]}, {"a": [1, 2]}, ["/extra/a"]),  # a list is one value
        ({"a": [1, 2]}, {"a": [1, 2, 3]}, {"a": [1, 2, 3]}, {"a": [1, 2, 3]}, []),
        ({"a": 1}, {"a": True}, {"a": 1, "b": 1}, {"a": True, "b": 1}, []),
        ({"a": 1}, {"a": True}, {"a": 2}, {"a": 1}, ["/extra/a"]),
        ({"a": 1}, {"a": None}, {"a": 1}, {"a": None}, []),
        ({"a": 1}, {"a": None}, {}, {"a": None}, ["/extra/a"]),
        ({}, {"a/b": {"~": 1}}, {"a/b": {"~": 2}}, {"a/b": {"~": 1}}, ["/extra/a~1b/~0"]),
        ({}, {"a": 2}, {"a": 1}, {"a": 1}, ["/extra/a"]),  # until settled, whichever side it came from
    ],
)  # fmt: skip
def test_what_an_import_carried_merges_field_by_field(
    before: Any, mine: Any, incoming: Any, result: Any, paths: list[str]
) -> None:
    merged = merge(*(show_from_tree({"extra": extra}) for extra in (before, mine, incoming)))
    assert [conflict.paths for conflict in merged.conflicts] == [(path,) for path in paths]
    assert merged.show == show_from_tree({"extra": result})
