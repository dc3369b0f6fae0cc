"""Every small file and name of ours, emptied, halved, filled with garbage, or with something well-formed that is wrong:
each command says so in our words and names it, or makes it anew, and `verify --mend` leads back with nothing lost."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
from pathlib import Path

import pytest

from tests.history.desk import Desk

# At the desk two damages of each place meet one of the commands, with it each meets every one.
ALL = "SHOWVC_EXAMPLES" in os.environ

COMMANDS = {
    "now": ("now",),
    "set": ("set", "users/sm/label", "STAGE"),
    "record": ("record", "--note", "After the damage"),
    "undo": ("undo",),
    "history": ("history",),
    "verify": ("verify",),
    "merge": ("merge", "deck"),
    "settle": ("settle", "1", "--take", "incoming"),
    "sync": ("sync",),
    "draft": ("draft", "list"),
}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A show in the middle of its life: two drafts, a mark, a release, a hub, an answer remembered, a merge open."""
    home = tmp_path_factory.mktemp("spoiled")
    desk = Desk.begun(home / "show")
    (home / "hub").mkdir()
    desk("mark", "velmoor")
    desk("release", "--over", "a rehearsal", "--into", str(home))
    desk("hub", str(home / "hub"))
    for level, other in (("-3", "-4"), ("-5", "-6")):
        desk("draft", "open", f"deck{level}")
        desk("set", "users/sm/channels/fly/level", level)
        desk.record("On the deck")
        desk("draft", "go", "main")
        desk("set", "users/sm/channels/fly/level", other)
        desk.record("In the house")
        if level == "-3":
            desk("merge", "deck-3", code=1)
            desk("settle", "1", "--take", "incoming", code=None)
    desk("sync")
    desk("merge", "deck-5", code=1)
    assert desk.git("for-each-ref", "refs/showvc/settled")
    return home


def _first(desk: Desk, below: str) -> str:
    return desk.git("for-each-ref", "--format=%(refname)", below).splitlines()[0]


# --- what is damaged, and how ---

REFS = {
    "the log": "refs/showvc/operations",
    "settlements": "refs/showvc/settled",
    "the table of releases": "refs/showvc/releases",
    "the draft": "refs/heads/main",
    "another draft": "refs/heads/deck-5",
    "a mark": "refs/tags/velmoor",
    "a release": "refs/releases/",
    "what the hub had": "refs/hub/",
}
FILES_OF_OURS = {
    name: f"showvc/{name}" for name in ("applied", "index", "lock", "bodies.sqlite", "hub.json", "draft")
} | {"config": "config", "HEAD": "HEAD", "packed-refs": "packed-refs", "attributes": "info/attributes"}
PLACES = {**REFS, **FILES_OF_OURS}

_GARBAGE = b"\x00\xff{garbage\n\x1b[2J\n"


def _well_formed(desk: Desk, place: str) -> list[bytes]:
    """Things that look right there and are not."""
    blob, tree, commit = (desk.git("rev-parse", name).strip() for name in ("main:show.yaml", "main^{tree}", "main~2"))
    log = desk.git("rev-parse", "refs/showvc/operations~3").strip()
    nothing = "1" * 40
    if place.startswith("refs/showvc"):
        return [f"{oid}\n".encode() for oid in (blob, tree, commit, nothing, log)]
    if place.startswith("refs/"):
        return [f"{oid}\n".encode() for oid in (blob, tree, nothing)]
    wrong = {
        "applied": [f"{oid}\n".encode() for oid in (blob, commit, log, nothing)],
        "hub.json": [
            b"[]",
            b"null",
            b'{"hub": 7}',
            b'{"hub": "x", "when": {}}',
            b'{"hub": "x", "when": null, "wrong": 3}',
        ],
        "draft": [b"nowhere\n"],
        "config": [b"[core]\n\tbare = perhaps\n", b"[core\n", b"[core]\n\trepositoryformatversion = 99\n"],
        "packed-refs": [b"1234 refs/heads/main\n", f"{nothing} refs/tags/of-nothing\n".encode()],
        "attributes": [b"* filter=run\n", b""],
        "HEAD": [b"ref: refs/heads/nowhere\n", f"{blob}\n".encode(), f"{nothing}\n".encode()],
        "bodies.sqlite": [_other_table(desk.folder.parent / "other.sqlite")],
    }
    return wrong.get(Path(place).name, [b"42\n"])


