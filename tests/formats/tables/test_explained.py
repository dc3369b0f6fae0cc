"""A newcomer finds out how a mapping is written: at the head of a proposed one, and from an example that is read."""

from __future__ import annotations

from pathlib import Path
from typing import get_args

import pytest

from showvc.formats.tables.explained import explained
from showvc.formats.tables.guess import guess
from showvc.formats.tables.mapping import (
    ACROSS_ROWS,
    Across,
    Each,
    MappedTable,
    PlotMapping,
    across_fields,
    mapping_text,
    read_mapping,
    row_fields,
)
from showvc.formats.tables.notation import LISTEN, TALK
from showvc.formats.tables.plan import open_source, plan_import
from tests.formats.tables.books import workbook

EXAMPLE = Path(__file__).parents[3] / "fixtures" / "plots" / "example.csv"
WORDS = {
    *(info.alias or name for model in (PlotMapping, MappedTable, Across) for name, info in model.model_fields.items()),
    *(word for each in get_args(Each) for word in (each, *row_fields(each))),
    *(word for kind in ACROSS_ROWS for word in (kind, *across_fields(kind))),
    *TALK,
    *LISTEN,
    *("talks", "listens", "remove", "keep", "keys", "channels"),
} - {"mapping"}


@pytest.mark.parametrize("word", sorted(WORDS))
def test_every_word_of_the_format_is_explained(word):
    assert f" {word}" in explained().replace("{", " ").replace("(", " ")


def test_the_explanation_is_all_comments_that_fit_a_terminal():
    assert all(line.startswith("#") and len(line) <= 120 for line in explained().splitlines())


def test_a_proposed_mapping_is_read_with_its_explanation():
    mapping = guess(open_source(workbook({"Plot": [["Position", "Stage"], ["Whisperer", "TL"]]}), "plot.xlsx"))
    assert read_mapping((explained() + mapping_text(mapping)).encode(), "plot.yaml") == mapping


def test_the_example_holds_the_explanation_and_is_read_whole():
    place = EXAMPLE.with_name("example.csv.mapping.yaml")
    assert place.read_text().startswith(explained())
    found = plan_import(None, EXAMPLE.read_bytes(), "example.csv", read_mapping(place.read_bytes(), str(place)))
    assert found.show is not None and not found.unread and not found.doubts
    hand = found.show.users["stage-hand"].channels
    assert {name: (channel.number, channel.talk, channel.listen) for name, channel in hand.items()} == {
        "stage": (1, "momentary", "always"),
        "stage-manager": (2, "momentary", "none"),
    }
    assert found.show.devices["pack-13"].keys == {"A1": "stage", "A2": "stage-manager"}
    assert found.show.devices["pack-11"].extra == {"Remarks": "at prompt corner"}
