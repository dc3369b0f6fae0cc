"""Paths and rings against networkx, a public graph library: reachability, simple cycles, cycle basis.

The graph is built here from the plain document, sentence by sentence after section 6 of the design, and shares
no code with showvc.paths.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from typing import Any

import networkx as nx
import pytest

from showvc.document import show_from_tree
from showvc.paths import explain, is_ring, rings_of, talk_paths
from tests.paths.plots import random_plot

Tree = dict[str, Any]


def hearing_graph(plot: Tree) -> nx.DiGraph:
    """Arcs lead from who or what sounds to who or what hears it. Mouths, ears, groups, calls, circuits."""
    graph = nx.DiGraph()
    groups, users = plot["groups"], plot["users"]
    for user, body in users.items():
        graph.add_nodes_from([("mouth", user), ("ear", user)])
        for channel, entry in body["channels"].items():
            target = channel.split("#")[0]
            if entry["listen"] != "none" and target in groups:
                tie(graph, ("group", target), ("ear", user))
            if entry["talk"] != "none":
                say(graph, plot, ("mouth", user), user, target)
    for name, bridge in plot["bridges"].items():
        circuit = ("circuit", bridge["circuit"] or f"behind {name}")
        if bridge["direction"] != "in" and bridge["target"] in groups | users:
            kind = "group" if bridge["target"] in groups else "ear"
            tie(graph, (kind, bridge["target"]), circuit)
        if bridge["direction"] != "out":
            bring(graph, plot, circuit, bridge["target"])
    return graph


def bring(graph: nx.DiGraph, plot: Tree, circuit: tuple[str, str], target: str) -> None:
    if target in plot["groups"]:
        tie(graph, circuit, ("group", target))
    elif target in plot["users"]:
        for channel, entry in plot["users"][target]["channels"].items():
            if entry["talk"] == "open":
                say(graph, plot, circuit, target, channel.split("#")[0])


def say(graph: nx.DiGraph, plot: Tree, mouth: tuple[str, str], caller: str, target: str) -> None:
    passed_on = mouth[0] == "circuit"
    if target in plot["groups"]:
        tie(graph, mouth, ("group", target), 1 + passed_on)
    elif target in plot["users"]:
        entries = plot["users"][target]["channels"]
        own = [entry for channel, entry in entries.items() if channel.split("#")[0] == caller]
        if caller in plot["groups"] or not own or any(entry["listen"] != "none" for entry in own):
            tie(graph, mouth, ("ear", target), 2 + passed_on)


def tie(graph: nx.DiGraph, tail: tuple[str, str], head: tuple[str, str], hops: int = 1) -> None:
    """An arc that takes this many hops: a call is one to say and one to hear, a user who passes on is one more."""
    known = graph.get_edge_data(tail, head, {"hops": hops})["hops"]
    graph.add_edge(tail, head, hops=min(known, hops))


def reachable(plot: Tree) -> set[tuple[str, str]]:
    graph = hearing_graph(plot)
    return {
        (user, heard)
        for user in plot["users"]
        for kind, heard in nx.descendants(graph, ("mouth", user))
        if kind == "ear" and heard != user
    }


@pytest.mark.parametrize("batch", range(10))
def test_the_matrix_is_reachability(batch: int) -> None:
    for seed in range(batch * 300, batch * 300 + 300):
        plot = random_plot(seed)
        assert set(talk_paths(show_from_tree(plot)).pairs()) == reachable(plot), f"seed {seed}"


def test_the_random_plots_put_the_bridges_to_use() -> None:
    # Else the equality above would say nothing of bridges.
    with_bridges = [random_plot(seed) for seed in range(300)]
    changed = [plot for plot in with_bridges if reachable(plot) != reachable({**plot, "bridges": {}})]
    assert len(changed) > 50


def test_an_explanation_is_a_shortest_way() -> None:
    seen = set()
    for seed in range(600):
        plot = random_plot(seed)
        show, graph = show_from_tree(plot), hearing_graph(plot)
        matrix = talk_paths(show)
        for talker, listener in matrix.pairs():
            way = explain(show, talker, listener, matrix).way
            assert len(way) == nx.shortest_path_length(graph, ("mouth", talker), ("ear", listener), weight="hops")
            seen.add(len(way))
    assert seen >= {2, 4, 5, 6}


# --- rings -----------------------------------------------------------------------------------------------------------


def carrying_graph(plot: Tree) -> nx.DiGraph:
    """Targets, circuits, and a node of its own for each bridge in each direction in which it carries."""
    graph = nx.DiGraph()
    for name, bridge in plot["bridges"].items():
        target, circuit = ("target", bridge["target"]), ("circuit", bridge["circuit"] or f"behind {name}")
        if bridge["target"] not in plot["groups"] | plot["users"]:
            continue
        if bridge["direction"] != "in":
            nx.add_path(graph, [target, ("out", name), circuit])
        if bridge["direction"] != "out":
            nx.add_path(graph, [circuit, ("in", name), target])
    return graph


def all_rings(plot: Tree) -> set[frozenset[str]]:
    """Every simple cycle that does not go out and back over one bridge, as its bridges."""
    found = set()
    for cycle in nx.simple_cycles(carrying_graph(plot)):
        bridges = [name for kind, name in cycle if kind in ("in", "out")]
        if len(set(bridges)) == len(bridges):
            found.add(frozenset(bridges))
    return found


def rank(sets: Iterable[frozenset[str]]) -> int:
    """How many of these sets are independent, put together by leaving out what is in both (GF(2))."""
    rows: list[frozenset[str]] = []
    for given in sets:
        rest = given
        for row in rows:
            rest = rest ^ row if max(row) in rest else rest
        if rest:
            rows.append(rest)
    return len(rows)


@pytest.mark.parametrize("batch", range(6))
def test_the_rings_are_a_basis_of_all_simple_cycles(batch: int) -> None:
    for seed in range(batch * 300, batch * 300 + 300):
        plot = random_plot(seed, bridges=9)
        found = [frozenset(ring.bridges) for ring in rings_of(show_from_tree(plot))]
        everything = all_rings(plot)
        assert set(found) <= everything, f"seed {seed}: each is a ring"
        assert rank(found) == len(found), f"seed {seed}: each is independent of the others"
        assert rank([*found, *everything]) == len(found), f"seed {seed}: together they make all others"


def test_rings_over_two_way_bridges_alone_are_as_many_as_in_a_cycle_basis() -> None:
    for seed in range(600):
        plot = random_plot(seed, bridges=12)
        plot["bridges"] = {name: {**bridge, "direction": "both"} for name, bridge in plot["bridges"].items()}
        graph = nx.Graph((bridge, end) for bridge, end in _ends(plot))
        assert len(rings_of(show_from_tree(plot))) == len(nx.cycle_basis(graph)), f"seed {seed}"


def _ends(plot: Tree) -> Iterable[tuple[tuple[str, str], tuple[str, str]]]:
    for name, bridge in plot["bridges"].items():
        if bridge["target"] in plot["groups"] | plot["users"]:
            yield ("bridge", name), ("target", bridge["target"])
            yield ("bridge", name), ("circuit", bridge["circuit"] or f"behind {name}")


def test_a_ring_is_told_from_any_other_lot_of_bridges() -> None:
    for seed in range(300):
        plot = random_plot(seed, bridges=6)
        names, show, everything = sorted(plot["bridges"]), show_from_tree(plot), all_rings(plot)
        for size in range(len(names) + 1):
            for lot in combinations(names, size):
                assert is_ring(show, lot) == (frozenset(lot) in everything), f"seed {seed}, {lot}"
