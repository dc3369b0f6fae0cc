"""A mapping file is read with every mistake told at its line and column, and read rows keep to it."""

from __future__ import annotations

import pytest

from showvc.document import Show, ShowError, show_from_tree
from showvc.formats.tables.mapping import mapping_text, read_mapping
from showvc.formats.tables.plan import plan_import
from showvc.formats.tables.plotwriting import write_plot
from tests.formats.tables.books import workbook

GOOD = """\
mapping: 1
tables:
  positions:
    sheet: Plot
    each: user
    columns: {Position: name, Dept.: department}
    across: {is: target, except: [Remarks]}
    codes:
      mode: {T: momentary/none, TL: momentary/always}
"""


def mistakes(text):
    with pytest.raises(ShowError) as caught:
        read_mapping(text.encode(), "plot.yaml")
    return [(problem.line, problem.column, str(problem)) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("wrong", "right", "line", "column", "said"),
    [
        ("Position: nam", "Position: name", 6, 25, "did you mean name?"),
        ("mapping: 2", "mapping: 1", 1, 10, "mapping"),
        ("each: person", "each: user", 5, 11, "user, group, device"),
        ("is: targets", "is: target", 7, 18, "target, number, key"),
        ("sheets: Plot", "sheet: Plot", 4, 5, "unknown field 'sheets'"),
        ("TL: momentary/allways", "TL: momentary/always", 9, 37, "momentary/always"),
        ("modes: {T", "mode: {T", 9, 14, "did you mean mode?"),
        ("except: [Remarks], cell: '{targt}'", "except: [Remarks]", 7, 51, "is not a pattern for a cell"),
        ("is: key", "is: target", 7, 18, "want rows that are a device"),
        ("heads: Key, except: [Remarks]", "except: [Remarks]", 7, 33, "does not say where the target stands"),
        ("heads: '{}{x}', except: [Remarks]", "except: [Remarks]", 7, 33, "does not say where the target stands"),
        ("heads: '{}}', except: [Remarks]", "except: [Remarks]", 7, 33, "does not say where the target stands"),
        ("except: [Remarks], cell: '{mode} }'", "except: [Remarks]", 7, 51, "is not a pattern for a cell"),
        ("except: [Remarks], cell: '{{mode}'", "except: [Remarks]", 7, 51, "is not a pattern for a cell"),
        ("Dept.: name", "Dept.: department", 6, 38, "stands for two columns"),
        ("{Position: department}", "{Position: name, Dept.: department}", 6, 14, "no column says which user"),
        ("sheet: Plot\n    file: a.csv", "sheet: Plot", 4, 5, "exclude each other"),
    ],
)
def test_each_mistake_is_told_with_its_place(wrong, right, line, column, said):
    assert right in GOOD
    found = mistakes(GOOD.replace(right, wrong))
    assert (line, column) in [(at, place) for at, place, _ in found], found
    assert any(said in text for _, _, text in found), found


def test_all_mistakes_are_told_together():
    assert len(mistakes(GOOD.replace("Position: name", "Position: nam").replace("mode: {T", "modes: {T"))) >= 2


def test_a_mapping_is_written_as_it_was_read():
    mapping = read_mapping(GOOD.encode(), "plot.yaml")
    again = mapping_text(mapping)
    assert read_mapping(again.encode(), "plot.yaml") == mapping
    assert again.index("Position: name") < again.index("Dept.: department")


def read(rows, text=GOOD, merge=()):
    data = workbook({"Plot": rows}, merge)
    return plan_import(None, data, "plot.xlsx", read_mapping(text.encode(), "plot.yaml"))


HEAD = ["Position", "Dept.", "Stage", "Fly Rail", "Remarks"]
ROWS = [
    ["Stage Manager", "Stage", "TL", "TL", "calls"],
    ["Fly Operator", "Stage", None, "TL"],
    ["Spot", "LX", "T", None],
]
PLAIN = read([HEAD, *ROWS]).show


