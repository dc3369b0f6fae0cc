"""Answers to doubts: which row of a file is which thing of the show, in a file to fill in."""

from __future__ import annotations

from showvc.document import SECTIONS, Problem, ShowError
from showvc.formats import nodes
from showvc.identity.matching import Doubt


def read_answers(data: bytes, file: str) -> dict[str, dict[str, str]]:
    """The answers of a file for `--accept`: section → row's name → id or `new`. ShowError with line and column.

    ```yaml
    users:
      Follow Spot One: spot-1
      Whisperer: new
    ```
    """
    node, problems = nodes.parse(nodes.decode(data, file), file)
    answers: dict[str, dict[str, str]] = {}
    pairs = node.pairs if isinstance(node, nodes.Mapping) else {}
    for section, (name, inner) in pairs.items():
        if section not in SECTIONS:
            allowed = f"allowed: {', '.join(SECTIONS)}"
            problems.append(Problem(f"unknown section {section!r}", file, name.line + 1, name.column + 1, allowed))
        elif isinstance(inner, nodes.Mapping):
            answers[section] = {row: _answer(value, file, problems) for row, (_, value) in inner.pairs.items()}
        else:
            wanted = "write 'NAME OF THE ROW: id' or 'NAME OF THE ROW: new', one a line"
            problems.append(Problem("no answers stand here", file, inner.line + 1, inner.column + 1, wanted))
    if problems:
        raise ShowError(problems)
    return answers


def _answer(value: nodes.Node, file: str, problems: list[Problem]) -> str:
    if isinstance(value, nodes.Scalar) and value.text:
        return value.text
    problems.append(Problem("an id or 'new' is wanted", file, value.line + 1, value.column + 1))
    return ""


def answers_text(doubts: tuple[Doubt, ...]) -> str:
    """A file of answers to fill in: each doubt with its best candidate, and the others in a comment."""
    from showvc.formats.writing import scalar

    lines: list[str] = []
    for section in SECTIONS:
        found = [doubt for doubt in doubts if doubt.section == section]
        lines += [f"{section}:"] if found else []
        for doubt in found:
            others = ", ".join(f"{name} ({score:.2f})" for name, score in doubt.candidates)
            lines += [f"  # {doubt.why}: {others}; or: new", f"  {scalar(doubt.row)}: {doubt.candidates[0][0]}"]
    return "".join(line + "\n" for line in lines)
