"""Every budget of section 15 of the design as a ratio, in one run, with whether it is met.

    python -m tests.bench.bench_budgets [ROW…]

Commands are timed as whole processes, as somebody at a desk waits for them. "Cold" means that the bodies kept parsed
were thrown away before each run. Two ratios are told: by the clock, which is what the budget means, and of processor
time, which a busy machine disturbs less. Rows: start, compare, merge, record, ten, deepdiff, matrix, trace, memory.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from showvc.changes import edits
from showvc.document import Show
from showvc.formats import read
from tests.bench import ground
from tests.bench.ground import ENVIRONMENT, SHOWVC, Took, best, showvc

FIVE = "import git, deepdiff, pydantic, ruamel.yaml, typer"


@dataclass(frozen=True)
class Row:
    """One budget: what was measured, and against what."""

    what: str
    ours: Took
    theirs: Took
    limit: float
    faster: bool = False
    """Whether the ratio says how many times faster we are, and must be at least the limit."""

    def __str__(self) -> str:
        wall, cpu = self._ratio(self.ours.wall, self.theirs.wall), self._ratio(self.ours.cpu, self.theirs.cpu)
        met = wall >= self.limit if self.faster else wall <= self.limit
        sense = "at least" if self.faster else "at most"
        return (
            f"{self.what:<60}{self.ours.wall:8.3f} s{self.theirs.wall:8.3f} s{wall:8.2f}{cpu:8.2f}"
            f"  {sense} {self.limit:<4g} {'met' if met else 'MISSED'}"
        )

    def _ratio(self, ours: float, theirs: float) -> float:
        one, other = (theirs, ours) if self.faster else (ours, theirs)
        return one / max(other, 1e-9)


@dataclass(frozen=True)
class Memory:
    what: str
    mebibytes: float
    limit: float

    def __str__(self) -> str:
        met = "met" if self.mebibytes <= self.limit else "MISSED"
        return f"{self.what:<60}{self.mebibytes:6.0f} MiB{'':26}  at most {self.limit:g} MiB {met}"


class Bench:
    def __init__(self, home: Path) -> None:
        self.home = home

    # --- references ---

    @cached_property
    def five(self) -> Took:
        """Importing the five libraries that everything stands on."""
        return self.python(FIVE)

    def python(self, code: str) -> Took:
        return best(lambda: ground.run(self.home, sys.executable, "-c", code), rounds=7)

    # --- grounds ---

    @cached_property
    def show(self) -> Path:
        """The largest show: two snapshots 20 users apart, and a draft with 20 edits of other users beside the last."""
        return self._show(1)

    def _show(self, times: int) -> Path:
        folder = ground.begun(self.home, times)
        known = ground.users(folder)
        ground.edit(known[: 20 * 100 : 100], level=-7)
        showvc(folder, "record", "--note", "Twenty users")
        showvc(folder, "draft", "open", "deck", "--at", "last-1")
        ground.edit(known[50 : 50 + 20 * 100 : 100], level=-9)
        showvc(folder, "record", "--note", "Twenty others")
        showvc(folder, "draft", "go", "main")
        return folder

    # --- rows ---

    def start(self) -> Iterator[Row]:
        typer = self.python("import typer")
        commands = [[], *([name] for name in ("compare", "merge", "record", "check", "paths", "history", "release"))]
        for words in commands:
            ours = best(lambda words=words: ground.run(self.home, *SHOWVC, *words, "--help"), rounds=5)  # type: ignore[misc]
            yield Row(f"start: {' '.join([*words, '--help'])} / import typer", ours, typer, 2)

    def compare(self) -> Iterator[Row]:
        yield from self._both("compare, edits only", 3, "compare", "last-1", "last", "--edits")
        yield from self._both("compare with its effect", 6, "compare", "last-1", "last")

    def _both(self, what: str, limit: float, *arguments: str) -> Iterator[Row]:
        for state, forgotten in (("cold", True), ("warm", False)):
            ours = best(
                lambda: showvc(self.show, *arguments),
                rounds=3,
                before=lambda forgotten=forgotten: ground.forget(self.show) if forgotten else None,  # type: ignore[misc]
            )
            yield Row(f"{what}, {state} / the five imports", ours, self.five, limit)

    def merge(self) -> Iterator[Row]:
        def undone(forgotten: bool) -> None:
            showvc(self.show, "undo", codes=(0,))
            if forgotten:
                ground.forget(self.show)

        showvc(self.show, "merge", "deck")
        for state, forgotten in (("cold", True), ("warm", False)):
            ours = best(
                lambda: showvc(self.show, "merge", "deck"),
                rounds=3,
                before=lambda forgotten=forgotten: undone(forgotten),  # type: ignore[misc]
            )
            yield Row(f"merge of 20 and 20, {state} / the five imports", ours, self.five, 8)
        showvc(self.show, "undo")

    def record(self) -> Iterator[Row]:
        plain = ground.plain_git(self.show, self.home / "plain")
        level = iter(range(-59, 0))

        def edited(folder: Path) -> None:
            ground.edit(ground.users(folder)[10 : 10 + 20 * 100 : 100], next(level))

        def both() -> None:
            ground.run(plain, "git", "add", "-A")
            ground.run(plain, "git", "commit", "-q", "-m", "edits")

        theirs = best(both, rounds=5, before=lambda: edited(plain))
        ours = best(lambda: showvc(self.show, "record", "--note", "edits"), rounds=5, before=lambda: edited(self.show))
        yield Row("record of 20 / git add -A && git commit", ours, theirs, 4)
        for _ in range(5):
            showvc(self.show, "undo")

    def ten(self) -> Iterator[Row]:
        tenfold = self._show(10)
        command = ("compare", "last-1", "last", "--edits")
        one = best(lambda: showvc(self.show, *command), rounds=5)
        many = best(lambda: showvc(tenfold, *command), rounds=5)
        yield Row("ten times the show, compare edits only / compare", many, one, 1.5)

    def deepdiff(self) -> Iterator[Row]:
        from deepdiff import DeepDiff

        before, after = read(self.show), self._edited()
        ours = best(lambda: edits(before, after), rounds=3)
        trees = before.tree(), after.tree()
        theirs = best(lambda: DeepDiff(*trees), rounds=1)
        yield Row("whole compare of two loaded shows against deepdiff", ours, theirs, 50, faster=True)

    def _edited(self) -> Show:
        """The show once more, read on its own, with 20 users edited."""
        known = ground.users(self.show)[: 20 * 100 : 100]
        kept = {path: path.read_bytes() for path in known}
        ground.edit(known, level=-21)
        after = read(self.show)
        for path, data in kept.items():
            path.write_bytes(data)
        return after

    def matrix(self) -> Iterator[Row]:
        import networkx
        from tests.outside.test_paths_networkx import hearing_graph

        from showvc.paths import talk_paths
        from tests.bench.bench_paths import reachable, spelt_out

        show = read(self.show)
        graph: networkx.DiGraph = hearing_graph(spelt_out(show))
        users = tuple(show.users)
        some = users[:: len(users) // 50]
        ours = best(lambda: talk_paths(show), rounds=3)
        theirs = best(lambda: reachable(graph, some), rounds=1) * (len(users) / len(some))
        yield Row("full matrix against networkx (50 talkers, as for all)", ours, theirs, 100, faster=True)

    def trace(self) -> Iterator[Row]:
        folder = ground.begun(self.home / "long")
        file = ground.many_snapshots(folder, 1000)
        path = f"users/{file.stem}/channels"
        git = ("git", "log", "--format=%H", "--", f"users/{file.name}")
        assert len(ground.run(folder, *git).splitlines()) == 101
        theirs = best(lambda: ground.run(folder, *git), rounds=3)
        for state, forgotten in (("cold", True), ("warm", False)):
            ours = best(
                lambda: showvc(folder, "trace", path),
                rounds=3,
                before=lambda forgotten=forgotten: ground.forget(folder) if forgotten else None,  # type: ignore[misc]
            )
            yield Row(f"trace over 1,000 snapshots, {state} / git log", ours, theirs, 5)

    def memory(self) -> Iterator[Memory]:
        for state, forgotten in (("cold", True), ("warm", False)):
            if forgotten:
                ground.forget(self.show)
            yield Memory(f"memory of check, {state}", _peak(self.show, "check"), 400)


def _peak(folder: Path, *arguments: str) -> float:
    """The largest memory of a command, in MiB, measured by a process of its own that has no other child."""
    code = (
        "import resource, subprocess, sys\n"
        "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL)\n"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *SHOWVC, *arguments], cwd=folder, env=ENVIRONMENT, capture_output=True, check=True
    )
    # Linux counts in KiB, macOS in bytes (getrusage(2) of both).
    return int(done.stdout) / (1024 if sys.platform != "darwin" else 1024 * 1024)


ROWS = ("start", "compare", "merge", "record", "ten", "deepdiff", "matrix", "trace", "memory")


def main() -> None:
    wanted = sys.argv[1:] or ROWS
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory(prefix="showvc-budgets-") as home:
        bench = Bench(Path(home))
        print(f"{'':60}{'ours':>8}  {'against':>8}  {'ratio':>8}{'cpu':>8}  budget")
        for name in wanted:
            for row in getattr(bench, name)():
                print(row, flush=True)


if __name__ == "__main__":
    main()
