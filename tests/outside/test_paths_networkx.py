"""Paths and rings against networkx, a public graph library: reachability, simple cycles, cycle basis.

The graph is built here from the plain document, sentence by sentence after section 6 of the design, and shares
no code with showvc.paths.
"""

from __future__ import annotations

from typing import Any

import networkx as nx
import pytest

from showvc.document import show_from_tree
from showvc.paths import talk_paths
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
                graph.add_edge(("group", target), ("ear", user))
            if entry["talk"] != "none":
                say(graph, plot, ("mouth", user), user, target)
    for name, bridge in plot["bridges"].items():
        circuit = ("circuit", bridge["circuit"] or f"behind {name}")
        if bridge["direction"] != "in" and bridge["target"] in groups | users:
            kind = "group" if bridge["target"] in groups else "ear"
            graph.add_edge((kind, bridge["target"]), circuit)
        if bridge["direction"] != "out":
            bring(graph, plot, circuit, bridge["target"])
    return graph


def bring(graph: nx.DiGraph, plot: Tree, circuit: tuple[str, str], target: str) -> None:
    if target in plot["groups"]:
        graph.add_edge(circuit, ("group", target))
    elif target in plot["users"]:
        for channel, entry in plot["users"][target]["channels"].items():
            if entry["talk"] == "open":
                say(graph, plot, circuit, target, channel.split("#")[0])


def say(graph: nx.DiGraph, plot: Tree, mouth: tuple[str, str], caller: str, target: str) -> None:
    if target in plot["groups"]:
        graph.add_edge(mouth, ("group", target))
    elif target in plot["users"]:
        entries = plot["users"][target]["channels"]
        own = [entry for channel, entry in entries.items() if channel.split("#")[0] == caller]
        if caller in plot["groups"] or not own or any(entry["listen"] != "none" for entry in own):
            graph.add_edge(mouth, ("ear", target))


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
    assert len(changed) > 60
