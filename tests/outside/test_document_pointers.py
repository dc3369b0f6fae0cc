"""Pointers against RFC 6901 and the jsonpointer library."""

from __future__ import annotations

from typing import Any

import jsonpointer
import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import show_from_tree
from showvc.document.pointers import join, parse
from tests.strategies import shows

# RFC 6901, section 5: the example document and what each pointer evaluates to.
RFC_DOCUMENT: dict[str, Any] = {
    "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, 'k"l': 6, " ": 7, "m~n": 8,
}  # fmt: skip
RFC_EXAMPLES = [
    ("/foo", ["bar", "baz"]), ("/foo/0", "bar"), ("/a~1b", 1), ("/c%d", 2), ("/e^f", 3), ("/g|h", 4), ("/i\\j", 5),
    ('/k"l', 6), ("/ ", 7), ("/m~0n", 8),
]  # fmt: skip


def followed(document: Any, pointer: str) -> Any:
    for step in parse(pointer):
        document = document[int(step)] if isinstance(document, list) else document[step]
    return document


@pytest.mark.parametrize(("pointer", "value"), RFC_EXAMPLES)
def test_the_examples_of_rfc_6901(pointer: str, value: Any) -> None:
    assert followed(RFC_DOCUMENT, pointer) == value
    assert join(*parse(pointer)) == pointer


def test_the_two_examples_of_rfc_6901_that_we_read_otherwise() -> None:
    """`""` is the whole document, as there. `/` would be the member named ''; a show has none, so it is the whole too."""
    assert followed(RFC_DOCUMENT, "") == RFC_DOCUMENT
    assert parse("/") == ()
    assert parse("/foo/") == ("foo", "")


def test_the_order_of_unescaping_of_rfc_6901_section_4() -> None:
    # "first transforming any occurrence of '~1' to '/', and then '~0' to '~': ... '~01' ... becomes '~1'"
    assert parse("/~01") == ("~1",)
    assert parse("/~10") == ("/0",)


@given(st.lists(st.text(max_size=8), min_size=1, max_size=6).filter(lambda steps: steps != [""]))
def test_we_read_and_write_what_the_jsonpointer_library_does(steps: list[str]) -> None:
    assert jsonpointer.JsonPointer.from_parts(steps).path == join(*steps)
    assert tuple(jsonpointer.JsonPointer(join(*steps)).parts) == parse(join(*steps)) == tuple(steps)


@given(st.text(alphabet="~/01a", max_size=8).map(lambda rest: "/" + rest))
def test_we_refuse_what_the_jsonpointer_library_refuses(pointer: str) -> None:
    if pointer == "/":
        return
    try:
        parts = tuple(jsonpointer.JsonPointer(pointer).parts)
    except jsonpointer.JsonPointerException:
        with pytest.raises(Exception, match="is not a path"):
            parse(pointer)
    else:
        assert parse(pointer) == parts


@given(shows())
def test_every_place_of_a_show_is_found_by_the_jsonpointer_library(show: Any) -> None:
    tree = show.tree()

    def places(value: Any, steps: tuple[str, ...]) -> None:
        if steps and steps != ("",):
            assert jsonpointer.resolve_pointer(tree, join(*steps)) == value
        for name, inner in value.items() if isinstance(value, dict) else ():
            places(inner, (*steps, name))

    places(tree, ())
    assert show_from_tree(tree) == show
