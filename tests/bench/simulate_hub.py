"""A season, a crowd, and ten thousand shows on one hub: where the first limit is. DEVELOPERS.md tells the figures.

    python -m tests.bench.simulate_hub [PART…]      names, crowd, season, shows; none: all of them

Prints seconds by the clock and sizes on this machine, at several sizes each; nothing is asserted. Git is measured
itself beside showvc: what grows there is git's, and no program above it makes it less.

names    how a sync and git's own listing grow with the number of drafts, marks and releases of one show
crowd    so many engineers with an edit each, who sync at one hub at the same moment
season   2,000 snapshots and 40,000 commands in one folder that never packed its objects, and the same packed
shows    bare repositories, one for each show, against one repository that holds all shows as drafts
"""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

os.environ.setdefault("SHOWVC_WHO", "Ada Deck")

from showvc.document import Show
from showvc.formats.folder import folder_texts
from showvc.history.archive import OPERATIONS, Archive
from showvc.history.beginning import begin
from tests.bench.ground import ENVIRONMENT, SHOWVC, run, showvc
from tests.generator import random_show

TOURING: dict[str, Any] = {"users": 150, "groups": 40, "devices": 120, "bridges": 6, "channels": 12}
"""A show of the usual size; the largest is some twenty times that."""
REFS = 60
"""Marks and releases of a season: a mark for each stop, a release or two."""


def seconds(work: Callable[[], object], rounds: int = 3) -> float:
    """The best time of some rounds."""
    found = []
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def git(folder: Path, *arguments: str, data: bytes | None = None) -> str:
    settings = ("-c", "gc.auto=0", "-c", "safe.directory=*")
    done = subprocess.run(
        ["git", *settings, *arguments], cwd=folder, input=data, env=ENVIRONMENT, capture_output=True, check=True
    )
    return done.stdout.decode()


def started(folder: Path, show: Show | None = None) -> Archive:
    """A show folder with its first snapshot."""
    for path, text in folder_texts(show or random_show(1, **TOURING)).items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text)
    begin(folder, None, None)
    return Archive.open(folder)


def with_hub(home: Path) -> tuple[Archive, Path]:
    archive, hub = started(home / "show"), home / "hub"
    showvc(archive.folder, "hub", str(hub))
    showvc(archive.folder, "sync")
    return archive, hub


def mib(folder: Path) -> float:
    """What a folder takes on the disk, in MiB: whole blocks, as a stick fills up."""
    return sum(path.lstat().st_blocks * 512 for path in folder.rglob("*")) / 1024**2


# --- names ---


def names(home: Path) -> None:
    """Marks on one show, as a tour or a venue collects them."""
    print("\nnames of one show (drafts, marks, releases)")
    print("    names   hub's own listing   first sync   sync, nothing new   sync, one edit      now    joining")
    for count in (10, 100, 1000, 10_000):
        _names(home / f"names-{count}", count)


def _names(home: Path, count: int) -> None:
    archive, hub = with_hub(home)
    folder, last = archive.folder, archive.last or ""
    archive.change_refs({f"refs/tags/stop-{number:05}": last for number in range(count)})
    first = seconds(lambda: showvc(folder, "sync"), 1)
    listing = seconds(lambda: git(hub, "for-each-ref"))
    again = seconds(lambda: showvc(folder, "sync"))
    showvc(folder, "set", next(_labels(archive)), "NEW")
    showvc(folder, "record", "--note", "an edit")
    edit = seconds(lambda: showvc(folder, "sync"), 1)
    now = seconds(lambda: showvc(folder, "now"))
    join = seconds(lambda: showvc(home, "join", str(hub), str(home / "ben")), 1)
    times = f"{listing:17.3f} s {first:10.2f} s {again:17.2f} s {edit:14.2f} s {now:6.2f} s {join:8.2f} s"
    print(f"  {count:7} {times}")


def _labels(archive: Archive) -> Iterator[str]:
    """Labels of users, to be edited."""
    for path in sorted((archive.folder / "users").glob("*.yaml")):
        yield f"users/{path.stem}/label"


# --- crowd ---


def crowd(home: Path) -> None:
    print("\na crowd at one show: each with an edit of his own, all at once")
    print("  engineers   one after the other   all at once   most tries")
    for count in (1, 2, 4, 8, 16, 32):
        _crowd(home / f"crowd-{count}", count)


def _crowd(home: Path, count: int) -> None:
    _, hub = with_hub(home)
    folders = [_engineer(home, hub, number) for number in range(count)]
    spare, apart = (
        shutil.copytree(hub, home / "spare"),
        [shutil.copytree(one, home / f"{one.name}-b") for one in folders],
    )
    for one in apart:
        showvc(one, "hub", str(spare))
    alone = seconds(lambda: [showvc(one, "sync") for one in apart], 1)
    start = time.perf_counter()
    call = [*SHOWVC, "sync", "--json"]
    running = [subprocess.Popen(call, cwd=one, env=ENVIRONMENT, stdout=subprocess.PIPE) for one in folders]
    answers = [json.loads(process.communicate()[0]) for process in running]
    whole = time.perf_counter() - start
    print(f"  {count:9} {alone:19.2f} s {whole:11.2f} s {max(answer['tries'] for answer in answers):12}")


