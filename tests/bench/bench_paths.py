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


from showvc.document import Show
from showvc.paths import advance, difference, talk_paths
from tests.generator import apply_edits, random_edits, random_show
from tests.paths.oracle.sound import Sound
from tests.paths.oracle.there import Scene


def seconds(work: Callable[[], Any], times: int = 1) -> float:
    """The best of a few runs."""
    found = []
    for _ in range(times):
        start = perf_counter()
        work()
        found.append(perf_counter() - start)
    return min(found)


def reachable(graph: nx.DiGraph, sound: Sound, users: tuple[str, ...]) -> int:
    """How many pairs networkx finds, one search for each target of each talker."""
    found = 0
    for user in users:
        ears: set[tuple[str, ...]] = set()
        for first in sound.firsts(user):
            ears |= nx.descendants(graph, first.hop.to)
        found += len({node[1] for node in ears if node[0] == "ear"} - {user})
    return found


def row(words: str, ratio: float, wanted: str = "") -> None:
    print(f"{words:<64}{ratio:>10.3g}  {wanted}")


def matrix_against_networkx(show: Show, sample: int) -> None:
    sound = Sound(Scene(show.tree()))
    graph = sound.graph
    users = tuple(show.users)
    some = users[:: max(1, len(users) // sample)]
    read = talk_paths(show).surely
    assert reachable(graph, sound, some) == sum(len(read.heard_by(user)) for user in some), "both find the same"
    theirs = seconds(lambda: reachable(graph, sound, some)) * len(users) / len(some)
    ours = seconds(lambda: len(talk_paths(show).surely.pairs()), times=3)
    told = f"{len(show.bridges)} bridges, {len(read.pairs())} pairs"
    row(f"full matrix: networkx / talk_paths ({told})", theirs / ours, "at least 100")
    print(f"    talk_paths {ours:.3f} s; networkx on {len(some)} of {len(users)} talkers, as for all: {theirs:.1f} s")


def edits_against_the_full_matrix(show: Show, edits: int) -> None:
    after = apply_edits(show, random_edits(show, 5, edits, only=("talk", "listen", "add channel", "remove channel")))
    paths = talk_paths(show)
    full = seconds(lambda: len(talk_paths(after).surely.pairs()), times=3)
    row(
        f"from one show to the next over {edits} edits: advance / talk_paths",
        seconds(lambda: advance(paths, after), 5) / full,
    )
    change = difference(paths, advance(paths, after))
    lost, gained = len(change.lost), len(change.gained)
    row(
        f"lost and gained ({lost} and {gained}) / talk_paths",
        seconds(lambda: len(difference(paths, advance(paths, after)).lost), 5) / full,
    )
    row("what is weaker / talk_paths", seconds(lambda: difference(paths, advance(paths, after)).weaker, 3) / full)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--sample", type=int, default=100, help="talkers that networkx searches from")
    sample = options.parse_args().sample
    for bridges in (0, 20):
        # The reference builds its graph in plain loops: it is asked for a show that it can take.
        small = random_show(1, users=150, groups=40, devices=60, bridges=bridges, channels=16, full=True)
        matrix_against_networkx(small, sample)
    for bridges in (0, 200):
        show = random_show(1, users=2700, groups=300, devices=250, bridges=bridges, channels=32, full=True)
        edits_against_the_full_matrix(show, 20)


if __name__ == "__main__":
    main()
