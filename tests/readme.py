"""The README's console examples, run and filled in.

    python -m tests.readme        writes the outputs into README.md

`tests/test_readme.py` holds the README to what is printed now, codes and times aside.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)
SKIPPED = "...\n"


SHOWN_AS = "/shows"


def played(commands: list[str], folder: Path, start: Path) -> tuple[list[str], Path]:
    """What each command prints, and the folder that the last `cd` led to. `start`, where all began, is not shown."""
    outputs = []
    environment = {**os.environ, "NO_COLOR": "1", "SHOWVC_WHO": "comms engineer", "COLUMNS": "120"}
    environment["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{environment['PATH']}"
    for command in commands:
        if command.startswith("cd "):
            folder = (folder / command[3:]).resolve()
            outputs.append("")
            continue
        done = subprocess.run(
            command,
            shell=True,
            cwd=folder,
            env=environment,
            text=True,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            stdin=subprocess.DEVNULL,
            check=False,
        )
        outputs.append(done.stdout.replace(str(start), SHOWN_AS))
    return outputs, folder


def examples(text: str) -> list[list[tuple[str, str]]]:
    """For each console block, its commands and the output that stands below each."""
    found = []
    for block in BLOCK.findall(text):
        parts = re.split(r"^\$ (.*)\n", block, flags=re.MULTILINE)[1:]
        found.append(list(zip(parts[::2], parts[1::2], strict=True)))
    return found


def normal(text: str) -> str:
    """The text without what differs from run to run: codes and times."""
    text = re.sub(r"\b(?=[0-9a-f]*[0-9])[0-9a-f]{7}\b|\b[a-f]{7}\b", "CODE", text)
    text = re.sub(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d[-+]\d\d:\d\d)?", "WHEN", text)
    return re.sub(r" +", " ", text)


def fill() -> None:
    """Writes what is printed now below each command of the README."""
    text = README.read_text()
    with tempfile.TemporaryDirectory() as name:
        folder = start = Path(name).resolve()
        shutil.copytree(ROOT / "fixtures", folder / "fixtures")
        pieces = []
        for block in examples(text):
            outputs, folder = played([command for command, _ in block], folder, start)
            lines = [
                f"$ {command}\n" + (SKIPPED if shown == SKIPPED else output)
                for (command, shown), output in zip(block, outputs, strict=True)
            ]
            pieces.append("```console\n" + "".join(lines) + "```")
    filled = iter(pieces)
    README.write_text(BLOCK.sub(lambda _: next(filled), text))


if __name__ == "__main__":
    fill()
