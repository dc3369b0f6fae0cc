"""Every example of the README does what the README says."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.readme import README, ROOT, SKIPPED, examples, normal, played


@pytest.mark.skipif(
    shutil.which("showvc", path=str(Path(sys.executable).parent)) is None,
    reason="showvc is not installed beside this Python",
)
def test_console_examples_print_what_is_shown(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "fixtures", tmp_path / "fixtures")
    folder = tmp_path
    for block in examples(README.read_text()):
        outputs, folder = played([command for command, _ in block], folder, tmp_path)
        for (command, shown), printed in zip(block, outputs, strict=True):
            if shown != SKIPPED:
                assert normal(printed) == normal(shown), command


def test_python_examples_run() -> None:
    blocks = re.findall(r"```python\n(.*?)```", README.read_text(), re.DOTALL)
    assert blocks
    for block in blocks:
        done = subprocess.run([sys.executable, "-c", block], cwd=ROOT, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr


def test_the_job_stands_on_top_and_every_command_is_named() -> None:
    from showvc.cli.app import FAMILIES, app, load_families

    load_families()
    text = README.read_text()
    assert text.startswith("# showvc\n\nshowvc keeps the configuration of a live show's production intercom safe")
    names = [each.name for each in (*app.registered_commands, *app.registered_groups)]
    assert len(names) >= len(FAMILIES)
    for name in names:
        assert re.search(rf"`[^`]*\b{name}\b", text), name
