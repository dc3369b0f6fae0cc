"""What the fleet reads out of a history, against git itself."""

from __future__ import annotations

import subprocess

from showvc.history.nearest import steps
from showvc.history.steps import common_base, content_ids, state_at
from tests.release.desk import Desk, desk
from tests.release.salt import edited, salt

__all__ = ["desk"]


def git(desk: Desk, *words: str, data: bytes | None = None) -> str:
    done = subprocess.run(["git", *words], cwd=desk.folder, input=data, capture_output=True, check=True)
    return done.stdout.decode().strip()


def test_the_content_ids_of_a_show_are_what_git_calls_its_files(desk: Desk) -> None:
    """`git ls-tree` of the recorded snapshot, and `git hash-object` of a file."""
    listed = [line.split(None, 3) for line in git(desk, "ls-tree", "-r", "HEAD").splitlines()]
    ids = content_ids(salt())
    assert ids == {path: oid for _, _, oid, path in listed}
    assert ids["show.yaml"] == git(desk, "hash-object", "show.yaml")


def test_the_steps_are_the_commits_of_git_and_lead_to_its_trees(desk: Desk) -> None:
    """`git rev-list --all`, `git ls-tree` of each, and `git merge-base` of two drafts that were merged."""
    first = desk.last
    left = desk.record(edited(salt(), "users", "sm", label="STAGE"))
    tree = git(desk, "rev-parse", f"{left}^{{tree}}")
    right = git(desk, "commit-tree", tree, "-p", first, "-m", "apart")
    both = git(desk, "commit-tree", f"{first}^{{tree}}", "-p", left, "-p", right, "-m", "together")
    git(desk, "update-ref", "refs/heads/other", both)
    found = steps(desk.archive)
    known = {step.code: step for step in found}
    assert set(known) == set(git(desk, "rev-list", "refs/heads/main", "refs/heads/other").split())
    for code in known:
        listed = [line.split(None, 3) for line in git(desk, "ls-tree", "-r", code).splitlines()]
        assert state_at(code, known) == {path: oid for _, _, oid, path in listed}
    assert common_base((left, right), found) == git(desk, "merge-base", left, right) == first
