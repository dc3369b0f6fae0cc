"""The history is a plain git repository.

Source of every check here: git itself (the program `git`, its own `status`, `fsck`, `log`, `cat-file`, `clone`), which
knows nothing of showvc.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.formats import read
from showvc.history.archive import Person
from tests.history.desk import Desk


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk.begun(tmp_path / "show")


def _edit(desk: Desk) -> None:
    desk("set", "users/sm/channels/fly/talk", "dual")
    desk("record", "--note", "Dual")


def _draft(desk: Desk) -> None:
    desk("draft", "open", "deck")
    _edit(desk)
    desk("draft", "go", "main")


def _merge(desk: Desk) -> None:
    _draft(desk)
    desk("set", "users/sm/channels/lx/level", "-3")
    desk.record("Level")
    desk("merge", "deck")


def _restore_and_record(desk: Desk) -> None:
    _edit(desk)
    desk("restore", "last-1")
    desk("record", "--note", "Back")


def _rollback(desk: Desk) -> None:
    _edit(desk)
    desk("rollback", "last")


def _undo(desk: Desk) -> None:
    _draft(desk)
    desk("draft", "go", "deck")
    desk("undo")


@pytest.mark.parametrize("work", [_edit, _draft, _merge, _restore_and_record, _rollback, _undo])
def test_git_sees_a_clean_folder_and_sound_objects(desk: Desk, work: Callable[[Desk], None]) -> None:
    assert desk.git("status", "--porcelain") == ""
    work(desk)
    assert desk.git("status", "--porcelain") == ""
    assert desk.fsck() == []


def test_git_sees_edits_as_we_do(desk: Desk) -> None:
    desk.write("users/asm.yaml", "name: ASM\n")
    desk.write("groups/rig.yaml", "name: Rigging\n")
    (desk.folder / "groups/snd.yaml").unlink()
    desk("now")
    assert desk.git("status", "--porcelain").splitlines() == [
        " D groups/snd.yaml",
        " M users/asm.yaml",
        "?? groups/rig.yaml",
    ]


def test_git_log_tells_the_same_story(desk: Desk) -> None:
    _merge(desk)
    ours = [(each["code"], each["who"], each["when"]) for each in desk.json("history")["snapshots"]]
    theirs = desk.git("log", "--topo-order", "--abbrev=7", "--format=%h%x09%an%x09%aI").splitlines()
    assert [(code, who, datetime.fromisoformat(when)) for code, who, when in ours] == [
        (code, who, datetime.fromisoformat(when)) for code, who, when in (line.split("\t") for line in theirs)
    ]


def test_a_commit_of_another_git_client_is_a_snapshot(desk: Desk) -> None:
    desk.write("groups/snd.yaml", "name: Sound Desk\n")
    desk.git("-c", "user.name=Dee Marsh", "-c", "user.email=d@example.invalid", "commit", "-qam", "By another client")
    newest = desk.json("history")["snapshots"][0]
    assert (newest["who"], newest["note"], newest["changes"]) == ("Dee Marsh", "By another client", {})
    assert desk.json("now")["unrecorded"] == {}
    assert desk.json("trace", "groups/snd/name")["values"][0]["who"] == "Dee Marsh"


def test_a_clone_by_git_is_a_show_and_holds_every_snapshot(desk: Desk, tmp_path: Path) -> None:
    _merge(desk)
    desk.git("clone", "-q", str(desk.folder), str(tmp_path / "clone"))
    clone = Desk(tmp_path / "clone")
    assert read(clone.folder) == read(desk.folder)
    ours, theirs = desk.json("history")["snapshots"], clone.json("history")["snapshots"]
    assert [{**each, "verdict": None} for each in theirs] == [{**each, "verdict": None} for each in ours]
    assert all(there["verdict"] in (None, here["verdict"]) for here, there in zip(ours, theirs, strict=True)), (
        "a verdict is kept beside the history: where it is not worked out yet, none is told"
    )
    clone("set", "groups/fly/name", "Flies")
    clone.record("On the clone")


def test_packed_and_swept_by_git_nothing_of_ours_is_lost(desk: Desk) -> None:
    _merge(desk)
    desk.write("groups/rig.yaml", "name: Rigging\n")
    kept = desk.json("restore", "last-1")["kept"]
    before = desk.json("history")
    desk.git("gc", "-q", "--prune=now")
    desk.git("pack-refs", "--all")
    assert desk.json("history") == before
    desk("restore", kept)
    assert desk.read("groups/rig.yaml") == "name: Rigging\n"
    desk("undo")
    assert desk.fsck() == []


def test_a_repository_cannot_make_us_run_its_programs(desk: Desk) -> None:
    """Hooks, filters, a file-system monitor and an external diff, set up as git's own manual has them."""
    ran = desk.folder.parent / "ran"
    program = desk.folder.parent / "program"
    program.write_text(f"#!/bin/sh\ntouch {ran}\ncat\n")
    program.chmod(0o755)
    for hook in ("pre-commit", "post-checkout", "reference-transaction", "post-index-change", "pre-merge-commit"):
        (desk.folder / ".git/hooks").mkdir(exist_ok=True)
        (desk.folder / ".git/hooks" / hook).symlink_to(program)
    for name in ("core.fsmonitor", "filter.x.clean", "filter.x.smudge", "diff.external", "core.pager", "gpg.program"):
        desk.git("config", name, str(program))
    desk.git("config", "log.showSignature", "true")
    desk.write(".gitattributes", "* filter=x diff=x\n")
    _merge(desk)
    desk("restore", "last-1")
    desk("history")
    desk("undo")
    assert not ran.exists()


@given(st.binary(max_size=300))
def test_ids_are_gits(desk_of_all: Desk, data: bytes) -> None:
    oid = desk_of_all.archive.store("blob", data)
    assert oid == hashlib.sha1(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()
    assert desk_of_all.archive.blob(oid) == data


@given(st.sets(st.from_regex(r"[a-z][a-z0-9-]{0,8}", fullmatch=True), min_size=1, max_size=12))
def test_trees_are_sorted_as_git_wants_them(desk_of_all: Desk, names: set[str]) -> None:
    """Files beside folders of nearly the same name: `a.yaml`, `a/`, `a-b/` sort by git's own rule."""
    archive = desk_of_all.archive
    blob = archive.store("blob", b"x\n")
    files = {f"{name}.yaml": blob for name in names} | {f"{name}/{name}.yaml": blob for name in names}
    tree = archive.write_tree(files)
    commit = archive.write_commit(tree, [], Person("Bo Lind", "bo@showvc.invalid"), datetime.now().astimezone(), "x\n")
    desk_of_all.git("update-ref", "refs/tags/tried", commit)
    assert archive.files(tree) == files
    listed = "".join(f"100644 blob {oid}\t{path}\n" for path, oid in files.items() if "/" not in path)
    for name in names:
        inner = desk_of_all.git("rev-parse", f"{tree}:{name}").strip()
        listed += f"040000 tree {inner}\t{name}\n"
    assert len(listed.splitlines()) == len(desk_of_all.git("ls-tree", tree).splitlines())
    assert desk_of_all.fsck() == []


@pytest.fixture(scope="module")
def desk_of_all(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return Desk.begun(tmp_path_factory.mktemp("objects") / "show")
