"""What git says went wrong, in our words. Git's own sentence stands in quotes behind them, where it helps."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from showvc.document.lining import cut, printable

_MOST = 20
_LONGEST = 160

_KINDS: Mapping[str, str] = {"blob": "file", "tree": "list of files", "commit": "snapshot", "tag": "mark"}
_OID = r"(?P<oid>[0-9a-f]{40})"
_MISSING = re.compile(rf"missing (?P<kind>blob|tree|commit|tag) {_OID}")
_SPOILED = re.compile(r"(?:(?P<oid>[0-9a-f]{40}): )?(?:object corrupt or missing|hash-path mismatch).*: (?P<path>\S+)")
_NOWHERE = re.compile(r"(?P<name>refs/\S+): (?:invalid sha1 pointer|not a commit).*")
_ODD = re.compile(rf"error in (?P<kind>blob|tree|commit|tag) {_OID}: \w+: (?P<why>.*)")
_FOLLOWS = re.compile(
    r"(?:broken link from|to) +\w+ [0-9a-f]{40}|HEAD: invalid sha1 pointer.*|.*in cache-tree|inflate: .*|hint:.*"
    r"|unable to (?:unpack header|unpack|mmap|parse) .*|object file \S+ is empty|(?:dangling|notice:|garbage at end) .*"
    r"|(?:corrupt|bad) loose object .*"
)
"""Lines that only say the same again, or what follows from it."""


def damage_words(said: str) -> tuple[str, ...]:
    """What `git fsck` said, each damage once: what is spoiled or missing, and what leads nowhere."""
    lines = [re.sub(r"^\s*(?:error|fatal|warning): |^\s+", "", line).strip() for line in said.split("\n")]
    lines = list(dict.fromkeys(line for line in lines if line))
    told = [*_spoiled(lines), *_missing(lines), *_others(lines)]
    more = len(told) - _MOST
    return tuple(told if more <= 0 else [*told[:_MOST], f"… and {more} more"])


def _place(path: str) -> str:
    """The id that a file of the history is named by."""
    return "".join(path.split("/")[-2:])


def _spoiled(lines: list[str]) -> Iterator[str]:
    paths = dict.fromkeys(found["path"] for line in lines if (found := _SPOILED.fullmatch(line)))
    kinds = {found["oid"]: found["kind"] for line in lines if (found := _MISSING.fullmatch(line))}
    for path in paths:
        kind = _KINDS.get(kinds.get(_place(path), ""), "part of the history")
        yield f"a {kind} is spoiled: {_place(path)[:12]}, in {path}"


def _missing(lines: list[str]) -> Iterator[str]:
    spoiled = {_place(found["path"]) for line in lines if (found := _SPOILED.fullmatch(line))}
    for line in lines:
        found = _MISSING.fullmatch(line)
        if found and found["oid"] not in spoiled:
            yield f"a {_KINDS[found['kind']]} is missing: {found['oid'][:12]}"


def _others(lines: list[str]) -> Iterator[str]:
    for line in lines:
        if found := _NOWHERE.fullmatch(line):
            yield f"the {called(found['name'])} leads to nothing"
        elif found := _ODD.fullmatch(line):
            yield f"a {_KINDS[found['kind']]} is not as it is written: {found['oid'][:12]} (git says: {found['why']})"
        elif not any(known.fullmatch(line) for known in (_MISSING, _SPOILED, _FOLLOWS)):
            yield f"git says: {quoted(line)}"


def called(name: str) -> str:
    for prefix, word in (
        ("refs/heads/", "draft "),
        ("refs/tags/", "mark "),
        ("refs/releases/", "release "),
        ("refs/hub/", "hub's "),
        ("refs/showvc/", "list of "),
    ):
        if name.startswith(prefix):
            return word + name.removeprefix(prefix)
    return name


# --- a command that failed ---

FULL = "the disk is full"
_REASONS = (
    (
        r"Unable to create '(?P<file>[^']*\.lock)': File exists|cannot lock ref.*'(?P<other>[^']*\.lock)': File exists",
        "another program holds the history, or was killed at it",
        "try again in a minute; if nothing else works here, take this file away: {file}",
    ),
    (
        r"Too many open files|Resource temporarily unavailable|cannot fork",
        "this machine lets no more files be open, or programs run",
        "close other programs, or allow more (ulimit -n 256), then try again",
    ),
    (r"No space left|[Qq]uota exceeded", FULL, "make room, then do it again; nothing was changed"),
    (
        r"[Pp]ermission denied|Read-only file system|insufficient permission",
        "the history may not be written or read",
        "check the permissions",
    ),
    (
        r"missing object|bad object|corrupt|unable to (?:read|parse|find)|not a valid object|bad tree|broken"
        r"|missing blob|missing tree|Could not read|inflate|is empty|bad (?:ref|revision)|did not send",
        "the history is damaged",
        "see what is spoiled or missing with: showvc verify",
    ),
)


def failure_words(said: str) -> tuple[str, str]:
    """Why git ended with an error, and the way out, from what it wrote on stderr."""
    lines = [line for line in said.split("\n") if line.strip() and not line.startswith(("hint:", "warning:"))]
    first = re.sub(r"^(?:fatal|error): ", "", next(iter(lines), "no reason given"))
    for pattern, words, way_out in _REASONS:
        if found := re.search(pattern, said):
            if words == FULL:  # what git was about to write then is of no use to anybody
                return words, way_out
            file = next((value for value in found.groupdict().values() if value), "")
            return f"{words} (git says: {quoted(first)})", way_out.format(file=file)
    return f"the history could not be read or written (git says: {quoted(first)})", "see if it is whole: showvc verify"


def quoted(line: str) -> str:
    """A sentence of git's as it may stand on a screen."""
    return f'"{cut(printable(line), _LONGEST)}"'
