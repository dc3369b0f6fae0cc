"""Patterns of paths: `*` stands for any part of one step, and for nothing across steps."""

from __future__ import annotations

from fnmatch import fnmatchcase


def matches(name: str, pattern: str) -> bool:
    """Whether one step is as the pattern says; `*` alone is special in it."""
    return fnmatchcase(name, pattern.replace("[", "[[]").replace("?", "[?]"))


def is_pattern(path: str) -> bool:
    """Whether a path, or one step, may name several places."""
    return "*" in path
