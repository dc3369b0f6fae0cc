"""Releases in a real history: recorded, found again, packed again to the byte, and the fleet against them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from showvc.document import Show, ShowError
from showvc.formats.files import canonical
from showvc.history import operations
from showvc.history.archive import RELEASES, Archive
from showvc.history.nearest import steps
from showvc.history.pending import Pending
from showvc.history.shows import Shows
from showvc.history.sources import find_commit
from showvc.history.steps import SnapshotStep, state_at
from showvc.release.pack import verify
from showvc.release.readings import Reading
from showvc.release.stamp import EXAMPLE, stamp_of
from showvc.release.store import (
    TABLE,
    decide,
    find_release,
    fleet_of,
    join_table,
    release,
    releases,
    verify_known,
)
from tests.history.hubs import git
from tests.release.desk import Desk, desk
from tests.release.salt import edited, salt

__all__ = ["desk"]

LOST = {"sm-fly": {"from": "lxop", "to": "fly", "why": "spots are called here"}}


def released(desk: Desk, **more: Any) -> Any:
    return release(desk.archive, desk.shows, desk.last, **more)


def dump(device: str, show: Show) -> Reading:
    return Reading(device, f"{device}.json", stamp_of(show), show)


# Releasing


def test_a_release_is_recorded_with_stamp_snapshot_who_and_when(desk: Desk) -> None:
    packed = released(desk)
    (found,) = releases(desk.archive)
    assert found == packed.released
    assert (found.stamp, found.code, found.who, found.note) == (
        stamp_of(salt()),
        desk.last,
        "Ada Deck",
        "The show begins",
    )
    assert find_commit(desk.archive, found.stamp) == desk.last


def test_each_release_names_the_one_before_and_they_stay_in_order(desk: Desk) -> None:
    made = [released(desk).released]
    for label in ("ONE", "TWO", "THREE"):
        desk.record(edited(salt(), "users", "sm", label=label))
        made.append(released(desk).released)
    assert list(releases(desk.archive)) == made
    assert [found.previous for found in made] == [None, *(found.stamp for found in made[:-1])]


def test_releasing_the_same_snapshot_again_gives_the_same_file_to_the_byte(desk: Desk) -> None:
    first = released(desk)
    desk.record(edited(salt(), "users", "sm", label="STAGE"))
    released(desk)
    again = release(desk.archive, Shows(desk.archive), first.released.code)
    assert again.again
    assert again.data == first.data
    assert len(releases(desk.archive)) == 2


def test_another_desk_with_the_same_history_makes_the_same_file(desk: Desk, tmp_path: Path) -> None:
    import shutil

    desk.record(edited(salt(), "users", "sm", label="STAGE"))
    here = released(desk)
    shutil.copytree(desk.folder, tmp_path / "other")
    other = Archive.open(tmp_path / "other")
    assert release(other, Shows(other), here.released.code).data == here.data


def test_the_file_tells_what_changed_since_the_release_before(desk: Desk) -> None:
    before = released(desk).released
    desk.record(edited(edited(salt(), "users", "lxop", channels={}), "devices", "pack-02", keys={}))
    packed = released(desk, effect_words=lambda old, new, effect: [f"{len(effect.lost)} paths lost"])
    facts = verify(packed.data).facts
    assert facts is not None
    assert facts["previous"] == before.stamp
    assert [change["path"] for change in facts["changes"]] == ["/users/lxop/channels/lx", "/devices/pack-02/keys/A1"]
    assert ["lxop", "sm"] in facts["effect"]["lost"]
    assert facts["effect_words"] == [f"{len(facts['effect']['lost'])} paths lost"]


def test_a_broken_reference_is_never_released(desk: Desk) -> None:
    desk.record(edited(salt(), "devices", "pack-02", user="nobody"))
    for over in (None, "the truck leaves"):
        with pytest.raises(ShowError, match="nobody"):
            released(desk, over=over)
    assert releases(desk.archive) == ()
    assert desk.archive.ref(TABLE) is None


def test_a_lost_required_path_is_released_only_with_a_reason_which_is_kept(desk: Desk) -> None:
    desk.record(edited_head(salt(), required=LOST))
    assert [found.code for found in decide(desk.archive, desk.shows, desk.shows.at(desk.last)).blocks] == [
        "required-lost"
    ]
    with pytest.raises(ShowError, match="required path sm-fly"):
        released(desk)
    packed = released(desk, over="no fly rail in Karsbruck")
    assert releases(desk.archive)[0].over == "no fly rail in Karsbruck"
    facts = verify(packed.data).facts
    assert facts is not None
    assert facts["over"]["reason"] == "no fly rail in Karsbruck"
    assert release(desk.archive, desk.shows, desk.last).data == packed.data


def edited_head(show: Show, **fields: Any) -> Show:
    from showvc.document import show_from_tree

    return show_from_tree({**show.tree(), **fields})


def test_an_open_merge_keeps_every_snapshot_from_being_released(desk: Desk) -> None:
    before = desk.last
    desk.record(edited(salt(), "users", "sm", label="CALL", name="Caller"))
    incoming = desk.last
    desk.record(edited(salt(), "users", "sm", label="STAGE", name="Stage"))
    with operations.operation(desk.archive, "a merge that waits") as step:
        step.set(pending=Pending("merge", "deck", (before,), incoming, "Merged deck").plain())
    with pytest.raises(ShowError, match="2 conflicts"):
        released(desk)


def test_undo_steps_back_over_a_release_and_it_can_be_made_again(desk: Desk) -> None:
    first = released(desk)
    operations.undo(desk.archive)
    assert releases(desk.archive) == ()
    again = released(desk)
    assert not again.again
    assert again.data == first.data


def test_git_finds_nothing_wrong_with_the_history(desk: Desk) -> None:
    released(desk)
    desk.record(edited(salt(), "users", "sm", label="STAGE"))
    released(desk)
    git(desk.archive.folder, "fsck", "--strict", "--full")
    assert git(desk.archive.folder, "cat-file", "-t", RELEASES + stamp_of(salt())) == "commit"


# Finding and verifying


def test_a_release_is_found_by_its_stamp_however_it_is_typed(desk: Desk) -> None:
    made = released(desk).released
    assert find_release(desk.archive, made.stamp.lower().replace("-", " ")) == made
    with pytest.raises(ShowError, match="no release of this show"):
        find_release(desk.archive, EXAMPLE)


def test_a_release_file_is_known_to_its_history_and_to_no_other(desk: Desk) -> None:
    packed = released(desk)
    assert verify_known(desk.archive, desk.shows, packed.data, "f").release == packed.released
    assert verify_known(None, None, packed.data, "f").release is None
    operations.undo(desk.archive)
    known = verify_known(desk.archive, desk.shows, packed.data, "f")
    assert known.verdict.holds
    assert known.release is None


def test_a_stamp_that_leads_to_another_show_is_said(desk: Desk) -> None:
    packed = released(desk)
    other = desk.record(edited(salt(), "users", "sm", label="STAGE"))
    desk.archive.change_refs({RELEASES + packed.released.stamp: other})
    known = verify_known(desk.archive, desk.shows, packed.data, "f")
    assert "is not what snapshot" in known.verdict.problems[0].message
    with pytest.raises(ShowError, match="is taken by snapshot"):
        release(desk.archive, desk.shows, packed.released.code)


# What a hub may send


def test_a_release_whose_record_is_missing_says_so(desk: Desk) -> None:
    released(desk)
    desk.archive.change_refs({TABLE: None})
    (found,) = releases(desk.archive)
    assert found.over == "not known: its record is missing"


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"[]",
        b"[" * 9999,
        b'{"when": 3}',
        b'{"when":"now","who":"","note":"","over":null,"previous":null}',
        b"\xff",
    ],
)
def test_a_broken_record_is_no_record_and_never_a_traceback(desk: Desk, line: bytes) -> None:
    stamp = released(desk).released.stamp
    write_table(desk.archive, {stamp: line, "rubbish": b"x", EXAMPLE: b"{}"})
    assert [found.over for found in releases(desk.archive)] == ["not known: its record is missing"]


def test_a_ref_that_is_no_stamp_is_no_release(desk: Desk) -> None:
    desk.archive.change_refs({RELEASES + "latest": desk.last})
    desk.archive.change_refs({RELEASES + EXAMPLE.lower(): desk.last})
    assert releases(desk.archive) == ()


def test_records_that_name_each_other_in_a_ring_still_come_in_some_order(desk: Desk) -> None:
    one = released(desk).released
    desk.record(edited(salt(), "users", "sm", label="STAGE"))
    two = released(desk).released
    same = {"when": one.when, "who": "", "note": "", "over": None}
    lines = {one.stamp: {**same, "previous": two.stamp}, two.stamp: {**same, "previous": one.stamp}}
    write_table(desk.archive, {stamp: json.dumps(line).encode() for stamp, line in lines.items()})
    assert {found.stamp for found in releases(desk.archive)} == {one.stamp, two.stamp}


def write_table(archive: Archive, lines: dict[str, bytes]) -> str:
    tree = archive.write_tree({name: archive.store("blob", data) for name, data in lines.items()})
    commit = git(archive.folder, "commit-tree", tree, "-m", "x", "-p", archive.ref(TABLE) or "HEAD")
    archive.change_refs({TABLE: commit})
    return commit


def test_two_tables_become_one_with_every_line(desk: Desk) -> None:
    one = released(desk).released
    first = desk.archive.ref(TABLE)
    desk.archive.change_refs({TABLE: None})
    desk.record(edited(salt(), "users", "sm", label="STAGE"))
    two = release(desk.archive, desk.shows, desk.last).released
    assert first is not None
    join_table(desk.archive, first)
    joined = desk.archive.ref(TABLE)
    join_table(desk.archive, first)
    assert {found.stamp: found.over for found in releases(desk.archive)} == {one.stamp: None, two.stamp: None}
    assert joined is not None


# The fleet


def test_the_steps_that_git_tells_lead_to_every_snapshot(desk: Desk) -> None:
    codes = [desk.last]
    for show in (
        edited(salt(), "users", "new", name="New"),
        salt(users={}),
        salt(),
        edited(salt(), "groups", "lx", name="Lüx"),
    ):
        codes.append(desk.record(show))
    found = {step.code: step for step in steps(desk.archive)}
    assert list(found) == codes
    assert all(state_at(code, found) == desk.archive.files(code) for code in codes)


def test_a_fleet_is_told_against_the_real_history(desk: Desk) -> None:
    one = released(desk).released
    desk.record(edited(salt(), "users", "sm", label="STAGE"))
    released(desk)
    own = edited(edited(salt(), "users", "sm", label="STAGE"), "users", "lxop", label="BOARD")
    result = fleet_of(desk.archive, desk.shows, [dump("desk-01", own), Reading("pack-01", "f.csv:2", one.stamp)])
    assert [(found.device, found.state, found.behind) for found in result.holdings] == [
        ("desk-01", "edited", 0),
        ("pack-01", "behind", 1),
    ]
    assert [change.path for change in result.parts[0].changes] == ["/users/lxop/label"]
    assert result.parts[0].code == desk.last
    assert result.missing == ("pack-02",)


def test_remarks_and_order_in_a_file_do_not_make_a_dump_another_show(desk: Desk) -> None:
    path = desk.folder / "users" / "sm.yaml"
    path.write_text("# called from the prompt corner\n" + path.read_text())
    from showvc.history.snapshots import record

    record(desk.archive, "a remark", desk.shows)
    plain = edited(salt(), "users", "lxop", label="BOARD")
    path_lx = desk.folder / "users" / "lxop.yaml"
    path_lx.write_text(canonical(plain.users["lxop"]))
    record(desk.archive, "the board", desk.shows)
    board = desk.last
    (holding,) = fleet_of(desk.archive, desk.shows, [dump("desk-01", plain)]).holdings
    assert holding.state == "recorded"
    desk.record(edited(salt(users={}), "devices", "desk-01", place="Dock"))
    (holding,) = fleet_of(desk.archive, desk.shows, [dump("desk-01", plain)]).holdings
    assert holding.state == "recorded"
    own = edited(plain, "groups", "lx", name="Lights")
    (part,) = fleet_of(desk.archive, desk.shows, [dump("desk-01", own)]).parts
    assert (part.code, [apart.path for apart in part.apart]) == (board, ["groups/lx.yaml"])


def test_a_fleet_before_the_first_snapshot_is_refused(tmp_path: Path) -> None:
    archive = Archive.create(tmp_path / "empty")
    with pytest.raises(ShowError, match="nothing is recorded"):
        fleet_of(archive, Shows(archive), [])
    assert steps(archive) == ()


def test_a_step_needs_no_snapshot_to_be_opened(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """However long the history, the shows read are the last release and the nearest snapshot, no other."""
    for number in range(12):
        desk.record(edited(salt(), "users", "sm", label=f"SM{number}"))
    own = edited(salt(), "users", "sm", label="SM7", department="stage")
    opened: list[str] = []
    real = Shows.at
    monkeypatch.setattr(Shows, "at", lambda self, tree: opened.append(tree) or real(self, tree))
    (part,) = fleet_of(desk.archive, desk.shows, [dump("desk-01", own)]).parts
    assert part.changes
    assert len(opened) == 2
    assert all(isinstance(step, SnapshotStep) for step in steps(desk.archive))
