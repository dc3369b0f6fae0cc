"""Our merge beside a merge by lines and a generic merge of JSON, on the same parallel edits.

Run: python tests/bench/bench_line_merge.py [HOW MANY RANDOM CASES OF EACH SORT, 300 if not given]

The lines are merged by git itself: `git merge-tree --write-tree`, which is what `git merge` does without touching a
working folder, over the show folders; and `git merge-file` over the single documents. The JSON of the single documents
is merged by nbdime's generic merge where that is installed (it brings a notebook server along, so the tests don't ask
for it: `pip install --target DIR nbdime`, and DIR on PYTHONPATH). Counted is, of each sort of case:

  false      the line merge has a conflict; ours has none, and its result is the one that is wanted
  missed     the line merge goes through; ours has a conflict
  unreadable the line merge goes through, and what it wrote is no show
  other      the line merge goes through, and what it wrote is another show than the one that is wanted
  ours       how often our own clean result was not the wanted one, or our merge had a conflict where none is wanted

The wanted result of a worked case stands in its table; of independent edits it is making one script after the other; of
edits that may cross there is none written down, so that ours counts there when it breaks no rule that both sides kept.
"""

from __future__ import annotations

import importlib.util
import io
import json
import subprocess
import sys
import tarfile
import tempfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).parents[2]))

from showvc.document import Show, ShowError, show_from_tree
from showvc.formats.folder import folder_texts, read_folder
from showvc.formats.single import read_single, single_text
from showvc.merging import merge
from showvc.rules import check
from tests.generator import apply_edits, parallel_edits, random_edits, random_show
from tests.merging.cases import CASES as FIRST
from tests.merging.more_cases import MORE_CLASHING, MORE_CLEAN

CASES = (*FIRST, *MORE_CLEAN, *MORE_CLASHING)
SIDES = ("before", "mine", "incoming")
COLUMNS = ("false", "missed", "unreadable", "other")
EDITS = 12
"""How many edits the two scripts of a random case have together."""


@dataclass(frozen=True)
class Sample:
    """`wanted` is the show that should come out, None where the sides clash; `known` says whether that is written down."""

    before: Show
    mine: Show
    incoming: Show
    wanted: Show | None
    known: bool = True

    @property
    def shows(self) -> tuple[Show, Show, Show]:
        return self.before, self.mine, self.incoming


def worked() -> Iterator[Sample]:
    for case in CASES:
        yield Sample(*case.shows, None if case.clashes else case.wanted)


def independent(count: int) -> Iterator[Sample]:
    for seed in range(count):
        before = random_show(seed)
        ours, theirs = parallel_edits(before, seed, EDITS)
        mine, incoming = apply_edits(before, ours), apply_edits(before, theirs)
        yield Sample(before, mine, incoming, apply_edits(mine, theirs))


