"""Attacks by a hub in a folder and by a show folder that came along: refused or harmless, and said.

The canary is a file that the attack would make if anything of it ran.
"""

from __future__ import annotations

import datetime
import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from showvc.document import MachineError, ShowError
from showvc.history import hub_join, hub_sync, hub_verify
from showvc.history.archive import Person
from showvc.history.hub import name_hub
from tests.history.desk import Desk
from tests.history.hubs import PLAIN, Engineer, first, git, joined, pair


@pytest.fixture
def canary(tmp_path: Path) -> Path:
    return tmp_path / "canary"


def _script(path: Path, canary: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(f"#!/bin/sh\necho ran >> '{canary}'\nexit 1\n")
    path.chmod(0o755)
    return path


@pytest.fixture
def unseen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The look at a hub finds nothing: what is harmless must be so without it."""
    for module in (hub_sync, hub_join, hub_verify):
        monkeypatch.setattr(module, "inspect_folder", lambda folder: ())


# --- a hub ---


def _working_copy(hub: Path, canary: Path) -> None:
    """A second repository inside the hub, into which git sends when it is pointed at the hub."""
    script = _script(hub.parent / "evil" / "run", canary)
    shutil.copytree(hub, hub / ".git")
    for name, value in (
        ("core.bare", "false"), ("receive.denyCurrentBranch", "updateInstead"), ("filter.x.smudge", str(script)),
        ("filter.x.clean", str(script)), ("core.fsmonitor", str(script)),
    ):  # fmt: skip
        git(hub, "config", "--file", ".git/config", name, value)
    (hub / ".git" / "info").mkdir(exist_ok=True)
    (hub / ".git" / "info" / "attributes").write_text("* filter=x\n")


def test_a_second_repository_in_the_hub_is_refused(tmp_path: Path, canary: Path) -> None:
    ann, _, hub = pair(tmp_path)
    _working_copy(hub, canary)
    ann.label("fly", "FLY")
    with pytest.raises(ShowError, match=r"\.git is a second repository in the hub: refused"):
        ann.sync()
    assert not canary.exists()


def test_a_second_repository_in_the_hub_is_never_opened(tmp_path: Path, canary: Path, unseen: None) -> None:
    ann, ben, hub = pair(tmp_path)
    _working_copy(hub, canary)
    ann.label("fly", "FLY")
    assert ann.sync().sent == 1
    ben.sync()
    assert ben.last == ann.last == git(hub, "--git-dir=.", "rev-parse", "refs/heads/main")
    assert not canary.exists()


def test_a_file_that_points_into_a_private_repository_is_not_followed(tmp_path: Path, unseen: None) -> None:
    ann, _, hub = pair(tmp_path)
    private = first(tmp_path / "private", "Cleo Deck")
    secret = private.label("secret", "SEC")
    (hub / ".git").write_text(f"gitdir: {private.folder / '.git'}\n")
    ann.label("fly", "FLY")
    ann.sync()
    with pytest.raises(MachineError):
        ann.archive.commit(secret)
    assert private.last == secret, "nothing was sent there"


def _with(name: str) -> Callable[[Path, Path], None]:
    def put(hub: Path, elsewhere: Path) -> None:
        (hub / name).parent.mkdir(exist_ok=True)
        (hub / name).write_text(f"{elsewhere}\n")

    return put


@pytest.mark.parametrize(
    "name", ["COMMONDIR", "CommonDir", "Config.Worktree", "objects/info/ALTERNATES", "info/GRAFTS", "Shallow", "GITDIR"]
)
def test_another_spelling_is_the_same_name_on_a_stick(tmp_path: Path, name: str) -> None:
    """FAT, NTFS and APFS open `alternates` where `ALTERNATES` stands; the look at the hub takes them for one."""
    ann, _, hub = pair(tmp_path)
    _with(name)(hub, tmp_path)
    with pytest.raises(ShowError, match=f"the hub's {name} .*: refused"):
        ann.sync()
    with pytest.raises(ShowError, match="refused"):
        joined(hub, tmp_path / "cleo", "Cleo Deck")


def test_a_second_repository_in_capitals_is_refused(tmp_path: Path, canary: Path) -> None:
    ann, _, hub = pair(tmp_path)
    _working_copy(hub, canary)
    (hub / ".git").rename(hub / ".GIT")
    with pytest.raises(ShowError, match=r"\.GIT is a second repository"):
        ann.sync()


@pytest.mark.parametrize("name", ["objects/info/alternates", "commondir", "shallow", "info/grafts", "config.worktree"])
def test_what_leads_elsewhere_leads_nowhere_even_unseen(tmp_path: Path, name: str, unseen: None) -> None:
    """Somebody puts it there after the look. A name of the hub that only the private folder holds brings nothing."""
    ann, ben, hub = pair(tmp_path)
    private = first(tmp_path / "private", "Cleo Deck")
    secret = private.label("secret", "SEC")
    _with(name)(hub, private.folder / ".git" / ("objects" if "alternates" in name else ""))
    ann.label("fly", "FLY")
    ann.sync()
    ben.sync()
    assert ben.last == ann.last
    (hub / "refs" / "heads" / "venue").write_text(f"{secret}\n")
    with pytest.raises((ShowError, MachineError)):
        ann.sync()
    with pytest.raises(MachineError):
        ann.archive.commit(secret)


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("uploadpack.packObjectsHook", "{script}"), ("core.fsmonitor", "{script}"), ("receive.procReceiveRefs", "refs"),
        ("extensions.partialClone", "origin"), ("core.alternateRefsCommand", "{script}"), ("include.path", "{evil}"),
    ],
)  # fmt: skip
def test_a_hubs_configuration_is_read_by_nobody(
    tmp_path: Path, canary: Path, name: str, value: str, unseen: None
) -> None:
    ann, ben, hub = pair(tmp_path)
    script = _script(tmp_path / "evil" / "run", canary)
    (tmp_path / "evil" / "config").write_text(f"[core]\n\tfsmonitor = {script}\n")
    git(hub, "config", "--file", "config", name, value.format(script=script, evil=tmp_path / "evil" / "config"))
    for hook in ("pre-receive", "update", "post-receive", "post-update", "reference-transaction", "proc-receive"):
        _script(hub / "hooks" / hook, canary)
    ann.label("fly", "FLY")
    ann.sync()
    ben.sync()
    assert ben.last == ann.last
    assert joined(hub, tmp_path / "cleo", "Cleo Deck").last == ann.last
    assert not canary.exists()


# --- a show folder that came along ---

LOOKING = (
    ("verify",), ("compare", "last-1", "last"), ("trace", "users/sm/name"), ("now",), ("history",), ("check", "last"),
    ("paths", "sm", "--history"), ("paths", "sm", "fly"), ("export", "{out}", "last"), ("record", "--note", "x"),
    ("undo",), ("draft", "list"),
)  # fmt: skip


@pytest.mark.parametrize("command", LOOKING, ids=lambda words: words[0])
def test_a_folder_that_would_fetch_what_is_missing_runs_nothing(
    tmp_path: Path, canary: Path, command: tuple[str, ...]
) -> None:
    desk = Desk.begun(tmp_path / "show")
    script = _script(tmp_path / "evil" / "run", canary)
    for name, value in (
        ("core.repositoryFormatVersion", "1"), ("extensions.partialClone", "origin"), ("remote.origin.url", str(tmp_path)),
        ("remote.origin.promisor", "true"), ("remote.origin.uploadpack", str(script)), ("core.fsmonitor", str(script)),
        ("core.sshCommand", str(script)), ("core.alternateRefsCommand", str(script)), ("diff.external", str(script)),
        ("filter.x.clean", str(script)), ("core.pager", str(script)), ("core.editor", str(script)),
    ):  # fmt: skip
        desk.git("config", name, value)
    for blob in desk.git("ls-tree", "-r", "HEAD", "--format=%(objectname)").split():
        (desk.folder / ".git/objects" / blob[:2] / blob[2:]).unlink(missing_ok=True)
    shutil.rmtree(desk.folder / ".git/showvc", ignore_errors=True)
    answer = desk(*(word.format(out=tmp_path / "x.show.yaml") for word in command), code=None)
    assert not canary.exists()
    assert "unforeseen" not in answer.out + answer.err


def test_the_trap_is_real(tmp_path: Path, canary: Path) -> None:
    """Plain git runs the program of the test above."""
    desk = Desk.begun(tmp_path / "show")
    script = _script(tmp_path / "evil" / "run", canary)
    for name, value in (
        ("core.repositoryFormatVersion", "1"), ("extensions.partialClone", "origin"), ("remote.origin.url", str(tmp_path)),
        ("remote.origin.promisor", "true"), ("remote.origin.uploadpack", str(script)),
    ):  # fmt: skip
        desk.git("config", name, value)
    blob = desk.git("rev-parse", "HEAD:show.yaml").strip()
    (desk.folder / ".git/objects" / blob[:2] / blob[2:]).unlink()
    subprocess.run(["git", "cat-file", "-p", blob], cwd=desk.folder, env=PLAIN, capture_output=True, check=False)
    assert canary.exists()


def test_what_a_folder_brings_along_is_said(tmp_path: Path, canary: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    assert desk("now").err == ""
    desk.git("config", "core.fsmonitor", str(_script(tmp_path / "run", canary)))
    _script(desk.folder / ".git" / "hooks" / "post-commit", canary)
    (desk.folder / ".git" / "info" / "grafts").write_text("\n")
    said = desk("now").err
    assert "Settings in" in said
    assert "core.fsmonitor" in said
    assert "post-commit" in said
    assert "info/grafts is not heeded" in said
    told = next(check for check in desk.json("verify", code=1)["checks"] if check["name"] == "folder")
    assert len(told["wrong"]) == 3


def test_a_replaced_object_shows_no_other_show(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    before = desk("export", str(tmp_path / "before.show.yaml"), "last")
    blob = desk.git("rev-parse", "HEAD:groups/fly.yaml").strip()
    (tmp_path / "other.yaml").write_text("name: Another\nlabel: OTHER\n")
    other = desk.git("hash-object", "-w", str(tmp_path / "other.yaml")).strip()
    desk.git("replace", blob, other)
    shutil.rmtree(desk.folder / ".git/showvc")
    after = desk("export", str(tmp_path / "after.show.yaml"), "last")
    assert before.code == after.code == 0
    assert (tmp_path / "before.show.yaml").read_text() == (tmp_path / "after.show.yaml").read_text()
    assert "OTHER" not in (tmp_path / "after.show.yaml").read_text()
    assert "refs/replace is not heeded" in desk("verify", code=1).out.replace("\n", " ").replace("  ", "")


def test_an_object_that_is_not_what_its_name_says_is_not_shown(tmp_path: Path) -> None:
    import zlib

    desk = Desk.begun(tmp_path / "show")
    blob = desk.git("rev-parse", "HEAD:groups/fly.yaml").strip()
    place = desk.folder / ".git/objects" / blob[:2] / blob[2:]
    place.chmod(0o644)
    text = b"name: Another\nlabel: OTHER\n"
    place.write_bytes(zlib.compress(b"blob %d\0" % len(text) + text))
    (desk.folder / ".git/showvc/bodies.sqlite").unlink(missing_ok=True)
    answer = desk("export", str(tmp_path / "x.show.yaml"), "last", code=3)
    assert "is not what its name says" in answer.err
    assert "verify" in answer.err


def test_bodies_that_a_folder_brings_along_are_not_believed(tmp_path: Path) -> None:
    """What was parsed elsewhere, of another file, under the name of this one."""
    import sqlite3

    desk = Desk.begun(tmp_path / "show")
    desk("export", str(tmp_path / "before.show.yaml"), "last")
    table = sqlite3.connect(desk.folder / ".git/showvc/bodies.sqlite")
    rows = dict(table.execute("SELECT key, body FROM bodies WHERE key LIKE '%/groups/%'").fetchall())
    assert len(rows) > 1
    for key, body in zip(rows, [*list(rows.values())[1:], rows[next(iter(rows))]], strict=True):
        table.execute("UPDATE bodies SET body = ? WHERE key = ?", (body, key))
    table.commit()
    table.close()
    desk("export", str(tmp_path / "after.show.yaml"), "last")
    assert (tmp_path / "before.show.yaml").read_text() == (tmp_path / "after.show.yaml").read_text()


@pytest.mark.parametrize("where", ["..", ".git", ".GIT"])
@pytest.mark.parametrize("command", [("draft", "go", "venue"), ("restore", "venue"), ("merge", "venue")], ids=" ".join)
def test_a_draft_with_files_elsewhere_writes_nothing_there(
    tmp_path: Path, where: str, command: tuple[str, ...]
) -> None:
    """What stands above the show folder, or among git's hooks, is run sooner or later."""
    desk = Desk.begun(tmp_path / "home" / "show")
    archive = desk.archive
    head, last = archive.files(archive.last or "")["show.yaml"], archive.commit(archive.last or "")
    blob = archive.store("blob", b"echo ran\n")
    inner = archive.store("tree", b"100755 .profile\0" + bytes.fromhex(blob))
    entries = ((b"40000 " + where.encode(), inner), (b"100644 show.yaml", head))
    tree = archive.store("tree", b"".join(name + b"\0" + bytes.fromhex(oid) for name, oid in entries))
    when = datetime.datetime.now(datetime.UTC)
    made = archive.write_commit(tree, [last.oid], Person("A Stranger", "stranger@example.invalid"), when, "venue")
    archive.change_refs({"refs/heads/venue": made})
    before = sorted(tmp_path.rglob("*"))
    answer = desk(*command, code=2)
    assert "names what is no file of a folder" in answer.err
    assert {path.name for path in set(tmp_path.rglob("*")) - set(before)} <= {"index", "lock"}
    assert "a list of files is not as it is written" in desk("verify", code=1).out


def test_grafts_and_a_shallow_end_pretend_no_history(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    last = desk.git("rev-parse", "HEAD").strip()
    before = desk.json("history")
    (desk.folder / ".git/info/grafts").write_text(f"{last}\n")
    (desk.folder / ".git/shallow").write_text(f"{last}\n")
    assert desk.json("history") == before


@pytest.mark.parametrize("name", ["objects/info/alternates", "objects/info/http-alternates"])
def test_a_folder_that_takes_its_history_from_elsewhere_is_refused(tmp_path: Path, name: str) -> None:
    desk = Desk.begun(tmp_path / "show")
    (desk.folder / ".git" / name).write_text(f"{tmp_path}\n")
    assert "takes the history from another folder: refused" in desk("now", code=2).err


@pytest.mark.parametrize("name", ["objects", "refs", "HEAD", "config", "showvc", "objects/pack"])
def test_a_link_in_a_show_folder_is_refused(tmp_path: Path, name: str) -> None:
    desk = Desk.begun(tmp_path / "show")
    place = desk.folder / ".git" / name
    place.parent.mkdir(exist_ok=True)
    if place.exists():
        place.rename(tmp_path / "real")
    place.symlink_to(tmp_path / "real")
    assert "is a link to elsewhere: refused" in desk("now", code=2).err


def test_no_lock_of_ours_empties_a_file_elsewhere(tmp_path: Path) -> None:
    desk = Desk.begun(tmp_path / "show")
    (tmp_path / "letter").write_text("dear")
    lock = desk.folder / ".git/showvc/lock"
    lock.unlink(missing_ok=True)
    lock.symlink_to(tmp_path / "letter")
    assert "is a link to elsewhere" in desk("set", "users/sm/name", "X", code=2).err
    assert (tmp_path / "letter").read_text() == "dear"


# --- what comes in by the environment ---

FAMILY = (
    "GIT_DIR", "GIT_WORK_TREE", "GIT_OBJECT_DIRECTORY", "GIT_COMMON_DIR", "GIT_INDEX_FILE", "GIT_QUARANTINE_PATH",
    "GIT_ALTERNATE_OBJECT_DIRECTORIES", "GIT_NAMESPACE", "GIT_CONFIG", "GIT_SHALLOW_FILE", "GIT_GRAFT_FILE",
    "GIT_REPLACE_REF_BASE", "GIT_TRACE", "GIT_EXEC_PATH", "GIT_TEMPLATE_DIR", "GIT_CEILING_DIRECTORIES",
)  # fmt: skip


@pytest.mark.parametrize("name", [*FAMILY, "GIT_DEFAULT_HASH", "GIT_EXTERNAL_DIFF", "GIT_CONFIG_COUNT"])
def test_nothing_of_gits_own_environment_leaks_in(tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    other = tmp_path / "other"
    git(tmp_path, "init", "--quiet", str(other))
    before = sorted(path for path in other.rglob("*"))
    value = {"GIT_DEFAULT_HASH": "sha256", "GIT_CONFIG_COUNT": "x", "GIT_TRACE": str(other / "trace")}
    monkeypatch.setenv(name, value.get(name, str(other / ".git")))
    ann = first(tmp_path / "ann")
    name_hub(ann.archive, str(tmp_path / "hub"))
    ann.label("fly", "FLY")
    ann.sync()
    assert joined(tmp_path / "hub", tmp_path / "ben", "Ben Spot").last == ann.last
    monkeypatch.delenv(name)
    found = sorted(path for path in other.rglob("*") if path.name != "trace")
    assert found == before
    assert git(ann.folder, "rev-parse", "HEAD") == ann.last
    git(ann.folder, "fsck", "--strict")


def test_all_that_git_names_as_its_own_is_dropped() -> None:
    from showvc.store.calling import Place, environment

    named = subprocess.run(["git", "rev-parse", "--local-env-vars"], capture_output=True, text=True, check=True)
    names = {*named.stdout.split(), *FAMILY}
    os.environ.update(dict.fromkeys(names, "/nowhere"))
    try:
        found = environment(Place(Path("/ours")))
    finally:
        for name in names:
            del os.environ[name]
    assert "/nowhere" not in found.values()


def test_what_came_in_unharmed(tmp_path: Path) -> None:
    """Two engineers at a sound hub are kept from nothing by all of this."""
    ann, ben, hub = pair(tmp_path)
    ann.label("fly", "FLY")
    ann.sync()
    ben.label("lx", "LX")
    ben.sync()
    ann.sync()
    assert ann.last == ben.last == git(hub, "rev-parse", "refs/heads/main")
    git(hub, "fsck", "--strict")
    assert isinstance(ann, Engineer)
