"""Rings of bridges. The equality with a graph library stands in tests/outside/test_paths_networkx.py."""

from __future__ import annotations

from showvc.document import Show
from showvc.paths import is_ring, ring_words, rings_of
from tests.paths.plots import worked


def tied(**bridges: str) -> Show:
    """Bridges in short: `a="fly Truck both"`."""
    parts = {name: text.split() for name, text in bridges.items()}
    return worked({"port": {}}, "fly lx snd", {name: (to, tie, way) for name, (to, tie, way) in parts.items()})


def found(show: Show) -> list[tuple[str, ...]]:
    return [ring.bridges for ring in rings_of(show)]


def test_one_two_way_bridge_is_no_ring() -> None:
    assert found(tied(a="fly Truck both")) == []


def test_two_two_way_bridges_between_one_circuit_and_one_target_are_a_ring() -> None:
    assert found(tied(a="fly Truck both", b="fly Truck both")) == [("a", "b")]


def test_a_pair_of_one_way_bridges_is_a_ring_when_it_goes_there_and_back() -> None:
    assert found(tied(a="fly Truck out", b="fly Truck in")) == [("a", "b")]
    assert found(tied(a="fly Truck out", b="fly Truck out")) == []


def test_a_one_way_and_a_two_way_bridge_are_a_ring() -> None:
    assert found(tied(a="fly Truck both", b="fly Truck in")) == [("a", "b")]


def test_a_ring_over_two_groups_and_two_circuits() -> None:
    show = tied(a="fly Truck both", b="lx Truck both", c="lx House both", d="fly House both")
    (ring,) = rings_of(show)
    assert sorted(ring.bridges) == ["a", "b", "c", "d"]
    assert ring.targets == ("fly", "lx")
    assert ring.places[0] == ("target", "fly")


def test_a_ring_needs_every_bridge_to_pass_the_same_way_round() -> None:
    round_trip = tied(a="fly Truck out", b="lx Truck in", c="lx House out", d="fly House in")
    assert found(round_trip) == [("a", "b", "c", "d")]
    assert found(tied(a="fly Truck out", b="lx Truck in", c="lx House in", d="fly House in")) == []


def test_three_bridges_between_the_same_two_are_two_independent_rings() -> None:
    assert found(tied(a="fly Truck both", b="fly Truck both", c="fly Truck both")) == [("a", "b"), ("a", "c")]


def test_a_figure_of_eight_is_two_rings() -> None:
    show = tied(a="fly Truck both", b="fly Truck both", c="fly House both", d="fly House both")
    assert found(show) == [("a", "b"), ("c", "d")]
    assert not is_ring(show, ["a", "b", "c", "d"])
    assert is_ring(show, ["b", "a"])


def test_circuits_without_a_name_are_each_their_own() -> None:
    show = worked({}, "fly", {"a": ("fly", "", "both"), "b": ("fly", "", "both")})
    assert rings_of(show) == ()


def test_a_bridge_to_nothing_closes_no_ring() -> None:
    assert found(tied(a="gone Truck both", b="gone Truck both")) == []
    assert not is_ring(tied(a="fly Truck both"), ["a", "b"])


def test_a_user_can_be_in_a_ring() -> None:
    assert found(tied(a="port Truck both", b="port Truck both")) == [("a", "b")]


def test_a_ring_in_words() -> None:
    show = tied(a="fly Truck both", b="fly Truck both")
    assert ring_words(show, rings_of(show)[0]) == "FLY - bridge a - circuit Truck - bridge b - FLY"