def test_a_mapping_that_does_not_fit_the_file_says_what_is_there():
    with pytest.raises(ShowError, match=r"no column is headed 'Dept.'.*there are: Position, Stage"):
        read([["Position", "Stage"], ["Stage Manager", "TL"]])
    with pytest.raises(ShowError, match="there are: Sheet 9"):
        plan_import(None, workbook({"Sheet 9": [HEAD]}), "plot.xlsx", read_mapping(GOOD.encode(), "plot.yaml"))


def test_shuffled_rows_are_the_same_document():
    assert read([HEAD, *reversed(ROWS)]).show.users == PLAIN.users


def test_an_empty_row_in_between_changes_nothing():
    assert read([HEAD, ROWS[0], [], [None, " "], *ROWS[1:]]).show == PLAIN


def test_a_second_head_row_changes_nothing():
    assert read([HEAD, ROWS[0], HEAD, *ROWS[1:]]).show == PLAIN


def test_a_total_row_is_passed_over_and_noted():
    plan = read([HEAD, *ROWS, ["Total", None, 2, 2]])
    assert plan.show == PLAIN
    assert plan.notes == ("Plot, row 5: a row of totals",)


def test_a_position_whose_name_begins_like_a_total_is_no_total():
    assert "total-eclipse-operator" in read([HEAD, *ROWS, ["Total eclipse operator", "LX", "TL"]]).show.users


def test_a_name_broken_over_lines_to_fit_its_column_is_the_same_name():
    assert read([HEAD, ["Stage\nManager", *ROWS[0][1:]], *ROWS[1:]]).show == PLAIN


def test_cells_that_are_only_carried_along_are_told_where_a_spreadsheet_replaced_what_was_typed():
    odd = [(1000.0, "0.00E+00"), 12345678901234567890, (1.25, "[h]:mm"), (0.5, "0%"), (46085.0, "yyyy-mm-dd"), "1E3"]
    plan = read([HEAD, *([f"Position {place}", None, "TL", None, cell] for place, cell in enumerate(odd))])
    assert plan.unread == ()
    assert plan.notes == (
        "sheet Plot, cell E2: kept as shown, but a spreadsheet made a power of ten of what was typed",
        "sheet Plot, cell E3: kept as shown, but a number of more than 15 digits has lost its last ones",
    )
    kept = [user.extra["Remarks"] for user in plan.show.users.values()]
    assert kept == ["1.00E+03", 1.234567890123457e19, "30:00:00", "50%", "2026-03-04", "1E3"]


def test_a_merged_pair_of_cells_counts_for_each_row():
    rows = [HEAD, ["Stage Manager", None, "TL", "TL", "calls"], ["Fly Operator", None, None, "TL"], ROWS[2]]
    assert read(rows, merge=[("Plot", "B2:B3", "Stage")]).show == PLAIN


def test_rows_under_the_heads_that_belong_to_them_are_left_out():
    text = GOOD.replace("    each: user", "    under: 1\n    each: user")
    assert read([HEAD, ["(who)", "(where)", "01", "02"], *ROWS], text).show.users == PLAIN.users


def test_an_empty_cell_means_the_one_above_where_the_mapping_says_so():
    text = GOOD.replace("    each: user", "    fill: [Dept.]\n    each: user")
    rows = [["Stage Manager", "Stage", "TL", "TL", "calls"], ["Fly Operator", None, None, "TL"], ["Spot", "LX", "T"]]
    assert read([HEAD, *rows], text).show == PLAIN


def test_a_code_that_the_mapping_does_not_know_is_told_by_its_cell():
    plan = read([HEAD, ["Stage Manager", "Stage", "XX", "TL"]])
    (unread,) = plan.unread
    assert (unread.sheet, unread.cell, unread.value) == ("Plot", "C2", "XX")
    assert "T, TL" in unread.allowed


def test_a_position_in_two_rows_is_told():
    (unread,) = read([HEAD, *ROWS, ["Spot", "LX", "TL"]]).unread
    assert (unread.cell, "the row of A4 counts" in unread.allowed) == ("A5", True)


def test_a_row_without_a_name_is_told():
    (unread,) = read([HEAD, *ROWS, [None, "LX", "TL"]]).unread
    assert "a name" in unread.allowed


