"""The JSON Schema of a show, against its meta-schema and against what the reader itself takes.

Source: JSON Schema draft 2020-12, by the jsonschema package.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given

from showvc.document import show_from_tree
from showvc.document.schema import document_schema
from tests.strategies import Tree, trees

FIXTURES = Path(__file__).parents[2] / "fixtures"
SCHEMA = document_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def test_it_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_the_production_fits_it() -> None:
    assert [*VALIDATOR.iter_errors(json.loads((FIXTURES / "salt-road.show.json").read_text()))] == []


@given(trees())
def test_whatever_can_be_written_fits_it(tree: Tree) -> None:
    assert [error.message for error in VALIDATOR.iter_errors(tree)] == []


@pytest.mark.parametrize(
    "wrong",
    [
        {}, {"format": 1}, {"format": 2, "nmae": "x"}, {"format": 2, "groups": {"aux": {}}},
        {"format": 2, "groups": {"Fly": {}}}, {"format": 2, "groups": {"fly": {"nmae": "x"}}},
        {"format": 2, "users": {"sm": {"channels": {"lx": {"number": 0}}}}},
        {"format": 2, "users": {"sm": {"channels": {"lx": {}}}}},
        {"format": 2, "users": {"sm": {"channels": {"lx": {"number": 1, "level": 13}}}}},
        {"format": 2, "users": {"sm": {"channels": {"lx": {"number": 1, "talk": "shout"}}}}},
        {"format": 2, "users": {"sm": {"channels": {"LX": {"number": 1}}}}},
        {"format": 2, "devices": {"d": {"kind": "pack-2", "on": [[]]}}},
        {"format": 2, "carriers": {"d": {"gives": {"watts": -1}}}},
    ],
)  # fmt: skip
def test_what_the_reader_refuses_does_not(wrong: Any) -> None:
    assert [*VALIDATOR.iter_errors(wrong)]


@pytest.mark.parametrize(
    "twice",
    [
        {"groups": {"fly": {"tags": ["rig", "rig"]}}},
        {"carriers": {"ups-2": {"on": ["ups-1", "ups-1"]}}},
        {"carriers": {"ups-2": {"on": [["ups-1", "ups-1"]]}}},
    ],
)
def test_what_is_named_twice_in_a_set_is_read_as_once_and_fits(twice: Tree) -> None:
    once = json.loads(json.dumps(twice).replace('"rig", "rig"', '"rig"').replace('"ups-1", "ups-1"', '"ups-1"'))
    assert show_from_tree(twice) == show_from_tree(once)
    assert [*VALIDATOR.iter_errors({"format": 2, **twice})] == []


def test_each_field_has_the_words_that_people_call_it_by() -> None:
    fields = SCHEMA["$defs"]["Device"]["properties"]
    assert fields["hardware"]["title"] == "Hardware address" and fields["on"]["title"] == "Hangs on"
