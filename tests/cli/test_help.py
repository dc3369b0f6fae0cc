"""Help stands alone: every command, every argument and every option says what it does."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
import typer

from showvc.cli import app as frame
from tests.history.desk import run


def commands() -> Iterator[tuple[tuple[str, ...], Any]]:
    frame.load_families()
    group: Any = typer.main.get_command(frame.app)
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from (((name, inner), below) for inner, below in command.commands.items())
        yield (name,), command


ALL = dict(commands())


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_every_command_explains_itself(words: tuple[str, ...], tmp_path: Any) -> None:
    command = ALL[words]
    assert command.help, words
    assert command.help.splitlines()[0].rstrip().endswith((".", ":", "why.")), command.help
    for parameter in command.params:
        if parameter.name != "help":
            assert getattr(parameter, "help", None), f"{words}: {parameter.name} says nothing"
    answer = run(tmp_path, *words, "--help")
    assert answer.code == 0
    assert answer.err == ""
    for parameter in command.params:
        for option in parameter.opts:
            assert not option.startswith("--") or option in answer.out
    if not hasattr(command, "commands"):
        assert {"--show", "--json"} <= {option for parameter in command.params for option in parameter.opts}


def test_the_list_of_commands_tells_where_to_begin(tmp_path: Any) -> None:
    answer = run(tmp_path, "--help")
    assert "showvc demo DIR" in answer.out
    assert all(f"  {words[0]} " in answer.out for words in ALL)


@pytest.mark.parametrize("words", [(), ("draft",)], ids=" ".join)
def test_the_list_cuts_no_line_short(words: tuple[str, ...], tmp_path: Any) -> None:
    assert "..." not in run(tmp_path, *words, "--help", COLUMNS="80").out.partition("Commands:")[2]


def test_help_needs_no_git_and_no_show(tmp_path: Any) -> None:
    assert run(tmp_path, "record", "--help", PATH=str(tmp_path)).code == 0


@pytest.mark.parametrize("words", [(), *ALL], ids=" ".join)
def test_help_says_nothing_of_how_the_program_holds_a_value(words: tuple[str, ...], tmp_path: Any) -> None:
    """No types, bounds or brackets of the libraries; those may change from one version to the next."""
    said = run(tmp_path, *words, "--help").out
    assert not re.search(r"<\w+|\[x|>=|\bNone\b|\[default|\[required|INTEGER|\[\[|\bstr\b", said), said
    assert not said.splitlines()[0].endswith("}")
