"""The largest show on disk, for the benches: 3,000 targets, 250 devices, 32 channels a user, about 88,000 channels.

    python -m tests.bench.largest [SEED]

prints where the folder is. It is built once for each seed and kept in the machine's place for temporary files; a
bench that changes files works on a copy (`copied`).
"""

from __future__ import annotations

import hashlib
import os
import shutil
import sys
import tempfile
from pathlib import Path

from showvc.document import Show
from showvc.formats.folder import folder_texts
from tests import generator
from tests.generator import random_show

USERS, GROUPS, DEVICES, BRIDGES, CHANNELS = 2750, 250, 250, 40, 32


def largest_show(seed: int = 1, times: int = 1) -> Show:
    """The largest show; with `times` 10, one of ten times its targets and devices, beyond the usual limits."""
    return random_show(seed, USERS * times, GROUPS * times, DEVICES * times, BRIDGES * times, CHANNELS, full=True)


def largest_folder(seed: int = 1, times: int = 1) -> Path:
    """The show folder of `largest_show`, built when it is not there yet. Only to be read."""
    made_by = hashlib.sha256(Path(generator.__file__).read_bytes()).hexdigest()[:8]
    folder = Path(tempfile.gettempdir()) / f"showvc-bench-{os.getuid()}" / f"largest-{seed}-{times}-{made_by}"
    if not folder.is_dir():
        folder.parent.mkdir(mode=0o700, exist_ok=True)
        building = Path(tempfile.mkdtemp(dir=folder.parent))
        for path, text in folder_texts(largest_show(seed, times)).items():
            place = building / path
            place.parent.mkdir(exist_ok=True)
            place.write_text(text)
        building.replace(folder)
    return folder


def copied(folder: Path, to: Path) -> Path:
    """A copy of a bench's folder that may be changed."""
    shutil.copytree(folder, to)
    return to


if __name__ == "__main__":
    print(largest_folder(int(sys.argv[1]) if len(sys.argv) > 1 else 1))
