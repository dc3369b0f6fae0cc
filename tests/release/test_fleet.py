"""For every device: which release it holds, how far behind it is, and what it carries that nobody recorded."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import Any

import pytest

from showvc.changes.caution import CAUTION
from showvc.document import Problem, Show, show_from_tree
from showvc.formats.tables.sheets import read_text_table
from showvc.history.steps import Apart, content_ids
from showvc.release.fleet import Fleet, Released, fleet, letter
from showvc.release.fleet_words import fleet_csv, fleet_plain, fleet_text
from showvc.release.readings import Reading
from showvc.release.stamp import EXAMPLE, stamp_of
from tests.history.test_steps import told
from tests.release.salt import edited, salt

ONE = salt()
TWO = edited(ONE, "users", "sm", label="STAGE")
THREE = edited(TWO, "users", "lxop", label="BOARD")
NOW = edited(THREE, "groups", "lx", name="Lights")
SHOWS = {"s1": ONE, "s2": TWO, "s3": THREE, "s4": NOW}
HISTORY = told({code: content_ids(show) for code, show in SHOWS.items()}, {"s2": ("s1",), "s3": ("s2",), "s4": ("s3",)})
RELEASES = [
    Released(stamp_of(ONE), "s1", "2031-03-01T10:00:00+01:00"),
    Released(stamp_of(THREE), "s3", "2031-03-04T18:05:00+01:00", over="no fly rail in Karsbruck"),
]
ALL = ("desk-01", "pack-01", "pack-02")


def stamped(**stamps: str) -> list[Reading]:
    return [
        Reading(device.replace("_", "-"), f"fleet.csv:{line}", stamp)
        for line, (device, stamp) in enumerate(stamps.items(), 2)
    ]


def dumped(**dumps: Show) -> list[Reading]:
    return [
        Reading(device.replace("_", "-"), f"dumps/{device}.json", stamp_of(dump), dump)
        for device, dump in dumps.items()
    ]


def judged(readings: Sequence[Reading], **more: Any) -> Fleet:
    return fleet(readings, NOW, RELEASES, HISTORY, **more)


def state(result: Fleet, device: str) -> str:
    return next(holding.state for holding in result.holdings if holding.device == device)


# From stamps


def test_every_device_on_the_last_release_is_a_fleet_that_agrees() -> None:
    result = judged(stamped(**{name.replace("-", "_"): stamp_of(THREE) for name in ALL}))
    assert result.agrees
    assert [part.devices for part in result.parts] == [ALL]
    assert "Every device holds the last release." in fleet_text(result)


def test_a_device_on_an_earlier_release_says_how_many_it_is_behind() -> None:
    result = judged(stamped(desk_01=stamp_of(THREE), pack_01=stamp_of(ONE), pack_02=stamp_of(ONE)))
    assert [(holding.device, holding.state, holding.behind) for holding in result.holdings] == [
        ("desk-01", "current", 0),
        ("pack-01", "behind", 1),
        ("pack-02", "behind", 1),
    ]
    assert [(part.letter, part.devices) for part in result.parts] == [
        ("A", ("pack-01", "pack-02")),
        ("B", ("desk-01",)),
    ]
    assert not result.agrees


def test_a_stamp_that_no_release_has_is_foreign() -> None:
    assert state(judged(stamped(desk_01=EXAMPLE)), "desk-01") == "foreign"


def test_what_could_not_be_read_is_told_with_the_reason() -> None:
    result = judged([Reading("desk-01", "f.csv:2", problem=Problem("does not check", "f.csv", 2))])
    assert state(result, "desk-01") == "unread"
    assert "desk-01: f.csv:2: does not check" in fleet_text(result)


def test_missing_unknown_and_doubled_devices_are_listed() -> None:
    result = judged([*stamped(desk_01=stamp_of(THREE), pack_99=stamp_of(THREE)), *stamped(desk_01=stamp_of(THREE))])
    assert result.missing == ("pack-01", "pack-02")
    assert [reading.device for reading in result.unknown] == ["pack-99"]
    assert result.doubled == ("desk-01",)
    assert state(result, "desk-01") == "current"
    assert not result.agrees


def test_two_answers_that_differ_are_no_answer() -> None:
    result = judged([*stamped(desk_01=stamp_of(THREE)), *stamped(desk_01=stamp_of(ONE))])
    assert state(result, "desk-01") == "contradicting"
    assert result.parts == ()


@pytest.mark.parametrize(
    "written", ["desk-01", "DESK 01", "desk_01", "Prompt desk", "02:00:5e:10:00:07", "02005E100007", "Prompt corner"]
)
def test_a_device_is_known_by_whatever_is_written_on_it(written: str) -> None:
    show = edited(NOW, "devices", "desk-01", hardware="02-00-5E-10-00-07", place="Prompt corner")
    result = fleet([Reading(written, "f.csv:2", stamp_of(THREE))], show, RELEASES)
    assert [holding.device for holding in result.holdings] == ["desk-01"]


def test_a_name_that_two_devices_have_is_no_device() -> None:
    show = edited(edited(NOW, "devices", "pack-01", place="Dock"), "devices", "pack-02", place="Dock")
    result = fleet([Reading("Dock", "f.csv:2", stamp_of(THREE)), Reading("…", "f.csv:3", EXAMPLE)], show, RELEASES)
    assert [reading.device for reading in result.unknown] == ["Dock", "…"]


def test_before_the_first_release_nothing_is_behind() -> None:
    result = fleet(stamped(desk_01=EXAMPLE), NOW)
    assert state(result, "desk-01") == "foreign"
    assert "Nothing was released yet." in fleet_text(result)


# From full dumps


def test_a_dump_of_a_release_is_that_release() -> None:
    assert [state(judged(dumped(desk_01=THREE, pack_01=ONE)), device) for device in ("desk-01", "pack-01")] == [
        "current",
        "behind",
    ]


def test_a_dump_of_a_snapshot_that_was_not_released_is_said_so() -> None:
    (holding,) = judged(dumped(desk_01=TWO)).holdings
    assert (holding.state, holding.release, holding.behind) == ("recorded", stamp_of(ONE), 1)


def test_edits_on_a_device_are_found_against_the_nearest_snapshot() -> None:
    edit = edited(THREE, "users", "sm", department="stage")
    opened: list[str] = []

    def open_snapshot(code: str) -> Show:
        opened.append(code)
        return SHOWS[code]

    result = judged(dumped(desk_01=edit, pack_01=edit, pack_02=THREE), open_snapshot=open_snapshot)
    part = result.parts[0]
    assert (part.devices, part.state, part.code, part.behind) == (("desk-01", "pack-01"), "edited", "s3", 0)
    assert part.apart == (Apart("users/sm.yaml", content_ids(edit)["users/sm.yaml"]),)
    assert [change.path for change in part.changes] == ["/users/sm/department"]
    assert opened == ["s3"]


def test_without_opening_a_snapshot_the_files_are_named() -> None:
    result = judged(dumped(desk_01=edited(THREE, "users", "sm", department="stage")))
    assert "users/sm.yaml: as in no snapshot" in fleet_text(result)


def test_two_halves_edited_apart_are_two_parts_with_their_common_base() -> None:
    left, right = edited(THREE, "users", "sm", department="stage"), edited(THREE, "users", "flyman", label="F1")
    result = judged(dumped(desk_01=left, pack_01=right, pack_02=right), open_snapshot=SHOWS.__getitem__)
    assert [(part.state, part.devices) for part in result.parts] == [
        ("edited", ("pack-01", "pack-02")),
        ("edited", ("desk-01",)),
    ]
    assert result.base == "s3"
    text = fleet_text(result)
    assert "All parts came from snapshot s3." in text
    assert "  showvc fleet TABLE… --merge\n" in text
    assert "Part A alone, from snapshot s3:\n  showvc merge dumps/pack_01.json\n" in text


def test_a_half_that_was_recorded_and_one_that_was_not_share_the_base_of_both() -> None:
    result = judged(dumped(desk_01=NOW, pack_01=edited(ONE, "users", "sm", department="stage")))
    assert result.base == "s1"


def test_a_stamp_read_off_a_device_and_the_dump_of_another_agree_as_one_part() -> None:
    edit = edited(THREE, "users", "sm", department="stage")
    result = judged([*dumped(desk_01=edit), *stamped(pack_01=stamp_of(edit))])
    assert [part.devices for part in result.parts] == [("desk-01", "pack-01")]


def test_a_dump_without_any_history_still_forms_parts() -> None:
    result = fleet(dumped(desk_01=ONE, pack_01=TWO, pack_02=TWO), NOW)
    assert [(part.devices, part.state) for part in result.parts] == [
        (("pack-01", "pack-02"), "edited"),
        (("desk-01",), "edited"),
    ]
    assert result.base is None


# On paper


MIXED = [
    *dumped(desk_01=edited(THREE, "users", "sm", label="=1+1")),
    *stamped(pack_01=stamp_of(ONE), nobody=EXAMPLE),
]


def test_the_text_says_what_was_overridden_and_carries_the_caution() -> None:
    text = fleet_text(judged(MIXED))
    assert "OVERRIDDEN: no fly rail in Karsbruck" in text
    assert CAUTION in " ".join(text.split())
    calm = edited(NOW, "groups", "fly", critical=False)
    assert CAUTION not in fleet_text(fleet(MIXED, calm, RELEASES, HISTORY))


def test_what_needs_a_person_comes_first_and_lines_up() -> None:
    lines = fleet_text(judged(MIXED)).splitlines()
    head = next(line for line in lines if line.startswith("part"))
    at = head.index("what they hold")
    rows = lines[lines.index(head) + 2 :][:4]
    assert [row[at:].split("  ")[0] for row in rows] == [
        "edits nobody recorded",
        "an earlier release",
        "no answer",
        "no device of this show",
    ]
    assert [row[: at - 2].split() for row in rows] == [["A", "1"], ["B", "1"], ["-", "1"], ["-", "1"]]


def test_a_fleet_of_250_is_read_on_a_small_terminal_in_one_look() -> None:
    devices = {f"pack-{number:03}": {"kind": "pack-2", "user": "sm"} for number in range(1, 251)}
    show = show_from_tree({**NOW.tree(), "devices": devices})
    edit = edited(show, "users", "sm", department="stage")
    stamps = {**dict.fromkeys(range(1, 181), stamp_of(THREE)), **dict.fromkeys(range(181, 221), stamp_of(ONE))}
    readings = [Reading(f"pack-{number:03}", f"f.csv:{number}", stamp) for number, stamp in stamps.items()]
    readings += dumped(pack_230=edit, pack_231=edit, pack_232=edit, pack_240=edit)
    lines = fleet_text(fleet(readings, show, RELEASES, HISTORY)).splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert len(lines) < 60
    text = "\n".join(lines)
    assert "4 devices, edits nobody recorded: pack-230 to pack-232, pack-240" in text
    assert "180 devices, the last release: pack-001 to pack-180" in text
    assert "No answer from 26 devices: pack-221 to pack-229, pack-233 to pack-239, pack-241" in " ".join(text.split())
    told = [text.index(words) for words in ("4 devices", "40 devices", "180 devices", "No answer from")]
    assert told == sorted(told)


def test_a_device_nobody_knows_is_asked_about_with_the_likely_one() -> None:
    text = fleet_text(judged(stamped(pack_11=stamp_of(THREE))))
    assert "'pack-11' is no device of this show (did you mean pack-01" in text


def test_very_many_things_to_look_at_are_counted() -> None:
    readings = [Reading(f"spare {number}", f"f.csv:{number}", EXAMPLE) for number in range(500)]
    text = fleet_text(judged(readings))
    assert "… and 480 more" in text
    assert len(text.splitlines()) < 60


def test_the_json_holds_every_device_and_every_edit() -> None:
    plain = fleet_plain(judged(MIXED, open_snapshot=SHOWS.__getitem__))
    assert json.loads(json.dumps(plain)) == plain
    assert {device["device"]: device["state"] for device in plain["devices"]} == {
        "desk-01": "edited",
        "pack-01": "behind",
    }
    assert plain["missing"] == ["pack-02"]
    assert plain["unknown"] == [
        {"device": "nobody", "where": "fleet.csv:3", "message": "is it another show's, or not plotted yet?"}
    ]
    assert [edit["after"] for part in plain["parts"] for edit in part["edits"]] == ["=1+1"]
    assert plain["last_release"] == stamp_of(THREE)


def test_the_csv_has_a_row_for_each_device_and_runs_nothing_in_a_spreadsheet() -> None:
    readings = [*MIXED, Reading("=cmd()", "f.csv:9", EXAMPLE)]
    data = fleet_csv(judged(readings))
    raw = list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))
    assert not any(cell.startswith(("=", "+", "-", "@")) for row in raw for cell in row)
    rows = read_text_table(data, "fleet.csv").rows
    assert [row[:2] for row in rows[1:]] == [
        ["desk-01", "edits nobody recorded"],
        ["pack-01", "an earlier release"],
        ["pack-02", "no answer"],
        ["nobody", "no device of this show"],
        ["=cmd()", "no device of this show"],
    ]


def test_parts_are_lettered_without_end() -> None:
    assert [letter(place) for place in (0, 25, 26, 27, 701, 702)] == ["A", "Z", "AA", "AB", "ZZ", "AAA"]
