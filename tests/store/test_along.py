"""What stands in a git folder where we read and write files: anything but a plain file is refused, and nobody waits."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from showvc.document import ShowError
from showvc.store.along import FILES_OF_OURS, refuse_elsewhere, refuse_links
from showvc.store.making import make_show
from showvc.store.names import Names

FILES = ("HEAD", "config", "packed-refs", "index", "info/attributes")


@pytest.fixture
def git_dir(tmp_path: Path) -> Path:
    made = tmp_path / "show" / ".git"
    make_show(made)
    (made / "info").mkdir()
    (made / "showvc").mkdir()
    return made


def _put(kind: str, place: Path) -> None:
    place.unlink(missing_ok=True)
    if kind == "pipe":
        os.mkfifo(place)
    elif kind == "folder":
        place.mkdir()
    else:
        place.symlink_to("/dev/zero")


@pytest.mark.parametrize("kind", ["pipe", "folder", "link"])
@pytest.mark.parametrize("name", [*FILES, *(f"showvc/{name}" for name in sorted(FILES_OF_OURS))])
def test_what_is_no_plain_file_is_named(git_dir: Path, name: str, kind: str) -> None:
    _put(kind, git_dir / name)
    with pytest.raises(ShowError, match=f"{name} is (no plain file|a link to elsewhere): refused"):
        refuse_elsewhere(git_dir)
        refuse_links(git_dir / "showvc")


@pytest.mark.parametrize("name", ["objects", "refs", "showvc", "info", "objects/pack"])
def test_what_is_no_folder_is_named(git_dir: Path, name: str) -> None:
    (git_dir / name).rename(git_dir.parent / "aside")
    os.mkfifo(git_dir / name)
    with pytest.raises(ShowError, match=f"{name} is no folder: refused"):
        refuse_elsewhere(git_dir)


def test_a_pipe_that_names_other_objects_is_refused(git_dir: Path) -> None:
    os.mkfifo(git_dir / "objects" / "info" / "alternates")
    with pytest.raises(ShowError, match="takes the history from another folder"):
        refuse_elsewhere(git_dir)


@pytest.mark.parametrize("name", ["objects/ab", "objects/pack/pack-1.pack"])
def test_a_link_among_the_objects_is_refused(git_dir: Path, name: str) -> None:
    (git_dir / name).symlink_to("/nowhere")
    with pytest.raises(ShowError, match="is a link to elsewhere"):
        refuse_elsewhere(git_dir)


def test_what_we_write_ourselves_is_not(git_dir: Path) -> None:
    for name in FILES_OF_OURS:
        (git_dir / "showvc" / name).touch()
    (git_dir / "showvc" / "aside").mkdir()
    refuse_elsewhere(git_dir)
    refuse_links(git_dir / "showvc")


@pytest.mark.parametrize("kind", ["pipe", "folder", "link"])
def test_a_name_that_is_no_plain_file_leads_nowhere(git_dir: Path, kind: str) -> None:
    for name in ("refs/heads/main", "packed-refs"):
        _put(kind, git_dir / name)
    names = Names(git_dir)
    assert names.get("refs/heads/main") is None
    assert names.listed("refs/heads/").refs == {}