def crossing(count: int) -> Iterator[Sample]:
    for seed in range(count):
        before = random_show(seed)
        rng = Random(seed)
        sides = [apply_edits(before, random_edits(before, rng.randrange(2**32), EDITS // 2)) for _ in range(2)]
        merged = merge(before, *sides)
        yield Sample(before, sides[0], sides[1], merged.show if merged.clean else None, known=False)


# --- merging by lines ------------------------------------------------------------------------------------------------


class Folders:
    """All sides of all samples as commits of one repository."""

    def __init__(self, samples: list[Sample], place: Path) -> None:
        self.place = place
        self.git("init", "--quiet", "--bare", ".")
        stream = b"".join(
            _commit(side, number, show)
            for number, sample in enumerate(samples)
            for side, show in zip(SIDES, sample.shows, strict=True)
        )
        self.git("fast-import", "--quiet", "--force", data=stream)

    def git(self, *words: str, data: bytes | None = None, may_fail: bool = False) -> subprocess.CompletedProcess[bytes]:
        done = subprocess.run(["git", *words], cwd=self.place, input=data, capture_output=True, check=False)
        if done.returncode and not may_fail:
            raise SystemExit(f"git {words[0]}: {done.stderr.decode()}")
        return done

    def merged(self, number: int) -> Show | str:
        """The show that git wrote; else `conflict` or `unreadable`."""
        done = self.git("merge-tree", "--write-tree", f"mine-{number}", f"incoming-{number}", may_fail=True)
        if done.returncode:
            if done.returncode != 1:
                raise SystemExit(f"git merge-tree: {done.stderr.decode()}")
            return "conflict"
        packed = self.git("archive", "--format=tar", done.stdout.split()[0].decode()).stdout
        with tempfile.TemporaryDirectory() as folder, tarfile.open(fileobj=io.BytesIO(packed)) as archive:
            archive.extractall(folder, filter="data")
            try:
                return read_folder(Path(folder))
            except ShowError:
                return "unreadable"


def _commit(side: str, number: int, show: Show) -> bytes:
    came_from = b"" if side == "before" else f"from refs/heads/before-{number}\n".encode()
    files = b"".join(
        b"M 100644 inline %s\ndata %d\n%s\n" % (path.encode(), len(text.encode()), text.encode())
        for path, text in folder_texts(show).items()
    )
    head = f"commit refs/heads/{side}-{number}\ncommitter bench <bench@example.org> 0 +0000\ndata 0\n".encode()
    return head + came_from + b"deleteall\n" + files + b"\n"


def merged_file(sample: Sample) -> Show | str:
    """The single document that `git merge-file` wrote; else `conflict` or `unreadable`."""
    with tempfile.TemporaryDirectory() as folder:
        for side, show in zip(SIDES, sample.shows, strict=True):
            (Path(folder) / side).write_text(single_text(show), encoding="utf-8")
        words = ["git", "merge-file", "--stdout", "mine", "before", "incoming"]
        done = subprocess.run(words, cwd=folder, capture_output=True, check=False)
    if done.returncode:
        if done.returncode > 127:
            raise SystemExit(f"git merge-file: {done.stderr.decode()}")
        return "conflict"
    try:
        return read_single(done.stdout, "merged.show.yaml")
    except ShowError:
        return "unreadable"


# --- merging as JSON -------------------------------------------------------------------------------------------------


def merged_json(sample: Sample) -> Show | str:
    """The single document that nbdime's generic merge made; else `conflict` or `unreadable`."""
    from nbdime.merging.decisions import apply_decisions
    from nbdime.merging.generic import decide_merge

    trees = [json.loads(json.dumps(show.tree())) for show in sample.shows]
    decisions = decide_merge(*trees)
    if any(decision.conflict for decision in decisions):
        return "conflict"
    try:
        return show_from_tree(apply_decisions(trees[0], decisions))
    except (ValueError, ShowError):
        return "unreadable"


def has_json_merge() -> bool:
    return importlib.util.find_spec("nbdime") is not None


# --- counting --------------------------------------------------------------------------------------------------------


def ours_is_right(sample: Sample) -> bool:
    merged = merge(*sample.shows)
    if sample.wanted is None or not merged.clean:
        return merged.clean == (sample.wanted is not None)
    if sample.known:
        return merged.show == sample.wanted
    return _stops(merged.show) <= _stops(sample.mine) | _stops(sample.incoming)


def _stops(show: Show) -> set[tuple[str, tuple[str, ...]]]:
    return {(found.code, found.paths) for found in check(show) if found.severity == "block"}


def verdict(sample: Sample, by_lines: Show | str) -> str:
    """What is to be said of a merge by lines: one of COLUMNS, or `same`."""
    if by_lines == "conflict":
        return "same" if sample.wanted is None else "false"
    if sample.wanted is None:
        return "missed"
    if by_lines == "unreadable":
        return "unreadable"
    return "same" if by_lines == sample.wanted else "other"


def count(samples: list[Sample]) -> tuple[Counter[str], Counter[str], Counter[str], int]:
    with tempfile.TemporaryDirectory() as place:
        folders = Folders(samples, Path(place))
        by_folder = Counter(verdict(sample, folders.merged(number)) for number, sample in enumerate(samples))
    by_file = Counter(verdict(sample, merged_file(sample)) for sample in samples)
    by_json = Counter(verdict(sample, merged_json(sample)) for sample in samples if has_json_merge())
    return by_folder, by_file, by_json, sum(not ours_is_right(sample) for sample in samples)


def main() -> None:
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    sorts = {
        "worked cases": list(worked()),
        "independent edits": list(independent(many)),
        "edits that may cross": list(crossing(many)),
    }
    version = subprocess.run(["git", "--version"], capture_output=True, text=True, check=True).stdout.strip()
    print(f"{version}; {EDITS} edits in a random case")
    print(
        f"{'':22}{'':>7}{'':>9}  {'git merge, show folder':^36}  {'git merge-file, one document':^36}  {'nbdime, the JSON of it':^36}"
    )
    columns = "".join(f"{column:>{len(column) + 2 if column == 'unreadable' else 8}}" for column in COLUMNS)
    print(f"{'':22}{'cases':>7}{'clashes':>9}  {columns}  {columns}  {columns}  {'ours':>5}")
    for sort, samples in sorts.items():
        *by_lines, wrong = count(samples)
        clashes = sum(sample.wanted is None for sample in samples)
        cells = "  ".join(
            "".join(f"{found[c]:>{12 if c == 'unreadable' else 8}}" for c in COLUMNS) for found in by_lines
        )
        print(f"{sort:22}{len(samples):>7}{clashes:>9}  {cells}  {wrong:>5}")


if __name__ == "__main__":
    main()
