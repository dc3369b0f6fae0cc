"""Paths into the document: RFC 6901 JSON Pointers."""

from __future__ import annotations

import re

from showvc.document.problems import ShowError

Steps = tuple[str, ...]


def parse(pointer: str) -> Steps:
    """The steps of a pointer; the leading slash may be left out. ShowError for a stray `~`."""
    if pointer in ("", "/"):
        return ()
    if re.search(r"~(?![01])", pointer):
        raise ShowError(f"{pointer!r} is not a path: '~' is written '~0', and '/' within a name '~1'")
    inner = pointer[1:] if pointer.startswith("/") else pointer
    return tuple(step.replace("~1", "/").replace("~0", "~") for step in inner.split("/"))


def join(*steps: str) -> str:
    """The pointer of these steps: `join('users', 'sm')` → `/users/sm`."""
    return "".join("/" + step.replace("~", "~0").replace("/", "~1") for step in steps)