def _engineer(home: Path, hub: Path, number: int) -> Path:
    """Somebody who joined, with a crew of his own recorded."""
    folder = home / f"engineer-{number:02}"
    showvc(home, "join", str(hub), str(folder), "--who", f"Engineer {number}")
    (folder / "groups" / f"crew-{number:02}.yaml").write_text(f"label: C{number:02}\n")
    showvc(folder, "record", "--note", "a crew")
    return folder


# --- season ---


def season(home: Path) -> None:
    archive = started(home / "season" / "show")
    each = _objects_of_a_command(archive)
    print(f"\na season in one folder: {each:.1f} objects for each command, {REFS} marks and releases")
    print("  snapshots  commands   objects   on disk     set     now   undo --list   git fsck   the record that packs")
    for snapshots, commands in ((100, 2000), (500, 10_000), (2000, 40_000)):
        _season(home / "season" / f"s{snapshots}", snapshots, commands)


def _season(folder: Path, snapshots: int, commands: int) -> None:
    grown = _grown(folder, snapshots, commands)
    _row("loose", grown, snapshots, commands)
    labels = _labels(grown)
    packing = seconds(lambda: _recorded(folder, next(labels)), 1)
    _row("packed", grown, snapshots, commands, packing)
    hub = at_the_hub(folder)
    print(f"  of that, a hub holds the snapshots alone: {hub:.1f} MiB packed, {hub * 1024 / snapshots:.1f} KiB each")


def at_the_hub(folder: Path) -> float:
    """What the snapshots alone take in one pack, in MiB: the part of a show that goes to its hub."""
    command = ["git", "pack-objects", "--revs", "--stdout", "-q"]
    done = subprocess.run(command, cwd=folder, input=b"refs/heads/main\n", capture_output=True, check=True)
    return len(done.stdout) / 1024**2


def _objects_of_a_command(archive: Archive) -> float:
    labels, before = _labels(archive), _count(archive)
    for number in range(6):
        showvc(archive.folder, "set", next(labels), f"L{number}")
    showvc(archive.folder, "record", "--note", "labels")
    return (_count(archive) - before) / 7


def _count(archive: Archive) -> int:
    lines = archive.git("count-objects", "-v").splitlines()
    return sum(int(line.partition(": ")[2]) for line in lines if line.startswith(("count", "in-pack")))


def _row(state: str, archive: Archive, snapshots: int, commands: int, packing: float | None = None) -> None:
    folder, labels = archive.folder, _labels(archive)
    count, size = _count(archive), mib(archive.git_dir / "objects")
    edit = seconds(lambda: showvc(folder, "set", next(labels), f"X{random.randint(0, 9999)}"))
    now = seconds(lambda: showvc(folder, "now"))
    listed = seconds(lambda: showvc(folder, "undo", "--list"))
    fsck = seconds(lambda: git(folder, "fsck", "--no-dangling"), 1)
    packed = "" if packing is None else f"{packing:8.2f} s"
    print(
        f"  {snapshots:9} {commands:9} {count:9} {size:6.0f} MiB {edit:5.2f} s {now:5.2f} s"
        f" {listed:10.2f} s {fsck:9.2f} s {packed}  {state}"
    )


def _recorded(folder: Path, label: str) -> None:
    path = folder / f"{label.rpartition('/')[0]}.yaml"
    path.write_text(path.read_text() + f"# {random.random()}\n")
    showvc(folder, "record", "--note", "a remark")


def _grown(folder: Path, snapshots: int, commands: int) -> Archive:
    """A folder with so many snapshots and commands behind it, every object loose, as they come when nobody packs.

    Written with git's fast-import and taken apart again: the same objects as the commands write, without a day's
    waiting. Each command edits one user, and its operation holds the folder before and after it.
    """
    archive = started(folder)
    last = archive.last or ""
    archive.change_refs({f"refs/tags/stop-{number:03}": last for number in range(REFS)})
    git(folder, "fast-import", "--quiet", "--force", data=b"\n".join(_edits(archive, snapshots, commands)) + b"\n")
    trees = git(folder, "log", "--reverse", "--format=%T", "refs/scratch/work").split()
    git(folder, "fast-import", "--quiet", "--force", data=b"\n".join(_operations(archive, trees)) + b"\n")
    git(folder, "update-ref", "-d", "refs/scratch/work")
    git(folder, "repack", "-a", "-d", "-q")
    _take_apart(archive)
    (archive.own / "applied").write_text(f"{archive.ref(OPERATIONS)}\n")
    showvc(folder, "now")
    return archive


