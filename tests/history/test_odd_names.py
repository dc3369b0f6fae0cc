"""A name that no show has is passed over and told, and stops nobody."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.history.hub import name_hub
from showvc.store import names as store_names
from showvc.store.calling import GitFailed
from showvc.store.names import Names, is_name
from tests.history.desk import Desk
from tests.history.hubs import git, joined, pair

BREAKING = ["\u2028", "\u2029", "\u0085", "\u202e", "\u200b", "\xa0", "\ufeff", "\U000e0001"]


@pytest.mark.parametrize("char", BREAKING, ids=ascii)
@pytest.mark.parametrize("packed", [False, True])
def test_such_a_name_at_the_hub_stops_neither_sync_nor_join(tmp_path: Path, char: str, packed: bool) -> None:
    ann, ben, hub = pair(tmp_path)
    for kind in ("heads", "tags", "releases"):
        git(hub, "update-ref", f"refs/{kind}/a{char}b", "refs/heads/main")
    if packed:
        git(hub, "pack-refs", "--all")
    ann.label("fly", "FLY")
    done = ann.sync()
    assert done.sent == 1
    assert sum(notice.kind == "refused" for notice in done.notices) == 3
    assert all(notice.words.isprintable() for notice in done.notices)
    ben.sync()
    assert ben.last == ann.last
    assert joined(hub, tmp_path / "cleo", "Cleo Deck").last == ann.last


def test_such_a_name_on_a_server_stops_nobody_either(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ann, _, hub = pair(tmp_path)
    ssh = tmp_path / "ssh"
    ssh.write_text('#!/bin/sh\nwhile [ "$1" != hub.example ]; do shift; done\nshift\nexec sh -c "$*"\n')
    ssh.chmod(0o755)
    monkeypatch.setenv("GIT_SSH_COMMAND", str(ssh))
    for char in BREAKING:
        git(hub, "update-ref", f"refs/tags/a{char}b", "refs/heads/main")
    name_hub(ann.archive, f"ssh://hub.example{hub}")
    ann.label("fly", "FLY")
    done = ann.sync()
    assert done.sent == 1
    assert sum(notice.kind == "refused" for notice in done.notices) == len(BREAKING)
    assert joined(f"ssh://hub.example{hub}", tmp_path / "cleo", "Cleo Deck").last == ann.last


@pytest.mark.parametrize("char", BREAKING, ids=ascii)
def test_such_a_name_in_a_show_folder_stops_no_command(tmp_path: Path, char: str) -> None:
    desk = Desk.begun(tmp_path / "show")
    desk.git("update-ref", f"refs/tags/a{char}b", "HEAD")
    for command in (
        ("now",),
        ("set", "users/sm/name", "Stage"),
        ("undo",),
        ("history",),
        ("verify",),
        ("draft", "list"),
    ):
        answer = desk(*command, code=None)
        assert "unforeseen" not in answer.err
        assert answer.code in (0, 1)
    assert desk.git("for-each-ref", "--format=%(refname)", "refs/tags").strip() == f"refs/tags/a{char}b"


def test_it_is_not_sent_and_that_is_said(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    git(ann.folder, "update-ref", "refs/tags/a\u2028b", "HEAD")
    ann.label("fly", "FLY")
    done = ann.sync()
    assert [notice.words for notice in done.notices] == [
        "The mark a\\u2028b has a name that no show has: it stays here."
    ]
    assert "\u2028" not in git(hub, "for-each-ref")


def test_bytes_that_are_no_text_are_passed_over(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    oid = git(hub, "rev-parse", "refs/heads/main")
    with (hub / "packed-refs").open("ab") as stream:
        stream.write(f"{oid} refs/tags/".encode() + b"\xff\xfe\n" + f"{oid} refs/tags/two words\n".encode())
        stream.write(b"nonsense\n\n^" + oid.encode() + b"\n" + oid.encode() + b" refs/tags/../../x\n")
    ann.label("fly", "FLY")
    done = ann.sync()
    assert done.sent == 1
    assert all(notice.words.isprintable() for notice in done.notices)


@given(st.text(min_size=1, max_size=30))
def test_what_we_take_as_a_name_git_takes_too(text: str) -> None:
    """Against git itself: `git check-ref-format`."""
    import subprocess

    if "\0" in text or not is_name(f"refs/tags/{text}"):
        return
    done = subprocess.run(["git", "check-ref-format", f"refs/tags/{text}"], check=False)
    assert done.returncode == 0


# --- names are moved as git would ---


def test_git_sees_what_we_wrote_and_we_what_git_wrote(tmp_path: Path) -> None:
    ann, _, hub = pair(tmp_path)
    one, two = ann.last, ann.label("fly", "FLY")
    ann.sync()
    names = Names(hub, patience=0)
    names.change({"refs/tags/a": one, "refs/tags/b": two}, {"refs/tags/a": None})
    git(hub, "pack-refs", "--all")
    assert names.listed("refs/tags/").refs == {"refs/tags/a": one, "refs/tags/b": two}
    names.change({"refs/tags/a": two, "refs/tags/b": None}, {"refs/tags/a": one, "refs/tags/b": two})
    assert git(hub, "for-each-ref", "--format=%(refname) %(objectname)", "refs/tags") == f"refs/tags/a {two}"
    assert names.listed("refs/tags/").refs == {"refs/tags/a": two}
    git(hub, "fsck", "--strict")


def test_all_or_none(tmp_path: Path) -> None:
    from showvc.store.names import Moved

    ann, _, hub = pair(tmp_path)
    names = Names(hub, patience=0)
    with pytest.raises(Moved):
        names.change({"refs/tags/a": ann.last, "refs/tags/b": ann.last}, {"refs/tags/b": "1" * 40})
    (hub / "refs" / "tags").mkdir(exist_ok=True)
    (hub / "refs" / "tags" / "b.lock").touch()
    with pytest.raises(Moved):
        names.change({"refs/tags/a": ann.last, "refs/tags/b": ann.last})
    assert names.listed("refs/tags/").refs == {}
    assert [path.name for path in (hub / "refs").rglob("*.lock")] == ["b.lock"]


def test_names_that_fail_to_move_together_stay_where_they_were(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git(tmp_path, "init", "--quiet", "--bare", ".")
    names, old, new, real = Names(tmp_path), "1" * 40, "2" * 40, store_names._put
    names.change({"refs/tags/a": old, "refs/heads/main": old})

    def fails(lock: Path, target: Path) -> None:
        if target.name == "main" and new in lock.read_text():
            raise OSError(5, "Input/output error", str(target))
        real(lock, target)

    with monkeypatch.context() as patch:
        patch.setattr(store_names, "_put", fails)
        with pytest.raises(GitFailed, match="Input/output error"):
            names.change({"refs/heads/main": new, "refs/tags/a": new, "refs/tags/b": new})
    assert names.listed("refs/").refs == {"refs/heads/main": old, "refs/tags/a": old}
    assert not list(tmp_path.rglob("*.lock"))
