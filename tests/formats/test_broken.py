"""Every broken input in fixtures/broken: what is said of it, and where.

`None` for line or column: the input has none to point at (a file's name, a byte that is no character).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from showvc.document import ShowError
from showvc.formats import read
from showvc.rules import check

BROKEN = Path(__file__).parents[2] / "fixtures" / "broken"

# input, file, line, column, message, way out
TABLE = [
    ('a-list', 'a-list/groups/fly.yaml', 1, 1, "holds no fields: a list of 'name: value' lines is wanted", None),
    ("alias-bomb", "alias-bomb/groups/lx.yaml", 6, 38, "repeats itself through anchors beyond measure", "write the values out"),
    ('bad-hardware', 'bad-hardware/devices/desk-01.yaml', 2, 11, "hardware: '02-00-5E-10-00' is not a hardware address: six pairs of hex digits, such as 02-00-5E-10-00-07", None),
    ('bad-id', 'bad-id/users/Stage_Manager.yaml', None, None, "'Stage_Manager' is not an id: a small letter, then small letters, digits or '-', at most 40", 'rename the file: its name is the id'),
    ('bad-id-inside', 'bad-id-inside/users/sm.yaml', 2, 3, "'LX' cannot stand here as a name", "a channel is named by its target's id, a second one to the same target 'id#2'"),
    ('bad-id-inside', 'bad-id-inside/devices/desk-01.yaml', 2, 8, "'a1' cannot stand here as a name", 'a key is a page letter and a number: A1, B15'),
    ('bad-id-inside', 'bad-id-inside/devices/desk-01.yaml', 2, 20, "keys.A1: found 'Fly Rail', a target's id is wanted, such as lx or lx#2, or a line", None),
    ('bad-id.show.yaml', 'bad-id.show.yaml', 3, 3, "'Fly' is not an id: a small letter, then small letters, digits or '-', at most 40", None),
    ('bad-id.show.yaml', 'bad-id.show.yaml', 5, 3, "'aux' cannot be an id: some file systems reserve this name", None),
    ("control-character", "control-character/groups/fly.yaml", 1, 10, "holds the control character U+0007", "take it out"),
    ('direction-override', 'direction-override/groups/fly.yaml', 2, 8, "label: found '\\u202eYLF', which holds U+202E, which overrides the direction of text; take it out", None),
    ("draft", "draft/show.yaml", 1, 9, "is a show of format 1, which was a draft that nobody used", "begin a show of format 2 with: showvc start DIR"),
    ('duplicate-key', 'duplicate-key/users/sm.yaml', 5, 3, "'lx' stands here twice, first in line 3", 'keep one of the two'),
    ('duplicate-key.show.json', 'duplicate-key.show.json', 5, 5, "'fly' stands here twice, first in line 4", 'keep one of the two'),
    ('half-a-pair.show.json', 'half-a-pair.show.json', 1, 24, "title: found 'Salt \\ud800', which holds the control character U+D800; take it out", None),
    ('many', 'many/groups/fly.yaml', 1, 1, "unknown field 'nmae'", 'did you mean name? A newer showvc may have written it'),
    ("many", "many/groups/lx.yaml", 1, 7, "holds the YAML tag !x", "take the tag out: the field says the type"),
    ("many", "many/users/sm.yaml", 2, 16, "channels.lx.number: found 0, at least 1 is wanted", None),
    ('many', 'many/users/sm.yaml', 3, 28, "channels.fly.listen: found 'sometimes', allowed: none, switchable, always", None),
    ("misspelt-folder", "misspelt-folder/user", None, None, "holds YAML files, but is no folder of a show", "did you mean users? Else move it out of the show folder"),
    ('missing-field', 'missing-field/devices/desk-01.yaml', 1, 1, "field 'kind' is missing", 'add it'),
    ("newer-format", "newer-format/show.yaml", 1, 9, "is a show of format 3; this showvc reads format 2", "update showvc on this machine"),
    ("newer-format.show.json", "newer-format.show.json", 2, 13, "is a show of format 3; this showvc reads format 2", "update showvc on this machine"),
    ("no-number.show.json", "no-number.show.json", None, None, "holds NaN, which is not JSON", "write a number or a text"),
    ("no-show", "no-show", None, None, "is not a show: it holds no show.yaml", "begin one with: showvc start DIR"),
    ("no-show.show.json", "no-show.show.json", 1, 1, "is not a show: it has neither format, title, groups nor users", None),
    ("no-show.show.yaml", "no-show.show.yaml", 1, 1, "is not a show: it has neither format, title, groups nor users", None),
    ("not-a-show.pdf", "not-a-show.pdf", None, None, "is nothing that showvc reads", "a show folder, or a file that ends in .yaml, .yml, .json, .xlsx, .xlsm, .csv, .tsv, .txt, .xml"),
    ("not-json.show.json", "not-json.show.json", 4, 1, "is not readable as JSON: Expecting property name enclosed in double quotes", None),
    ("not-utf-8", "not-utf-8/groups/fly.yaml", 2, None, "is not UTF-8 text: byte 0xE9", "save it as UTF-8"),
    ('not-yaml', 'not-yaml/groups/fly.yaml', 3, 9, "is not readable as YAML: expected ',' or ']', but got ':'", 'look at this line and the one before it'),
    ("other-suffix", "other-suffix/users/sm.yml", None, None, "is not a file of a show", "rename it users/sm.yaml"),
    ("port-is-a-number", "port-is-a-number/users/fire-post.yaml", 2, 7, "port: found '3', true or false is wanted", None),
    ('tab', 'tab/groups/fly.yaml', 3, 1, "is not readable as YAML: found character '\\t' that cannot start any token", 'look at this line and the one before it'),
    ("too-deep", "too-deep/groups/lx.yaml", 2, 45, "is nested or repeated beyond what a show can hold", "undo the last edits to it"),
    ("two-documents", "two-documents/groups/fly.yaml", 2, 1, "holds a second YAML document", "one file is one thing: split it"),
    ('unknown-field', 'unknown-field/users/sm.yaml', 4, 19, "unknown field 'tlak'", 'did you mean talk? A newer showvc may have written it'),
    ('unknown-field', 'unknown-field/users/sm.yaml', 5, 1, "unknown field 'lable'", 'did you mean label? A newer showvc may have written it'),
    ('unknown-field.show.yaml', 'unknown-field.show.yaml', 4, 25, "unknown field 'lable'", 'did you mean label? A newer showvc may have written it'),
    ('unknown-field.show.yaml', 'unknown-field.show.yaml', 5, 1, "unknown field 'user'", 'did you mean users? A newer showvc may have written it'),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 4, 27, "kinds.belt-3.menu: found 'no', true or false is wanted", None),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 4, 46, "kinds.belt-3.needs.slots: found 'one', a number is wanted, such as 240 or 12.5", None),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 6, 28, "required.sm-truck.to: found 'Truck 1', the id of a user, group, circuit or line is wanted, or department:NAME, or everyone", None),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 6, 43, "required.sm-truck.ways: found 3, at most 2 is allowed", None),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 6, 56, "required.sm-truck.at-least: found 0, at least 1 is wanted", None),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 8, 10, "field 'accepted.spare.why' is missing", "add it"),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 10, 10, "field 'standards.spots.must' is missing", "add it"),
    ("wrong-new-fields", "wrong-new-fields/show.yaml", 10, 42, "standards.spots.severity: found 'stop', allowed: block, warning, note", None),
    ("wrong-new-fields", "wrong-new-fields/devices/belt-1.yaml", 2, 7, "on: found 'deck-switch', a list of carriers is wanted, alternatives in a list within it, such as [switch-1, [ups-1, ups-2]]", None),
    ("wrong-new-fields", "wrong-new-fields/devices/belt-1.yaml", 3, 7, "field 'lent.to' is missing", "add it"),
    ("wrong-new-fields", "wrong-new-fields/devices/belt-1.yaml", 3, 15, "lent.until: found '4 December', a day is wanted, written such as 2026-12-04", None),
    ("wrong-new-fields", "wrong-new-fields/bridges/house-line.yaml", 3, 7, "port: found 0, at least 1 is wanted", None),
    ("wrong-new-fields", "wrong-new-fields/bridges/house-line.yaml", 5, 12, "direction: found 'out-only', allowed: both, in, out", None),
    ("wrong-new-fields", "wrong-new-fields/circuits/dock-base.yaml", 1, 8, "hears: found 'maybe', true or false is wanted", None),
    ("wrong-new-fields", "wrong-new-fields/circuits/dock-base.yaml", 2, 16, "one-at-a-time: found 'sometimes', true or false is wanted", None),
    ("wrong-new-fields", "wrong-new-fields/carriers/deck-switch.yaml", 1, 16, "gives.watts: found 'plenty', a number is wanted, such as 240 or 12.5", None),
    ("wrong-new-fields", "wrong-new-fields/carriers/deck-switch.yaml", 2, 7, "on: a list of carriers is wanted, alternatives in a list within it, such as [switch-1, [ups-1, ups-2]]", None),
    ("wrong-type", "wrong-type/groups/lx.yaml", 1, 7, "name: found a list, text is wanted", None),
    ('wrong-type', 'wrong-type/groups/lx.yaml', 2, 11, "critical: found 'yes', true or false is wanted", None),
    ('wrong-type', 'wrong-type/groups/lx.yaml', 3, 7, "tags: found 'stage', a list of words is wanted, such as [stage, rig]", None),
    ('wrong-type', 'wrong-type/users/sm.yaml', 3, 16, "channels.lx.number: found 'one', a whole number is wanted, without leading zeros or exponent", None),
    ('wrong-type', 'wrong-type/users/sm.yaml', 3, 27, "channels.lx.talk: found 'shout', allowed: none, momentary, latch, dual, open", None),
    ("wrong-type", "wrong-type/users/sm.yaml", 3, 41, "channels.lx.level: found 40, -60 to 12 dB are allowed", None),
    ('wrong-type.show.json', 'wrong-type.show.json', 4, 42, "channels.lx.number: found '1', a whole number is wanted, without leading zeros or exponent", None),
    ("wrong-type.show.json", "wrong-type.show.json", 4, 56, "channels.lx.level: found true, a number of dB from -60 to 12 is wanted, written such as -3 or 1.5", None),
    ("yaml-tag", "yaml-tag/groups/lx.yaml", 1, 7, "holds the YAML tag tag:yaml.org,2002:python/object/apply:os.system", "take the tag out: the field says the type"),
]  # fmt: skip

# Readable documents whose fault is in what they say: `check` finds it.
FOR_THE_CHECK = {
    "apart-to-nothing": {("apart-to-nothing", "/apart/cast/over"), ("apart-to-nothing", "/apart/cast/to")},
    "carrier-on-itself": {("carrier-circle", "/carriers/deck-switch/on")},
    "carrier-unknown": {("carrier-unknown", "/carriers/grid-antenna/on")},
    "circuit-nowhere": {("circuit-unknown", "/bridges/house-line/circuit")},
    "dangling-reference": {("channel-to-nothing", "/users/sm/channels/fly"), ("user-unknown", "/devices/desk-01/user")},
    "double-booked": {
        ("number-twice", "/users/sm/channels/fly/number"),
        ("hardware-twice", "/devices/desk-01/hardware"),
    },
    "line-and-group": {("same-id", "/groups/alarm")},
    "port-beyond-kind": {("port-beyond-kind", "/bridges/house-line/port")},
    "same-id": {("same-id", "/groups/fly")},
    "standby-of-nothing": {("standby-unknown", "/bridges/new-line/standby")},
}


def said(name: str) -> list[tuple[str, str | None, int | None, int | None, str, str | None]]:
    with pytest.raises(ShowError) as caught:
        read(BROKEN / name)
    return [
        (
            name,
            (problem.file or "").removeprefix(f"{BROKEN}/"),
            problem.line,
            problem.column,
            problem.message,
            problem.way_out,
        )
        for problem in caught.value.problems
    ]


@pytest.mark.parametrize("name", sorted({row[0] for row in TABLE}))
def test_all_problems_are_told_with_their_places_and_no_other(name: str) -> None:
    assert said(name) == [row for row in TABLE if row[0] == name]


@pytest.mark.parametrize("name", ["user", "Groups", "devcies", "bridge"])
def test_a_folder_called_almost_like_one_of_the_show_is_not_passed_over(name: str, tmp_path: Path) -> None:
    (tmp_path / "show.yaml").write_text("format: 2\n")
    (tmp_path / name).mkdir()
    (tmp_path / name / "a.yaml").write_text("name: A\n")
    with pytest.raises(ShowError, match="did you mean"):
        read(tmp_path)


@pytest.mark.parametrize("name", ["users-old", "docs", "riders"])
def test_any_other_folder_beside_them_is_left_alone(name: str, tmp_path: Path) -> None:
    (tmp_path / "show.yaml").write_text("format: 2\n")
    (tmp_path / name).mkdir()
    (tmp_path / name / "a.yaml").write_text("name: A\n")
    assert len(read(tmp_path).users) == 0


def test_an_empty_folder_called_almost_like_one_loses_nothing(tmp_path: Path) -> None:
    (tmp_path / "show.yaml").write_text("format: 2\n")
    (tmp_path / "user").mkdir()
    assert len(read(tmp_path).users) == 0


@pytest.mark.parametrize("name", sorted(FOR_THE_CHECK))
def test_what_can_be_read_is_left_to_the_check(name: str) -> None:
    show = read(BROKEN / name)
    assert show.title == "The Salt Road"
    unloadable = {(found.code, found.path) for found in check(show) if found.severity == "block"}
    assert {each for each in unloadable if not each[0].startswith("critical-")} == FOR_THE_CHECK[name]


def test_the_table_names_every_fixture() -> None:
    assert {path.name for path in BROKEN.iterdir()} == {row[0] for row in TABLE} | FOR_THE_CHECK.keys()