def _edits(archive: Archive, snapshots: int, commands: int) -> Iterator[bytes]:
    """The folder as each command leaves it, on a ref for the while, and every so often a snapshot of it."""
    last, files = archive.last or "", archive.files(archive.last or "")
    users = [path for path in files if path.startswith("users/")]
    texts = {path: archive.blob(files[path]).decode() for path in users}
    first = [f"from {last}".encode()]
    for turn in range(commands):
        name = users[turn % len(users)]
        text = texts[name].replace("name: ", f"name: V{turn} ", 1).encode()
        edit = [f"M 100644 inline {name}".encode(), b"data %d" % len(text), text]
        yield from (*_commit("refs/scratch/work", f"work {turn}"), *(first if turn == 0 else []), *edit)
        if turn % (commands // snapshots) == 0:
            yield from (*_commit("refs/heads/main", f"snapshot {turn}"), *(first if turn == 0 else []), *edit)


def _operations(archive: Archive, trees: list[str]) -> Iterator[bytes]:
    """An operation for each command. What it says of refs is as long as in truth, and as little alike.

    The last one says how things stand, so that the next command goes on from there.
    """
    newest = archive.ref(OPERATIONS) or ""
    number = int(json.loads(archive.commit(newest).message.partition("\n\n")[2])["number"])
    here = archive.tree_of(archive.last or "")
    true = {name: oid for name, oid in archive.refs().items() if not name.startswith("refs/scratch")}
    for place, (before, after) in enumerate(zip([here, *trees], [*trees, here], strict=True)):
        refs = true if place == len(trees) else {**true, "refs/heads/main": random.randbytes(20).hex()}
        view = {"draft": "main", "refs": refs, "work": before, "pending": None}
        body = {"number": number + 1 + place, "command": "set", "when": "2030-03-04T18:05:00+01:00"}
        told = json.dumps({**body, "before": view, "after": {**view, "work": after}}, sort_keys=True)
        yield from _commit(OPERATIONS, f"set\n\n{told}\n")
        yield from [f"from {newest}".encode()] if place == 0 else []
        yield from (f"M 040000 {before} before".encode(), f"M 040000 {after} after".encode())


def _commit(ref: str, message: str) -> list[bytes]:
    who = b"committer Ada Deck <ada@showvc.invalid> 1900000000 +0100"
    data = message.encode()
    return [f"commit {ref}".encode(), who, b"data %d" % len(data), data]


def _take_apart(archive: Archive) -> None:
    packs = archive.git_dir / "objects" / "pack"
    aside = archive.git_dir / "aside"
    aside.mkdir()
    for path in packs.iterdir():
        path.rename(aside / path.name)
    for path in aside.glob("*.pack"):
        git(archive.folder, "unpack-objects", "-q", data=path.read_bytes())
    shutil.rmtree(aside)


# --- shows ---


def shows(home: Path) -> None:
    print("\nshows on one machine: a repository for each, or one for all with a draft for each show")
    archive, hub = with_hub(home / "one")
    base = mib(hub)
    files = sum(1 for _ in hub.rglob("*"))
    alone = seconds(lambda: showvc(archive.folder, "sync"))
    plain = seconds(lambda: git(archive.folder, "fetch", "--quiet", str(hub), "refs/heads/*:refs/scratch/*"))
    print(f"  one show: {base:.2f} MiB and {files} files at the hub; a sync with nothing new {alone:.2f} s")
    print(f"  what the hub does for it, as git's own fetch of nothing new: {plain:.3f} s")
    print("    shows   making them   on disk   a sync of one   |  drafts of one: listing   first sync   a sync")
    for count in (10, 100, 1000):
        _shows(home, archive.folder, hub, count)


def _shows(home: Path, show: Path, hub: Path, count: int) -> None:
    place, last = home / f"shows-{count}", git(hub, "rev-parse", "refs/heads/main").strip()
    making = seconds(lambda: [shutil.copytree(hub, place / f"show-{n:05}") for n in range(count)], 1)
    size = mib(place)
    showvc(show, "hub", str(place / f"show-{count // 2:05}"))
    one = seconds(lambda: showvc(show, "sync"))
    together = shutil.copytree(hub, home / f"together-{count}")
    updates = "".join(f"create refs/heads/show-{n:05} {last}\n" for n in range(count))
    git(together, "update-ref", "--stdin", data=updates.encode())
    showvc(show, "hub", str(together))
    listing = seconds(lambda: git(together, "for-each-ref"))
    first = seconds(lambda: showvc(show, "sync"), 1)
    many = seconds(lambda: showvc(show, "sync"))
    print(
        f"  {count:7} {making:10.2f} s {size:7.0f} MiB {one:13.2f} s  | {listing:24.3f} s {first:11.2f} s {many:8.2f} s"
    )
    showvc(show, "undo")


PARTS = {"names": names, "crowd": crowd, "season": season, "shows": shows}


def main() -> None:
    wanted = sys.argv[1:] or list(PARTS)
    version = run(Path.cwd(), "git", "--version").strip()
    print(f"{version}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    for name in wanted:
        with tempfile.TemporaryDirectory(prefix="showvc-hub-") as home:
            PARTS[name](Path(home))


if __name__ == "__main__":
    main()
