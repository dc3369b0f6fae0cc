"""A patch that a comparison wrote, applied to a show."""

from __future__ import annotations

import json
import re

import pytest
from hypothesis import Phase, given, settings

from showvc.changes import json_patch
from showvc.document import Show, ShowError
from showvc.editing import patched
from tests.editing.salt import salt
from tests.wild import two_shows


@settings(phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(sides=two_shows())
def test_what_compare_writes_makes_the_other_show(sides: tuple[Show, Show]) -> None:
    before, after = sides
    assert patched(before, json.dumps(json_patch(before, after))).show == after


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "patch: is not JSON"),
        ("{}", "patch: is no patch"),
        ("[1]", "patch: is no patch"),
        ('[{"op": "remove", "path": "/users/none"}]', "patch: operation 1 does not fit this show"),
        ('[{"op": "test", "path": "/users/sm/label", "value": "X"}]', "operation 1 does not fit"),
        ('[{"op": "jump", "path": "/users"}]', "operation 1 does not fit"),
        ('[{"path": "/users"}]', "operation 1 does not fit"),
        ('[{"op": "replace", "path": "/users/sm/lable", "value": 1}]', "operation 1 does not fit"),
        ('[{"op": "add", "path": "/users/sm/lable", "value": "X"}]', "patch: /users/sm: unknown field 'lable'"),
        ('[{"op": "replace", "path": "/users/sm/channels/lx/number", "value": "one"}]', "number"),
        ('[{"op": "replace", "path": "/format", "value": 3}]', "the format can't be changed"),
        ('[{"op": "replace", "path": "/users", "value": []}]', "/users is no map of things"),
        ('[{"op": "add", "path": "/users/Sm", "value": {}}]', "is not an id"),
        ('[{"op": "add", "path": "/uses", "value": {}}]', "did you mean users"),
        ('[{"op": "replace", "path": "", "value": []}]', "the format can't be changed"),
    ],
)
def test_what_is_no_patch_of_this_show(text: str, words: str) -> None:
    with pytest.raises(ShowError, match=re.escape(words)):
        patched(salt(), text)
