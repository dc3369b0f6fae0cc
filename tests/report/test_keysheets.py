"""Key sheets on paper: every device once, its keys in place, strips that fit when they are cut out."""

from __future__ import annotations

import re

import pytest

from showvc.changes.caution import CAUTION
from showvc.document import ShowError
from showvc.report.keysheets import PRINTABLE, StripSize, devices_named, key_sheet_page, sheets_plain
from tests.report.plots import HOSTILE, PLOT, Seen, assert_stands_alone, plot


def drawn(show=None, **more: object) -> str:
    show = show or plot()
    return key_sheet_page(show, show.devices, **more)  # type: ignore[arg-type]


def test_every_device_has_one_section_that_is_not_split_across_pages() -> None:
    html = drawn()
    assert Seen(html).of_class("device") == ["section"] * 4
    (printed,) = re.findall(r"@media print \{\s*\.device \{([^}]*)", html)
    assert "break-inside: avoid" in printed


def test_every_key_of_the_kind_stands_in_rows_of_eight_at_most() -> None:
    html = drawn(plot(devices={"panel-01": PLOT["devices"]["panel-01"]}))
    rows = [
        re.findall(r'<span class="place">(\w+)</span>', row)
        for row in re.findall(r'(?s)<ul class="keys">.*?</ul>', html)
    ]
    assert [len(row) for row in rows] == [8, 7, 8, 7]
    assert [key for row in rows for key in row] == [f"{page}{number}" for page in "AB" for number in range(1, 16)]


def test_a_key_says_its_label_how_it_talks_and_in_a_word_that_a_group_is_critical() -> None:
    seen = Seen(drawn(plot(devices={"desk-01": PLOT["devices"]["desk-01"]}, bridges={})))
    assert "A1 LX latch A2 critical FLY momentary A3 A4" in seen.text
    assert "A8 ALARM momentary" in seen.text
    assert len(seen.of_class("critical")) == 1


def test_an_interface_has_its_ports_and_no_strip() -> None:
    seen = Seen(drawn(plot(devices={"if-01": {"kind": "ports-2"}})))
    assert "1 not used 2 House party line A (two-wire) to and from FLY !" in seen.text
    assert not seen.of_class("strip")


def test_the_caution_stands_where_a_group_is_critical_and_only_there() -> None:
    assert CAUTION in Seen(drawn()).text
    assert CAUTION not in Seen(drawn(plot(groups={"lx": {}, "fly": {}}))).text


def test_a_strip_has_the_labels_of_its_keys_in_their_order_with_gaps_for_the_unset() -> None:
    html = drawn(plot(devices={"desk-01": PLOT["devices"]["desk-01"]}, bridges={}))
    (strip,) = re.findall(r'(?s)<ul class="strip".*?</ul>', html)
    assert re.findall(r"<li[^>]*>(.*?)</li>", strip) == ["LX", "FLY", "", "", "", "", "", "ALARM"]


def test_a_row_of_keys_without_a_label_needs_no_strip() -> None:
    html = drawn(plot(devices={"panel-01": PLOT["devices"]["panel-01"]}))
    assert len(re.findall(r'<ul class="strip"', html)) == 1
    assert "Label strip: cut along the lines" in html


def test_strips_are_cut_to_the_millimetres_asked_for() -> None:
    html = drawn(size=StripSize.parse("19.5x7"))
    assert ".cell { width: 19.5mm; height: 7mm; }" in html
    assert ".ruler { width: 50mm; }" in html and "50 mm long" in html


@pytest.mark.parametrize(("size", "across"), [("22x9", 8), ("30x9", 6), ("180x9", 1), ("6x3", 8)])
def test_no_row_of_strips_is_wider_than_the_paper(size: str, across: int) -> None:
    found = StripSize.parse(size)
    assert found.across == across
    assert found.across * found.width <= PRINTABLE


@pytest.mark.parametrize("text", ["", "22", "22x", "x9", "0x9", "22x0", "181x9", "-22x9", "22x9x9", "1e3x9", "22;}x9"])
def test_what_is_no_size_is_refused_with_one_that_is(text: str) -> None:
    with pytest.raises(ShowError, match="such as 22x9"):
        StripSize.parse(text)


def test_the_page_stands_alone_whatever_the_show_says() -> None:
    groups = {"lx": {"name": HOSTILE, "label": HOSTILE}, "fly": {}}
    devices = {"desk-01": {**PLOT["devices"]["desk-01"], "name": HOSTILE, "place": HOSTILE}}
    html = drawn(plot(title=HOSTILE, groups=groups, devices=devices, bridges={}), heading=[HOSTILE], nothing=HOSTILE)
    assert_stands_alone(html)
    assert Seen(html).text.count(HOSTILE) >= 5


def test_the_same_show_makes_the_same_page() -> None:
    assert drawn() == drawn(plot())


def test_json_has_each_key_with_its_target_label_talk_listen_and_whether_it_is_critical() -> None:
    found = sheets_plain(plot(), ["desk-01"])
    assert (found["title"], found["caution"]) == ("The Salt Road", CAUTION)
    (device,) = found["devices"]
    assert (device["id"], device["kind"], device["user"]) == ("desk-01", "desk-8", "sm")
    (page,) = device["pages"]
    assert page["keys"][1] == {
        "key": "A2", "target": "fly", "label": "FLY", "talk": "momentary", "listen": "switchable", "critical": True
    }  # fmt: skip
    assert page["keys"][2] == {
        "key": "A3", "target": None, "label": None, "talk": None, "listen": None, "critical": False
    }  # fmt: skip


def test_a_device_that_is_not_there_is_told_with_near_names() -> None:
    with pytest.raises(ShowError, match=r"there is no device desk-1 .did you mean desk-01"):
        devices_named(plot(), ["desk-1"])
    assert devices_named(plot(), ["if-01", "desk-01", "if-01"]) == ("if-01", "desk-01")
