"""JSON and XML as the same plain tree, and rows out of it and back.

An XML element becomes a map: `@name` for its attributes, the names of its children, `#text` for its own text. One
that has neither attributes nor children is its text; children of one name are a list.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from showvc.document import Problem, ShowError
from showvc.formats.tables.opening import MAX_BYTES, refused
from showvc.formats.tables.sheets import NOT_KEPT, decode_text

MAX_DEPTH = 40


def read_json(data: bytes, file: str) -> Any:
    """A JSON file as a tree. ShowError with line and column."""
    text = decode_text(data, file)

    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(found)
        if len(made) < len(found):
            names = [name for name, _ in found]
            twice = next(name for name in names if names.count(name) > 1)
            raise refused(file, f"holds the name {twice!r} twice in one place", "keep one of the two")
        return made

    def no_number(word: str) -> Any:
        raise refused(file, f"holds {word}, which is not JSON", "write a number or a text")

    try:
        tree = json.loads(text, object_pairs_hook=pairs, parse_constant=no_number)
    except json.JSONDecodeError as error:
        found = Problem(f"is not readable as JSON: {error.msg}", file, error.lineno, error.colno)
        raise ShowError([found]) from None
    except RecursionError:
        raise refused(file, "is nested more deeply than any plot") from None
    except ValueError:  # Python reads no number of thousands of digits
        raise refused(file, "holds a number of thousands of digits") from None
    _refuse_deep(tree, file)
    return tree


def _refuse_deep(tree: Any, file: str) -> None:
    level = [tree]
    for _ in range(MAX_DEPTH):
        level = [inner for node in level for inner in _inner(node)]
        if not level:
            return
    raise refused(file, f"is nested deeper than {MAX_DEPTH} levels", "do not open it: ask who sent it")


def _inner(node: Any) -> Sequence[Any]:
    if isinstance(node, dict):
        return [*node.values()]
    return node if isinstance(node, list) else ()


def read_xml(data: bytes, file: str) -> Any:
    """An XML file as a tree. ShowError for a document type (so for every entity), and for mistakes."""
    return read_xml_noted(data, file)[0]


def read_xml_noted(data: bytes, file: str) -> tuple[Any, tuple[str, ...]]:
    """As `read_xml`, and a sentence of what in the file is not read."""
    from xml.etree.ElementTree import ParseError, TreeBuilder

    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import XMLParser

    passed = []

    class Builder(TreeBuilder):
        def comment(self, text: str | None) -> None:  # type: ignore[override]
            passed.append(text)

        def pi(self, target: str, text: str | None = None) -> None:  # type: ignore[override]
            passed.append(target)

    if len(data) > MAX_BYTES:
        raise refused(file, f"is larger than {MAX_BYTES // 1024 // 1024} MiB", "is it really a plot?")
    try:
        parser = XMLParser(target=Builder(), forbid_dtd=True)
        parser.feed(data)
        root = parser.close()
    except DefusedXmlException:
        raise refused(
            file, "declares XML entities or a document type, which no plot needs", "ask who sent it"
        ) from None
    except ParseError as error:
        line, column = error.position
        found = Problem(f"is not readable as XML: {error.msg}", file, line, column + 1, "look at this line")
        raise ShowError([found]) from None
    except (ValueError, LookupError) as error:
        raise refused(file, f"is not readable as XML: {error}", "save it as UTF-8") from None
    notes = (f"comments between the elements: {len(passed)}. {NOT_KEPT}",) if passed else ()
    return {root.tag: _element(root, file, 0)}, notes


def _element(element: Any, file: str, depth: int) -> Any:
    if depth > MAX_DEPTH:
        raise refused(file, f"is nested deeper than {MAX_DEPTH} levels", "do not open it: ask who sent it")
    made: dict[str, Any] = {f"@{name}": value for name, value in element.attrib.items()}
    for child in element:
        value = _element(child, file, depth + 1)
        if child.tag not in made:
            made[child.tag] = value
        elif isinstance(made[child.tag], list):
            made[child.tag].append(value)
        else:
            made[child.tag] = [made[child.tag], value]
    texts = ((text or "").strip() for text in (element.text, *(child.tail for child in element)))
    text = " ".join(filter(None, texts))
    if text and not len(element):
        text = element.text
    if not made:
        return text
    return {**made, "#text": text} if text else made


def write_json(tree: Any) -> bytes:
    return (json.dumps(tree, ensure_ascii=False, indent=2) + "\n").encode("utf-8")


def write_xml(tree: Any) -> bytes:
    """The tree as XML. Its top holds one name: the root element. ShowError for what XML cannot say."""
    from xml.etree.ElementTree import Element, indent, tostring
    from xml.parsers import expat

    if tree == {}:
        raise ShowError("the show holds nothing that the mapping speaks of", "write the show itself: NAME.show.yaml")
    (name, inner), *more = tree.items() if isinstance(tree, dict) else [("", tree)]
    if not name or more or isinstance(inner, list):
        raise ShowError(
            "XML has one element around everything, and the mapping's rows have none", "write .json instead"
        )
    root = Element(name)
    _fill(root, inner)
    indent(root)
    text: bytes = tostring(root, encoding="utf-8")
    try:
        expat.ParserCreate().Parse(text, True)
    except expat.ExpatError:
        raise ShowError("a name or a text holds characters that XML has no place for", "write .json instead") from None
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + text + b"\n"


def _fill(element: Any, tree: Any) -> None:
    from xml.etree.ElementTree import SubElement

    if not isinstance(tree, dict):
        element.text = _text(tree)
        return
    for name, value in tree.items():
        if name.startswith("@"):
            element.set(name[1:], _text(value))
        elif name == "#text":
            element.text = _text(value)
        else:
            for item in value if isinstance(value, list) else [value]:
                _fill(SubElement(element, name), item)


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return "" if value is None else str(value)


@dataclass(frozen=True, slots=True)
class Branch:
    """One row of a tree: the map that it is, where it stands, and the maps around it, nearest last."""

    node: Mapping[str, Any]
    where: str
    around_it: tuple[tuple[Mapping[str, Any], str], ...] = ()
    name: str = ""

    def around(self, path: str) -> Any:
        """What a path such as `../name` says; `*` is the name under which the row stands."""
        nodes = [*self.around_it, (self.node, self.name)]
        while path.startswith("../"):
            path = path[3:]
            nodes.pop()
            if not nodes:
                return None
        node, name = nodes[-1]
        value = name if path == "*" else at(node, path)
        return value if isinstance(value, str | int | float | bool) and value != "" else None


def at(node: Any, path: str) -> Any:
    """The value at a path of names; None where there is none."""
    for step in path.split("/"):
        if not isinstance(node, dict) or step not in node:
            return None
        node = node[step]
    return node


def steps_of(path: str) -> list[str]:
    return [step for step in path.split("/") if step not in ("", ".")]


def branches(tree: Any, path: str) -> Iterator[Branch]:
    """All rows at a path: lists are walked through, the one at the top too; `*` stands for every name of a map."""
    for number, item in enumerate(tree if isinstance(tree, list) else [tree], 1):
        node = item if isinstance(item, dict) else {"#text": item}
        yield from _branches(Branch(node, f"[{number}]" if isinstance(tree, list) else ""), steps_of(path))


def _branches(branch: Branch, steps: list[str]) -> Iterator[Branch]:
    if not steps:
        yield branch
        return
    step, rest = steps[0], steps[1:]
    names = [*branch.node] if step == "*" else [step]
    for name in names:
        value = branch.node.get(name)
        many = value if isinstance(value, list) else [value] if value is not None else []
        for number, item in enumerate(many, 1):
            where = f"{branch.where}/{name}" + (f"[{number}]" if isinstance(value, list) else "")
            node = item if isinstance(item, dict) else {"#text": item}
            yield from _branches(
                Branch(node, where.lstrip("/"), (*branch.around_it, (branch.node, branch.name)), name), rest
            )


def is_many(tree: Any, path: str) -> bool:
    """Whether the rows at a path stand in lists."""
    steps = steps_of(path)
    if not steps:
        return isinstance(tree, list)
    parents = branches(tree, "/".join(steps[:-1]))
    return any(isinstance(parent.node.get(steps[-1]), list) for parent in parents)


def claimed(path: str, others: Sequence[str]) -> frozenset[str]:
    """What stands within a row and is read by another table, as paths from the row."""
    own = steps_of(path)
    found = [steps_of(other) for other in others]
    return frozenset(
        "/".join(steps[len(own) :]) for steps in found if steps[: len(own)] == own and len(steps) > len(own)
    )


def leaves(branch: Branch, below: frozenset[str], wanted: frozenset[str]) -> dict[str, Any]:
    """Every value within a row by its path. What another table reads stands as its path and a slash."""
    found: dict[str, Any] = {}
    _leaves(branch.node, "", below, wanted, found)
    return found


def _leaves(
    node: Mapping[str, Any], path: str, below: frozenset[str], wanted: frozenset[str], found: dict[str, Any]
) -> None:
    for name, value in node.items():
        place = f"{path}/{name}".lstrip("/")
        if place in below or "*" in below:
            found[f"{place}/"] = None
        elif isinstance(value, dict) and any(other.startswith(f"{place}/") for other in (*below, *wanted)):
            _leaves(value, place, below, wanted, found)
        else:
            found[place] = value


class Place:
    """Keeps the place of what another table hangs in."""


PLACE = Place()


def put(node: dict[str, Any], path: str, value: Any) -> None:
    """Puts a value at a path; a place that is kept takes nothing away."""
    *around, last = path.split("/")
    for step in around:
        inner = node.get(step)
        if not isinstance(inner, dict):
            inner = node[step] = {}
        node = inner
    if not (value is PLACE and last in node):
        node[last] = value


def hang(holder: dict[str, Any], steps: Sequence[str], node: dict[str, Any], many: bool, name: str) -> None:
    """Puts a row into the one around it, at these steps; among `many`, or under its `name` where a step is `*`."""
    if not steps:
        holder.update(node)
        return
    for step in steps[:-1]:
        if not isinstance(holder.get(step), dict):
            holder[step] = {}
        holder = holder[step]
    bare: Any = node["#text"] if [*node] == ["#text"] else node
    last = steps[-1]
    if last == "*":
        holder[name] = bare
    elif many:
        if not isinstance(holder.get(last), list):
            holder[last] = []
        holder[last].append(node)
    elif isinstance(holder.get(last), dict | list):  # where one stood, there are more now
        there = holder[last]
        holder[last] = [*(there if isinstance(there, list) else [there]), node]
    else:
        holder[last] = node


def tidied(node: Any) -> Any:
    """Without the places that nothing was hung in."""
    if isinstance(node, dict):
        return {name: tidied(inner) for name, inner in node.items() if inner is not PLACE}
    return [tidied(inner) for inner in node] if isinstance(node, list) else node
