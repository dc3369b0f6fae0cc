"""Outside check: LibreOffice Calc, run headless, opens our workbook and saves it; it still reads the same."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from showvc.document import Show, show_from_tree
from showvc.formats.tables.textfiles import read_csv, write_csv
from showvc.formats.tables.workbook import read_workbook, write_workbook
from tests.generator import random_show

SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
pytestmark = pytest.mark.skipif(
    SOFFICE is None,
    reason="LibreOffice is not on this machine (apt-get install --no-install-recommends libreoffice-calc)",
)

TEXTS = [
    "012",
    "1E3",
    "1E+03",
    "12-Mar",
    "3/4",
    "=1+1",
    "+x",
    "-x",
    "@x",
    "'",
    "'=x",
    "TRUE",
    " lead ",
    'a"b',
    "1.50",
    "Total",
    "ß日本",
]


def saved(folder: Path, name: str, data: bytes, kind: str) -> bytes:
    """The same file after LibreOffice has opened it and saved it as `kind`."""
    (folder / name).write_bytes(data)
    out = folder / "saved"
    profile = f"-env:UserInstallation=file://{folder}/profile"
    command = [str(SOFFICE), "--headless", profile, "--convert-to", kind, "--outdir", str(out), str(folder / name)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    return next(out.iterdir()).read_bytes()


def awkward() -> Show:
    show = random_show(seed=4, users=12, groups=6, devices=12)
    groups = {
        f"g{number}": {"name": text, "label": text, "tags": [text], "extra": {text: text, "n": number}}
        for number, text in enumerate(TEXTS)
    }
    users = {
        f"u{number}": {"name": text, "channels": {"g1": {"number": 1, "label": text, "level": -0.5}}}
        for number, text in enumerate(TEXTS)
    }
    tree = show.tree()
    return show_from_tree(
        {
            **tree,
            "notes": "first\n\n  third\n",
            "groups": {**tree["groups"], **groups},
            "users": {**tree["users"], **users},
        }
    )


def test_a_workbook_saved_by_libreoffice_reads_the_same(tmp_path):
    show = awkward()
    data = saved(tmp_path, "show.xlsx", write_workbook(show, "K7QF", "2026-03-04T18:30:00+01:00"), "xlsx")
    found, about = read_workbook(data, "show.xlsx")
    assert found == show
    assert about.stamp == "K7QF"


def test_a_text_table_saved_by_libreoffice_reads_the_same(tmp_path):
    show = awkward()
    files = write_csv(show, "K7QF", "2026-03-04T18:30:00+01:00")
    files["Groups.csv"] = saved(tmp_path, "Groups.csv", files["Groups.csv"], "csv")
    assert read_csv(files, "tables")[0] == show
