"""Tables in and out on the command line: shown first, recorded once, refused with nothing changed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from showvc.cli.app import app, load_families
from tests.formats.tables.books import rows_of, workbook

PLOTS = Path(__file__).parents[2] / "fixtures" / "plots"
load_families()


class Played:
    """A show folder and what the commands said."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.said = ""

    def run(self, *arguments: object) -> int:
        done = CliRunner().invoke(app, [*map(str, arguments), "--show", str(self.folder)])
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        self.said = done.output
        return done.exit_code

    def files(self) -> dict[str, bytes]:
        found = (file for file in self.folder.rglob("*") if file.is_file() and ".git" not in file.parts)
        return {str(file.relative_to(self.folder)): file.read_bytes() for file in found}

    def snapshots(self) -> int:
        self.run("history", "--json")
        return len(json.loads(self.said)["snapshots"])


@pytest.fixture
def played(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Played:
    monkeypatch.setenv("SHOWVC_WHO", "Robin")
    monkeypatch.chdir(tmp_path)
    show = Played(tmp_path / "road")
    assert CliRunner().invoke(app, ["start", str(show.folder), "--title", "The Salt Road"]).exit_code == 0
    assert show.run("import", PLOTS / "matrix.xlsx", "--yes") == 0
    return show


def test_an_import_is_one_snapshot_and_undo_takes_it_back(played):
    assert played.snapshots() == 2
    assert "users/stage-manager.yaml" in played.files()
    assert played.run("undo") == 0
    assert "users/stage-manager.yaml" not in played.files()


def test_without_yes_an_import_in_a_pipe_is_only_shown(played):
    before = played.files()
    rows = workbook({"Plot": [["Position", "Stage"], ["Whisperer", "TL"]]})
    Path("plot.xlsx").write_bytes(rows)
    assert played.run("import", "plot.xlsx", "--guess") == 0
    assert "Whisperer" in played.said and "Written: plot.xlsx.mapping.yaml" in played.said
    assert played.run("import", "plot.xlsx") == 1
    assert "user Whisperer is new" in played.said and "Nothing was changed" in played.said
    assert (played.files(), played.snapshots()) == (before, 2)


def test_what_a_file_does_not_hold_is_counted_before_the_question_with_the_way_to_keep_it(played, tmp_path):
    plot = tmp_path / "three.csv"
    plot.write_text("Position,Short\nStage Manager,CALLER\n")
    assert played.run("import", plot, "--guess") == 0
    played.run("import", plot)
    assert "taken out" not in played.said, "a proposal keeps what the file does not list"
    assert "label is now CALLER" in played.said
    layout = tmp_path / "three.csv.mapping.yaml"
    layout.write_text(layout.read_text().replace("\nmissing: keep", "\nmissing: remove"))
    played.run("import", plot)
    assert "Not in this file, and would be taken out: 6 of 7 users." in played.said
    assert f"write into {layout}: missing: keep" in played.said.replace("\n", " ")


def test_a_proposal_never_overwrites_a_mapping(played):
    Path("plot.xlsx").write_bytes(workbook({"Plot": [["Position", "Stage"], ["Whisperer", "TL"]]}))
    Path("plot.xlsx.mapping.yaml").write_text("mine")
    assert played.run("import", "plot.xlsx", "--guess") == 2
    assert Path("plot.xlsx.mapping.yaml").read_text() == "mine"


def test_a_workbook_goes_out_and_comes_back_with_an_edit(played):
    assert played.run("export", "show.xlsx") == 0
    assert played.run("compare", "last", "show.xlsx", "--fail-on-change") == 0
    sheets = rows_of(Path("show.xlsx").read_bytes())
    place = sheets["Users"][0].index("Name")
    row = next(row for row in sheets["Users"] if row[0] == "follow-spot-1")
    row[place] = "Truss Spot"
    Path("show.xlsx").write_bytes(workbook(sheets))
    assert played.run("import", "show.xlsx", "--yes", "--note", "From the deck") == 0
    assert b"name: Truss Spot" in played.files()["users/follow-spot-1.yaml"]
    assert played.snapshots() == 3


def test_text_tables_and_a_mapped_file_are_sources_like_any_other(played):
    assert played.run("export", "tables") == 0
    assert played.run("compare", "last", "tables", "--fail-on-change") == 0
    assert played.run("compare", "last", PLOTS / "matrix.xlsx", "--fail-on-change") == 0
    assert played.run("compare", PLOTS / "matrix.xlsx", "last", "--fail-on-change") == 0
    assert played.run("check", PLOTS / "panels.xlsx") in (0, 1)


@pytest.mark.parametrize("plot", ["list", "matrix.xlsx", "panels.xlsx", "plot.json", "plot.xml"])
def test_every_plot_is_compared_by_the_things_that_the_show_knows(played, plot):
    """Beyond what each plot alone carries, they are the same document: under the ids that the show has."""
    assert played.run("set", "users/stage-manager/name", "Show Caller") == 0
    assert played.run("record", "--note", "Renamed") == 0
    assert played.run("compare", "last", PLOTS / plot, "--json") == 0
    edits = [edit for edit in json.loads(played.said)["changes"] if "/extra" not in edit["path"]]
    assert [(edit["path"], edit["change"], edit["after"]) for edit in edits] == [
        ("/users/stage-manager/name", "renamed", "Stage Manager")
    ]


def test_a_mapped_plot_is_merged_without_an_import(played):
    Path("plot.csv").write_text("Position,Dept.\nStage Manager,stage management\n")
    mapping = "{each: user, columns: {Position: name, Dept.: department}}"
    Path("plot.csv.mapping.yaml").write_text(f"mapping: 1\ntables:\n  plot: {mapping}\nmissing: keep\n")
    assert played.run("merge", "plot.csv") == 0, played.said
    assert "the nearest snapshot" in played.said
    assert b"department: stage management" in played.files()["users/stage-manager.yaml"]


def test_a_workbook_is_merged_from_the_snapshot_that_it_names(played):
    played.run("export", "show.xlsx")
    code = json.loads(history(played))["snapshots"][0]["code"]
    played.run("set", "groups/fly-rail/name", "Fly Floor")
    played.run("record", "--note", "On the deck")
    sheets = rows_of(Path("show.xlsx").read_bytes())
    next(row for row in sheets["Users"] if row[0] == "follow-spot-1")[sheets["Users"][0].index("Name")] = "Truss Spot"
    Path("show.xlsx").write_bytes(workbook(sheets))
    assert played.run("merge", "show.xlsx") == 0, played.said
    assert f"from {code}, the snapshot that the file names" in played.said
    assert b"name: Truss Spot" in played.files()["users/follow-spot-1.yaml"]
    assert b"name: Fly Floor" in played.files()["groups/fly-rail.yaml"]


@pytest.mark.parametrize("file", ["show.xlsx", "tables", "one.show.yaml"])
def test_an_import_says_when_the_file_is_of_an_earlier_snapshot_and_how_to_keep_both(played, file):
    played.run("export", file)
    code = json.loads(history(played))["snapshots"][0]["code"]
    assert played.run("import", file) == 0
    assert "recorded here since" not in played.said
    played.run("set", "groups/fly-rail/name", "Fly Floor")
    played.run("record", "--note", "On the deck")
    assert played.run("import", file) == 1
    told = f"This file is of snapshot {code}: 1 snapshot recorded here since would be taken back. To keep both: "
    assert f"{told}showvc merge {file}" in " ".join(played.said.split())
    played.run("import", file, "--json")
    assert any(note.startswith(told) for note in json.loads(played.said)["notes"])


@pytest.mark.parametrize("stamp", ["last", "../../x", "--help", "2026-01-01", "0" * 40, "", "last-99"])
def test_a_stamp_that_is_no_snapshot_of_this_show_is_not_followed(played, stamp):
    played.run("export", "show.xlsx")
    sheets = rows_of(Path("show.xlsx").read_bytes())
    next(row for row in sheets["About"] if row[0] == "Stamp")[1] = stamp
    Path("show.xlsx").write_bytes(workbook(sheets))
    assert played.run("merge", "show.xlsx") == 0, played.said
    assert "the nearest snapshot" in played.said


def test_without_a_history_tables_are_read_over_the_other_source(played, monkeypatch, tmp_path):
    played.run("export", "one.show.yaml")
    Path("out").mkdir()
    monkeypatch.chdir("out")
    said = CliRunner().invoke(app, ["compare", "../one.show.yaml", str(PLOTS / "matrix.xlsx"), "--fail-on-change"])
    assert said.exit_code == 0, said.output


def history(played):
    played.run("history", "--json")
    return played.said


def test_a_file_that_is_not_there_is_told_as_such(played):
    assert played.run("compare", "last", "nowhere.xml") == 2
    assert "nowhere.xml: is not there" in played.said


def test_cells_that_cannot_be_read_are_listed_and_end_with_one(played):
    played.run("export", "show.xlsx")
    sheets = rows_of(Path("show.xlsx").read_bytes())
    sheets["Groups"][1][3] = "perhaps"
    sheets["Groups"][2][1] = "Electrics"
    Path("show.xlsx").write_bytes(workbook(sheets))
    assert played.run("import", "show.xlsx", "--json", "--yes") == 1
    (unread,) = json.loads(played.said)["unread"]
    assert (unread["sheet"], unread["cell"], unread["value"]) == ("Groups", "D2", "perhaps")
    assert b"critical: true" in played.files()["groups/fly-rail.yaml"]
    assert played.run("compare", "last", "show.xlsx") == 2
    assert "sheet Groups, cell D2: 'perhaps' cannot be read" in played.said


def test_doubts_in_a_pipe_are_listed_and_answered_by_a_file(played):
    mapping = "mapping: 1\ntables:\n  plot: {each: user, columns: {Position: name}}\nmissing: keep\n"
    Path("plot.csv.mapping.yaml").write_text(mapping)
    Path("plot.csv").write_text("Position\nFollow Spot\n")
    before = played.files()
    assert played.run("import", "plot.csv", "--yes") == 1
    assert "Follow Spot: follow-spot-1" in played.said and "--accept FILE" in played.said
    assert played.files() == before
    Path("answers.yaml").write_text("users:\n  Follow Spot: follow-spot-2\n")
    assert played.run("import", "plot.csv", "--yes", "--accept", "answers.yaml") == 0
    assert b"name: Follow Spot\n" in played.files()["users/follow-spot-2.yaml"]


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("a.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "protected by a password"),
        ("a.xlsx", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old .xls workbook"),
        ("a.xlsx", b"PK\x03\x04", "damaged"),
        ("a.xml", b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>', "declares XML entities"),
        ("a.csv", b'a;b\n"', "not readable as a table"),
        ("a.pdf", b"%PDF", "no table that showvc reads"),
    ],
)  # fmt: skip
def test_hostile_files_are_refused_and_nothing_is_changed(played, name, data, said):
    before = played.files()
    Path(name).write_bytes(data)
    assert played.run("import", name, "--yes", "--mapping", PLOTS / "plot.xml.mapping.yaml") == 2
    assert said in played.said and "Traceback" not in played.said
    assert (played.files(), played.snapshots()) == (before, 2)


def test_unrecorded_edits_stop_an_import(played):
    assert played.run("set", "users/follow-spot-1/name", "Edited") == 0
    assert played.run("import", PLOTS / "matrix.xlsx", "--yes") == 2
    assert "record them first" in played.said


def test_an_export_never_overwrites_unless_told_to(played):
    Path("show.xlsx").write_bytes(b"mine")
    assert played.run("export", "show.xlsx") == 2
    assert Path("show.xlsx").read_bytes() == b"mine"
    assert played.run("export", "show.xlsx", "--replace") == 0
    assert Path("show.xlsx").read_bytes()[:2] == b"PK"


def test_an_export_says_which_snapshot_it_is_of(played):
    played.run("history", "--json")
    code = json.loads(played.said)["snapshots"][0]["code"]
    played.run("export", "show.xlsx")
    assert code in played.said
    about = {row[0]: row[1] for row in rows_of(Path("show.xlsx").read_bytes())["About"]}
    assert str(about["Stamp"]).startswith(code)
    played.run("export", "out.show.yaml")
    assert Path("out.show.yaml").read_text().startswith(f"# snapshot {code}")


def many_positions(folder: Path) -> Path:
    """A plot of 300 positions, with its mapping beside it."""
    rows = "".join(f"Position {number},LX\r\n" for number in range(300))
    (folder / "plot.csv").write_text("Position,Dept.\r\n" + rows)
    mapping = "mapping: 1\ntables:\n  plot: {each: user, columns: {Position: name, Dept.: department}}\n"
    (folder / "plot.csv.mapping.yaml").write_text(mapping)
    return folder / "plot.csv"


def test_long_reads_show_progress_on_a_terminal_and_none_in_a_pipe(played, tmp_path):
    program = [sys.executable, "-c", "from showvc.cli import main; main()"]
    call = [*program, "import", str(many_positions(tmp_path)), "--show", str(played.folder)]
    leader, follower = os.openpty()
    done = subprocess.run(call, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=follower, check=False)
    os.close(follower)
    assert done.returncode == 1
    assert "Reading row 50 of 300\rReading row 100 of 300" in os.read(leader, 65536).decode()
    os.close(leader)
    piped = subprocess.run(call, stdin=subprocess.DEVNULL, capture_output=True, check=False)
    assert (piped.returncode, piped.stderr, piped.stdout) == (1, b"", done.stdout)


def test_an_export_through_a_mapping_says_what_it_leaves_out(played):
    assert played.run("export", "plot.xlsx", "--mapping", PLOTS / "matrix.xlsx.mapping.yaml") == 0
    assert "Left out" not in played.said
    played.run("set", "groups/fly-rail/tags", "[rig]")
    assert played.run("export", "plot.xlsx", "--replace", "--mapping", PLOTS / "matrix.xlsx.mapping.yaml") == 0
    assert "Left out, for the mapping has no place for it:\n  tags of 1 group\n" in played.said


def test_text_tables_may_be_written_into_the_folder_one_stands_in(played, tmp_path, monkeypatch):
    (tmp_path / "tables").mkdir()
    monkeypatch.chdir(tmp_path / "tables")
    assert played.run("export", ".") == 0
    assert (tmp_path / "tables" / "Users.csv").is_file()
    assert played.run("import", ".") == 0
    assert "Nothing changes" in played.said
