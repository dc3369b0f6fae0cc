"""The report: effect first, who and when and why, panels before and after, on a page that stands alone."""

from __future__ import annotations

import re
import shutil
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from showvc.changes.caution import CAUTION
from showvc.document import Show
from showvc.history.sources import Source, find
from showvc.report.report import MOST, Report, report, report_name, report_page
from tests.history.desk import Desk
from tests.report.plots import HOSTILE, PLOT, Seen, assert_stands_alone, plot


def told(before: Show, after: Show, names: tuple[str, str] = ("tarnhollow", "velmoor")) -> Report:
    return report(*(Source(name, show, file=Path(name)) for name, show in zip(names, (before, after), strict=True)))


def without_talk() -> Show:
    """SM talks on FLY no more, and the label of LX is another."""
    users = {
        **PLOT["users"],
        "sm": {**PLOT["users"]["sm"], "channels": {"lx": {"number": 1, "talk": "latch"}, "fly": {"number": 2}}},
    }
    return plot(users=users, groups={**PLOT["groups"], "lx": {"name": "Lights", "label": "LIGHT"}})


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    desk = Desk.begun(tmp_path / "show")
    desk("mark", "tarnhollow")
    desk("set", "users/sm/channels/fly/talk", "none")
    desk("set", "groups/lx/label", "LIGHT")
    desk("record", "--note", "Fly cues go by light\nas agreed with the rail")
    desk("mark", "velmoor")
    return desk


def of_desk(desk: Desk, before: str = "tarnhollow", after: str = "velmoor") -> Report:
    archive, shows = desk.archive, desk.shows
    return report(find(archive, before, shows), find(archive, after, shows), archive, shows)


# --- what it says


def test_the_effect_comes_first_then_the_edits_then_the_panels_then_the_strips() -> None:
    html = report_page(told(plot(), without_talk()))
    heads = re.findall(r"<h2[^>]*>(.*?)</h2>", html)
    assert heads == [
        "What it does to those on headset",
        "What changed, by department",
        "Panels before and after",
        "Label strips to reprint",
    ]
    text = Seen(html).text
    assert "Look here Lost on critical groups and lines SM can no longer talk on group FLY" in text
    assert text.index(CAUTION) < text.index("can no longer talk")
    assert "Department stage: 1 edit" in text and "Groups: 1 edit" in text


def test_the_words_are_those_of_compare(desk: Desk) -> None:
    text = Seen(report_page(of_desk(desk))).text.replace(" by Ada Rook)", ")")
    for line in desk("compare", "tarnhollow", "velmoor").out.splitlines():
        words = line.strip(" +-~:")
        if words and "Critical groups" not in line and "responsible person" not in line:
            assert words in text, line


def test_a_critical_group_untouched_needs_no_caution() -> None:
    calm = plot(groups={**PLOT["groups"], "lx": {"name": "Lights", "label": "LIGHT"}})
    assert told(plot(), calm).caution is None


def test_panels_are_drawn_before_and_after_with_the_changed_keys_in_a_word() -> None:
    text = Seen(report_page(told(plot(), without_talk()))).text
    assert "Before A1 was LX latch A2 was critical FLY momentary" in text
    assert "After A1 changed LIGHT latch A2 changed critical FLY listen" in text


def test_strips_to_reprint_say_each_key() -> None:
    text = Seen(report_page(told(plot(), without_talk()))).text
    assert "desk-01 A1: LIGHT (was LX)" in text and "panel-01 B15: LIGHT (was LX)" in text


def test_edits_without_an_effect_say_so() -> None:
    devices = {**PLOT["devices"], "if-01": {"kind": "ports-2", "place": "Rack"}}
    assert (
        "No path is lost, gained or weaker, and no label strip needs reprinting."
        in Seen(report_page(told(plot(), plot(devices=devices)))).text
    )


def test_two_equal_sources_are_the_same_show() -> None:
    html = report_page(told(plot(), plot()))
    assert "The two are the same show." in Seen(html).text
    assert re.findall(r"<h2", html) == ["<h2"]


# --- who, when and why


def test_each_edit_has_its_snapshot_with_who_when_and_the_note(desk: Desk) -> None:
    found = of_desk(desk)
    assert {origin.snapshot.note for origin in found.origins.values()} == {
        "Fly cues go by light\nas agreed with the rail"
    }
    seen = Seen(report_page(found))
    assert seen.text.count("Ada Rook, ") >= 2 and "as agreed with the rail" in seen.text


def test_beside_each_loss_stands_the_edit_and_who_made_it(desk: Desk) -> None:
    (lost, *_) = of_desk(desk).effect
    assert all(line.endswith("(edit: users/sm/channels/fly/talk by Ada Rook)") for line in lost.lines), lost.lines
    house = Desk(desk.folder, who="Bo Finch")
    house("remove", "users/asm/channels/fly", code=None)
    house("record", "--note", "Off the rail", code=None)
    said = Seen(report_page(of_desk(desk, "tarnhollow", "last"))).text
    assert "users/asm/channels/fly by Bo Finch" in said


