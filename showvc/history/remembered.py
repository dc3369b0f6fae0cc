"""Settlements that were made before, by the keys of their conflicts, kept in the history and shared over the hub."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from datetime import datetime

from showvc.history.archive import Archive, Person
from showvc.merging import Conflict, Settlement

SETTLED = "refs/showvc/settled"
_OID = re.compile("[0-9a-f]{40,64}")
_MACHINE = Person("showvc", "operations@showvc.invalid")


def remembered(archive: Archive, conflicts: Iterable[Conflict]) -> dict[str, Settlement]:
    """The settlements of these conflicts that somebody made before, by key."""
    wanted = {conflict.key for conflict in conflicts}
    known = _known(archive) if wanted else {}
    blobs = dict(archive.blobs(known[key] for key in wanted & known.keys()))
    found = {key: _read(blobs[known[key]]) for key in wanted & known.keys()}
    return {key: settlement for key, settlement in found.items() if settlement is not None and settlement.key == key}


def remember(archive: Archive, settlements: Iterable[Settlement]) -> None:
    """Keeps settlements; the newest decision about the same conflict stands."""
    made = {each.key: archive.store("blob", json.dumps(each.plain(), sort_keys=True).encode()) for each in settlements}
    if made:
        keep_known(archive, {**_known(archive), **made})


def keep_known(archive: Archive, known: Mapping[str, str], also: str | None = None) -> None:
    """Makes this the table of settlements, key → blob; `also` is another table's commit that went into it."""
    tree = archive.write_tree({f"{key[:2]}/{key[2:]}": blob for key, blob in known.items()})
    last = archive.ref(SETTLED)
    if last is not None and archive.tree_of(last) == tree and also is None:
        return
    parents = [oid for oid in (last, also) if oid]
    commit = archive.write_commit(tree, parents, _MACHINE, datetime.now().astimezone(), "settlements\n")
    archive.git("update-ref", SETTLED, commit)


def known_in(archive: Archive, commit: str) -> dict[str, str]:
    """The table of settlements of a commit: key → blob."""
    return {path.replace("/", ""): oid for path, oid in archive.files(archive.tree_of(commit)).items()}


def _known(archive: Archive) -> dict[str, str]:
    last = archive.ref(SETTLED)
    return known_in(archive, last) if last else {}


def _read(data: bytes) -> Settlement | None:
    """A settlement from the history; None for one that is none, since a hub may hold anything."""
    try:
        plain = json.loads(data)
        settlement = Settlement.from_plain(plain)
        sound = settlement.how in ("mine", "incoming", "both", "follow", "value") and isinstance(settlement.who, str)
        sound = sound and all(_OID.fullmatch(code) for code in settlement.at)
    except (ValueError, KeyError, TypeError, AttributeError, IndexError):
        return None
    return settlement if sound else None
