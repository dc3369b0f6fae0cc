"""`release` and `fleet` as an engineer types them: what they say, what they write, and how they end."""

from __future__ import annotations

import json
import os
import zipfile
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

import showvc.cli.release  # registers the commands
from showvc.changes.caution import CAUTION
from showvc.cli.app import CLEAN, NEEDS_A_PERSON, WRONG_INPUT, app
from showvc.release.pack import verify
from showvc.release.stamp import stamp_of
from tests.release.desk import Desk, desk
from tests.release.salt import edited, salt

__all__ = ["desk", "showvc"]

STAGE = edited(salt(), "users", "sm", label="STAGE")


class Terminal:
    def __init__(self, desk: Desk, into: Path) -> None:
        self.desk, self.into = desk, into
        into.mkdir(exist_ok=True)

    def __call__(self, *words: str, code: int = CLEAN) -> str:
        result = CliRunner().invoke(app, [*words, "--show", str(self.desk.folder)])
        assert result.exit_code == code, result.output
        return result.output

    def data(self, *words: str, code: int = CLEAN) -> Any:
        return json.loads(self(*words, "--json", code=code))

    def release(self, *words: str, code: int = CLEAN) -> str:
        return self("release", *words, "--into", str(self.into), code=code)

    @property
    def file(self) -> Path:
        (found,) = self.into.glob("*.release.zip")
        return found


@pytest.fixture
def terminal(desk: Desk, tmp_path: Path) -> Terminal:
    return Terminal(desk, tmp_path / "out")


# release


def test_release_writes_the_file_and_says_the_stamp_aloud(terminal: Terminal) -> None:
    said = terminal.release()
    assert f"Released {stamp_of(salt())}" in said
    assert "read aloud: " in said
    assert CAUTION in " ".join(said.split())
    assert terminal.file.name == f"the-salt-road_{stamp_of(salt())}.release.zip"
    assert verify(terminal.file.read_bytes()).holds


def test_releasing_again_writes_the_same_file(terminal: Terminal) -> None:
    terminal.release()
    first = terminal.file.read_bytes()
    assert "Released before as" in terminal.release()
    assert terminal.file.read_bytes() == first


def test_edits_that_are_not_recorded_are_never_left_out_unsaid(terminal: Terminal) -> None:
    terminal.desk.write(STAGE)
    assert "not recorded" in terminal.release(code=WRONG_INPUT)
    assert f"Released {stamp_of(salt())}" in terminal.release("last")
    terminal.release("working", code=WRONG_INPUT)


def test_a_stop_ends_with_one_and_says_the_way_out(terminal: Terminal) -> None:
    terminal.desk.record(edited(salt(), "devices", "pack-02", user="nobody"))
    said = terminal.release("--over", "the truck leaves", code=NEEDS_A_PERSON)
    assert "Not released" in said
    assert "add the user" in said
    assert not list(terminal.into.iterdir())
    codes = {stop["code"] for stop in terminal.data("release", code=NEEDS_A_PERSON)["findings"]}
    assert codes == {"user-unknown", "key-to-nothing"}


def test_an_override_is_printed_wherever_the_release_is_named(terminal: Terminal) -> None:
    from showvc.document import show_from_tree

    required = {"board-fly": {"from": "lxop", "to": "fly", "why": "spots are called here"}}
    terminal.desk.record(show_from_tree({**salt().tree(), "required": required}))
    terminal.release(code=NEEDS_A_PERSON)
    reason = "no fly rail in Karsbruck"
    assert f"OVERRIDDEN: {reason}" in terminal.release("--over", reason)
    assert reason in terminal("release", "--list")
    assert reason in terminal("release", "--verify", str(terminal.file))
    table = terminal.into / "fleet.csv"
    table.write_text(f"desk-01,{terminal.data('release', '--list')['releases'][0]['stamp']}\n")
    assert f"OVERRIDDEN: {reason}" in terminal("fleet", str(table), code=NEEDS_A_PERSON)


def test_a_reason_that_was_not_needed_is_said_to_be_kept_nowhere(terminal: Terminal) -> None:
    terminal.release()
    assert "The reason is kept nowhere: it was released before" in terminal.release("--over", "to be sure")
    assert "to be sure" not in terminal("release", "--list")


