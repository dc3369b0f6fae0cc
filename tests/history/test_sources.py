"""Whatever may stand where a source is wanted: codes, marks, drafts, `last-3`, times, `working`, folders and files."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from showvc.document import ShowError
from showvc.history import sources
from showvc.history.sources import find, find_commit
from tests.history.desk import Desk


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """Five snapshots, the level of one channel counting them: -1, -2, -3 on the last three."""
    desk = Desk.begun(tmp_path_factory.mktemp("sources") / "show")
    for level in (-1, -2, -3):
        desk("set", "users/sm/channels/lx/level", str(level))
        desk.record(f"Level {level}")
    desk("mark", "opening-night", "last-1")
    desk("draft", "open", "deck", "--at", "last-2")
    desk("draft", "go", "main")
    return desk


def level(desk: Desk, name: str) -> float | None:
    """The level that counts the snapshots, in the source of this name."""
    user = find(desk.archive, name, desk.shows).show.users.get("sm")
    return user.channels["lx"].level if user else None


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("last", -3),
        ("last-0", -3),
        ("last-1", -2),
        ("last-3", 0),
        ("last-4", None),
        ("opening-night", -2),
        ("deck", -1),
    ],
)
def test_a_name_leads_to_its_show(desk: Desk, name: str, expected: float | None) -> None:
    assert level(desk, name) == expected


def test_a_code_leads_to_its_snapshot_from_four_characters_on(desk: Desk) -> None:
    codes = [each["code"] for each in desk.json("history")["snapshots"]]
    assert [level(desk, code) for code in codes] == [-3, -2, -1, 0, None]
    whole = desk.git("rev-parse", codes[1]).strip()
    assert level(desk, whole) == -2
    assert find_commit(desk.archive, whole[:6]) == whole


def test_working_is_what_stands_in_the_folder_now(desk: Desk) -> None:
    desk("set", "users/sm/channels/lx/level", "-9")
    assert level(desk, "working") == -9
    assert level(desk, "last") == -3
    desk("restore", "last")


def test_a_folder_and_a_file_serve_as_well(desk: Desk, tmp_path: Path) -> None:
    assert level(desk, str(desk.folder)) == -3
    file = tmp_path / "mailed.show.yaml"
    file.write_text("format: 2\nusers:\n  sm: {name: SM, channels: {lx: {number: 1, level: -7}}}\ngroups: {lx: {}}\n")
    assert level(desk, str(file)) == -7


# --- times ---


@pytest.fixture(scope="module")
def dated(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """Three snapshots of known times: 25 November 19:30:00 and 19:30:40, 26 November 09:00:00, all at +01:00."""
    from showvc.history.archive import DRAFTS, Archive, Person

    desk = Desk.begun(tmp_path_factory.mktemp("dated") / "show", {})
    archive = Archive.open(desk.folder)
    last = archive.last
    assert last is not None
    parents: list[str] = []
    for day, title in (("25T19:30:00", "a"), ("25T19:30:40", "b"), ("26T09:00:00", "c")):
        tree = archive.write_tree({"show.yaml": archive.store("blob", f"format: 2\ntitle: {title}\n".encode())})
        when = datetime.fromisoformat(f"2026-11-{day}+01:00")
        last = archive.write_commit(tree, parents, Person("Bo Lind", "b@showvc.invalid"), when, title)
        parents = [last]
    archive.change_refs({DRAFTS + "main": last})
    return desk


@pytest.mark.parametrize(
    ("time", "title"),
    [
        ("2026-11-25T19:30+01:00", "b"),  # the whole minute is meant
        ("2026-11-25T19:30:00+01:00", "a"),
        ("2026-11-25T19:30:40+01:00", "b"),
        ("2026-11-25 19:30+01:00", "b"),
        ("2026-11-25T18:30Z", "b"),
        ("2026-11-25T18:30:39Z", "a"),
        ("2026-11-26T09:00+01:00", "c"),
        ("2026-11-26T08:59+01:00", "b"),
        ("2026-11-26T02:30-05:30", "c"),
        ("2026-11-26T02:29-05:30", "b"),
    ],
)
def test_a_time_with_a_zone_is_the_last_snapshot_by_then(dated: Desk, time: str, title: str) -> None:
    assert find(dated.archive, time, dated.shows).show.title == title


def test_a_time_without_a_zone_is_this_machines(dated: Desk) -> None:
    moment = datetime.fromisoformat("2026-11-25T19:30:00+01:00").astimezone()
    assert find(dated.archive, moment.strftime("%Y-%m-%dT%H:%M"), dated.shows).show.title == "b"
    assert find(dated.archive, moment.strftime("%Y-%m-%dT%H:%M:%S"), dated.shows).show.title == "a"


def test_a_day_is_the_whole_day(dated: Desk) -> None:
    day = datetime.fromisoformat("2026-11-26T09:00:00+01:00").astimezone()
    assert find(dated.archive, day.strftime("%Y-%m-%d"), dated.shows).show.title == "c"
    assert find(dated.archive, (day + timedelta(days=3)).strftime("%Y-%m-%d"), dated.shows).show.title == "c"


@pytest.mark.parametrize("text", ["2026-13-01", "2026-11-25T25:00", "2026-02-30T10:00"])
def test_a_time_that_cannot_be_says_how_one_is_written(dated: Desk, text: str) -> None:
    with pytest.raises(ShowError, match="is no time") as caught:
        find(dated.archive, text, dated.shows)
    assert "2026-11-25T19:30" in str(caught.value)


def test_a_time_before_the_first_snapshot_is_told(dated: Desk) -> None:
    with pytest.raises(ShowError, match="nothing was recorded by"):
        find(dated.archive, "2020-01-01", dated.shows)


# --- what leads nowhere ---


def test_an_unknown_name_offers_near_ones(desk: Desk) -> None:
    with pytest.raises(ShowError, match="did you mean opening-night"):
        find(desk.archive, "openning-night", desk.shows)


def test_last_before_the_first_says_how_many_there_are(desk: Desk) -> None:
    with pytest.raises(ShowError, match="before the first snapshot: there are 5"):
        find(desk.archive, "last-5", desk.shows)


def test_a_code_that_fits_two_snapshots_asks_for_more(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = (each["code"] for each in desk.json("history")["snapshots"][:2])
    found = f"{desk.git('rev-parse', one)}{desk.git('rev-parse', other)}"
    archive = desk.archive
    real = archive.git

    def git(*arguments: str, **settings: Any) -> str:
        return found if "--disambiguate=abcd" in arguments else real(*arguments, **settings)

    monkeypatch.setattr(archive, "git", git)
    with pytest.raises(ShowError, match="fits 2 snapshots") as caught:
        find(archive, "abcd", desk.shows)
    assert one in str(caught.value)
    assert "more of its characters" in str(caught.value)


def test_a_code_that_is_truly_ambiguous(tmp_path: Path) -> None:
    """Snapshots of empty trees until two share four characters: after 300 of them, two in three shows do."""
    from showvc.history.archive import DRAFTS, Person

    desk = Desk.begun(tmp_path / "show", {})
    archive, seen, last = desk.archive, dict[str, str](), desk.archive.last
    tree = archive.tree_of(last or "")
    now = datetime.now().astimezone()
    for number in range(5000):
        oid = archive.write_commit(tree, [last] if last else [], Person("Bo", "bo@showvc.invalid"), now, str(number))
        if seen.setdefault(oid[:4], oid) != oid:
            break
        last = oid
    archive.change_refs({DRAFTS + "main": oid})
    answer = desk("compare", oid[:4], code=2)
    assert "fits" in answer.err
    assert seen[oid[:4]][:7] in answer.err
    assert desk("compare", oid[:12], "last").code == 0


def test_an_operation_of_the_log_is_no_source(desk: Desk) -> None:
    operation = desk.git("rev-parse", "refs/showvc/operations").strip()
    assert find_commit(desk.archive, operation[:12]) is None


def test_of_a_mark_and_a_draft_of_one_name_the_mark_is_meant_and_that_is_said(desk: Desk) -> None:
    """Here no two get the same name, but a hub may bring such a pair: nothing breaks, and nobody is left guessing."""
    desk.git("tag", "two-of-them", "main")
    desk.git("branch", "two-of-them", "main~1")
    answer = desk("compare", "last", "two-of-them")
    assert "'two-of-them' is the mark and the draft at once; the mark is meant" in answer.err
    assert "the same show" in answer.out
    assert "at once" not in desk("compare", "main", "last").err
    desk("draft", "go", "two-of-them")
    assert desk.json("now")["draft"] == "two-of-them"


def test_a_mark_and_a_draft_do_not_get_the_same_name(desk: Desk) -> None:
    desk("mark", "velmoor")
    assert "there is a mark 'velmoor'" in desk("draft", "open", "velmoor", code=2).err
    answer = desk("mark", "main", code=2)
    assert "there is a draft 'main'" in answer.err
    assert "choose another name" in answer.err


def test_without_an_archive_only_files_serve(tmp_path: Path) -> None:
    (tmp_path / "x.show.json").write_text('{"format": 2, "title": "X"}')
    assert sources.find(None, str(tmp_path / "x.show.json"), None).show.title == "X"
    with pytest.raises(ShowError, match="no source"):
        sources.find(None, "last", None)


def test_no_zone_of_the_machine_changes_what_a_zoned_time_means(dated: Desk) -> None:
    asked = ("compare", "2026-11-25T18:30Z", "last", "--json")
    assert dated(*asked, TZ="UTC").data == dated(*asked, TZ="Asia/Tokyo").data
