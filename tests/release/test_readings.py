"""What people write down beside a device is read, however they write it; what cannot be is said, not lost."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import MachineError, Show, ShowError
from showvc.formats import read
from showvc.release.readings import Reading, dump_device, read_dumps, read_table
from showvc.release.stamp import EXAMPLE, stamp_of
from tests.release.salt import edited, salt

OTHER = stamp_of(salt())


def table(text: str) -> list[tuple[str, str | None]]:
    return [(reading.device, reading.stamp) for reading in read_table(text.encode(), "fleet.csv")]


@pytest.mark.parametrize(
    "text",
    [
        f"device,stamp\ndesk-01,{EXAMPLE}\npack-01,{OTHER}\n",
        f"Unit;Place;Release stamp\r\ndesk-01;Prompt corner;{EXAMPLE}\r\npack-01;Fly floor;{OTHER}\r\n",
        f"Stamp\tDevice\n{EXAMPLE}\tdesk-01\n{OTHER}\tpack-01\n",
        f"\ufeffDEVICE ID, SHOWS\ndesk-01, {EXAMPLE.lower()}\npack-01, {OTHER.replace('-', ' ')}\n",
        f'"device","stamp"\n"desk-01","{EXAMPLE}"\n"pack-01","{OTHER}"\n',
        f"desk-01,{EXAMPLE}\npack-01,{OTHER}\n",
        f"desk-01,Prompt corner,{EXAMPLE}\npack-01,Fly floor,{OTHER}\n",
        f"{EXAMPLE},desk-01\n{OTHER},pack-01\n",
        f"desk-01 {EXAMPLE}\npack-01 {OTHER}\n",
        f"# read off at the half\n\ndesk-01: {EXAMPLE.replace('-', ' ').lower()}\n\npack-01 = {OTHER}\n",
        f"device stamp\ndesk-01 {EXAMPLE}\npack-01 {OTHER.replace('-', '')}\n",
    ],
)
def test_many_ways_of_writing_it_down_read_the_same(text: str) -> None:
    assert table(text) == [("desk-01", EXAMPLE), ("pack-01", OTHER)]


def test_a_name_of_several_words_needs_no_separator() -> None:
    assert table(f"Prompt desk {EXAMPLE}") == [("Prompt desk", EXAMPLE)]
    assert table(f"Fly floor pack 2 {EXAMPLE.replace('-', ' ')}") == [("Fly floor pack 2", EXAMPLE)]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_what_spreadsheets_save_is_read(encoding: str) -> None:
    data = f"device;stamp\nSouffleur-Büro;{EXAMPLE}\n".encode(encoding)
    assert [(found.device, found.stamp) for found in read_table(data, "f.csv")] == [("Souffleur-Büro", EXAMPLE)]


def test_a_stamp_that_was_misread_is_kept_with_its_line_and_the_reason() -> None:
    (good, bad, empty, nobody) = read_table(
        f"device,stamp\na,{EXAMPLE}\nb,{EXAMPLE[:-1]}2\nc,\n,{EXAMPLE}\n".encode(), "f.csv"
    )
    assert good.problem is None
    assert bad.problem and "does not check" in bad.problem.message
    assert (bad.problem.line, bad.where) == (3, "f.csv:3")
    assert empty.problem and "no stamp" in empty.problem.message
    assert nobody.problem and "names no device" in nobody.problem.message


@pytest.mark.parametrize(
    ("data", "said"),
    [(b"", "no reading"), (b"# nothing\n\n", "no reading"), (b"PK\x03\x04\0\0\0", "not text"), (b'a,"b\n', "table")],
)
def test_what_is_no_table_is_refused(data: bytes, said: str) -> None:
    with pytest.raises(ShowError, match=said):
        read_table(data, "f.csv")


PROSE = "Intercom is not a safety stop. Line-check every position on headset before the show, stand by.\n"


@pytest.mark.parametrize(
    "text",
    [
        PROSE * 3,
        "# a README\n\npip install -e '.[test]'\nmake everything\n",
        "name: Fly Rail\nlabel: FLY\ncritical: true\n",
        "a,b\nc,d\n",
        f"{PROSE * 11}\ndesk-01 {EXAMPLE}\n",
        "import os\nfrom pathlib import Path\n",
    ],
)
def test_a_text_that_is_no_table_of_stamps_is_refused(text: str) -> None:
    with pytest.raises(ShowError, match="is no table of devices"):
        read_table(text.encode(), "some.txt")


@pytest.mark.parametrize(
    "misread", [EXAMPLE[:-1] + "2", EXAMPLE.replace("3", "B"), EXAMPLE.replace("-", "")[:-1] + "Q"]
)
def test_a_table_of_which_each_stamp_was_misread_is_still_a_table(misread: str) -> None:
    (reading,) = read_table(f"desk-01 {misread}\n".encode(), "some.txt")
    assert (reading.device, reading.stamp) == ("desk-01", None)
    assert len(read_table(f"desk-01,{misread}\npack-01,off\npack-02,\n".encode(), "some.csv")) == 3


def test_with_heads_a_table_may_be_without_any_stamp() -> None:
    assert [found.stamp for found in read_table(b"device,stamp\ndesk-01,\npack-01,off\n", "f.csv")] == [None, None]


def test_a_table_without_end_is_refused() -> None:
    with pytest.raises(ShowError, match="100000 lines"):
        read_table(b"a b\n" * 100_001, "f.txt")


@given(st.binary(max_size=120))
def test_any_bytes_are_read_or_refused_and_never_a_traceback(data: bytes) -> None:
    try:
        assert all(isinstance(reading, Reading) for reading in read_table(data, "f.csv"))
    except ShowError as error:
        assert error.problems


# Full dumps


def dumped(folder: Path, name: str, show: Show) -> None:
    (folder / name).write_text(json.dumps(show.tree()))


@pytest.mark.parametrize(
    ("name", "device"),
    [
        ("desk-01.json", "desk-01"),
        ("desk-01.show.json", "desk-01"),
        ("desk-01.show.yaml", "desk-01"),
        ("desk.1.json", "desk.1"),
    ],
)
def test_a_dump_is_named_after_its_device(name: str, device: str) -> None:
    assert dump_device(name) == device


def test_a_folder_of_dumps_is_read_each_content_once(tmp_path: Path) -> None:
    other = edited(salt(), "users", "sm", label="STAGE")
    for name, show in (("a", salt()), ("b", other), ("c", salt())):
        dumped(tmp_path, f"{name}.json", show)
    (tmp_path / "notes.txt").write_text("not a dump")
    opened: list[str] = []

    def reader(path: Path) -> Show:
        opened.append(path.name)
        return read(path)

    readings = read_dumps(tmp_path, reader)
    assert [(found.device, found.stamp) for found in readings] == [("a", OTHER), ("b", stamp_of(other)), ("c", OTHER)]
    assert readings[1].dump == other
    assert opened == ["a.json", "b.json"]


def test_what_dumps_of_other_contents_have_alike_is_one_body(tmp_path: Path) -> None:
    show = salt()
    dumped(tmp_path, "desk-01.show.json", show)
    dumped(tmp_path, "pack-01.show.json", edited(show, "users", "sm", label="OTHER"))
    one, other = (reading.dump for reading in read_dumps(tmp_path, read))
    assert one is not None
    assert other is not None
    assert one.users["sm"] != other.users["sm"]
    assert one.groups["lx"] is other.groups["lx"]


def test_a_dump_that_cannot_be_read_is_kept_with_the_reason(tmp_path: Path) -> None:
    dumped(tmp_path, "a.json", salt())
    (tmp_path / "b.json").write_text('{"format": 2, "users": 3}')
    (tmp_path / "c.json").symlink_to(tmp_path / "a.json")
    (tmp_path / "d.json").mkdir()
    good, bad, link, folder = read_dumps(tmp_path, read)
    assert good.stamp
    assert all(found.problem and found.stamp is None for found in (bad, link, folder))


def test_a_folder_without_a_dump_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ShowError, match="holds no dump"):
        read_dumps(tmp_path, read)
    with pytest.raises(MachineError):
        read_dumps(tmp_path / "gone", read)
