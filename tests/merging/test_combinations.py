"""What is a conflict of the combination, and what one side had alone."""

from __future__ import annotations

from showvc.merging import merge
from tests.merging.cases import GONE, SMALL, Edits, edited

LINE_A = {"kind": "four-wire", "device": "if-01", "target": "lx", "circuit": "House party line A"}
TIED = edited(SMALL, {"bridges/radio": GONE, "bridges/party-line": GONE, "bridges/b1": {**LINE_A, "port": 1, "direction": "out"}, "bridges/b2": {**LINE_A, "port": 2}})  # fmt: skip
B3: Edits = {"bridges/b3": {**LINE_A, "port": 3}}


def test_a_ring_that_one_side_closed_is_no_conflict_though_check_tells_it_there_by_others() -> None:
    """With b1, the rings b1 b2 and b1 b3 stand for all of incoming's; without it, b2 b3 is what is left of them."""
    merged = merge(TIED, edited(TIED, {"bridges/b1": GONE}), edited(TIED, B3))
    assert [found.message for found in merged.conflicts] == []
    assert set(merged.show.bridges) == {"b2", "b3"}
    assert [finding.code for finding in merged.stops] == ["ring"]
