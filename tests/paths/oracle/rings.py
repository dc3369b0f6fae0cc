"""Rings: ways round over targets, circuits, ports and bridges, found by networkx."""

from __future__ import annotations

import networkx as nx

from tests.paths.oracle.there import (
    Body,
    Doc,
    Scene,
    Thing,
    entries,
    goes,
    is_port,
    live_bridges,
    says,
    section,
    swaps,
    what_is,
)

Ring = frozenset[str]


def lands_on(doc: Doc, body: Body) -> set[str]:
    """Where a bridge brings sound from which it can go on: its group or line; by a port, on its `open` ones; else nowhere."""
    target = body["target"]
    if what_is(doc, target) != "user":
        return {target}
    return {each.target for each in entries(doc, target) if each.talk == "open"} if is_port(doc, target) else set()


def takes_from(doc: Doc, body: Body) -> set[str]:
    """From where a bridge takes sound out: its own target (a user: direct calls to him), and what its port listens to."""
    target = body["target"]
    if not is_port(doc, target):
        return {target}
    heard = {
        each.target for each in entries(doc, target) if each.listen != "none" and what_is(doc, each.target) != "user"
    }
    return {target} | heard


def rings_in(scene: Scene) -> set[Ring]:
    """All ways round in which no bridge follows itself, each as its set of bridges."""
    doc, bridges = scene.doc, live_bridges(scene)
    graph = nx.DiGraph()
    for one, first in bridges.items():
        for other, second in bridges.items():
            if one == other:
                continue
            if goes(first, "in") and goes(second, "out") and lands_on(doc, first) & takes_from(doc, second):
                graph.add_edge((one, "in"), (other, "out"))
            same = first["circuit"] == second["circuit"] and says(scene, first["circuit"], "carries")
            if same and goes(first, "out") and goes(second, "in"):
                graph.add_edge((one, "out"), (other, "in"))
    return {frozenset(name for name, _ in cycle) for cycle in nx.simple_cycles(graph)}


def least(rings: set[Ring]) -> set[Ring]:
    """Told are rings that hold no smaller one."""
    return {ring for ring in rings if not any(other < ring for other in rings)}


def rings(doc: Doc, out: frozenset[Thing] = frozenset()) -> set[Ring]:
    """The least rings that surely are."""
    return least(rings_in(Scene(doc, out=out)))


def possible_rings(doc: Doc, out: frozenset[Thing] = frozenset()) -> set[Ring]:
    """The least rings that may be; a standby is judged in its place."""
    scenes = (Scene(doc, unwritten=True, absent=True, swapped=swapped, out=out) for swapped in swaps(doc))
    return least(set().union(*map(rings_in, scenes)))


def independent(found: set[Ring]) -> list[Ring]:
    """As many as are independent, the shortest first: no ring that is the sum of others (where each bridge counts twice or not)."""
    chosen: list[Ring] = []
    basis: dict[str, Ring] = {}
    for ring in sorted(found, key=lambda each: (len(each), sorted(each))):
        rest = ring
        while rest and min(rest) in basis:
            rest = rest ^ basis[min(rest)]
        if rest:
            basis[min(rest)] = rest
            chosen.append(ring)
    return chosen


def circuits_of(doc: Doc, ring: Ring) -> set[str]:
    return {section(doc, "bridges")[name]["circuit"] for name in ring}
