"""The frame of every command: where the show is, how it speaks, and how errors end.

A family of commands is a module of this package. It registers a command so:

    @command("record")
    def record(session: Session, note: Annotated[str, typer.Option(help="…")]) -> int: ...

The function takes a Session first, gets `--show` and `--json` for free, and gives the exit code: 0 done and
clean, 1 done and something needs a person. ShowError ends with 2, MachineError with 3. Everything heavy is
imported inside the function, so that `--help` starts at once. A new family is named with its commands in
`FAMILIES` below: only the family of the command that was typed is imported.
"""

from __future__ import annotations

import errno
import functools
import importlib
import inspect
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from showvc.cli.helping import Explained, ExplainedGroup
from showvc.cli.speech import line_again, stopped, styled_with, takes_all

if TYPE_CHECKING:
    from showvc.history.archive import Archive
    from showvc.history.shows import Shows

CLEAN, NEEDS_A_PERSON, WRONG_INPUT, MACHINE_FAILED = 0, 1, 2, 3

FAMILIES = {
    "standing": ("start", "now", "undo"),
    "editing": ("set", "remove", "record", "restore"),
    "verbs": ("give", "rename", "copy", "replace", "swap", "schema"),
    "looking": ("history", "trace", "compare", "check"),
    "paths": ("paths",),
    "drafts": ("draft", "mark"),
    "merging": ("merge", "settle", "rollback", "carry"),
    "hub": ("hub", "join", "sync", "verify"),
    "release": ("release", "fleet"),
    "tables": ("import", "export"),
    "report": ("report", "keysheets"),
    "review": ("review",),
    "demo": ("demo",),
}

ShowOption = Annotated[
    Path | None,
    typer.Option("--show", metavar="DIR", help="The show folder. Default: this folder, or the nearest above it."),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]

_MANNERS: dict[str, Any] = {"help_option_names": ["--help", "-h"], "max_content_width": 100}

app = typer.Typer(
    name="showvc",
    cls=ExplainedGroup,
    help="Keeps the configuration of a live show's intercom safe while several people change it.",
    epilog="Begin with: showvc demo DIR, or showvc start DIR. Every command explains itself with --help.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings=_MANNERS,
)


def _tell_version(wanted: bool) -> None:
    if wanted:
        import showvc

        print(f"showvc {showvc.__version__}")
        raise typer.Exit()


@app.callback()
def _program(
    version: Annotated[
        bool, typer.Option("--version", is_eager=True, callback=_tell_version, help="Tell the version of showvc.")
    ] = False,
) -> None:
    pass


class Session:
    """One run of a command: the show it works on, and how it speaks."""

    def __init__(self, folder: Path | None, as_json: bool) -> None:
        self.given = folder
        self.as_json = as_json
        self._archive: Archive | None = None
        self._shows: Shows | None = None
        self._remarks: set[str] = set()

    # --- the show ---

    @functools.cached_property
    def folder(self) -> Path:
        """The show folder: the one given, else this one or the nearest above it. ShowError where there is none."""
        from showvc.document import ShowError
        from showvc.formats.folder import is_show
        from showvc.history.archive import has_history

        if self.given is not None:
            if not self.given.is_dir():
                raise ShowError(f"{self.given} is not a folder", "check the path after --show")
            return self.given.resolve()
        here = Path.cwd()
        for place in (here, *here.parents):
            if is_show(place) or has_history(place):  # a show.yaml that was lost is put back by restore
                return place
        raise ShowError(
            f"{here} is no show, nor is a folder above it", "go to a show folder, or name one with --show DIR"
        )

    @property
    def archive(self) -> Archive:
        """The show's history, made good if a killed process left something half done."""
        if self._archive is None:
            from showvc.history.operations import needs_recovery, recover

            archive = self.archive_as_it_is
            if needs_recovery(archive):
                if archive.closed is not None:
                    self.aside(
                        "An earlier command was cut short here, and is not taken back yet: the folder can't be written."
                    )
                else:
                    with archive.locked():
                        recover(archive)
            self._archive = archive
        return self._archive

    @functools.cached_property
    def archive_as_it_is(self) -> Archive:
        """The show's history, however it stands."""
        from showvc.history.archive import Archive

        archive = Archive.open(self.folder)
        archive.waiting, archive.remark = self.waiting, self.aside_once
        return archive

    @property
    def archive_or_none(self) -> Archive | None:
        """The history, or None where no show with a history is at hand."""
        from showvc.document import ShowError

        try:
            return self.archive
        except ShowError:
            if self.given is not None:
                raise
            return None

    @property
    def shows(self) -> Shows:
        if self._shows is None:
            from showvc.history.shows import Shows

            self._shows = Shows(self.archive, self.progress("Reading"))
        return self._shows

    # --- speaking ---

    def say(self, text: str = "") -> None:
        """A line for a person; silent when JSON is wanted."""
        if not self.as_json:
            print(text)

    def data(self, value: Any) -> None:
        """The answer as JSON; silent when text is wanted."""
        if self.as_json:
            print(json_text(value))

    def aside(self, text: str) -> None:
        """A remark that is no part of the answer."""
        print(text, file=sys.stderr)

    def aside_once(self, text: str) -> None:
        """A remark of the archive, said once however many steps of a command meet it."""
        if text not in self._remarks:
            self._remarks.add(text)
            self.aside(text)

    def waiting(self) -> None:
        self.aside("Another showvc is at work in this folder; waiting for it …")

    def bold(self, text: str) -> str:
        return styled(text, bold=True)

    def asks(self) -> bool:
        """Whether somebody is there to answer a question."""
        return sys.stdin.isatty() and sys.stdout.isatty() and not self.as_json

    def ask_who(self) -> None:
        """Asks who is working where neither the show nor git knows, and keeps the answer with the show."""
        from showvc.history.people import introduce, known_identity

        if known_identity(self.archive) is None:
            introduce(self.archive, typer.prompt("Who is working here? The name stands in the history"))

    def progress(self, doing: str) -> Callable[[int, int], None]:
        """Shows how far long work is, on a terminal only."""

        def show(done: int, total: int) -> None:
            if sys.stderr.isatty() and total > 100 and (done % 50 == 0 or done == total):
                end = "\n" if done == total else ""
                print(f"{line_again()}{doing} {done} of {total}", end=end, file=sys.stderr, flush=True)

        return show


