"""Files from strangers are refused with one clear sentence, before any reader sees them."""

from __future__ import annotations

import io
import re
import struct
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError
from showvc.formats.tables.opening import MAX_UNPACKED, vet
from showvc.formats.tables.plan import open_source, plan_import
from showvc.formats.tables.sheets import read_text_table, read_xlsx
from tests.formats.tables.books import edited, workbook

PLOT = workbook({"Plot": [["Position", "Key"], ["Stage Manager", "FLY"]]})
SHEET = "xl/worksheets/sheet1.xml"


def refusal(data: bytes) -> str:
    with pytest.raises(ShowError) as caught:
        read_xlsx(data, "plot.xlsx")
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].way_out
    return str(caught.value)


def zipped(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return out.getvalue()


def test_a_plain_workbook_is_read():
    assert [*read_xlsx(PLOT, "plot.xlsx")["Plot"].rows] == [["Position", "Key"], ["Stage Manager", "FLY"]]


def test_a_zip_bomb_is_refused_without_unpacking_it_whole():
    bomb = zipped({"xl/workbook.xml": b"<a/>", SHEET: b" " * (MAX_UNPACKED // 2)})
    assert len(bomb) < 1_000_000
    tracemalloc.start()
    said = refusal(bomb)
    assert tracemalloc.get_traced_memory()[1] < 64 * 1024 * 1024
    tracemalloc.stop()
    assert "unpacks to more than" in said


def test_a_claim_of_two_gigabytes_in_a_header_is_refused():
    small = bytearray(zipped({"xl/workbook.xml": b"<a/>", SHEET: b"<b/>"}))
    for signature, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        place = small.rfind(signature)
        struct.pack_into("<I", small, place + offset, 2**31)
    assert "unpacks to more than" in refusal(bytes(small))


def test_a_part_longer_than_its_header_says_is_refused():
    big = b"<worksheet>" + b" " * 100_000 + b"</worksheet>"
    data = bytearray(zipped({"xl/workbook.xml": b"<a/>", SHEET: big}))
    struct.pack_into("<I", data, data.rfind(b"PK\x01\x02") + 24, 50)
    assert "damaged" in refusal(bytes(data))


def test_one_cell_at_the_far_end_of_a_sheet_is_refused():
    far = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    said = refusal(edited(PLOT, SHEET, lambda part: part.replace(b"</sheetData>", far)))
    assert "reaches out to cell XFD1048576" in said


@pytest.mark.parametrize("place", ["ZZZZ99999999", "A0", "-1", "A99999999999", "٣"])
def test_a_cell_whose_place_is_none_is_refused(place):
    odd = f'<row><c r="{place}"><v>1</v></c></row></sheetData>'.encode()
    assert "is no place" in refusal(edited(PLOT, SHEET, lambda part: part.replace(b"</sheetData>", odd)))


@pytest.mark.parametrize(("count", "said"), [(600, "holds 600 sheets"), (400, "more cells than any plot")])
def test_a_sheet_under_many_names_is_refused(count, said):
    names = b"".join(b'<sheet name="s%d" sheetId="%d" r:id="rId1"/>' % (place, place) for place in range(count))
    made = workbook({"Plot": [["a"], *([] for _ in range(20_000)), ["b"]]})
    assert said in refusal(edited(made, "xl/workbook.xml", lambda part: re.sub(b"<sheet [^>]*/>", names, part)))


@pytest.mark.parametrize("number", [b"NaN", b"inf", b"-inf", b"1e999"])
def test_a_number_that_is_none_is_an_unread_cell(number):
    made = workbook({"Users": [["Id", "Label", "Ours"], ["a", 7, 7], ["b", (7, "000"), (7, "0%")]], "Groups": [["Id"]]})
    data = edited(made, "xl/worksheets/sheet1.xml", lambda part: part.replace(b"<v>7</v>", b"<v>" + number + b"</v>"))
    found = plan_import(None, data, "show.xlsx")
    assert [cell.cell for cell in found.unread] == ["B2", "B3"]


def test_the_size_that_a_sheet_claims_costs_nothing():
    lying = edited(PLOT, SHEET, lambda part: part.replace(b'ref="A1:B2"', b'ref="A1:XFD1048576"'))
    assert lying != PLOT
    assert len(read_xlsx(lying, "plot.xlsx")["Plot"].rows) == 2


ENTITIES = b"""<?xml version="1.0"?><!DOCTYPE s [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]><s>&b;</s>"""
OUTSIDE = b"""<?xml version="1.0"?><!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]><s>&x;</s>"""


@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", "xl/sharedStrings.xml", "xl/styles.xml"])
@pytest.mark.parametrize("xml", [ENTITIES, OUTSIDE], ids=["bomb", "external"])
def test_entities_are_refused_in_every_part(part, xml):
    assert "declares XML entities" in refusal(edited(PLOT, part, lambda old: xml))


def test_a_password_protected_workbook_is_named_as_such():
    ole = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504)
    assert "protected by a password" in refusal(ole + "EncryptedPackage".encode("utf-16-le"))


def test_an_old_workbook_under_a_new_name_is_named_as_such():
    ole = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(504)
    assert "old .xls workbook" in refusal(ole + "Workbook".encode("utf-16-le"))


@pytest.mark.parametrize(
    "data",
    [b"", b"PK", b"PK\x03\x04 cut off", PLOT[:200], b"<html>", zipped({"word/document.xml": b"<a/>"}), b"\x00" * 99],
    ids=["empty", "two bytes", "cut", "half", "a page", "another document", "zeros"],
)
def test_what_is_no_workbook_is_refused(data):
    assert "plot.xlsx" in refusal(data)


def test_broken_xml_is_refused():
    assert "is no XML" in refusal(edited(PLOT, SHEET, lambda part: part[: len(part) // 2]))


def test_odd_xml_that_the_reader_gives_up_on_is_refused():
    odd = edited(PLOT, "xl/sharedStrings.xml", lambda part: b"<sst/>")
    assert "cannot be read as a workbook" in refusal(odd)


def test_the_reader_gets_what_was_vetted_and_nothing_else():
    stuffed = zipped({**{name: zipfile.ZipFile(io.BytesIO(PLOT)).read(name) for name in zipfile.ZipFile(io.BytesIO(PLOT)).namelist()},
                      "xl/vbaProject.bin": b"macro", "../../evil": b"x"})  # fmt: skip
    names = zipfile.ZipFile(io.BytesIO(vet(stuffed, "plot.xlsx").data)).namelist()
    assert "xl/workbook.xml" in names
    assert not {"xl/vbaProject.bin", "../../evil"} & {*names}


def test_text_with_an_open_quote_is_refused_by_line():
    with pytest.raises(ShowError) as caught:
        read_text_table(b'a,b\r\n1,"2\r\n', "plot.csv")
    assert caught.value.problems[0].line == 2


def test_bytes_that_are_no_text_are_refused_by_line():
    with pytest.raises(ShowError) as caught:
        read_text_table(b"a,b\n\x81,1\n", "plot.csv")
    assert (caught.value.problems[0].line, "Windows-1252" in str(caught.value)) == (2, True)


BROKEN = Path(__file__).parents[3] / "fixtures" / "plots" / "broken"
REFUSALS = {
    "password.xlsx": "is protected by a password",
    "old-workbook.xlsx": "is an old .xls workbook",
    "cut.xlsx": "is damaged",
    "zip-bomb.xlsx": "unpacks to more than",
    "two-gigabytes.xlsx": "unpacks to more than",
    "entity-bomb.xml": "declares XML entities",
    "external-entity.xml": "declares XML entities",
    "cut.json": "is not readable as JSON",
    "open-quote.csv": "is not readable as a table",
    "no-text.csv": "is neither UTF-8 nor Windows-1252",
}


def test_every_broken_plot_of_the_fixtures_is_listed():
    assert {file.name for file in BROKEN.iterdir()} == {*REFUSALS}


@pytest.mark.parametrize("name", REFUSALS)
def test_every_broken_plot_is_refused_in_one_sentence(name):
    with pytest.raises(ShowError) as caught:
        open_source((BROKEN / name).read_bytes(), name)
    assert len(caught.value.problems) == 1
    assert REFUSALS[name] in str(caught.value)


PARTS = [SHEET, "xl/workbook.xml", "xl/sharedStrings.xml", "xl/styles.xml", "xl/_rels/workbook.xml.rels"]


@given(st.data())
def test_a_workbook_with_broken_bytes_is_read_or_refused_never_more(data):
    """Bytes of the zip, or of a part within it, are changed at random."""
    part = data.draw(st.sampled_from([None, *PARTS]))

    def spoiled(old: bytes) -> bytes:
        made = bytearray(old)
        for place, value in data.draw(
            st.lists(st.tuples(st.integers(0, len(old) - 1), st.integers(0, 255)), max_size=4)
        ):
            made[place] = value
        return bytes(made)

    try:
        read_xlsx(spoiled(PLOT) if part is None else edited(PLOT, part, spoiled), "plot.xlsx")
    except ShowError as error:
        assert "plot.xlsx" in str(error)


@pytest.mark.parametrize("encoding", [b"aTF-8", b"shift_jis", b"utf-7", b"idna", b"hex"])
def test_a_part_in_an_encoding_of_its_own_is_refused(encoding):
    data = edited(PLOT, "xl/worksheets/sheet1.xml", lambda part: part.replace(b"UTF-8", encoding, 1))
    with pytest.raises(ShowError, match="damaged"):
        read_xlsx(data, "plot.xlsx")
