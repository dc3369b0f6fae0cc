"""Shows of another format than this program writes: older ones are upgraded when they are read, newer ones refused."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from showvc.document import FORMAT, Problem, ShowError
from showvc.formats import nodes

Whole = dict[str, Any]
"""A single document as plain values."""

UPGRADES: Mapping[int, Callable[[Whole], Whole]] = {}
"""By the format that a function reads: a whole document of it made one of the next format. None is ever taken out.

What a field means that the next format does not have, the function says: from YAML its scalars come as text.
"""

_DRAFT = 1


class NewerShow(ShowError):
    """A show of a later format: what else is wrong with it cannot be told."""


class OlderShow(ShowError):
    """A show of an earlier format that can be upgraded, as a whole alone."""

    def __init__(self, found: int, file: str) -> None:
        self.format = found
        message = f"is a show of format {found}; this showvc reads it only as a whole"
        super().__init__([Problem(message, file, way_out="read the whole show folder")])


def refuse_format(node: nodes.Mapping, file: str) -> None:
    """NewerShow, OlderShow or ShowError for a show of another format than the present one."""
    value = node.pairs["format"][1] if "format" in node.pairs else None
    if isinstance(value, nodes.Scalar) and re.fullmatch(r"[1-9][0-9]{0,8}", value.text):
        refuse_number(int(value.text), file, value.line + 1, value.column + 1)


def refuse_number(found: int, file: str, line: int | None = None, column: int | None = None) -> None:
    """The same for the number of a format, and where it stands."""
    if found > FORMAT:
        message = f"is a show of format {found}; this showvc reads format {FORMAT}"
        raise NewerShow([Problem(message, file, line, column, "update showvc on this machine")])
    if found < FORMAT and found in UPGRADES:
        raise OlderShow(found, file)
    if found == _DRAFT:
        message = "is a show of format 1, which was a draft that nobody used"
        way_out = f"begin a show of format {FORMAT} with: showvc start DIR"
        raise ShowError([Problem(message, file, line, column, way_out)])


def upgraded(document: Whole, found: int) -> Whole:
    """A whole document of an older format as one of the present format."""
    for number in range(found, FORMAT):
        document = UPGRADES[number](document)
    return {**document, "format": FORMAT}
