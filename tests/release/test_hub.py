"""Several engineers release and exchange: they come to rest on one record of each release."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from showvc.history.archive import Archive
from showvc.history.hub_incoming import RELEASE_TABLE
from showvc.history.hub_join import join_hub
from showvc.history.hub_tables import JOINS
from showvc.history.shows import Shows
from showvc.release.stamp import stamp_of
from showvc.release.store import Packed, join_table, release, releases
from tests.history.hubs import Engineer, git, made_pair
from tests.release.desk import Desk, desk
from tests.release.salt import edited, salt

__all__ = ["desk"]

OPTIONS: dict[str, Any] = {"joins": {**JOINS, RELEASE_TABLE: join_table}, "stamp_of": stamp_of}
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
    return git(archive.folder, "commit-tree", tree, "-m", "releases")


def joined(archive: Archive, ours: str, theirs: str) -> dict[str, str]:
    archive.change_refs({RELEASE_TABLE: ours})
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


# A hub that lies about a stamp


def test_a_release_that_leads_to_another_show_than_its_stamp_says_is_not_taken(tmp_path: Path) -> None:
    """Whoever restores a stamp before doors gets that show, or none."""
    ann, ben, hub = made_pair(tmp_path, salt())
    stamp = released(ann).released.stamp
    ann.sync(**OPTIONS)
    ann.record(edited(salt(), "users", "sm", label="STAGE"))
    ann.sync(**OPTIONS)
    name = f"refs/releases/{stamp}"
    git(hub, "update-ref", name, ann.last)
    done = ben.sync(**OPTIONS)
    assert done.needs_person
    assert [notice.kind for notice in done.notices if stamp in notice.words] == ["refused"]
    assert name not in ben.archive.refs()
    assert ben.last == ann.last, "the snapshots themselves are sound"
    assert ben.sync(**OPTIONS).needs_person, "it is said each time, until the hub is put right"
    joined_now = join_hub(str(hub), tmp_path / "cy", "Cy Tour", stamp_of=stamp_of)
    assert any(stamp in notice.words and notice.needs_person for notice in joined_now.notices)
    assert name not in Engineer(tmp_path / "cy").archive.refs()


def test_an_engineer_who_has_the_release_keeps_the_true_one(tmp_path: Path) -> None:
    ann, _, hub = made_pair(tmp_path, salt())
    made = released(ann).released
    ann.sync(**OPTIONS)
    ann.record(edited(salt(), "users", "sm", label="STAGE"))
    ann.sync(**OPTIONS)
    git(hub, "update-ref", f"refs/releases/{made.stamp}", ann.last)
    assert ann.sync(**OPTIONS).needs_person
    assert [each.code for each in releases(ann.archive)] == [made.code]
