"""Single objects of a history: a commit as git writes it, and what an object's name says of its content."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

from showvc.document import MachineError


@dataclass(frozen=True, slots=True)
class Commit:
    """A commit as git keeps it."""

    oid: str
    tree: str
    parents: tuple[str, ...]
    who: str
    email: str
    seconds: int
    zone: str
    message: str

    @staticmethod
    def parse(oid: str, data: bytes) -> Commit:
        head, _, message = data.decode("utf-8", "replace").partition("\n\n")
        fields = [line.split(" ", 1) for line in head.split("\n") if not line.startswith(" ")]
        parents = tuple(value for name, value in fields if name == "parent")
        tree = next(value for name, value in fields if name == "tree")
        author = next(value for name, value in fields if name == "author")
        found = re.fullmatch(r"(.*?) ?<(.*)> (-?\d+) ([-+]\d{4})", author)
        who, email, seconds, zone = found.groups() if found else (author, "", "0", "+0000")
        return Commit(oid, tree, parents, who, email, int(seconds), zone, message)


def blob_id(data: bytes) -> str:
    """The id that git gives to a blob of these bytes."""
    return hashlib.sha1(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def clean_name(name: str) -> str:
    """A name as git takes it: one line without angle brackets."""
    return re.sub(r"[<>\x00-\x1f\x7f]+", " ", name).strip() or "nobody"


def as_named(oid: str, kind: bytes, data: bytes) -> bytes:
    """These bytes, which must be the content that the name says. MachineError where they are not."""
    head = kind + b" %d\0" % len(data)
    if hashlib.sha1(head + data, usedforsecurity=False).hexdigest() != oid:
        raise MachineError(f"the object {oid[:12]} in the history is not what its name says", "run: showvc verify")
    return data
