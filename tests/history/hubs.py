"""Engineers with a show folder each, a hub between them, and somebody who means ill with plain git."""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

from showvc.document import Show
from showvc.formats import read
from showvc.formats.folder import folder_texts
from showvc.history.archive import Archive
from showvc.history.beginning import begin
from showvc.history.hub import name_hub
from showvc.history.hub_join import join_hub
from showvc.history.hub_sync import Options, Synced, sync
from showvc.history.shows import Shows
from showvc.history.snapshots import record
from tests.generator import random_show

PLAIN = {
    **{name: value for name, value in os.environ.items() if not name.startswith("GIT_")},
    "GIT_AUTHOR_NAME": "A Stranger", "GIT_AUTHOR_EMAIL": "stranger@example.invalid",
    "GIT_COMMITTER_NAME": "A Stranger", "GIT_COMMITTER_EMAIL": "stranger@example.invalid",
    "GIT_CONFIG_NOSYSTEM": "1", "GIT_CONFIG_GLOBAL": os.devnull, "LC_ALL": "C",
}  # fmt: skip


def git(folder: Path, *arguments: str, data: bytes | None = None, **extra: str) -> str:
    """What plain git, with none of our care, says in a folder."""
    done = subprocess.run(
        ["git", *arguments], cwd=folder, input=data, env={**PLAIN, **extra}, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode().strip()


def write_show(folder: Path, show: Show) -> None:
    """Makes the files of a show folder those of `show`."""
    texts = folder_texts(show)
    for path in folder.glob("*/*.yaml"):
        if path.relative_to(folder).as_posix() not in texts:
            path.unlink()
    for path, text in texts.items():
        (folder / path).parent.mkdir(exist_ok=True)
        if not (folder / path).exists() or (folder / path).read_text() != text:
            (folder / path).write_text(text)


@dataclass
class Engineer:
    """Somebody with a show folder."""

    folder: Path

    @property
    def archive(self) -> Archive:
        return Archive.open(self.folder)

    @property
    def show(self) -> Show:
        return read(self.folder)

    @property
    def last(self) -> str:
        last = self.archive.last
        assert last is not None
        return last

    def record(self, show: Show, note: str = "edits") -> str | None:
        write_show(self.folder, show)
        made = record(self.archive, note)
        return made.snapshot.oid if made else None

    def label(self, group: str, label: str, note: str | None = None) -> str:
        """Gives a group a label, and records it."""
        (self.folder / "groups").mkdir(exist_ok=True)
        (self.folder / "groups" / f"{group}.yaml").write_text(f"label: {label}\n")
        made = record(self.archive, note or f"{group} is {label}")
        assert made is not None
        return made.snapshot.oid

    def sync(self, **options: object) -> Synced:
        """Exchanges; with a yes to what only the two sides together lose, for random edits lose much."""
        archive = self.archive
        return sync(archive, Shows(archive), Options(**{"yes": True, **options}))  # type: ignore[arg-type]


def first(folder: Path, who: str = "Ann Rigg", show: Show | None = None) -> Engineer:
    """An engineer who begins a show."""
    folder.mkdir(parents=True)
    write_show(folder, show or random_show(1, users=3, groups=2, devices=3, bridges=1, channels=3))
    begin(folder, None, who)
    return Engineer(folder)


def joined(hub: Path | str, folder: Path, who: str) -> Engineer:
    """An engineer who joins."""
    join_hub(str(hub), folder, who)
    return Engineer(folder)


def pair(place: Path) -> tuple[Engineer, Engineer, Path]:
    """Two engineers and the hub between them: a copy of the same two each time."""
    if not _TEMPLATE:
        _TEMPLATE.append(Path(tempfile.mkdtemp(prefix="showvc-pair-")))
        atexit.register(shutil.rmtree, _TEMPLATE[0], ignore_errors=True)
        made_pair(_TEMPLATE[0])
    shutil.copytree(_TEMPLATE[0], place, dirs_exist_ok=True)
    for name in ("ann", "ben"):
        state = place / name / ".git" / "showvc" / "hub.json"
        state.write_text(state.read_text().replace(str(_TEMPLATE[0]), str(place)))
    return Engineer(place / "ann"), Engineer(place / "ben"), place / "hub"


_TEMPLATE: list[Path] = []


def made_pair(place: Path, show: Show | None = None) -> tuple[Engineer, Engineer, Path]:
    """Two engineers and the hub between them."""
    ann = first(place / "ann", show=show)
    hub = place / "hub"
    name_hub(ann.archive, str(hub))
    ann.sync()
    return ann, joined(hub, place / "ben", "Ben Spot"), hub


def everything_reachable(engineer: Engineer) -> set[str]:
    """Every snapshot that a name or the list of operations leads to."""
    refs = git(engineer.folder, "for-each-ref", "--format=%(objectname)").split()
    return set(git(engineer.folder, "rev-list", "--stdin", data=("\n".join(refs) + "\n").encode()).split())


def left_locks(*folders: Path) -> list[Path]:
    """Locks and half-done exchanges that lie about."""
    found = [path for folder in folders for path in folder.rglob("*.lock")]
    # The folder's own two lock files stay for good; what counts is whether somebody holds them.
    own = {"exchange.lock"}
    found = [path for path in found if path.name not in own]
    return (
        found
        + [path for folder in folders for path in folder.rglob("exchange-*")]
        + [path for folder in folders for path in folder.rglob("tmp_pack*")]
    )