def _other_table(path: Path) -> bytes:
    path.unlink(missing_ok=True)
    with sqlite3.connect(path) as made:
        made.execute("CREATE TABLE bodies (something INTEGER)")
    made.close()
    return path.read_bytes()


def _damages(desk: Desk, place: str) -> list[bytes | None]:
    path = desk.folder / ".git" / place
    now = path.read_bytes() if path.exists() else b"# pack-refs with: peeled fully-peeled sorted \n"
    return [None, b"", now[: len(now) // 2], _GARBAGE, *_well_formed(desk, place)]


def _copied(made: Path, home: Path) -> Desk:
    shutil.rmtree(home, ignore_errors=True)
    shutil.copytree(made, home, symlinks=True)
    named = home / "show/.git/showvc/hub.json"
    named.write_text(named.read_text().replace(str(made), str(home)))
    return Desk(home / "show")


def _damage(desk: Desk, place: str, data: bytes | None) -> Path:
    path = desk.folder / ".git" / place
    path.unlink(missing_ok=True)
    if data is not None:
        path.write_bytes(data)
    return path


def _place(desk: Desk, name: str) -> str:
    return _first(desk, PLACES[name]) if PLACES[name].endswith("/") else PLACES[name]


@pytest.mark.parametrize("name", PLACES)
def test_every_command_says_it_in_our_words_or_makes_it_anew(name: str, made: Path, tmp_path: Path) -> None:
    desk = _copied(made, tmp_path / "home")
    place = _place(desk, name)
    damages = _damages(desk, place)
    if not ALL:
        start = sum(map(ord, name))
        damages = [damages[start % 4], damages[4 + start % (len(damages) - 4)]]
    commands = list(COMMANDS.items())
    for turn, data in enumerate(damages):
        first = (turn + sum(map(ord, name))) % len(commands)
        chosen = commands if ALL else (commands + commands)[first : first + 1]
        for command, words in chosen:
            desk = _copied(made, tmp_path / "home")
            _damage(desk, place, data)
            answer = desk(*words, code=None)
            told = (name, data, command, answer)
            assert answer.code in (0, 1, 2, 3), told
            assert "unforeseen" not in answer.err, told
            assert "\x1b" not in answer.out + answer.err, told
            if answer.code == 3:
                assert Path(place).name in answer.err, told
                assert "(" in answer.err, told
        _leads_back(made, tmp_path / "home", place, data)


def _leads_back(made: Path, home: Path, place: str, data: bytes | None) -> None:
    """After the mending all is as before, and `now` is at work again."""
    desk = _copied(made, home)
    before, was, log = desk.files(), desk.json("now", code=1), desk.json("undo", "--list")
    _damage(desk, place, data)
    mended = desk("verify", "--mend", code=None)
    told = (place, data, mended)
    assert mended.code in (0, 1) or (
        mended.code == 3 and place.endswith("hub.json") and "not in reach" in mended.out
    ), told
    assert "unforeseen" not in mended.err, told
    now = desk("now", "--json", code=None)
    assert now.code in (0, 1), (told, now)
    assert now.err == "", (told, now)
    assert desk.files() == before, told
    if not place.startswith("refs/hub") and not place.endswith(("hub.json", "HEAD", "config")):
        assert {**json.loads(now.out), "hub": None} == {**was, "hub": None}, (told, now)
    assert desk.json("undo", "--list") == log, told
    again = desk("verify", code=None)
    assert again.code == mended.code, (told, again)
    assert again.code == 0 or place in ("HEAD", "showvc/hub.json"), (told, again)
    assert desk.fsck() == [] or place == "HEAD", told
