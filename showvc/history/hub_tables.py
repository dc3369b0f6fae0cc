"""The tables that go along with an exchange: remembered settlements, and whatever else joins line by line."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import datetime

from showvc.history.archive import Archive
from showvc.history.remembered import SETTLED, keep_known, known_in
from showvc.store.calling import GitFailed

Join = Callable[[Archive, str], None]
"""Takes a hub's table, given by its commit, into ours."""


def join_settled(archive: Archive, theirs: str) -> None:
    """Takes the hub's settlements into ours; of two decisions about one conflict the later one stands."""
    mine, other = archive.ref(SETTLED), known_in(archive, theirs)
    known = known_in(archive, mine) if mine else {}
    doubled = {key for key in known.keys() & other.keys() if known[key] != other[key]}
    blobs = dict(archive.blobs([oid for key in doubled for oid in (known[key], other[key])]))
    later = {key: max(known[key], other[key], key=lambda oid: (_moment(blobs[oid]), oid)) for key in doubled}
    keep_known(archive, {**known, **other, **later}, also=theirs)


def _moment(data: bytes) -> float:
    """When a decision was made; what says nothing sensible counts as the oldest."""
    try:
        return datetime.fromisoformat(json.loads(data)["when"]).timestamp()
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return float("-inf")


JOINS: Mapping[str, Join] = {SETTLED: join_settled}


def join_table(archive: Archive, name: str, theirs: str | None, join: Join) -> str | None:
    """Our table after the hub's went into it; None where neither has one.

    Where both say the same, ours becomes the hub's, so that two engineers do not answer each other for ever.
    """
    mine = archive.ref(name)
    if theirs is None or mine == theirs:
        return mine
    if mine is not None and archive.tree_of(mine) != archive.tree_of(theirs):
        if _leads_to(archive, mine, theirs):
            return mine
        join(archive, theirs)
        mine = archive.ref(name)
    if mine is None or archive.tree_of(mine) == archive.tree_of(theirs):
        archive.change_refs({name: theirs})
        return theirs
    return mine


def _leads_to(archive: Archive, one: str, other: str) -> bool:
    try:
        archive.git("merge-base", "--is-ancestor", other, one)
    except GitFailed:
        return False
    return True
