"""A plot of 3,000 targets with 32 channels each: written, read and measured against openpyxl.

Run: python tests/bench/bench_tables.py
Prints the time of our import (vetting, reading, meaning, checking) as a ratio to openpyxl's bare reading of the
same file's cells, and the highest memory of the import in a process of its own. Times are of the processor, so that
other work on the machine changes no ratio.
"""

from __future__ import annotations

import io
import resource
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

GROUPS, USERS, CHANNELS = 250, 2750, 32


def largest() -> bytes:
    from showvc.document import show_from_tree
    from showvc.formats.tables.workbook import write_workbook

    talks, listens = ("none", "momentary", "latch", "dual", "open"), ("switchable", "always")
    groups = {f"group-{number}": {"name": f"Group {number}", "label": f"G{number}"} for number in range(GROUPS)}
    users = {
        f"user-{user}": {
            "name": f"Position {user}",
            "department": f"Department {user % 20}",
            "channels": {
                f"group-{(user + number * 7) % GROUPS}": {
                    "number": number, "talk": talks[(user + number) % 5], "listen": listens[number % 2], "level": -(number % 7)
                }
                for number in range(1, CHANNELS + 1)
            },
        }
        for user in range(USERS)
    }  # fmt: skip
    devices = {
        f"pack-{number}": {"kind": "pack-4", "user": f"user-{number}", "keys": {"A1": f"group-{(number + 7) % GROUPS}"}}
        for number in range(250)
    }
    show = show_from_tree({"title": "The Salt Road", "groups": groups, "users": users, "devices": devices})
    return write_workbook(show, "K7QF", "2026-03-04T18:30:00+01:00")


def read_ours(data: bytes) -> float:
    from showvc.formats.tables.plan import plan_import

    start = time.process_time()
    show = plan_import(None, data, "largest.xlsx").show
    assert show is not None
    assert len(show.users) + len(show.groups) == GROUPS + USERS
    assert sum(len(user.channels) for user in show.users.values()) == USERS * CHANNELS
    return time.process_time() - start


def read_openpyxl(data: bytes) -> float:
    import openpyxl

    start = time.process_time()
    book = openpyxl.load_workbook(io.BytesIO(data))
    cells = sum(1 for sheet in book for row in sheet.iter_rows(values_only=True) for value in row if value is not None)
    assert cells > USERS * CHANNELS
    return time.process_time() - start


def mapped() -> tuple[bytes, object]:
    """A crosspoint grid of somebody else's with as many positions, and its mapping."""
    import xlsxwriter

    from showvc.formats.tables.mapping import read_mapping

    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        sheet = book.add_worksheet("Plot")
        sheet.write_row(0, 0, ["Position", "Dept.", *(f"Group {number}" for number in range(CHANNELS)), "Remarks"])
        for user in range(GROUPS + USERS - CHANNELS):
            codes = [("T", "TL", "L")[(user * 7 + number) % 3] for number in range(CHANNELS)]
            sheet.write_row(user + 1, 0, [f"Position {user}", f"Department {user % 20}", *codes])
    text = """\
mapping: 1
tables:
  plot:
    each: user
    columns: {Position: name, Dept.: department}
    across: {is: target, except: [Remarks]}
    codes: {mode: {T: momentary/none, TL: momentary/always, L: none/always}}
"""
    return out.getvalue(), read_mapping(text.encode(), "plot.yaml")


def read_mapped(data: bytes, mapping: object) -> tuple[float, float]:
    """Seconds of a first import, and of one over the show that it made (every row is matched)."""
    from showvc.formats.tables.plan import plan_import

    start = time.process_time()
    made = plan_import(None, data, "plot.xlsx", mapping)  # type: ignore[arg-type]
    between = time.process_time()
    again = plan_import(made.show, data, "plot.xlsx", mapping)  # type: ignore[arg-type]
    end = time.process_time()
    assert made.show is not None and again.show == made.show and not made.unread
    assert len(made.show.users) + len(made.show.groups) == GROUPS + USERS
    return between - start, end - between


def main() -> None:
    if len(sys.argv) > 1:
        data = Path(sys.argv[1]).read_bytes()
        seconds = read_ours(data)
        print(f"{seconds:.3f} {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f}")
        return
    import tempfile

    start = time.process_time()
    data = largest()
    written = time.process_time() - start
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "largest.xlsx"
        path.write_bytes(data)
        runs = [
            [float(word) for word in subprocess.check_output([sys.executable, __file__, str(path)]).split()]
            for _ in range(3)
        ]
    ours = min(seconds for seconds, _ in runs)
    theirs = min(read_openpyxl(data) for _ in range(2))
    print(f"the file: {len(data) / 1024 / 1024:.1f} MiB, {GROUPS + USERS} targets, {USERS * CHANNELS} channels")
    print(f"writing it: {written:.2f} s")
    print(f"import: {ours:.2f} s; openpyxl reading its cells: {theirs:.2f} s; ratio {ours / theirs:.2f}")
    grid, mapping = mapped()
    first, again = read_mapped(grid, mapping)
    bare = read_openpyxl(grid)
    print(f"a mapped grid: {first:.2f} s, over its show {again:.2f} s; openpyxl {bare:.2f} s", end="; ")
    print(f"ratios {first / bare:.2f}, {again / bare:.2f}")
    print(f"memory of the import: {max(memory for _, memory in runs):.0f} MiB (at most 1,024)")


if __name__ == "__main__":
    main()
