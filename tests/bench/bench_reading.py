"""Reading the largest show: one user of 32 channels, and all files, against the public readers of YAML.

    python -m tests.bench.bench_reading

Prints times and their ratios to PyYAML's and ruamel.yaml's C readers, which do less: they neither check a field nor
know where it stands.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml
from ruamel.yaml import YAML

from showvc.document import shape_of
from showvc.formats import nodes
from showvc.formats.files import Place, place_of, read_file
from showvc.formats.folder import read_folder
from showvc.formats.reading import read_body
from showvc.formats.single import read_single, single_text
from tests.bench.largest import largest_folder


def seconds(work: Callable[[], Any], rounds: int = 3) -> float:
    """The best of some rounds."""
    best = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def full(place: Place, data: bytes) -> None:
    """The reader that every unusual file goes through."""
    node, _ = nodes.parse(data.decode(), place.path)
    read_body(place.model, node, place.path)


def main() -> None:
    folder = largest_folder()
    files = {
        place: path.read_bytes() for path in sorted(folder.glob("users/*.yaml"))[:300] if (place := named(folder, path))
    }
    shape_of(next(iter(files)).model)
    ruamel = YAML(typ="safe")
    per_file = {
        "showvc, plain layout": seconds(lambda: [read_file(place, data) for place, data in files.items()]),
        "showvc, any layout": seconds(lambda: [full(place, data) for place, data in files.items()]),
        "PyYAML, C": seconds(lambda: [yaml.load(data, yaml.CSafeLoader) for data in files.values()], 2),
        "ruamel.yaml, C": seconds(lambda: [ruamel.load(data) for data in files.values()], 2),
    }
    base = per_file["PyYAML, C"]
    print("one user of 32 channels")
    for name, took in per_file.items():
        print(f"  {name:22}{took / len(files) * 1000:8.2f} ms   {took / base:5.2f} x PyYAML")
    whole = seconds(lambda: read_folder(folder), 2)
    text = single_text(read_folder(folder)).encode()
    single = seconds(lambda: read_single(text, "largest.show.yaml"), 2)
    print("the largest show, 3,000 targets and 250 devices")
    print(f"  {'as a folder':22}{whole:8.2f} s    {whole / (base / len(files) * 2750):5.2f} x PyYAML on its users")
    print(f"  {'as one document':22}{single:8.2f} s    {len(text) / 1024 / 1024:5.1f} MiB")


def named(folder: Path, path: Path) -> Place | None:
    return place_of(str(path.relative_to(folder)))


if __name__ == "__main__":
    main()
