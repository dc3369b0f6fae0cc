"""Merging texts by lines."""

from __future__ import annotations

from showvc.merging.sides import Sides


def merge_lines(texts: Sides[str]) -> str | None:
    """The text with the edits of both sides, or None where they overlap."""
    from merge3 import Merge3

    lines = texts.map(lambda text: text.splitlines(keepends=True))
    merge = Merge3(lines.before, lines.mine, lines.incoming)
    merged: list[str] = []
    for group in merge.merge_groups():
        if group[0] == "conflict":
            return None
        merged += group[1]
    return "".join(merged)