def test_the_page_holds_what_was_lost_in_whole_lines(terminal: Terminal) -> None:
    terminal.release()
    after = edited(edited(salt(), "users", "flyman", channels={}), "devices", "pack-01", keys={})
    terminal.desk.record(after)
    terminal.release("--over", "no fly rail in Karsbruck")
    facts = verify((terminal.into / f"the-salt-road_{stamp_of(after)}.release.zip").read_bytes()).facts
    assert facts is not None
    assert f"Critical groups affected: FLY. {CAUTION}" in facts["effect_words"]
    lost = "Fly 1 (flyman) can no longer talk on group FLY; SM hears Fly 1 (flyman) no other way"
    assert any(line.strip().startswith(lost) for line in facts["effect_words"])


def test_the_list_shows_the_newest_first(terminal: Terminal) -> None:
    assert "Nothing was released yet." in terminal("release", "--list")
    terminal.release()
    terminal.desk.record(STAGE, "labels for Karsbruck")
    terminal.release()
    assert [each["stamp"] for each in terminal.data("release", "--list")["releases"]] == [
        stamp_of(STAGE),
        stamp_of(salt()),
    ]
    said = terminal("release", "--list").splitlines()
    assert "labels for Karsbruck" in said[2]
    assert said[-1] == "That two of so many share a stamp by chance: 1 in 2,357,947,691. It would be refused."
    assert terminal.data("release", "--list")["chance_shared"] == pytest.approx(1 / 2_357_947_691)


def test_verify_names_the_snapshot_or_what_is_wrong(terminal: Terminal) -> None:
    terminal.release()
    whole = terminal("release", "--verify", str(terminal.file), "--stamp", stamp_of(salt()).lower())
    assert "whole and unchanged" in whole
    assert terminal.desk.last[:7] in whole
    assert "not " + stamp_of(STAGE) in terminal(
        "release", "--verify", str(terminal.file), "--stamp", stamp_of(STAGE), code=NEEDS_A_PERSON
    )
    broken = terminal.into / "broken.zip"
    broken.write_bytes(terminal.file.read_bytes()[:-1])
    assert "do not load it" in terminal("release", "--verify", str(broken), code=NEEDS_A_PERSON)
    assert "is not there" in terminal("release", "--verify", "gone.zip", code=WRONG_INPUT)


