"""A release file in the hands of programs that know nothing of showvc."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest
import rfc8785

from showvc.release.gate import Gate
from showvc.release.pack import MEMBERS, Origin, pack
from tests.release.salt import salt

DATA = pack(salt(), Origin("3fa9c21b", "Ada Deck", "2031-03-04T18:05:00+01:00", "first"), Gate())


def test_pythons_zip_reader_finds_every_member_whole() -> None:
    with zipfile.ZipFile(io.BytesIO(DATA)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == list(MEMBERS)


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="no sha256sum of GNU coreutils on this machine")
def test_coreutils_checks_the_sums(tmp_path: Path) -> None:
    """GNU coreutils, `sha256sum --check --strict`: the sums are in its format."""
    with zipfile.ZipFile(io.BytesIO(DATA)) as archive:
        archive.extractall(tmp_path)
    done = subprocess.run(
        ["sha256sum", "--check", "--strict", "SHA256SUMS"], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count(": OK") == len(MEMBERS) - 1
    (tmp_path / "show.json").write_bytes(b"{}")
    assert subprocess.run(["sha256sum", "--check", "--status", "SHA256SUMS"], cwd=tmp_path, check=False).returncode == 1


@pytest.mark.skipif(shutil.which("unzip") is None, reason="no unzip (Info-ZIP) on this machine")
def test_info_zip_tests_it_clean(tmp_path: Path) -> None:
    (tmp_path / "r.zip").write_bytes(DATA)
    assert subprocess.run(["unzip", "-tq", "r.zip"], cwd=tmp_path, capture_output=True, check=False).returncode == 0


def test_the_rfc8785_library_writes_the_same_document() -> None:
    with zipfile.ZipFile(io.BytesIO(DATA)) as archive:
        for name in ("show.json", "release.json"):
            raw = archive.read(name)
            assert rfc8785.dumps(json.loads(raw)) == raw.rstrip(b"\n")
