"""Several engineers release and exchange: they come to rest on one record of each release."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from showvc.history.archive import Archive
from showvc.history.hub_incoming import RELEASE_TABLE
from showvc.history.hub_tables import JOINS
from showvc.history.shows import Shows
from showvc.release.store import Packed, join_table, release, releases
from tests.history.hubs import Engineer, made_pair
from tests.release.desk import Desk, desk
from tests.release.salt import salt

__all__ = ["desk"]

OPTIONS: dict[str, Any] = {"joins": {**JOINS, RELEASE_TABLE: join_table}}
LOST = {"sm-fly": {"from": "lxop", "to": "fly", "why": "spots are called here"}}


def released(engineer: Engineer, over: str | None = None) -> Packed:
    archive = engineer.archive
    return release(archive, Shows(archive), engineer.last, over)


def test_two_who_release_the_same_content_agree_and_come_to_rest(tmp_path: Path) -> None:
    ann, ben, _ = made_pair(tmp_path, salt(required=LOST))
    first = released(ann, "agreed with the deck").released
    second = released(ben, "agreed with the house").released
    assert first.stamp == second.stamp
    for engineer in (ben, ann, ben):
        engineer.sync(**OPTIONS)
    for engineer in (ann, ben, ann):
        assert not engineer.sync(**OPTIONS).names_sent
    told = [releases(engineer.archive) for engineer in (ann, ben)]
    assert told[0] == told[1]
    assert {each.over for each in told[0]} <= {first.over, second.over}
    assert ann.archive.ref(RELEASE_TABLE) == ben.archive.ref(RELEASE_TABLE)


def test_after_an_exchange_both_pack_the_same_file(tmp_path: Path) -> None:
    """Whichever of the two reasons stands, it stands on both packs."""
    ann, ben, _ = made_pair(tmp_path, salt(required=LOST))
    released(ann, "agreed with the deck")
    released(ben, "agreed with the house")
    for engineer in (ann, ben, ann):
        engineer.sync(**OPTIONS)
    assert released(ann).data == released(ben).data


def line(archive: Archive, when: str, who: str) -> str:
    told = {"when": when, "who": who, "note": "", "over": None, "previous": None}
    return archive.store("blob", json.dumps(told).encode())


def table(archive: Archive, lines: dict[str, str]) -> str:
    tree = archive.write_tree(lines)
    return archive.git("commit-tree", tree, "-m", "releases").strip()


def joined(archive: Archive, ours: str, theirs: str) -> dict[str, str]:
    archive.git("update-ref", RELEASE_TABLE, ours)
    join_table(archive, theirs)
    found = archive.ref(RELEASE_TABLE)
    assert found is not None
    return archive.files(found)


STAMP, OTHER = "K7F-2R4-W36R", "WRF-R5H-365H"


def test_of_two_records_of_one_release_the_earlier_stands_whatever_the_zone(desk: Desk) -> None:
    archive = desk.archive
    early = line(archive, "2026-11-25T19:30:00+02:00", "Bo Front")
    late = line(archive, "2026-11-25T18:30:00+00:00", "Ada Deck")
    alone = line(archive, "2026-11-24T10:00:00+00:00", "Cy Tour")
    one, two = table(archive, {STAMP: early, OTHER: alone}), table(archive, {STAMP: late})
    assert joined(archive, one, two) == joined(archive, two, one) == {STAMP: early, OTHER: alone}


def test_a_record_that_says_nothing_never_stands_against_one_that_does(desk: Desk) -> None:
    archive = desk.archive
    sound = line(archive, "2026-11-25T19:30:00+02:00", "Bo Front")
    broken = archive.store("blob", b'{"when": "soon"}')
    one, two = table(archive, {STAMP: sound}), table(archive, {STAMP: broken})
    assert joined(archive, one, two) == joined(archive, two, one) == {STAMP: sound}
