"""One more field, in each model in turn: no way in or out resets it or drops it, and it takes one line."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from showvc.document import SECTIONS, Head, shape_of
from showvc.document.shapes import Shape
from tests.added_field import PLACES


def _models(shape: Shape) -> set[str]:
    inner = [*shape.fields.values(), *([shape.item] if shape.item else [])]
    return ({shape.model.__name__} if shape.model else set()).union(*map(_models, inner))


def test_every_model_of_the_catalogue_gets_a_field():
    assert {*PLACES} == set().union(*(_models(shape_of(model)) for model in (Head, *SECTIONS.values())))


@pytest.mark.parametrize("model", PLACES)
def test_one_line_in_the_catalogue_is_all_that_a_field_needs(model):
    root = Path(__file__).parents[1]
    done = subprocess.run(
        [sys.executable, "-m", "tests.added_field", model], cwd=root, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout) == {}
