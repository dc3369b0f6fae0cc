"""Paths against networkx, as ratios in one run. Needs no timing to be repeated: `python tests/bench/bench_paths.py`.

The largest show of section 15: 3,000 targets, 32 channels a user. Both sides get the loaded show; the graph that
networkx walks is built from it beforehand and not counted, building it is told apart.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from time import perf_counter
from typing import Any

import networkx as nx

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.outside.test_paths_networkx import hearing_graph

from showvc.document import Show
from showvc.paths import advance, hands_of, key_changes, lost_and_gained, talk_paths
from tests.generator import apply_edits, random_edits, random_show


def seconds(work: Callable[[], Any], times: int = 1) -> float:
    """The best of a few runs."""
    found = []
    for _ in range(times):
        start = perf_counter()
        work()
        found.append(perf_counter() - start)
    return min(found)


def spelt_out(show: Show) -> dict[str, Any]:
    """The plain document with the fields that the graph is built from, defaults and all."""
    plain = {"groups": {name: {} for name in show.groups}, "users": {}, "bridges": {}}
    for name, user in show.users.items():
        channels = {at: {"talk": entry.talk, "listen": entry.listen} for at, entry in user.channels.items()}
        plain["users"][name] = {"channels": channels}
    for name, bridge in show.bridges.items():
        plain["bridges"][name] = bridge.model_dump()
    return plain


def reachable(graph: nx.DiGraph, users: tuple[str, ...]) -> int:
    """How many pairs networkx finds, one search for each talker."""
    return sum(
        kind == "ear" and heard != user for user in users for kind, heard in nx.descendants(graph, ("mouth", user))
    )


def row(words: str, ratio: float, wanted: str = "") -> None:
    print(f"{words:<64}{ratio:>10.3g}  {wanted}")


def matrix_against_networkx(show: Show, sample: int) -> None:
    graph = hearing_graph(spelt_out(show))
    users = tuple(show.users)
    some = users[:: max(1, len(users) // sample)]
    matrix = talk_paths(show)
    assert reachable(graph, some) == sum(len(matrix.heard_by(user)) for user in some), "both find the same"
    theirs = seconds(lambda: reachable(graph, some)) * len(users) / len(some)
    ours = seconds(lambda: talk_paths(show), times=3)
    told = f"{len(show.bridges)} bridges, {len(matrix.pairs())} pairs"
    row(f"full matrix: networkx / talk_paths ({told})", theirs / ours, "at least 100")
    print(f"    talk_paths {ours:.3f} s; networkx on {len(some)} of {len(users)} talkers, as for all: {theirs:.1f} s")


def edits_against_the_full_matrix(show: Show, edits: int) -> None:
    after = apply_edits(show, random_edits(show, 5, edits, only=("talk", "listen", "add channel", "remove channel")))
    matrix = talk_paths(show)
    following = advance(matrix, show, after)
    assert following == talk_paths(after), "both find the same"
    full = seconds(lambda: talk_paths(after), times=3)
    row(
        f"from one show to the next over {edits} edits: advance / talk_paths",
        seconds(lambda: advance(matrix, show, after), 5) / full,
    )
    change = lost_and_gained(matrix, following)
    row(
        f"lost and gained ({len(change.lost)} and {len(change.gained)}) / talk_paths",
        seconds(lambda: lost_and_gained(matrix, following), 5) / full,
    )
    before_hands, after_hands = hands_of(show, matrix), hands_of(after, following)
    row("keys lost and won / talk_paths", seconds(lambda: key_changes(before_hands, after_hands), 5) / full)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sample", type=int, default=100, help="talkers that networkx searches from")
    sample = options.parse_args().sample
    for bridges in (0, 200):
        show = random_show(1, users=2700, groups=300, devices=250, bridges=bridges, channels=32, full=True)
        matrix_against_networkx(show, sample)
        edits_against_the_full_matrix(show, 20)


if __name__ == "__main__":
    main()
