"""One file of a show folder: its place, its body, its text."""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import dataclass
from typing import Any

from showvc.document import (
    FORMAT,
    SECTIONS,
    Body,
    Head,
    Problem,
    ShowError,
    check_id,
    head_tree,
    shape_of,
    to_tree,
)
from showvc.document.names import ID, RESERVED
from showvc.formats import nodes
from showvc.formats.patching import patched, with_comments
from showvc.formats.quick import quick_bodies
from showvc.formats.reading import empty, in_order, read_body, validate
from showvc.formats.upgrading import refuse_format
from showvc.formats.writing import document

HEAD = "show.yaml"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a file stands in a show folder: `section` is None for `show.yaml`."""

    section: str | None = None
    id: str = ""

    @property
    def path(self) -> str:
        return HEAD if self.section is None else f"{self.section}/{self.id}.yaml"

    @property
    def model(self) -> type[Body]:
        return Head if self.section is None else SECTIONS[self.section]


# What nearly every path of a show looks like, told by one look: a large show has thousands of them.
_USUAL = re.compile(rf"({'|'.join(SECTIONS)})/({ID.pattern})\.yaml")


def place_of(path: str) -> Place | None:
    """The place of a path relative to the show folder; None for what is not part of a show.

    ShowError for a file that looks like a part of the show but cannot be one.
    """
    usual = _USUAL.fullmatch(path)
    if usual is not None and usual[2] not in RESERVED:
        return Place(usual[1], usual[2])
    if path == HEAD:
        return Place()
    section, _, name = path.partition("/")
    if section not in SECTIONS or not name or name.startswith(".") or name.endswith("~"):
        return None
    stem, dot, suffix = name.rpartition(".")
    if "/" in name or (dot and suffix != "yaml") or not dot:
        way_out = (
            f"rename it {section}/{stem}.yaml" if suffix in ("yml", "YAML", "YML") else "move it out of the show folder"
        )
        raise ShowError([Problem("is not a file of a show", _shown(path), way_out=_shown(way_out))])
    try:
        return Place(section, check_id(stem))
    except ValueError as error:
        way_out = "rename the file: its name is the id"
        raise ShowError([Problem(str(error), _shown(path), way_out=way_out)]) from None


def _shown(path: str) -> str:
    """A file's name that can be printed; bytes that are no UTF-8 come from the disk as halves of pairs."""
    return path.encode("utf-8", "backslashreplace").decode()


def read_file(place: Place, data: bytes, file: str | None = None) -> Body:
    """The body that a file holds. ShowError with every problem of the file."""
    file = file or place.path
    text = nodes.decode(data, file)
    quick = quick_bodies(text, shape_of(place.model))
    whole = quick is not None and (place.section is not None or "format" in quick)
    if whole and (found := validate(place.model, quick)[0]) is not None:
        return found
    node, problems = nodes.parse(text, file)
    refuse_empty(node, file, _HEAD_LINES if place.section is None else "write {} for a thing with no fields")
    if place.section is None and isinstance(node, nodes.Mapping):
        refuse_format(node, file)
        problems += without_format(node.pairs, file)
    body, more = read_body(place.model, node, file)
    if problems or body is None:
        raise ShowError(in_order([*problems, *more]))
    return body


_HEAD_LINES = f"write the lines 'format: {FORMAT}' and 'title: NAME'"


def refuse_empty(node: nodes.Node | None, file: str, otherwise: str) -> None:
    """ShowError for a file that says nothing. What a save or a copy that was cut short leaves is no show or thing.

    `otherwise` is what to do where it was meant.
    """
    if empty(node):
        way_out = f"bring it back with: showvc restore last, or from a copy; else {otherwise}"
        raise ShowError([Problem("is empty", file, 1, 1, way_out)])


def without_format(fields: Container[str], file: str) -> list[Problem]:
    """What is wrong with a show that does not say its format: it may be what is left of one."""
    if "format" in fields:
        return []
    way_out = f"is the file whole? Then add: format: {FORMAT}. Else bring it back with: showvc restore last"
    return [Problem("field 'format' is missing", file, 1, 1, way_out)]


def tree_of(body: Body) -> dict[str, Any]:
    return head_tree(body) if isinstance(body, Head) else to_tree(body)


def canonical(body: Body) -> str:
    """The canonical text of a file that holds this body."""
    return document(tree_of(body), shape_of(type(body)))


def rewritten(body: Body, old: str) -> str:
    """The text `old` with its values made those of `body`; comments and order stay."""
    place = Place() if isinstance(body, Head) else Place(_SECTION_OF[type(body)], "x")

    def read(text: str) -> dict[str, Any]:
        return tree_of(read_file(place, text.encode()))

    return patched(old, tree_of(body), shape_of(type(body)), read)


_SECTION_OF = {model: section for section, model in SECTIONS.items()}


def merged_text(body: Body, before: str | None, mine: str | None, incoming: str | None) -> str:
    """A file's text after a merge: the values of `body`, and the comments of both sides."""
    kept = mine if mine is not None else incoming
    if kept is None:
        return canonical(body)
    text = rewritten(body, kept)
    return with_comments(text, before or "", incoming) if incoming is not None else text
