"""YAML text to a tree of nodes that know where they stand; nothing is guessed, nothing is executed.

Only the events of the parser are used: a scalar stays the characters that were written, and the field
decides later what they mean.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from showvc.document import Problem, ShowError
from showvc.document.problems import MAX_PROBLEMS

MAX_BYTES = 4 * 1024 * 1024
"""The largest file of a show folder."""
MAX_DOCUMENT_BYTES = 64 * 1024 * 1024
MAX_DEPTH = 40
MAX_NODES = 4_000_000
BYTES_PER_ENTRY = 16 * 1024
MAX_SLOW_CHARACTERS = 512 * 1024
"""What the C reader refuses is read once more by the slow one up to this size (about 5 s)."""

_SURROGATES = re.compile("[\ud800-\udbff][\udc00-\udfff]")
"""How JSON escapes a character beyond U+FFFF: one pair for one character."""
# YAML 1.2.2, section 5.1: what a text may hold, turned round.
_NOT_YAML = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass(slots=True, eq=False)
class Node:
    """A place in a text: lines and columns count from 0, ends are exclusive."""

    line: int
    column: int
    end_line: int = 0
    end_column: int = 0
    flow: bool = False


@dataclass(slots=True, eq=False)
class Scalar(Node):
    text: str = ""
    quoted: bool = False


@dataclass(slots=True, eq=False)
class Sequence(Node):
    items: list[Node] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Mapping(Node):
    """`pairs` in the order of the text: name → (node of the name, node of the value)."""

    pairs: dict[str, tuple[Scalar, Node]] = field(default_factory=dict)
    aliased: bool = False


class _Refused(Exception):
    def __init__(self, problem: Problem) -> None:
        self.problem = problem


def refuse_size(size: int, file: str, limit: int = MAX_BYTES) -> None:
    """ShowError for a file of more bytes than are read."""
    if size > limit:
        # Readers stop at one byte too many, so of such a file the whole size is not known.
        how_large = "too large" if size == limit + 1 else f"{size / 1024 / 1024:.1f} MiB large"
        message = f"is {how_large}; at most {limit // 1024 // 1024} MiB are read"
        way_out = "it is hardly part of a show: shorten it, or move it elsewhere"
        raise ShowError([Problem(message, file, way_out=way_out)])


def decode(data: bytes, file: str, limit: int = MAX_BYTES) -> str:
    """The text of a file; ShowError when it is too large or not UTF-8."""
    refuse_size(len(data), file, limit)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        found = f"is not UTF-8 text: byte 0x{data[error.start]:02X}"
        raise ShowError([Problem(found, file, line, way_out="save it as UTF-8")]) from None


def parse(text: str, file: str) -> tuple[Node | None, list[Problem]]:
    """The tree of the one document in `text`, and what is wrong with it that does not stop the reading.

    Duplicate names are among the problems. ShowError where no tree can be had.
    """
    # The C reader knows YAML 1.1 only: what it refuses (`{at: 12:30}`) the slower one of 1.2 may read.
    for events in (_fast_events, _events):
        builder = _Builder(file)
        try:
            return builder.document(events(text)), builder.problems
        except _Refused as refused:
            raise ShowError([*builder.problems, refused.problem]) from None
        except (_yaml_error(), UnicodeEncodeError) as error:  # the latter: half of a surrogate pair, from an argument
            failure = [*builder.problems, _syntax(error, text, file)]
        if len(text) > MAX_SLOW_CHARACTERS:
            break
    raise ShowError(failure)


def _events(text: str) -> Iterator[Any]:
    from ruamel.yaml import YAML

    return iter(YAML(typ="safe", pure=True).parse(text))


def _fast_events(text: str) -> Iterator[Any]:
    try:
        from ruamel.yaml.cyaml import CParser  # type: ignore[attr-defined]
    except ImportError:  # no build of the C reader for this machine
        yield from _events(text)
        return
    parser = CParser(text)
    try:
        while parser.check_event():
            yield parser.get_event()
    finally:
        parser.dispose()


def _yaml_error() -> type[Exception]:
    from ruamel.yaml.error import YAMLError

    return YAMLError


def _syntax(error: Any, text: str, file: str) -> Problem:
    # The readers say of a character that YAML does not allow neither which nor in which line it is.
    if odd := _NOT_YAML.search(text):
        line = text.count("\n", 0, odd.start()) + 1
        column = odd.start() - text.rfind("\n", 0, odd.start())
        return Problem(f"holds the control character U+{ord(odd.group()):04X}", file, line, column, "take it out")
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    said = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error).splitlines()[0]
    problem = Problem(f"is not readable as YAML: {said}", file, way_out="look at this line and the one before it")
    return replace(problem, line=mark.line + 1, column=mark.column + 1) if mark else problem


class _Builder:
    """Puts nodes together from events, with bounds on depth and count."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.anchors: dict[str, Node] = {}
        self.aliased = False
        self.sizes: dict[int, int] = {}
        self.count = 0

    def refuse(self, message: str, mark: Any, way_out: str | None = None) -> _Refused:
        return _Refused(Problem(message, self.file, mark.line + 1, mark.column + 1, way_out))

    def document(self, events: Iterator[Any]) -> Node | None:
        root: Node | None = None
        for event in events:
            name = type(event).__name__
            if name == "DocumentStartEvent" and root is not None:
                raise self.refuse("holds a second YAML document", event.start_mark, "one file is one thing: split it")
            if name in ("ScalarEvent", "AliasEvent", "MappingStartEvent", "SequenceStartEvent"):
                root = self.node(event, events, 0)
        if isinstance(root, Mapping):
            root.aliased = self.aliased
        return root

    def node(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        name = type(event).__name__
        if name == "AliasEvent":
            return self.alias(event)
        if event.tag is not None and not (name == "ScalarEvent" and event.tag == "!" and not event.value):
            way_out = "take the tag out: the field says the type"
            raise self.refuse(f"holds the YAML tag {event.tag}", event.start_mark, way_out)
        self.count += 1
        if self.count > MAX_NODES or depth > MAX_DEPTH:
            message = "is nested or repeated beyond what a show can hold"
            raise self.refuse(message, event.start_mark, "undo the last edits to it")
        before = self.count
        made = _MAKERS[name](self, event, events, depth)
        if event.anchor is not None:
            self.anchors[event.anchor] = made
            self.sizes[id(made)] = self.count - before + 1
        return made

    def alias(self, event: Any) -> Node:
        known = self.anchors.get(event.anchor)
        if known is None:
            raise self.refuse(
                f"refers to *{event.anchor}, which is not complete before it", event.start_mark, "write the value out"
            )
        self.aliased = True
        self.count += self.sizes[id(known)]
        if self.count > 100_000:
            raise self.refuse("repeats itself through anchors beyond measure", event.start_mark, "write the values out")
        return known

    def scalar(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        start, end, text = event.start_mark, event.end_mark, event.value
        if event.style == '"' and _SURROGATES.search(text):
            text = _SURROGATES.sub(lambda pair: pair.group().encode("utf-16", "surrogatepass").decode("utf-16"), text)
        return Scalar(start.line, start.column, end.line, end.column, False, text, event.style not in (None, ""))

    def sequence(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        made = Sequence(event.start_mark.line, event.start_mark.column, flow=bool(event.flow_style))
        for inner in events:
            if type(inner).__name__ == "SequenceEndEvent":
                made.end_line, made.end_column = inner.end_mark.line, inner.end_mark.column
                break
            made.items.append(self.node(inner, events, depth + 1))
        return made

    def mapping(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        made = Mapping(event.start_mark.line, event.start_mark.column, flow=bool(event.flow_style))
        for inner in events:
            if type(inner).__name__ == "MappingEndEvent":
                made.end_line, made.end_column = inner.end_mark.line, inner.end_mark.column
                break
            key = self.node(inner, events, depth + 1)
            value = self.node(next(events), events, depth + 1)
            self.enter(made, key, value)
        return made

    def enter(self, made: Mapping, key: Node, value: Node) -> None:
        if len(self.problems) == MAX_PROBLEMS:
            way_out = "mend the first ones and read again"
            raise _Refused(Problem("and more that is wrong here", self.file, way_out=way_out))
        if not isinstance(key, Scalar):
            self.problems.append(Problem("a name must be plain text", self.file, key.line + 1, key.column + 1))
        elif key.text in made.pairs:
            first = made.pairs[key.text][0].line + 1
            message = f"{key.text!r} stands here twice, first in line {first}"
            self.problems.append(Problem(message, self.file, key.line + 1, key.column + 1, "keep one of the two"))
        else:
            made.pairs[key.text] = (key, value)


_MAKERS: dict[str, Callable[[_Builder, Any, Iterator[Any], int], Node]] = {
    "ScalarEvent": _Builder.scalar,
    "SequenceStartEvent": _Builder.sequence,
    "MappingStartEvent": _Builder.mapping,
}
