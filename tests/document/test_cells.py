"""Each field of each body in one cell, and back."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from showvc.document import SECTIONS, Carrier, Channel, Circuit, Device, Group, Head, shape_of
from showvc.document.cells import cell_text, cell_value, cells_of
from showvc.document.shapes import Shape
from tests.strategies import any_value

PLACES = [
    pytest.param(shape, id=f"{model.__name__} {'/'.join(steps)}")
    for model in (Head, Channel, *SECTIONS.values())
    for steps, shape in cells_of(shape_of(model))
]


@pytest.mark.parametrize("shape", PLACES)
@given(st.data())
def test_what_a_cell_says_is_read_back(shape: Shape, data: st.DataObject) -> None:
    value = data.draw(any_value(shape))
    same = TypeAdapter(shape.hint).validate_python
    assert same(cell_value(cell_text(value, shape), shape)) == same(value)


@pytest.mark.parametrize(
    ("model", "field", "text", "value"),
    [
        (Channel, "level", "-3 dB", -3), (Channel, "level", "−2,5", -2.5), (Channel, "talk", "Momentary", "momentary"),
        (Group, "critical", "x", True), (Group, "tags", 'rig; "a, b"\nstage', ["rig", "a, b", "stage"]),
        (Circuit, "hears", "", None), (Circuit, "hears", "unknown", None), (Circuit, "hears", "no", False),
        (Carrier, "gives", "watts: 240, slots: 2.5", {"watts": 240, "slots": 2.5}), (Carrier, "gives", "", {}),
        (Device, "on", "switch-deck, ups-1 / ups-2", ["switch-deck", ["ups-1", "ups-2"]]),
    ],
)  # fmt: skip
def test_how_people_write_it(model: Any, field: str, text: str, value: Any) -> None:
    assert cell_value(text, shape_of(model).fields[field]) == value


@pytest.mark.parametrize(
    ("model", "field", "text", "allowed"),
    [
        (Channel, "level", "13", "from -60 to 12"), (Channel, "number", "1.5", "a whole number from 1 to 999"),
        (Channel, "talk", "shout", "allowed: none, momentary"), (Group, "critical", "perhaps", "true or false"),
        (Group, "critical", "", "true or false"), (Circuit, "hears", "perhaps", "nothing where it is unknown"),
        (Group, "tags", '"a', "words with commas"), (Carrier, "gives", "watts", "such as: watts: 240"),
        (Carrier, "gives", "watts: 1, watts: 2", "each name once"), (Carrier, "gives", "watts: much", "a number"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_says_what_is_allowed(model: Any, field: str, text: str, allowed: str) -> None:
    with pytest.raises(ValueError, match=allowed):
        cell_value(text, shape_of(model).fields[field])
