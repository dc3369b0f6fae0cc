"""How a command explains itself: names and sentences, and nothing of how the program holds them inside."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import typer.core


def _called(parameter: Any) -> str:
    """What the help calls what is to be given: `PATH`, `[SOURCE]`, `TABLE…`."""
    return str(parameter.metavar or (parameter.name or "").upper().replace("_", "-"))


def _sentence(parameter: Any) -> str:
    said = str(getattr(parameter, "help", None) or "")
    default = parameter.default
    if isinstance(default, str | int | float) and not isinstance(default, bool) and "Default:" not in said:
        said = f"{said} Default: {default}."
    return said


def _options(parameter: Any) -> str:
    names = ", ".join(sorted(parameter.opts, key=len))
    return names if parameter.is_flag or parameter.count else f"{names} {_called(parameter)}"


def _explain(command: Any, context: Any, formatter: Any) -> None:
    parameters = [each for each in command.get_params(context) if not getattr(each, "hidden", False)]
    arguments = [(_called(each), _sentence(each)) for each in parameters if each.param_type_name == "argument"]
    wanted = {True: "Needed: ", False: ""}
    options = [
        (_options(each), f"{wanted[each.required]}{_sentence(each)}")
        for each in parameters
        if each.param_type_name == "option"
    ]
    for title, rows in (("Arguments", arguments), ("Options", options)):
        if rows:
            with formatter.section(title):
                formatter.write_dl(rows)


def _usage(command: Any, context: Any) -> Iterator[str]:
    yield "[OPTIONS]"
    yield from (_called(each) for each in command.get_params(context) if each.param_type_name == "argument")


class Explained(typer.core.TyperCommand):
    """A command with our help."""

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        return list(_usage(self, ctx))

    def format_options(self, ctx: Any, formatter: Any) -> None:
        _explain(self, ctx, formatter)


class ExplainedGroup(typer.core.TyperGroup):
    """A group of commands with our help."""

    def format_options(self, ctx: Any, formatter: Any) -> None:
        _explain(self, ctx, formatter)
        self.format_commands(ctx, formatter)
