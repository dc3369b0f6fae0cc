"""Imports run one way, the pure parts stay pure, and no word of ours is another program's."""

from __future__ import annotations

import ast
import importlib
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

import showvc

HOME = Path(showvc.__file__).parent

# A package may use those above it and no other. What it may not use although it stands above is not listed here:
# the order alone keeps the arrows from running in a ring.
ORDER = (
    "document",
    "identity",
    "formats",
    "paths",
    "rules",
    "changes",
    "editing",
    "merging",
    "store",
    "history",
    "release",
    "report",
    "review",
    "cli",
    "demo",
)
# What the design names for the pure parts, drawn out: a change to this table is a change to the design.
USES = {
    "document": set(),
    "identity": {"document"},
    "formats": {"document", "identity"},
    "paths": {"document"},
    "rules": {"document", "paths"},
    "changes": {"document", "identity", "paths"},
    "editing": {"document", "identity", "paths", "changes", "rules"},
    "merging": {"document", "identity", "paths", "changes", "rules"},
    "store": {"document", "formats"},
}
PURE = ("document", "identity", "paths", "rules", "changes", "editing", "merging")
IMPURE = {"git", "gitdb", "typer", "click", "subprocess", "sqlite3", "filelock", "socket"}

# The words of version-control programs' command lines: none is a command of ours.
_NOT_OURS = (
    "init add commit push pull fetch clone branch checkout switch tag log blame bisect stash rebase cherry-pick "
    "reset revert remote status show diff describe annotate update incoming outgoing amend squash submodule worktree "
    "reflog patch"
)
NOT_OURS = frozenset(_NOT_OURS.split())
# The table of section 13.
_COMMANDS = (
    "start join now set remove give rename copy replace swap schema record history trace compare check paths draft merge settle rollback carry restore "
    "undo mark hub sync verify release fleet import export report keysheets review demo"
)
COMMANDS = frozenset(_COMMANDS.split())


def modules(package: str) -> Iterator[Path]:
    return (HOME / package).rglob("*.py")


def imported(path: Path) -> Iterator[str]:
    """Every module that a file imports, those inside functions and behind TYPE_CHECKING included."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide where they lead"
            base = node.module or ""
            # `from showvc import changes` is an import of the package, `from showvc.changes import edits` is too.
            yield from ([f"{base}.{name.name}" for name in node.names] if base == "showvc" else [base])
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith(("import_module", "__import__")):
            first = node.args[0]
            if isinstance(first, ast.Constant):
                yield str(first.value)
            elif isinstance(first, ast.JoinedStr) and isinstance(first.values[0], ast.Constant):
                yield str(first.values[0].value)


def packages_used(package: str) -> dict[str, set[str]]:
    """The packages of ours that this one uses, and the files that do."""
    used: dict[str, set[str]] = {}
    for path in modules(package):
        for name in imported(path):
            if name.startswith("showvc."):
                other = name.split(".")[1]
                used.setdefault(other, set()).add(str(path.relative_to(HOME)))
    return used


def test_every_package_has_its_place_in_the_order() -> None:
    there = {path.name for path in HOME.iterdir() if (path / "__init__.py").is_file()}
    assert there <= set(ORDER), "a new package needs a place in section 14"
    assert {path.name for path in HOME.glob("*.py")} == {"__init__.py"}


@pytest.mark.parametrize("package", ORDER)
def test_imports_run_down_the_list_only(package: str) -> None:
    above = set(ORDER[: ORDER.index(package)]) | {package}
    # The command `demo` plays the story of `demo`, whose commands it runs: the story itself knows no command line.
    if package == "cli":
        above |= {"demo"}
    if package == "demo":
        above -= {"cli"}
    wrong = {other: files for other, files in packages_used(package).items() if other not in above}
    assert not wrong


@pytest.mark.parametrize("package", USES)
def test_the_pure_parts_use_what_the_design_names_and_no_more(package: str) -> None:
    wrong = {other: files for other, files in packages_used(package).items() if other not in USES[package] | {package}}
    assert not wrong


def test_nothing_imports_the_command_line() -> None:
    users = {package: packages_used(package).get("cli") for package in ORDER if package != "cli"}
    assert not {package: files for package, files in users.items() if files}


@pytest.mark.parametrize("package", PURE)
def test_the_pure_parts_know_neither_git_nor_the_terminal(package: str) -> None:
    for path in modules(package):
        roots = {name.split(".")[0] for name in imported(path)}
        assert not roots & IMPURE, path


@pytest.mark.parametrize("package", PURE)
def test_the_pure_parts_do_not_print_or_open_files(package: str) -> None:
    for path in modules(package):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        called = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
        assert not called & {"print", "open", "input", "exec", "eval"}, path


def test_the_reading_of_imports_sees_those_inside_functions(tmp_path: Path) -> None:
    file = tmp_path / "x.py"
    file.write_text(
        "import a.b\nfrom c import d\nfrom showvc import merging\n\ndef f():\n    from git import Repo\n"
        "    import importlib\n    importlib.import_module('showvc.cli')\n"
    )
    assert set(imported(file)) == {"a.b", "c", "showvc.merging", "git", "importlib", "showvc.cli"}


def test_no_package_hides_a_public_function() -> None:
    packages = {path.name for path in HOME.iterdir() if (path / "__init__.py").is_file()}
    assert not packages & set(showvc.__all__)
    for name in showvc.__all__:
        for package in packages:
            importlib.import_module(f"showvc.{package}")
        assert callable(getattr(showvc, name)), name


def registered() -> dict[str, set[str]]:
    """The commands by name, each with the words below it."""
    from showvc.cli import app as frame

    frame.load_families()
    found = typer.main.get_command(frame.app)
    return {name: set(getattr(command, "commands", {})) for name, command in found.commands.items()}  # type: ignore[attr-defined]


def test_every_command_is_one_of_the_design() -> None:
    assert set(registered()) <= COMMANDS


def test_every_command_is_found_without_the_families_of_the_others() -> None:
    from showvc.cli.app import FAMILIES

    assert {name for names in FAMILIES.values() for name in names} == set(registered())


def test_no_command_is_named_as_a_version_control_programs() -> None:
    words = registered()
    assert not set(words) & NOT_OURS
    assert not {word for below in words.values() for word in below} & NOT_OURS
    assert words["draft"] == {"open", "go", "list", "close"}


def test_no_option_is_named_as_a_version_control_programs() -> None:
    from showvc.cli import app as frame

    frame.load_families()
    group = typer.main.get_command(frame.app)
    commands = [*group.commands.values(), *group.commands["draft"].commands.values()]  # type: ignore[attr-defined]
    options = {option for command in commands for parameter in command.params for option in parameter.opts}
    refused = {f"--{word}" for word in NOT_OURS - {"show", "patch"}} | {"--amend", "--ours", "--theirs", "--message"}
    # `--show` names the show folder and `--patch` an RFC 6902 JSON Patch: both are the design's.
    assert not options & refused
