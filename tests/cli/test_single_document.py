"""The single document, out and in: `export` and `import` of the whole show as one file."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from showvc.cli.app import app, load_families
from showvc.formats import read

FIXTURE = Path(__file__).parents[2] / "fixtures" / "salt-road.show.yaml"


@pytest.fixture
def show(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    load_families()
    monkeypatch.setenv("SHOWVC_WHO", "comms engineer")
    folder = tmp_path / "show"
    assert CliRunner().invoke(app, ["start", str(folder)]).exit_code == 0
    return folder


@pytest.mark.parametrize("suffix", [".show.yaml", ".show.json"])
def test_what_was_exported_is_imported_and_nothing_differs(show: Path, tmp_path: Path, suffix: str) -> None:
    run = CliRunner().invoke
    assert run(app, ["import", str(FIXTURE), "--yes", "--show", str(show)]).exit_code == 0
    assert read(show) == read(FIXTURE)
    out = tmp_path / f"out{suffix}"
    assert run(app, ["export", str(out), "--show", str(show)]).exit_code == 0
    assert read(out) == read(FIXTURE)
    again = run(app, ["import", str(out), "--yes", "--show", str(show)])
    assert again.exit_code == 0
    assert "Recorded" not in again.output


def test_an_import_is_shown_first_and_taken_over_only_when_asked(show: Path) -> None:
    done = CliRunner().invoke(app, ["import", str(FIXTURE), "--show", str(show)])
    assert done.exit_code == 1
    assert "Nothing was changed" in done.output
    assert len(read(show).users) == 0


def test_an_import_is_one_step_for_undo(show: Path) -> None:
    run = CliRunner().invoke
    run(app, ["import", str(FIXTURE), "--yes", "--show", str(show)])
    assert run(app, ["undo", "--show", str(show)]).exit_code == 0
    assert len(read(show).users) == 0


def test_a_document_that_cannot_be_read_changes_nothing(show: Path, tmp_path: Path) -> None:
    bad = tmp_path / "bad.show.yaml"
    bad.write_text("format: 2\nusers:\n  sm: {lable: SM}\n")
    done = CliRunner().invoke(app, ["import", str(bad), "--yes", "--show", str(show)])
    assert done.exit_code == 2
    assert "bad.show.yaml:3:8: unknown field 'lable'" in done.output
