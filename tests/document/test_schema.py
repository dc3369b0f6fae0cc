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


def test_each_field_has_the_words_that_people_call_it_by() -> None:
    fields = SCHEMA["$defs"]["Device"]["properties"]
    assert fields["hardware"]["title"] == "Hardware address" and fields["on"]["title"] == "Hangs on"
