"""Puts comments into canonical text, the way people leave them in files."""

from __future__ import annotations

from hypothesis import strategies as st

from showvc.document import Body, shape_of
from showvc.formats.files import tree_of
from showvc.formats.writing import document

WORDS = st.sampled_from(
    ("deck asks", "check: again", "{not} a map", "'half a quote", "see #4", "Ümlaut", "- no list", "old: x")
)


@st.composite
def commented(draw: st.DrawFn, body: Body, name: str = "note") -> tuple[str, list[str]]:
    """The canonical text of a body with comments put in, and these comments (all different)."""
    tree = tree_of(body)
    made: list[str] = []
    lines: list[str] = []

    def comment() -> str:
        made.append(f"# {name} {len(made)} {draw(WORDS)}")
        return made[-1]

    for top in tree:
        block = document({top: tree[top]}, shape_of(type(body))).splitlines()
        whole = isinstance(tree[top], str) and len(block) > 1
        for line in block:
            own_place = not whole or line is block[0]
            if own_place and draw(st.integers(0, 5)) == 0:
                indent = len(line) - len(line.lstrip())
                lines.append(" " * draw(st.sampled_from((0, indent))) + comment())
            if own_place and not draw(st.integers(0, 9)):
                lines.append("")
            tail = not whole and not draw(st.integers(0, 5))
            lines.append(f"{line}  {comment()}" if tail else line)
    if not tree:
        lines.append("{}")
    if draw(st.booleans()):
        lines.append(comment())
    return "".join(line + "\n" for line in lines), made
