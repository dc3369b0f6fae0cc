"""Lists of files, of which somebody else may have written every byte."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

import pytest

from showvc.document import ShowError
from showvc.store.trees import Reading, is_file_name

# Git's `fsck` calls these hasDot, hasDotdot, hasDotgit and fullPathname; the spellings for NTFS and HFS+ are from
# its own tests of CVE-2014-9390 (from memory).
ELSEWHERE = (
    "..", ".", "../up", "users/../../up", "/etc/passwd", "a/b", ".git", ".GIT", ".Git", ".git.", ".git ", ".git . .",
    "git~1", "GIT~1", ".git::$INDEX_ALLOCATION", ".g\u200cit", "\u200e.git", ".git\ufeff", "..\\up", ".git\\config",
    "C:up", "... .",
)  # fmt: skip
NAMES = (
    "show.yaml",
    "sm.yaml",
    "users",
    ".gitignore",
    ".gitattributes",
    "git",
    "a.git",
    "..a",
    "Straße.yaml",
    "git~10",
)


@pytest.mark.parametrize("name", ELSEWHERE)
def test_a_name_that_leads_elsewhere_is_none(name: str) -> None:
    assert not is_file_name(name)


@pytest.mark.parametrize("name", NAMES)
def test_other_names_are(name: str) -> None:
    assert is_file_name(name)


class Made:
    """Trees that were written byte by byte."""

    def __init__(self) -> None:
        self.known: dict[str, bytes] = {}

    def tree(self, *entries: tuple[str, str, str]) -> str:
        data = b"".join(f"{mode} {name}".encode() + b"\0" + bytes.fromhex(oid) for mode, name, oid in entries)
        oid = hashlib.sha1(b"tree %d\0" % len(data) + data).hexdigest()
        self.known[oid] = data
        return oid

    def files(self, tree: str) -> Sequence[str]:
        return [path for path, _, _ in Reading(self.known.__getitem__).files(tree)]


@pytest.mark.parametrize("name", ["..", ".GIT", "a/b"])
def test_such_a_list_is_not_read_at_any_depth(name: str) -> None:
    made, blob = Made(), "1" * 40
    inner = made.tree(("100644", ".profile", blob))
    outer = made.tree(("40000", name, inner), ("100644", "show.yaml", blob))
    for tree in (outer, made.tree(("40000", "users", outer))):
        with pytest.raises(ShowError, match="names what is no file of a folder"):
            made.files(tree)
    assert made.files(inner) == [".profile"]