def test_the_file_holds_no_terminal_colours(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    terminal.release()
    after = edited(edited(salt(), "users", "lxop", channels={}), "devices", "pack-02", keys={})
    terminal.desk.record(after)
    monkeypatch.setattr("showvc.cli.texts.styled", lambda text, **style: f"\x1b[1m{text}\x1b[0m")
    terminal.release()
    path = terminal.into / f"the-salt-road_{stamp_of(after)}.release.zip"
    with zipfile.ZipFile(path) as archive:
        assert not any(b"\x1b" in archive.read(name) for name in archive.namelist())
    assert "Lost:" in (verify(path.read_bytes()).facts or {})["effect_words"]


@pytest.mark.parametrize(
    "words",
    [
        ("--stamp", stamp_of(salt())),
        ("--list", "--verify", "x.zip"),
        ("--list", "last"),
        ("--verify", "x.zip", "--over", "why"),
    ],
)
def test_options_that_do_not_go_together_release_nothing(terminal: Terminal, words: tuple[str, ...]) -> None:
    said = terminal("release", *words, code=WRONG_INPUT)
    assert "goes with" in said or "does not go with" in said
    assert "Nothing was released yet." in terminal("release", "--list")


@pytest.mark.parametrize("words", [("--remembered",), ("--csv", "--merge"), ("--csv", "--json")])
def test_options_of_fleet_that_do_not_go_together_are_refused(terminal: Terminal, words: tuple[str, ...]) -> None:
    table = terminal.into / "fleet.csv"
    table.write_text(f"desk-01,{stamp_of(salt())}\n")
    assert "nothing was done" in terminal("fleet", str(table), *words, code=WRONG_INPUT)


def test_a_spoiled_file_under_the_releases_name_is_put_aside_and_said(terminal: Terminal) -> None:
    terminal.release()
    whole = terminal.file.read_bytes()
    terminal.file.write_bytes(b"spoiled")
    said = terminal.release()
    assert "was not this release" in said
    assert terminal.file.read_bytes() == whole
    (aside,) = terminal.into.glob("*.not-it-1")
    assert aside.read_bytes() == b"spoiled"


# fleet


def test_a_fleet_that_agrees_ends_clean(terminal: Terminal) -> None:
    terminal.release()
    table = terminal.into / "fleet.txt"
    table.write_text("".join(f"{device} {stamp_of(salt())}\n" for device in salt().devices))
    assert "Every device holds the last release." in terminal("fleet", str(table))


def test_a_table_and_dumps_are_read_together(terminal: Terminal) -> None:
    terminal.release()
    dumps = terminal.into / "dumps"
    dumps.mkdir()
    (dumps / "pack-01.show.json").write_text(json.dumps(STAGE.tree()))
    table = terminal.into / "fleet.csv"
    table.write_text(f"device,stamp\ndesk-01,{stamp_of(salt())}\n")
    said = terminal("fleet", str(table), str(dumps), code=NEEDS_A_PERSON)
    assert "edits nobody recorded" in said
    assert f"showvc fleet {table} {dumps} --show {terminal.desk.folder} --merge" in said
    plain = terminal.data("fleet", str(table), str(dumps / "pack-01.show.json"), code=NEEDS_A_PERSON)
    assert {each["device"]: each["state"] for each in plain["devices"]} == {"desk-01": "current", "pack-01": "edited"}
    assert plain["missing"] == ["pack-02"]


def test_the_merge_that_fleet_names_takes_the_edits_in(terminal: Terminal) -> None:
    """The base that the merge takes is the snapshot that the fleet names."""
    from showvc.history.joining import merge_source
    from showvc.history.sources import find

    terminal.release()
    own = edited(salt(), "users", "sm", label="STAGE")
    terminal.desk.record(edited(salt(), "users", "lxop", label="BOARD"))
    path = terminal.into / "pack-01.json"
    path.write_text(json.dumps(own.tree()))
    (part,) = terminal.data("fleet", str(path), code=NEEDS_A_PERSON)["parts"]
    archive, shows = terminal.desk.archive, terminal.desk.shows
    outcome = merge_source(archive, find(archive, str(path), shows), shows)
    assert outcome.pending.bases[0].startswith(part["snapshot"])
    after = shows.at(terminal.desk.last)
    assert (after.users["sm"].label, after.users["lxop"].label) == ("STAGE", "BOARD")


def test_csv_is_for_a_spreadsheet(terminal: Terminal) -> None:
    table = terminal.into / "fleet.csv"
    table.write_text(f"desk-01,{stamp_of(salt())}\n")
    assert "device,what it holds,stamp" in terminal("fleet", str(table), "--csv", code=NEEDS_A_PERSON).replace(
        "\ufeff", ""
    )


def test_what_cannot_be_read_ends_with_two(terminal: Terminal) -> None:
    assert "is not there" in terminal("fleet", "gone.csv", code=WRONG_INPUT)


@pytest.mark.parametrize("words", [("release", "--verify"), ("fleet",)])
def test_a_pipe_is_not_waited_for(terminal: Terminal, tmp_path: Path, words: tuple[str, ...]) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "is not a plain file" in terminal(*words, str(tmp_path / "pipe"), code=WRONG_INPUT)


def test_a_release_file_is_not_taken_for_a_table(terminal: Terminal) -> None:
    terminal.release()
    assert "showvc release --verify" in terminal("fleet", str(terminal.file), code=WRONG_INPUT)


def test_the_name_of_a_dump_cannot_steer_the_terminal(terminal: Terminal, tmp_path: Path) -> None:
    dumps = tmp_path / "dumps"
    dumps.mkdir()
    (dumps / "desk\x1b[31m-01.json").write_text("{}")
    (dumps / "desk-01.json").write_text(json.dumps(STAGE.tree()))
    for how in ((), ("--csv",), ("--json",)):
        assert "\x1b" not in terminal("fleet", str(dumps), *how, code=NEEDS_A_PERSON)
