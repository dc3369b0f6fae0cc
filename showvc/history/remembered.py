"""Settlements that were made before, by the keys of their conflicts, kept in the history and shared over the hub."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import TYPE_CHECKING

from showvc.history.archive import Archive, Person
from showvc.merging import Conflict, Settlement

if TYPE_CHECKING:
    from showvc.history.operations import Step

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


def remember(step: Step, settlements: Iterable[Settlement]) -> None:
    """Keeps settlements, when the command happens; the newest decision about the same conflict stands."""
    archive = step.archive
    made = {each.key: archive.store("blob", json.dumps(each.plain(), sort_keys=True).encode()) for each in settlements}
    if made and (commit := _written(archive, {**_known(archive), **made})):
        step.remember(SETTLED, commit)


def keep_known(archive: Archive, known: Mapping[str, str], also: str | None = None) -> None:
    """Makes this the table of settlements, key → blob; `also` is another table's commit that went into it."""
    if commit := _written(archive, known, also):
        archive.change_refs({SETTLED: commit})


def _written(archive: Archive, known: Mapping[str, str], also: str | None = None) -> str | None:
    """The commit of this table; None where it is the one that is there."""
    tree = archive.write_tree({f"{key[:2]}/{key[2:]}": blob for key, blob in known.items()})
    last = archive.ref(SETTLED)
    if last is not None and archive.tree_of(last) == tree and also is None:
        return None
    parents = [oid for oid in (last, also) if oid]
    return archive.write_commit(tree, parents, _MACHINE, datetime.now().astimezone(), "settlements\n")


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
