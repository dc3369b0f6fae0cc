"""The change set as an RFC 6902 JSON Patch, applied by the jsonpatch library.

Source of the examples: RFC 6902 "JavaScript Object Notation (JSON) Patch" (2013), appendix A, from memory: they say that
the library reads a patch as the RFC does, so that what it makes of ours counts.
"""

from __future__ import annotations

import json
from typing import Any

import jsonpatch
import pytest
from hypothesis import given

from showvc.changes import json_patch
from showvc.document import Show, same, show_from_tree
from tests.wild import two_shows

APPENDIX = {
    "A.1 adding an object member": (
        {"foo": "bar"},
        [{"op": "add", "path": "/baz", "value": "qux"}],
        {"baz": "qux", "foo": "bar"},
    ),
    "A.2 adding an array element": (
        {"foo": ["bar", "baz"]},
        [{"op": "add", "path": "/foo/1", "value": "qux"}],
        {"foo": ["bar", "qux", "baz"]},
    ),
    "A.3 removing an object member": ({"baz": "qux", "foo": "bar"}, [{"op": "remove", "path": "/baz"}], {"foo": "bar"}),
    "A.4 removing an array element": (
        {"foo": ["bar", "qux", "baz"]},
        [{"op": "remove", "path": "/foo/1"}],
        {"foo": ["bar", "baz"]},
    ),
    "A.5 replacing a value": (
        {"baz": "qux", "foo": "bar"},
        [{"op": "replace", "path": "/baz", "value": "boo"}],
        {"baz": "boo", "foo": "bar"},
    ),
    "A.6 moving a value": (
        {"foo": {"bar": "baz", "waldo": "fred"}, "qux": {"corge": "grault"}},
        [{"op": "move", "from": "/foo/waldo", "path": "/qux/thud"}],
        {"foo": {"bar": "baz"}, "qux": {"corge": "grault", "thud": "fred"}},
    ),
    "A.7 moving an array element": (
        {"foo": ["all", "grass", "cows", "eat"]},
        [{"op": "move", "from": "/foo/1", "path": "/foo/3"}],
        {"foo": ["all", "cows", "eat", "grass"]},
    ),
    "A.8 testing a value, success": (
        {"baz": "qux", "foo": ["a", 2, "c"]},
        [{"op": "test", "path": "/baz", "value": "qux"}, {"op": "test", "path": "/foo/1", "value": 2}],
        {"baz": "qux", "foo": ["a", 2, "c"]},
    ),
    "A.10 adding a nested member object": (
        {"foo": "bar"},
        [{"op": "add", "path": "/child", "value": {"grandchild": {}}}],
        {"foo": "bar", "child": {"grandchild": {}}},
    ),
    "A.11 ignoring unrecognized elements": (
        {"foo": "bar"},
        [{"op": "add", "path": "/baz", "value": "qux", "xyz": 123}],
        {"foo": "bar", "baz": "qux"},
    ),
    "A.14 tilde escape ordering": (
        {"/": 9, "~1": 10},
        [{"op": "test", "path": "/~01", "value": 10}],
        {"/": 9, "~1": 10},
    ),
    "A.16 adding an array value": (
        {"foo": ["bar"]},
        [{"op": "add", "path": "/foo/-", "value": ["abc", "def"]}],
        {"foo": ["bar", ["abc", "def"]]},
    ),
}
REFUSED = {
    "A.9 testing a value, error": ({"baz": "qux"}, [{"op": "test", "path": "/baz", "value": "bar"}]),
    "A.12 adding to a nonexistent target": ({"foo": "bar"}, [{"op": "add", "path": "/baz/bat", "value": "qux"}]),
    "A.15 comparing strings and numbers": ({"/": 9, "~1": 10}, [{"op": "test", "path": "/~01", "value": "10"}]),
}


@pytest.mark.parametrize("name", APPENDIX)
def test_the_library_reads_the_examples_of_the_rfc(name: str) -> None:
    document, patch, result = APPENDIX[name]
    assert jsonpatch.apply_patch(document, patch) == result


@pytest.mark.parametrize("name", REFUSED)
def test_the_library_refuses_what_the_rfc_refuses(name: str) -> None:
    document, patch = REFUSED[name]
    with pytest.raises((jsonpatch.JsonPatchException, jsonpatch.JsonPointerException)):
        jsonpatch.apply_patch(document, patch)


# --- ours


def assert_same(one: Any, other: Any) -> None:
    assert one == other
    assert same(one, other), "true is not 1"


def test_true_is_not_one() -> None:
    before, after = (show_from_tree({"extra": {"rows": [0, value]}}) for value in (1, True))
    assert json_patch(before, after) == [{"op": "replace", "path": "/extra/rows", "value": [0, True]}]


@given(two_shows())
def test_our_patch_makes_after_of_before_and_back(case: tuple[Show, Show]) -> None:
    for before, after in (case, case[::-1]):
        patch = json.loads(json.dumps(json_patch(before, after)))
        document, operations = json.loads(json.dumps([before.tree(), patch]))  # as files hold them: nothing is frozen
        assert_same(jsonpatch.apply_patch(document, operations), after.tree())


@given(two_shows())
def test_our_patch_is_empty_exactly_when_the_shows_are_equal(case: tuple[Show, Show]) -> None:
    before, after = case
    assert (json_patch(before, after) == []) == (before == after)
    assert json_patch(before, before) == []


@given(two_shows())
def test_our_patch_is_made_of_the_three_plain_operations(case: tuple[Show, Show]) -> None:
    for operation in json_patch(*case):
        assert set(operation) == ({"op", "path"} if operation["op"] == "remove" else {"op", "path", "value"})
        assert operation["op"] in ("add", "remove", "replace")
