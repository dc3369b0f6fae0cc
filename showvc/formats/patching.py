"""Edits to a file's text that touch what changed and nothing else: comments, order and spacing stay."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from showvc.document import Shape, ShowError, Tree, same
from showvc.document.pointers import Steps
from showvc.formats.nodes import Mapping, Node, Scalar, Sequence, parse
from showvc.formats.writing import document, entry, value_text

_BREAK = re.compile(r"\r\n|[\n\r\x85\u2028\u2029]")


def patched(text: str, tree: Tree, shape: Shape, read: Callable[[str], Tree]) -> str:
    """`text` with its values made equal to `tree`, which must be in writing order.

    `read` gives the values of a text in the same form. What did not change keeps its bytes. Where an edit
    in place cannot be had (anchors, odd layouts), the file is written anew in canonical form, each comment
    above the entry that it belongs to.
    """
    old = read(text)
    if same(old, tree):
        return text
    node, _ = parse(text, "")
    if isinstance(node, Mapping) and not node.aliased and not node.flow:
        edited = _Editor(text).edit(node, old, tree, shape)
        if _says(edited, tree, read):
            return _with_lost(edited, text, tree)
    return with_comments(document(tree, shape), "", text)


def _with_lost(edited: str, text: str, tree: Tree) -> str:
    """Puts back the comments that an edit took along, but for those of entries that are gone."""
    lost = _more(comments(text), comments(edited))
    return _placed(edited, [comment for comment in lost if _stands(tree, comment.at)]) if lost else edited


def _stands(tree: Any, steps: Steps | None) -> bool:
    for step in steps or ():
        if not isinstance(tree, dict) or step not in tree:
            return False
        tree = tree[step]
    return True


def _says(text: str, tree: Tree, read: Callable[[str], Tree]) -> bool:
    try:
        return same(read(text), tree)
    except ShowError:
        return False


@dataclass(frozen=True, slots=True)
class _Edit:
    start: int
    end: int
    text: str


class _Editor:
    """Collects replacements of stretches of a text, then makes them from the end to the start."""

    def __init__(self, text: str) -> None:
        first = _BREAK.search(text)
        self.newline = first.group() if first and first.group() in ("\r\n", "\r") else "\n"
        self.text = text if not text or _BREAK.search(text[-1]) else text + self.newline
        self.starts = [0, *(found.end() for found in _BREAK.finditer(self.text))]
        self.edits: list[_Edit] = []

    def edit(self, node: Mapping, old: Tree, new: Tree, shape: Shape) -> str:
        self.block(node, old, new, shape)
        return self.result()

    def result(self) -> str:
        pieces: list[str] = []
        done = 0
        for change in sorted(self.edits, key=lambda edit: (edit.start, edit.end)):
            pieces += (self.text[done : change.start], change.text)
            done = change.end
        return "".join((*pieces, self.text[done:]))

    def offset(self, line: int, column: int = 0) -> int:
        return self.starts[line] + column if line < len(self.starts) else len(self.text)

    def lines(self, lines: list[str]) -> str:
        return "".join(line + self.newline for line in lines)

    def block(self, node: Mapping, old: Tree, new: Tree, shape: Shape) -> None:
        """Edits a mapping written one entry a line. A default that is written out stays."""
        indent = min((key.column for key, _ in node.pairs.values()), default=0)
        for name, (key, value) in node.pairs.items():
            if name not in new and name in old:
                self.replace_lines(key, value, [])
            elif name in new and not same(old.get(name), new[name]):
                self.change(name, (key, value), old.get(name), new[name], shape.at(name) or shape, indent)
        self.insert_missing(node, new, shape, indent)

    def change(self, name: str, pair: tuple[Scalar, Node], old: Any, new: Any, shape: Shape, indent: int) -> None:
        key, value = pair
        if isinstance(value, Mapping) and isinstance(new, dict) and new and value.flow:
            self.edits.append(self.span(value, value_text(_in_order_of(value, new))))
        elif isinstance(value, Mapping) and isinstance(old, dict) and isinstance(new, dict) and new:
            self.block(value, old, new, shape)
        elif isinstance(new, dict) or shape.kind == "notes" or value.line != last_line(key, value) or _blank(value):
            self.replace_lines(key, value, entry(name, new, shape, indent))
        else:
            self.edits.append(self.span(value, value_text(new)))

    def span(self, node: Node, text: str) -> _Edit:
        return _Edit(self.offset(node.line, node.column), self.offset(node.end_line, node.end_column), text)

    def replace_lines(self, key: Scalar, value: Node, lines: list[str]) -> None:
        start, end = self.offset(key.line), self.offset(last_line(key, value) + 1)
        self.edits.append(_Edit(start, end, self.lines(lines)))

    def insert_missing(self, node: Mapping, tree: Tree, shape: Shape, indent: int) -> None:
        """Puts each new entry after the one that precedes it in writing order."""
        place = self.offset(min((key.line for key, _ in node.pairs.values()), default=0))
        pending: list[str] = []
        for name, value in tree.items():
            if name not in node.pairs:
                pending += entry(name, value, shape.at(name) or shape, indent)
                continue
            self.insert(place, pending)
            pending = []
            key, old = node.pairs[name]
            place = self.offset(last_line(key, old) + 1)
        self.insert(place, pending)

    def insert(self, place: int, lines: list[str]) -> None:
        if lines:
            self.edits.append(_Edit(place, place, self.lines(lines)))


def _blank(value: Node) -> bool:
    return isinstance(value, Scalar) and not value.text and not value.quoted


def _in_order_of(node: Mapping, tree: Tree) -> Tree:
    """New entries stand where the writing order has them, old ones keep their order among themselves."""
    kept = iter([name for name in node.pairs if name in tree])
    return {chosen: tree[chosen] for chosen in [next(kept) if name in node.pairs else name for name in tree]}


def last_line(key: Scalar, value: Node) -> int:
    """The last line (from 0) that an entry's own text takes, comments below it not counted."""
    if isinstance(value, Mapping) and not value.flow:
        return max((last_line(inner, below) for inner, below in value.pairs.values()), default=key.line)
    if _blank(value):
        return max(key.end_line, value.line) if value.line == key.line else key.end_line
    ends_before = value.end_column == 0 and value.end_line > value.line
    return value.end_line - 1 if ends_before else value.end_line