def test_the_two_sides_are_told_with_code_mark_time_and_who(desk: Desk) -> None:
    found = of_desk(desk)
    assert (found.before.marks, found.after.marks) == (("tarnhollow",), ("velmoor",))
    assert f"velmoor, snapshot {found.after.code} [velmoor], " in Seen(report_page(found)).text


def test_edits_of_the_folder_are_told_as_not_recorded(desk: Desk) -> None:
    desk("set", "groups/snd/label", "SOUND")
    text = Seen(report_page(of_desk(desk, "velmoor", "working"))).text
    assert "working, with edits that are not recorded" in text and "not recorded yet" in text


def test_releases_on_the_way_are_told_with_their_stamp(desk: Desk) -> None:
    stamp = desk.json("release", "--into", str(desk.folder.parent), "--over", "an open rehearsal", code=None)["stamp"]
    found = of_desk(desk)
    assert [release.stamp for release in found.releases] == [stamp]
    assert f"{stamp} " in Seen(report_page(found)).text


# --- the page


def test_the_releases_are_read_once(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[object] = []
    for room in ("showvc.report.sides", "showvc.report.report"):
        known = import_module(room).releases
        monkeypatch.setattr(f"{room}.releases", lambda archive, known=known: read.append(archive) or known(archive))
    of_desk(desk)
    assert len(read) == 1


def test_the_page_stands_alone_whatever_the_show_says() -> None:
    devices = {"desk-01": {**PLOT["devices"]["desk-01"], "name": HOSTILE, "place": HOSTILE, "keys": {"A1": "fly"}}}
    users = {"sm": {**PLOT["users"]["sm"], "label": HOSTILE, "department": HOSTILE}}
    groups = {"lx": {"name": HOSTILE, "label": HOSTILE}, "fly": {"name": HOSTILE, "critical": True}}
    after = plot(title=HOSTILE, groups=groups, users=users, devices=devices, bridges={}, extra={HOSTILE: HOSTILE})
    html = report_page(told(plot(), after, (HOSTILE, HOSTILE)))
    assert_stands_alone(html)
    assert Seen(html).text.count("<script>alert(1)</script>") > 5


def test_a_hostile_note_and_name_from_the_history_are_text(desk: Desk) -> None:
    other = Desk(desk.folder, who='Eve & "Adam"')
    other("set", "groups/lx/label", "L&X")
    other("record", "--note", "<script>alert(1)</script>\n</style><script>alert(2)</script>")
    html = report_page(of_desk(desk, "tarnhollow", "last"))
    assert_stands_alone(html)
    assert "</style><script>alert(2)</script>" in Seen(html).text and 'Eve & "Adam"' in Seen(html).text


def test_the_same_two_snapshots_make_the_same_page(desk: Desk, tmp_path: Path) -> None:
    first = report_page(of_desk(desk))
    shutil.copytree(desk.folder, tmp_path / "elsewhere")
    assert report_page(of_desk(Desk(tmp_path / "elsewhere"))) == first


def test_long_parts_are_folded_on_the_screen_and_open_on_paper() -> None:
    many = {f"u{number}": {"name": f"User {number}", "department": "deck"} for number in range(MOST + 5)}
    html = report_page(told(plot(), plot(users={**PLOT["users"], **many})))
    assert f"<details>\n<summary>Department deck: {MOST + 5} edits</summary>" in html
    assert "and 5 more; all of them: showvc compare tarnhollow velmoor --edits" in Seen(html).text
    assert "details::details-content { content-visibility: visible;" in html


def test_a_file_is_named_after_the_two_sides() -> None:
    assert report_name(told(plot(), plot())) == "report-tarnhollow-velmoor.html"
    assert report_name(told(plot(), plot(), ("../x/Ünter wegs.show.yaml", "///"))) == "report-nter-wegs-show.html"


def test_json_is_that_of_compare_and_more(desk: Desk) -> None:
    plain: dict[str, Any] = desk.json("report", "tarnhollow", "velmoor")
    compared = desk.json("compare", "tarnhollow", "velmoor")
    assert plain["effect"] == compared["effect"]
    assert [
        {name: each[name] for name in ("path", "change", "before", "after")} for each in plain["changes"]
    ] == compared["changes"]
    fly = next(each for each in plain["changes"] if each["path"] == "/users/sm/channels/fly/talk")
    assert (fly["department"], fly["origin"]["who"], fly["origin"]["undone"]) == ("stage", "Ada Rook", False)
    assert [panel["device"] for panel in plain["panels"]] == ["desk-01"]
    assert plain["caution"].startswith("Critical groups affected: FLY.")