@pytest.mark.parametrize("encoding", ["cp1252", "utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("quoted", [{",", ";"}, {*"abcdefghijklmnopqrstuvwxyzTL"}], ids=["where needed", "all"])
def test_text_tables_in_every_encoding_and_separator(encoding, separator, quoted):
    rows = [["Position", "Dept.", "Stage"], ["Répétiteur", "Régie, côté cour; jardin", "TL"], ["Spot", "LX", "T"]]
    lines = [separator.join(f'"{cell}"' if set(cell) & quoted else cell for cell in row) for row in rows]
    data = "\r\n".join(lines).encode(encoding)
    found = plan_import(None, data, "Plot.csv", read_mapping(GOOD.encode(), "plot.yaml"))
    assert found.unread == ()
    user = found.show.users["repetiteur"]
    assert (user.name, user.department, user.channels["stage"].talk) == (
        "Répétiteur",
        "Régie, côté cour; jardin",
        "momentary",
    )


def test_channels_across_by_number():
    text = """\
mapping: 1
tables:
  plot:
    each: user
    columns: {Position: name}
    across: {is: number, heads: "Ch {}", cell: "{target} {mode}"}
    codes: {mode: {TL: momentary/always}}
"""
    found = read([["Position", "Ch 1", "Ch 02", "Seat"], ["Spot", None, "Fly Rail TL", 12]], text).show
    channel = found.users["spot"].channels["fly-rail"]
    assert (channel.number, channel.talk, found.groups["fly-rail"].name) == (2, "momentary", "Fly Rail")
    assert found.users["spot"].extra == {"Seat": 12}


def test_a_key_list_with_one_row_a_key():
    text = """\
mapping: 1
tables:
  packs: {sheet: Packs, each: device, columns: {Unit: name, Wearer: user}, set: {kind: pack-4}}
  keys: {sheet: Keys, each: key, columns: {Unit: device, Button: key, Does: target}}
"""
    data = workbook(
        {
            "Packs": [["Unit", "Wearer"], ["Pack 01", "Spot"]],
            "Keys": [
                ["Unit", "Button", "Does", "Cap"],
                ["Pack 01", 1, "Fly Rail", "red"],
                ["pack 01", "a2", "ALARM", None],
            ],
        }
    )
    plan = plan_import(None, data, "plot.xlsx", read_mapping(text.encode(), "plot.yaml"))
    device = plan.show.devices["pack-01"]
    assert plan.unread == ()
    assert (device.kind, device.user, device.keys) == ("pack-4", "spot", {"A1": "fly-rail", "A2": "alarm"})
    assert device.extra == {"A1: Cap": "red"}


def test_a_head_that_is_no_key_is_told_by_cell_and_stands_in_the_way_of_no_export():
    text = 'mapping: 1\ntables: {p: {each: device, columns: {Pack: name, Kind: kind}, across: {is: key, heads: "{}"}}}'
    mapping = read_mapping(text.encode(), "plot.yaml")
    data = workbook({"P": [["Pack", "Kind", "A1", "Colour"], ["Pack 1", "pack-2", "Stage", "red"]]})
    plan = plan_import(None, data, "plot.xlsx", mapping)
    assert [cell.cell for cell in plan.unread] == ["D2"]
    assert [*plan.show.groups] == ["stage"]
    (again,) = write_plot(plan.show, mapping, ".xlsx").values()
    assert plan_import(plan.show, again, "plot.xlsx", mapping).show == plan.show


def test_bridges_by_a_mapping():
    text = """\
mapping: 1
tables:
  units: {sheet: Units, each: device, columns: {Unit: name}, set: {kind: ports-2}}
  lines:
    sheet: Lines
    each: bridge
    columns: {Circuit: circuit, Unit: device, Port: port, To: target, How: kind, Way: direction}
    codes: {kind: {2W: two-wire}, direction: {"<>": both, ">": out}}
"""
    data = workbook(
        {
            "Units": [["Unit"], ["Interface 1"]],
            "Lines": [
                ["Circuit", "Unit", "Port", "To", "How", "Way"],
                ["House party line", "Interface 1", 2, "Stage", "2W", ">"],
            ],
        }
    )
    plan = plan_import(None, data, "plot.xlsx", read_mapping(text.encode(), "plot.yaml"))
    assert plan.unread == ()
    bridge = plan.show.bridges["house-party-line"]
    assert (bridge.kind, bridge.device, bridge.port, bridge.target, bridge.direction) == (
        "two-wire",
        "interface-1",
        2,
        "stage",
        "out",
    )


BOMB = b'<?xml version="1.0"?><!DOCTYPE p [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]><plot>&b;</plot>'
OUTSIDE = b'<?xml version="1.0"?><!DOCTYPE p [<!ENTITY x SYSTEM "file:///etc/passwd">]><plot>&x;</plot>'
XML = "mapping: 1\ntables:\n  p: {rows: plot/position, each: user, columns: {name: name}}\n"


@pytest.mark.parametrize(
    "data", [BOMB, OUTSIDE, b'<!DOCTYPE plot SYSTEM "x.dtd"><plot/>'], ids=["bomb", "external", "dtd"]
)
def test_entities_in_xml_are_refused(data):
    with pytest.raises(ShowError, match="declares XML entities or a document type"):
        plan_import(None, data, "plot.xml", read_mapping(XML.encode(), "plot.yaml"))


@pytest.mark.parametrize(("data", "file"), [(b"<plot/>", "plot.xml"), (b"{}", "plot.json"), (b"[]", "plot.json")])
def test_a_place_without_rows_is_told(data, file):
    plan = plan_import(None, data, file, read_mapping(XML.encode(), "plot.yaml"))
    assert plan.notes == ("no row stands at plot/position",)
    assert not plan.show.users


def test_rows_that_are_not_within_one_element_are_not_written_as_xml():
    show = show_from_tree({"users": {"sm": {"name": "Stage Manager"}}, "groups": {"lx": {"name": "Lighting"}}})
    users = "u: {rows: a/user, each: user, columns: {name: name}}"
    for others in ("g: {rows: b/group, each: group, columns: {name: name}}", "g: {each: group, columns: {name: name}}"):
        mapping = read_mapping(f"mapping: 1\ntables:\n  {users}\n  {others}\n".encode(), "plot.yaml")
        with pytest.raises(ShowError, match="one element around everything"):
            write_plot(show, mapping, ".xml")
    with pytest.raises(ShowError, match="nothing that the mapping speaks of"):
        write_plot(Show(), read_mapping(XML.encode(), "plot.yaml"), ".xml")


def test_text_around_elements_stays_words():
    data = b"<plot><position name='Caller'><note>stands <b>left</b> of the desk</note></position></plot>"
    plan = plan_import(None, data, "plot.xml", read_mapping(XML.replace("name:", "'@name':").encode(), "plot.yaml"))
    assert plan.show.users["caller"].extra["note"] == {"b": "left", "#text": "stands of the desk"}


@pytest.mark.parametrize(
    ("data", "file", "line"),
    [(b"<plot>\n<position></plot>", "plot.xml", 2), (b'{"a": 1,\n "b": }', "plot.json", 2)],
)
def test_broken_trees_are_refused_by_line(data, file, line):
    with pytest.raises(ShowError) as caught:
        plan_import(None, data, file, read_mapping(XML.encode(), "plot.yaml"))
    assert caught.value.problems[0].line == line


@pytest.mark.parametrize(
    ("data", "file"),
    [
        (b"[" * 100_000, "plot.json"),
        (b'{"a": ' * 60 + b"1" + b"}" * 60, "plot.json"),
        (b"<a>" * 5_000 + b"</a>" * 5_000, "plot.xml"),
        (b'{"a": NaN}', "plot.json"),
        (b'{"a": 1, "a": 2}', "plot.json"),
    ],
)
def test_deep_and_odd_trees_are_refused(data, file):
    with pytest.raises(ShowError, match=file):
        plan_import(None, data, file, read_mapping(XML.encode(), "plot.yaml"))


def test_a_file_of_another_kind_is_refused():
    with pytest.raises(ShowError, match="is no table that showvc reads"):
        plan_import(None, b"%PDF", "plot.pdf", read_mapping(XML.encode(), "plot.yaml"))
    with pytest.raises(ShowError, match="have a mapping of it proposed"):
        plan_import(None, workbook({"Plot": [HEAD]}), "plot.xlsx")
