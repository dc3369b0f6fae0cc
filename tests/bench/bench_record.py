"""The work of recording 20 edited entities of the largest show, beside `git add -A && git commit` of the same edits.

    python -m tests.bench.bench_record

The work alone, in a process that has its imports; `bench_budgets` has the row of the whole process.
"""

from __future__ import annotations

import os
import re
import subprocess
import tempfile
import time
from pathlib import Path

from showvc.history.archive import Archive
from showvc.history.beginning import begin
from showvc.history.shows import Shows
from showvc.history.snapshots import record
from tests.bench.largest import copied, largest_folder

ROUNDS, EDITED = 6, 20


def edit(folder: Path, number: int) -> None:
    """Another 20 users get another talk mode on their first channel."""
    users = sorted((folder / "users").glob("*.yaml"))[number * EDITED : (number + 1) * EDITED]
    for user in users:
        user.write_text(re.sub(r"talk: (latch|momentary)", "talk: dual", user.read_text(), count=1))


def plain_git(folder: Path, *words: str) -> None:
    who = ["-c", "user.name=bench", "-c", "user.email=bench@showvc.invalid"]
    subprocess.run(["git", *who, *words], cwd=folder, check=True, stdout=subprocess.DEVNULL)


def main() -> None:
    """Prints the best of six rounds of each, and the ratio; the budget is 4."""
    os.environ["SHOWVC_WHO"] = "bench"
    with tempfile.TemporaryDirectory() as place:
        ours, plain = (copied(largest_folder(), Path(place) / name) for name in ("ours", "plain"))
        begin(ours, None, "bench")
        for words in (("init", "-q"), ("add", "-A"), ("commit", "-qm", "first")):
            plain_git(plain, *words)
        took: list[tuple[float, float]] = []
        for number in range(ROUNDS):
            edit(ours, number)
            edit(plain, number)
            archive = Archive.open(ours)
            start = time.perf_counter()
            record(archive, f"edit {number}", Shows(archive))
            between = time.perf_counter()
            plain_git(plain, "add", "-A")
            plain_git(plain, "commit", "-qm", f"edit {number}")
            took.append((between - start, time.perf_counter() - between))
    best, reference = (min(pair[side] for pair in took) for side in (0, 1))
    print(
        f"record of {EDITED}, the work alone: {best:.3f} s, git {reference:.3f} s, ratio {best / reference:.2f}, at most 4"
    )


if __name__ == "__main__":
    main()