@dataclass(frozen=True, slots=True)
class Comment:
    """A comment's text from its `#`, and the steps to the entry that it stands at or above."""

    text: str
    at: Steps | None


def comments(text: str) -> list[Comment]:
    """Every comment of a YAML file, in order."""
    if "#" not in text:
        return []
    node, _ = parse(text, "")
    return list(_comments(text, node))


def _comments(text: str, node: Node | None) -> Iterator[Comment]:
    places = sorted(_places(node, ()), key=lambda place: place[0].line)
    rows = [key.line for key, _ in places]
    covered = sorted(((found.line, found.column), (found.end_line, found.end_column)) for found in _stretches(node))
    starts = [start for start, _ in covered]
    for number, line in enumerate(_BREAK.split(text)):
        for found in re.finditer(r"(?:^|(?<=\s))#", line):
            spot = (number, found.start())
            nearest = bisect_right(starts, spot) - 1
            if nearest >= 0 and spot < covered[nearest][1]:
                continue
            own_line = not line[: found.start()].strip()
            row = bisect_left(rows, number) if own_line else bisect_right(rows, number) - 1
            yield Comment(line[found.start() :].rstrip(), places[row][1] if 0 <= row < len(places) else None)
            break


def _places(node: Node | None, steps: Steps) -> Iterator[tuple[Scalar, Steps]]:
    if isinstance(node, Mapping) and not node.flow:
        for name, (key, value) in node.pairs.items():
            yield key, (*steps, name)
            yield from _places(value, (*steps, name))


def _stretches(node: Node | None) -> Iterator[Node]:
    if isinstance(node, Mapping):
        for key, value in node.pairs.values():
            yield key
            yield from _stretches(value)
    elif isinstance(node, Sequence):
        yield from (inner for item in node.items for inner in _stretches(item))
    elif node is not None:
        yield node


def with_comments(text: str, before: str, other: str) -> str:
    """`text` with the comments that `other` has and neither `before` nor `text` does.

    Each stands above the entry that it belongs to, or at the end of the file where that is gone.
    """
    new = _more(comments(other), comments(before), comments(text)) if "#" in other else []
    return _placed(text, new) if new else text


def _more(these: list[Comment], *others: list[Comment]) -> list[Comment]:
    """Those of `these` that stand there more often than in each of the others."""
    known = {comment for other in others for comment in other}
    most: Counter[str] = Counter()
    for other in others:
        most |= Counter(comment.text for comment in other)
    found: list[int] = []
    for place in sorted(range(len(these)), key=lambda place: these[place] not in known):
        if most[these[place].text] > 0:
            most[these[place].text] -= 1
        else:
            found.append(place)
    return [these[place] for place in sorted(found)]


def _placed(text: str, new: list[Comment]) -> str:
    """Each comment on its own line above its entry, or at the end where there is none."""
    node, _ = parse(text, "")
    editor = _Editor(text)
    keys = {steps: key for key, steps in _places(node, ())}
    for comment in new:
        key = keys.get(comment.at) if comment.at else None
        place = len(editor.text) if key is None else editor.offset(key.line)
        indent = "" if key is None else " " * key.column
        editor.edits.append(_Edit(place, place, indent + comment.text + editor.newline))
    return editor.result()
