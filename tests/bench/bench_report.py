"""A report and key sheets at the largest size: seconds, the page's size, and ratios against public references.

    python -m tests.bench.bench_report

The references work on the same edits in the same run: difflib's HtmlDiff, which makes an HTML page of the texts of
the things that changed, and `compare` with its effect, which tells the same without drawing it.
"""

from __future__ import annotations

from collections.abc import Callable
from difflib import HtmlDiff
from pathlib import Path
from typing import Any

from showvc.changes import compare
from showvc.document import Show
from showvc.formats.folder import folder_texts
from showvc.history.sources import Source
from showvc.report.keysheets import key_sheet_page
from showvc.report.report import report, report_page
from tests.bench.ground import best
from tests.bench.largest import largest_show
from tests.generator import apply_edits, random_edits

EDITS = 20


def page_of(before: Show, after: Show) -> str:
    sources = (Source(name, show, file=Path(name)) for name, show in (("before", before), ("after", after)))
    return report_page(report(*sources))


def line_page(before: Show, after: Show) -> str:
    """What difflib makes of the texts that differ, one beside the other."""
    old, new = folder_texts(before), folder_texts(after)
    apart = sorted(path for path in {*old, *new} if old.get(path) != new.get(path))
    sides = [[line for path in apart for line in texts.get(path, "").splitlines()] for texts in (old, new)]
    return HtmlDiff(wrapcolumn=80).make_file(*sides)


def told(what: str, work: Callable[[], Any], rounds: int = 3) -> float:
    made: list[Any] = []
    took = best(lambda: made.append(work()), rounds).wall
    size = f"{len(made[-1].encode()) / 1024:10,.0f} KiB" if isinstance(made[-1], str) else ""
    print(f"{what:58} {took:8.3f} s {size}")
    return took


def main() -> None:
    before = largest_show()
    after = apply_edits(before, random_edits(before, 7, EDITS))
    compared = told(f"compare with its effect, {EDITS} edits", lambda: compare(before, after))
    lines = told("difflib HtmlDiff of the texts that differ", lambda: line_page(before, after))
    drawn = told(f"report, {EDITS} edits: page", lambda: page_of(before, after))
    print(f"  report against compare {drawn / compared:.1f} ×, against HtmlDiff {drawn / lines:.2f} ×")
    told("key sheets of 250 devices: page with strips", lambda: key_sheet_page(before, before.devices))
    other = largest_show(2)
    compared = told("compare with its effect, two strange shows", lambda: compare(before, other), 1)
    drawn = told("report, two strange shows: page, long parts cut", lambda: page_of(before, other), 1)
    print(f"  report against compare {drawn / compared:.1f} ×")


if __name__ == "__main__":
    main()