def json_text(value: Any) -> str:
    """A value as JSON that the output takes: a letter that it does not is written as an escape, and none is lost."""
    return json.dumps(value, ensure_ascii=not takes_all(sys.stdout), indent=2)


def styled(text: str, **style: Any) -> str:
    """Text with a style, where a terminal shows it and NO_COLOR does not forbid it."""
    if os.environ.get("NO_COLOR") or not sys.stdout.isatty():
        return text
    before, _, after = typer.style("|", **style).partition("|")
    return styled_with(before, text, after)


Command = Callable[..., int | None]


def command(name: str, parent: typer.Typer = app, signs: bool = False, **settings: Any) -> Callable[[Command], Command]:
    """Registers a command whose first parameter is a Session.

    One that `signs` may make snapshots: on a terminal it asks who is working, once, where nobody has said.
    """

    def register(function: Command) -> Command:
        parent.command(name, cls=Explained, **settings)(_framed(function, signs))
        return function

    return register


def _framed(function: Command, signs: bool) -> Callable[..., None]:
    signature = inspect.signature(function, eval_str=True)
    own = list(signature.parameters.values())[1:]
    added = [
        inspect.Parameter("show", inspect.Parameter.KEYWORD_ONLY, default=None, annotation=ShowOption),
        inspect.Parameter("as_json", inspect.Parameter.KEYWORD_ONLY, default=False, annotation=JsonOption),
    ]

    @functools.wraps(function)
    def framed(show: Path | None, as_json: bool, **given: Any) -> None:
        session = Session(show, as_json)

        def work() -> int | None:
            if signs and session.asks() and not given.get("who"):
                session.ask_who()
            return function(session, **given)

        raise typer.Exit(guarded(work))

    parameters = [parameter.replace(kind=inspect.Parameter.KEYWORD_ONLY) for parameter in (*own, *added)]
    framed.__signature__ = signature.replace(parameters=parameters, return_annotation=None)  # type: ignore[attr-defined]
    framed.__annotations__ = {parameter.name: parameter.annotation for parameter in parameters}
    return framed


def guarded(work: Callable[[], int | None]) -> int:
    """The exit code of some work; errors are told on stderr, never as a traceback."""
    from showvc.document.problems import MachineError, ShowError
    from showvc.document.visible import on_one_line

    try:
        return work() or CLEAN
    except ShowError as error:
        for problem in error.problems:
            print(f"showvc: {on_one_line(str(problem))}", file=sys.stderr)
        return WRONG_INPUT
    except (KeyboardInterrupt, typer.Abort):
        return stopped()
    except MachineError as error:
        print(f"showvc: {on_one_line(str(error))}", file=sys.stderr)
        return MACHINE_FAILED
    except BrokenPipeError:
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115, PTH123 - the reader has gone; nothing more is said
        return CLEAN
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        few = error.errno in (errno.EMFILE, errno.ENFILE)
        out = "let a program have more open files: ulimit -n 256" if few else "check the permissions and the free space"
        said = on_one_line(f"{place}{error.strerror or error}")
        print(f"showvc: {said} ({out})", file=sys.stderr)
        return MACHINE_FAILED
    except (MemoryError, RecursionError):
        print("showvc: this is too large for the memory of this machine (nothing was changed)", file=sys.stderr)
        return MACHINE_FAILED
    except Exception as error:  # the last net: a fault of ours is told in a line, and what is recorded stays
        said = " ".join(str(error).split())[:200]
        print(f"showvc: something unforeseen: {type(error).__name__}: {said}", file=sys.stderr)
        print("showvc: what is recorded is safe; look with: showvc verify", file=sys.stderr)
        return MACHINE_FAILED


def load_families() -> None:
    """Imports every family, which registers its commands."""
    for family in FAMILIES:
        importlib.import_module(f"showvc.cli.{family}")


def main() -> None:
    """Runs the command that was typed."""
    words = sys.argv[1:]
    named = _named(words)
    if named is None:
        load_families()
        app(words, prog_name="showvc")
    else:
        depth, alone = named
        name = " ".join(["showvc", *words[:depth]])
        typer.main.get_command(alone).main(words[depth:], prog_name=name, **_MANNERS)


def _named(words: list[str]) -> tuple[int, typer.Typer] | None:
    """The command that is typed as a program of its own, and how many words name it. None: ask the whole program.

    Of the others neither the modules nor the options are looked at, which halves the start.
    """
    family = next((family for family, names in FAMILIES.items() if words and words[0] in names), None)
    if family is None:
        return None
    importlib.import_module(f"showvc.cli.{family}")
    for group in app.registered_groups:
        if group.name == words[0] and group.typer_instance is not None:
            inner = _alone(group.typer_instance, words[1] if len(words) > 1 else "")
            return (2, inner) if inner else None
    alone = _alone(app, words[0])
    return (1, alone) if alone else None


def _alone(parent: typer.Typer, word: str) -> typer.Typer | None:
    found = [info for info in parent.registered_commands if info.name == word]
    alone = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
    alone.registered_commands += found
    return alone if found else None
