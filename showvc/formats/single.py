"""The single document: the whole show as one YAML or JSON file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from showvc.document import (
    DOCUMENT,
    FORMAT,
    SECTIONS,
    Body,
    Entries,
    Head,
    Problem,
    Show,
    ShowError,
    check_id,
)
from showvc.document.pointers import join
from showvc.formats import nodes
from showvc.formats.files import HEAD, place_of, refuse_empty, without_format
from showvc.formats.quick import quick_values
from showvc.formats.reading import TEXT, in_order, placed, validate, values
from showvc.formats.upgrading import OlderShow, refuse_format, refuse_number, upgraded
from showvc.formats.writing import document

SUFFIXES = (".yaml", ".yml", ".json")


def read_single(data: bytes, file: str) -> Show:
    """The show that a single document holds; JSON where the name ends so, else YAML.

    ShowError with every problem of the document.
    """
    text = nodes.decode(data, file, nodes.MAX_DOCUMENT_BYTES)
    in_json = Path(file).suffix.lower() == ".json"
    if not in_json and (found := _quick(text, len(data), file)) is not None:
        return found
    if in_json:
        raw, problems, node = _json(text, file)
    else:
        node, problems = nodes.parse(text, file)
        refuse_empty(node, file, "it is no show")
        raw = values(node, DOCUMENT)
    if not isinstance(raw, dict) or not ("title" in raw or "format" in raw or any(name in raw for name in SECTIONS)):
        raise ShowError(
            [*problems, Problem("is not a show: it has neither format, title, groups nor users", file, 1, 1)]
        )
    raw, node = _of_this_format(raw, node, text, file)
    _refuse_oversize(len(data), raw, file)
    show, more = _show(raw)
    if more and node is None:
        node = _positions(text, file)
    problems += [*without_format(raw, file), *(placed(problem, node, file, loc) for problem, loc in more)]
    if problems or show is None:
        raise ShowError(in_order(problems))
    return show


def _quick(text: str, size: int, file: str) -> Show | None:
    """The show of a document in the plain layout and without a fault."""
    raw = quick_values(text, DOCUMENT)
    if raw is None or "format" not in raw:
        return None
    _refuse_oversize(size, raw, file)
    return _show(raw)[0]


def _json(text: str, file: str) -> tuple[Any, list[Problem], nodes.Node | None]:
    repeated: list[str] = []

    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(found)
        if len(made) < len(found):
            repeated.append("repeated")
        return made

    def no_number(word: str) -> Any:
        raise ShowError([Problem(f"holds {word}, which is not JSON", file, way_out="write a number or a text")])

    try:
        raw = json.loads(text, object_pairs_hook=pairs, parse_constant=no_number)
    except json.JSONDecodeError as error:
        raise ShowError([Problem(f"is not readable as JSON: {error.msg}", file, error.lineno, error.colno)]) from None
    except RecursionError:
        raise ShowError([Problem("is nested more deeply than any show", file)]) from None
    except ValueError:  # Python reads no number of thousands of digits
        raise ShowError([Problem("holds a number of thousands of digits", file)]) from None
    if not repeated:
        return raw, [], None
    node, problems = nodes.parse(text, file)
    return raw, problems or [Problem("holds a name twice in one place", file)], node


def _of_this_format(
    raw: dict[str, Any], node: nodes.Node | None, text: str, file: str
) -> tuple[Any, nodes.Node | None]:
    """The values in the present format, and their nodes where these still stand for them."""
    try:
        found = raw.get("format")
        if isinstance(found, int) and not isinstance(found, bool) and found != FORMAT:
            node = node or _positions(text, file)
            if isinstance(node, nodes.Mapping):
                refuse_format(node, file)
            refuse_number(found, file)
    except OlderShow as older:
        return upgraded(raw, older.format), nodes.Scalar(0, 0)
    return raw, node


def read_older(files: Mapping[str, bytes], found: int) -> Show:
    """The show of the files of a show folder that is of an older format. ShowError with every problem.

    `files` are by their paths in the folder; what is no file of a show may be among them.
    """
    whole: dict[str, Any] = {}
    problems: list[Problem] = []
    for path, data in files.items():
        place = place_of(path)
        if place is None:
            continue
        node, more = nodes.parse(nodes.decode(data, path), path)
        problems += more
        steps = (place.section, place.id) if place.section else ()
        tree = values(node, DOCUMENT.along(steps) or TEXT) if node is not None else {}
        if path == HEAD:
            whole |= tree
        else:
            whole.setdefault(str(place.section), {})[place.id] = tree
    show, more_found = _show(upgraded(whole, found))
    problems += [Problem(f"{join(*loc)}: {problem.message}", way_out=problem.way_out) for problem, loc in more_found]
    if problems or show is None:
        raise ShowError(problems)
    return show


def _positions(text: str, file: str) -> nodes.Node | None:
    """JSON is read as YAML only to find the lines of its problems."""
    try:
        return nodes.parse(text, file)[0]
    except ShowError:
        return None


def _refuse_oversize(size: int, raw: dict[str, Any], file: str) -> None:
    entries = sum(len(raw[name]) for name in SECTIONS if isinstance(raw.get(name), dict))
    if size > max(nodes.MAX_BYTES, entries * nodes.BYTES_PER_ENTRY):
        message = f"is {size / 1024 / 1024:.1f} MiB for {entries} things; a show of this size takes at most 4 MiB"
        raise ShowError([Problem(message, file, way_out="is it really a show?")])


def _show(raw: dict[str, Any]) -> tuple[Show | None, list[tuple[Problem, tuple[str, ...]]]]:
    head, problems = validate(Head, {name: value for name, value in raw.items() if name not in SECTIONS}, DOCUMENT)
    sections: dict[str, Entries[Any]] = {}
    for section, model in SECTIONS.items():
        bodies, more = _section(section, model, raw.get(section, {}))
        problems += more
        sections[section] = Entries(bodies)
    return (Show(head, **sections) if head is not None and not problems else None), problems


def _section(section: str, model: Any, raw: Any) -> tuple[dict[str, Any], list[tuple[Problem, tuple[str, ...]]]]:
    if not isinstance(raw, dict):
        return {}, [(Problem(f"{section}: a map from id to fields is wanted"), (section,))]
    bodies: dict[str, Any] = {}
    problems: list[tuple[Problem, tuple[str, ...]]] = []
    for name, inner in raw.items():
        try:
            check_id(name)
        except ValueError as error:
            problems.append((Problem(str(error), on_name=True), (section, name)))
        body, more = _read(model, inner)
        problems += [(problem, (section, name, *loc)) for problem, loc in more]
        bodies[name] = body
    return bodies, problems


def _read(model: type[Body], inner: Any) -> tuple[Body | None, list[tuple[Problem, tuple[str, ...]]]]:
    try:
        return _sound(model, json.dumps(inner)), []
    except (ValueError, RecursionError):
        return validate(model, inner)


@lru_cache(maxsize=2**13)
def _sound(model: type[Body], text: str) -> Body:
    """A body without a fault, read once: the dumps of a whole fleet have nearly all of theirs alike.

    As many are kept as the largest show has things, twice over. ValueError where there is a fault.
    """
    return model.model_validate(json.loads(text))


def single_text(show: Show, suffix: str = ".yaml") -> str:
    """The whole show as one canonical document, YAML or (for `.json`) JSON."""
    if suffix.lower() == ".json":
        return json.dumps(show.tree(), ensure_ascii=False, indent=2) + "\n"
    return document(show.tree(), DOCUMENT)
