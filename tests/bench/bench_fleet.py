"""The fleet: 250 devices with full dumps against histories of 100 and of 1,000 snapshots.

    python tests/bench/bench_fleet.py [--largest] [--parts N]

Prints times, how many snapshots were opened, and ratios against public references in the same run: `git log --raw` of
the same history, and Python's `json` reading the same dumps. `--largest` takes the largest show (3,000 targets, 32
channels a user); `--parts` says how many different contents the 250 dumps have (default 5; 250 is the worst case).
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ.setdefault("SHOWVC_WHO", "Ada Deck")

from showvc.document import Show
from showvc.formats import read
from showvc.formats.folder import folder_texts
from showvc.history.archive import Archive
from showvc.history.nearest import steps
from showvc.history.shows import Shows
from showvc.history.steps import content_ids, nearest
from showvc.history.working import write_work
from showvc.release.readings import read_dumps
from showvc.release.store import fleet_of, release
from tests.generator import apply_edits, random_edits, random_show

T = TypeVar("T")
PLAIN = ("talk", "listen", "level", "channel label", "rename", "department", "swap")
EDITS_A_SNAPSHOT = 20


def timed(work: Callable[[], T]) -> tuple[float, T]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def snapshots(show: Show, count: int) -> Iterator[dict[str, str]]:
    """The texts that each snapshot writes: the first all of them, each later one those of 20 edited things."""
    texts = folder_texts(show)
    yield texts
    edits = random_edits(show, 1, EDITS_A_SNAPSHOT * 8, PLAIN)
    for number in range(1, count):
        # The same things are edited over and over, each time with a name of its own: no content comes back.
        paths = sorted({edit.puts[0].steps[:2] for edit in edits})[number % 4 :: 4][:EDITS_A_SNAPSHOT]
        yield {
            f"{section}/{name}.yaml": texts[f"{section}/{name}.yaml"].replace("name: ", f"name: V{number} ", 1)
            for section, name in paths
        }


def build(folder: Path, show: Show, count: int) -> Archive:
    """A history of so many snapshots, through git's own fast-import."""
    archive = Archive.create(folder)
    lines: list[bytes] = []
    for number, texts in enumerate(snapshots(show, count)):
        note = f"snapshot {number}".encode()
        when = 1_900_000_000 + number * 600
        lines += [b"commit refs/heads/main", b"committer Ada <ada@showvc.invalid> %d +0100" % when]
        lines += [b"data %d" % len(note), note]
        for path, text in texts.items():
            data = text.encode()
            lines += [b"M 100644 inline " + path.encode(), b"data %d" % len(data), data]
    command = ["git", f"--git-dir={archive.git_dir}", "fast-import", "--quiet", "--force"]
    subprocess.run(command, input=b"\n".join(lines) + b"\n", check=True)
    assert archive.last is not None, "it was made just now"
    write_work(archive, archive.write_tree({}), archive.tree_of(archive.last))
    return archive


def dump_all(folder: Path, shows: list[Show], devices: list[str]) -> None:
    folder.mkdir()
    texts = [json.dumps(show.tree(), ensure_ascii=False) for show in shows]
    for place, device in enumerate(devices):
        (folder / f"{device}.show.json").write_text(texts[place % len(texts)])


def ids_of(shows: list[Show]) -> dict[int, dict[str, str]]:
    known: dict[tuple[str, str], str] = {}
    return {place: content_ids(show, known) for place, show in enumerate(shows)}


class Counted(Shows):
    """Counts the snapshots that are opened."""

    opened = 0

    def at(self, tree: str) -> Show:
        self.opened += 1
        return super().at(tree)


def measure(work: Path, show: Show, count: int, parts: int) -> None:
    archive = build(work / f"show-{count}", show, count)
    last = archive.last or ""
    commits = archive.git("rev-list", "--reverse", last).split()
    shows = Counted(archive)
    release(archive, shows, commits[0])
    release(archive, shows, commits[-1])
    start = shows.at(commits[len(commits) * 2 // 3])
    held = [apply_edits(start, random_edits(start, seed, 3, PLAIN)) for seed in range(parts)]
    dumps = work / f"dumps-{count}"
    dump_all(dumps, held, list(show.devices))

    git_time, _ = timed(lambda: archive.git("log", "--raw", "--no-abbrev", last))
    json_time, _ = timed(lambda: [json.loads(path.read_text()) for path in sorted(dumps.iterdir())])
    read_time, readings = timed(lambda: read_dumps(dumps, read))
    ids_time, ids = timed(lambda: ids_of(held))
    steps_time, history = timed(lambda: steps(archive))
    walk_time, found = timed(lambda: nearest(ids, history))
    shows.opened = 0
    whole_time, result = timed(lambda: fleet_of(archive, shows, readings))
    assert len(result.holdings) == len(show.devices)
    assert {part.state for part in result.parts} == {"edited"}
    assert all(part.code == commits[len(commits) * 2 // 3] for part in result.parts), "another base than was loaded"
    assert len(found) == parts

    print(f"\n{count} snapshots, {len(show.devices)} dumps of {parts} contents")
    print(f"  git log --raw                    {git_time:8.2f} s   (reference)")
    print(f"  json of all dumps                {json_time:8.2f} s   (reference)")
    print(f"  reading the dumps as shows       {read_time:8.2f} s   {read_time / json_time:6.1f} x json")
    print(f"  content ids of the contents      {ids_time:8.2f} s")
    print(f"  the steps of the history         {steps_time:8.2f} s   {steps_time / git_time:6.1f} x git log")
    print(f"  the walk to the nearest          {walk_time:8.2f} s   {walk_time / git_time:6.1f} x git log")
    print(f"  fleet, all of it after reading   {whole_time:8.2f} s   {shows.opened} snapshots opened")


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--largest", action="store_true")
    options.add_argument("--parts", type=int, default=5)
    given = options.parse_args()
    users, groups, channels = (2750, 250, 32) if given.largest else (400, 60, 16)
    show = random_show(1, users=users, groups=groups, devices=250, bridges=8, channels=channels, full=given.largest)
    with tempfile.TemporaryDirectory() as name:
        for count in (100, 1000):
            measure(Path(name), show, count, given.parts)


if __name__ == "__main__":
    main()
