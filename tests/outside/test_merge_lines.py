"""Merging texts by lines, held to a paper, to the merge3 library, to GNU diff3 and to git.

Source: Khanna, Kunal and Pierce, "A Formal Investigation of Diff3" (2007): its worked example, and what it says of edits
that lie apart. Both from memory.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st
from merge3 import Merge3

from showvc.merging import Sides
from showvc.merging import lines as by_lines


def merge_lines(before: str, mine: str, incoming: str) -> str | None:
    return by_lines.merge_lines(Sides(before, mine, incoming))


def text(lines: list[object]) -> str:
    return "".join(f"{line}\n" for line in lines)


# The paper's example: A moves 4 and 5 before 2, B moves 3 behind 5.
BEFORE = text([1, 2, 3, 4, 5, 6])
MINE = text([1, 4, 5, 2, 3, 6])
INCOMING = text([1, 2, 4, 5, 3, 6])


def groups(before: str, mine: str, incoming: str) -> list[tuple[object, ...]]:
    parts = (side.splitlines(keepends=True) for side in (before, mine, incoming))
    return [*Merge3(*parts).merge_groups()]


def test_the_worked_example_of_the_paper_in_the_library() -> None:
    kinds = [(group[0], *("".join(part).split() for part in group[1:])) for group in groups(BEFORE, MINE, INCOMING)]
    assert kinds == [
        ("unchanged", ["1"]),
        ("a", ["4", "5"]),
        ("unchanged", ["2"]),
        ("conflict", ["3", "4", "5"], ["3"], ["4", "5", "3"]),
        ("unchanged", ["6"]),
    ]


@pytest.mark.skipif(shutil.which("diff3") is None, reason="GNU diff3 is not installed")
def test_the_worked_example_of_the_paper_in_gnu_diff3() -> None:
    with TemporaryDirectory() as folder:
        for name, side in (("O", BEFORE), ("A", MINE), ("B", INCOMING)):
            (Path(folder) / name).write_text(side, encoding="ascii")
        said = subprocess.run(["diff3", "-m", "A", "O", "B"], cwd=folder, capture_output=True, text=True, check=False)
    assert said.returncode == 1
    marked = [
        "1",
        "4",
        "5",
        "2",
        "<<<<<<< A",
        "3",
        "||||||| O",
        "3",
        "4",
        "5",
        "=======",
        "4",
        "5",
        "3",
        ">>>>>>> B",
        "6",
    ]
    assert said.stdout.split("\n")[:-1] == marked


def test_the_worked_example_of_the_paper_is_a_conflict_for_a_person() -> None:
    assert merge_lines(BEFORE, MINE, INCOMING) is None


def test_the_part_of_the_example_that_lies_apart_goes_through() -> None:
    assert merge_lines(BEFORE, MINE, BEFORE) == MINE
    assert merge_lines(BEFORE, text([1, 4, 5, 2, 3, 4, 5, 6]), text([1, 2, 3, 4, 5, 6, 7])) == text(
        [1, 4, 5, 2, 3, 4, 5, 6, 7]
    )


# --- the library itself


lines = st.lists(st.sampled_from(("load-in", "focus", "rehearsal", "doors", "")), max_size=7)
endings = st.sampled_from(("", "\n"))
texts = st.tuples(lines, endings).map(lambda made: "\n".join(made[0]) + made[1])


@given(texts, texts, texts)
def test_what_the_library_merges_without_a_marker_is_our_text(before: str, mine: str, incoming: str) -> None:
    parts = [side.splitlines(keepends=True) for side in (before, mine, incoming)]
    marked = list(Merge3(*parts).merge_lines(start_marker="<<<", mid_marker="===", end_marker=">>>"))
    clean = not any(line.startswith(("<<<", "===", ">>>")) for line in marked)
    assert merge_lines(before, mine, incoming) == ("".join(marked) if clean else None)


@given(texts, texts)
def test_one_side_alone(before: str, edited: str) -> None:
    assert merge_lines(before, edited, before) == edited
    assert merge_lines(before, before, edited) == edited
    assert merge_lines(before, edited, edited) == edited


@given(texts, texts, texts)
def test_the_sides_turned(before: str, mine: str, incoming: str) -> None:
    assert merge_lines(before, mine, incoming) == merge_lines(before, incoming, mine)


# --- edits that lie apart: every line once, and an untouched one between any two edits


@st.composite
def edits_apart(draw: st.DrawFn) -> tuple[str, str, str, str]:
    """Before, mine, incoming, and what both edits make together."""
    count = draw(st.integers(1, 8))
    sides: tuple[list[str], list[str], list[str], list[str]] = ([], [], [], [])
    for place in range(count):
        edited_by = draw(st.sampled_from((None, "mine", "incoming")))
        how = draw(st.sampled_from(("rewrite", "take out", "put in")))
        old = [f"line {place}"]
        new = {"rewrite": [f"new {place}"], "take out": [], "put in": [f"new {place}", *old]}[how]
        for side, name in zip(sides, ("before", "mine", "incoming", "both"), strict=True):
            side.extend(new if edited_by and name in (edited_by, "both") else old)
            side.append(f"untouched {place}")
    before, mine, incoming, both = map(text, sides)  # type: ignore[arg-type]
    return before, mine, incoming, both


@given(edits_apart())
def test_edits_that_lie_apart_go_through_together(case: tuple[str, str, str, str]) -> None:
    before, mine, incoming, both = case
    assert merge_lines(before, mine, incoming) == both


@pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed")
@given(
    st.one_of(
        edits_apart().map(lambda case: case[:3]), st.tuples(*[st.permutations(("a", "b", "c", "d")).map(text)] * 3)
    )
)
def test_where_git_and_we_both_go_through_the_text_is_the_same(case: tuple[str, str, str]) -> None:
    with TemporaryDirectory() as folder:
        for name, side in zip(("before", "mine", "incoming"), case, strict=True):
            (Path(folder) / name).write_text(side, encoding="ascii")
        words = ["git", "merge-file", "--stdout", "mine", "before", "incoming"]
        done = subprocess.run(words, cwd=folder, capture_output=True, text=True, check=False)
    ours = merge_lines(*case)
    if done.returncode == 0 and ours is not None:
        assert ours == done.stdout
