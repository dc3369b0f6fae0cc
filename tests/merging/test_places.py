"""The places at which a merge can be settled: those that a side edited, and what comes back with a value."""

from __future__ import annotations

import pytest

from showvc.document.editing import ABSENT
from showvc.merging.places import places_edited, put_back, widest
from tests.merging.cases import GONE, SMALL, Edits, edited


@pytest.mark.parametrize(
    ("edit", "places"),
    [
        ({"groups/lx/name": "Lights"}, ["/groups/lx/name"]),
        # of two that traded each for itself, so that no third one on the list goes along
        ({"users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1},
         ["/users/sm/channels/lx/number", "/users/sm/channels/snd/number"]),
        ({"devices/desk-01/keys/A1": "snd", "devices/desk-01/keys/A3": "lx"},
         ["/devices/desk-01/keys/A1", "/devices/desk-01/keys/A3"]),
        ({"devices/desk-01/keys/A1": GONE, "devices/desk-01/keys/A5": "lx"},
         ["/devices/desk-01/keys/A1", "/devices/desk-01/keys/A5"]),
        ({"groups/lx/extra": {"row": 1}}, []),  # no rule looks there
        ({"users/asm": GONE}, ["/users/asm"]),
    ],
)  # fmt: skip
def test_the_places_that_a_side_edited(edit: Edits, places: list[str]) -> None:
    assert places_edited(SMALL, edited(SMALL, edit)) == places


def test_a_place_within_another_is_covered_by_it() -> None:
    assert widest(["/users/sm/label", "/users/sm", "/users/sm-2", "/users/sm/name"]) == ("/users/sm", "/users/sm-2")


def test_what_holds_a_value_comes_back_with_it() -> None:
    gone = edited(SMALL, {"devices/pack-02": GONE})
    back = put_back(gone, SMALL, {"/devices/pack-02/keys/A1": "fly"})
    assert back.devices["pack-02"] == SMALL.devices["pack-02"]


def test_nothing_is_made_to_take_something_out_of_it() -> None:
    gone = edited(SMALL, {"devices/pack-02": GONE})
    assert put_back(gone, SMALL, {"/devices/pack-02/keys/A1": ABSENT}) == gone
