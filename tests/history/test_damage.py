"""What git says of a damaged history is told in our words, each damage once."""

from __future__ import annotations

import re
import shutil
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from showvc.document import MachineError
from showvc.history.damage import damage_words, failure_words
from showvc.history.hub_verify import verify
from tests.history.hubs import Engineer, first, git

FOREIGN = re.compile(r"\b(blobs?|trees?|commits?|refs?|HEAD|fsck|index|sha1|rev-list|repository)\b")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    ann = first(tmp_path_factory.mktemp("damage") / "ann")
    ann.label("fly", "A")
    ann.label("fly", "B")
    return ann.folder


def _object(folder: Path, name: str) -> Path:
    oid = git(folder, "rev-parse", name)
    path = folder / ".git" / "objects" / oid[:2] / oid[2:]
    path.chmod(0o644)
    return path


def _missing(name: str) -> Callable[[Path], None]:
    return lambda folder: _object(folder, name).unlink()


def _spoiled(data: bytes) -> Callable[[Path], object]:
    return lambda folder: _object(folder, "HEAD:show.yaml").write_bytes(data)


def _draft(name: str, text: str) -> Callable[[Path], object]:
    return lambda folder: (folder / ".git" / "refs" / "heads" / name).write_text(text)


@pytest.mark.parametrize(
    ("damage", "words"),
    [
        (_missing("HEAD:show.yaml"), "a file is missing: "),
        (_missing("HEAD^{tree}"), "a list of files is missing: "),
        (_missing("HEAD~1"), "a snapshot is missing: "),
        (_spoiled(b"garbage"), "a file is spoiled: "),
        (_spoiled(b""), "a file is spoiled: "),
        (_spoiled(zlib.compress(b"blob 3\0abc")), "a file is spoiled: "),
        (_draft("main", "1" * 40), "the draft main leads to nothing"),
        (_draft("venue", "nonsense"), "the draft venue leads to nothing"),
    ],
)
def test_each_damage_is_told_once_in_words_of_ours(
    made: Path, tmp_path: Path, damage: Callable[[Path], object], words: str
) -> None:
    ann = Engineer(Path(shutil.copytree(made, tmp_path / "ann")))
    damage(ann.folder)
    checks = verify(ann.archive)
    (told,) = next(check.wrong for check in checks if check.name == "history")
    assert told.startswith(words)
    said = " ".join(wrong for check in checks for wrong in check.wrong)
    ours = re.sub(r'git says: "[^"]*"', "", said.replace(str(tmp_path), ""))
    assert not FOREIGN.search(ours), ours


def test_what_is_not_known_is_quoted_and_cannot_steer_a_terminal() -> None:
    assert damage_words("error: something new\x1b[2J about it\n") == ('git says: "something new\\u001b[2J about it"',)
    assert damage_words("hint: a remark\nhint:\n") == ()


def test_very_much_damage_is_counted() -> None:
    told = damage_words("".join(f"missing blob {number:040x}\n" for number in range(1000)))
    assert (len(told), told[-1]) == (21, "… and 980 more")


@pytest.mark.parametrize(
    ("said", "words", "way_out"),
    [
        ("fatal: Unable to create '/s/.git/index.lock': File exists.\n", "another program holds", "/s/.git/index.lock"),
        ("hint: x\nfatal: write error: No space left on device\n", "the disk is full", "make room"),
        ("fatal: cannot lock ref 'refs/showvc/operations': No space left on device\n", "the disk is full", "make room"),
        ("error: insufficient permission for adding an object\n", "may not be written", "permissions"),
        ("fatal: missing object 11 for refs/heads/main\n", "is damaged", "showvc verify"),
        ("fatal: never heard of\n", "could not be read or written", "showvc verify"),
        ("", "no reason given", "showvc verify"),
    ],
)
def test_a_command_that_failed_says_why_and_the_way_out(said: str, words: str, way_out: str) -> None:
    told, out = failure_words(said)
    assert words in told
    assert way_out in out
    assert not FOREIGN.search(re.sub(r'git says: "[^"]*"', "", told))


def test_a_command_on_a_damaged_history_says_so(made: Path, tmp_path: Path) -> None:
    ann = Engineer(Path(shutil.copytree(made, tmp_path / "ann")))
    _draft("main", "1" * 40)(ann.folder)
    with pytest.raises(MachineError, match=r"the history is damaged .*showvc verify"):
        ann.archive.refs()
