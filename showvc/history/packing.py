"""Small objects are put together in packs, so that a season's history stays small. Nothing is ever thrown away.

Every command writes a handful of objects, each a file of its own that takes a whole block on the disk: 40,000
commands take a gigabyte. Packed, the same is a fortieth of it. Git itself would do this while it throws away what no
name leads to; here only `git repack -d -l` runs, which writes a pack whole, and then takes away the files whose
objects it holds. Killed at any moment, each object is still there at least once.
"""

from __future__ import annotations

import tempfile
import time
from contextlib import suppress
from pathlib import Path

from showvc.document import MachineError
from showvc.history.archive import Archive
from showvc.store.calling import Place, run_git
from showvc.store.making import lent, make
from showvc.store.names import Names

MOST_LOOSE = 6000
"""Git's own measure for its housekeeping is 6,700 (gc.auto)."""
MOST_PACKS = 40
_SAMPLED = ("17", "4b", "9c", "e0")
_LEFT = (".tmp-*-pack-*", "tmp_pack_*", "tmp_idx_*", "tmp_rev_*")
_DAY = 86_400.0


def pack(archive: Archive) -> bool:
    """Packs the small objects of a show's history where there are too many; True where that was done.

    Waits for other commands in this folder. That it cannot be done, for want of space perhaps, is no reason to
    fail: all stays as it is.
    """
    if due(archive.git_dir):
        with suppress(MachineError, OSError), archive.locked():
            return pack_folder(archive.git_dir)
    return False


def due(git_dir: Path) -> bool:
    """Whether there are too many small objects, told from a few of their folders, or too many packs."""
    objects = git_dir / "objects"
    loose = sum(_count(objects / name) for name in _SAMPLED) * 256 // len(_SAMPLED)
    return loose > MOST_LOOSE or _packs(objects) > MOST_PACKS


def _packs(objects: Path) -> int:
    return len(list((objects / "pack").glob("*.pack")))


def _count(folder: Path) -> int:
    try:
        return sum(1 for _ in folder.iterdir())
    except OSError:
        return 0


def pack_folder(git_dir: Path, strange: bool = False) -> bool:
    """The same for any folder of git's. MachineError where git refuses.

    Git works in a repository of our own that has the same names; of a `strange` folder it sees the files of objects
    and packs alone.
    """
    if not due(git_dir):
        return False
    _sweep(git_dir / "objects" / "pack")
    # Too many packs become one with all that they hold, whether a name leads to it or not.
    how = ["-a", "-k"] if _packs(git_dir / "objects") > MOST_PACKS else []
    (git_dir / "objects" / "pack").mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="showvc-pack-") as room:
        made = make(Path(room) / "git", Names(git_dir).listed("refs/").refs)
        objects = git_dir / "objects"
        if strange:
            objects = lent(Path(room) / "objects", objects)
            if not all(each.is_symlink() for each in objects.iterdir()):
                return False  # copies were lent, for want of links: what is packed there helps nobody
        run_git(Place(made, objects), ["repack", *how, "-d", "-l", "-q"])
    return True


def _sweep(packs: Path) -> None:
    """Takes away what a killed packing left half written a day ago or more."""
    for left in (path for pattern in _LEFT for path in packs.glob(pattern)):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > _DAY:
                left.unlink()
