"""Merging texts by lines."""

from __future__ import annotations


def merge_lines(before: str, mine: str, incoming: str) -> str | None:
    """The text with the edits of both sides, or None where they overlap."""
    from merge3 import Merge3

    base, one, other = (text.splitlines(keepends=True) for text in (before, mine, incoming))
    merge = Merge3(base, one, other)
    merged: list[str] = []
    for group in merge.merge_groups():
        if group[0] == "conflict":
            return None
        merged += group[1]
    return "".join(merged)
