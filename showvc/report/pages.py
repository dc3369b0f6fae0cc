"""Self-contained HTML pages: no script, nothing fetched, everything from a show escaped."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template
from markupsafe import Markup

from showvc.document.lining import columns, when_words
from showvc.document.visible import visible
from showvc.release.keysheets import rows_of
from showvc.report.words import first_line

TEMPLATES = Path(__file__).parent / "templates"
STYLES = ("colours.css", "base.css", "panels.css", "paper.css")
"""The style sheets of a page on paper, in their order."""


class _Shown(Template):
    """A page on which nothing from a show turns text round or hides: such characters are written as escapes."""

    def render(self, *values: Any, **more: Any) -> str:
        return visible(super().render(*values, **more))


class _Pages(Environment):
    template_class = _Shown


def environment(*folders: Path) -> Environment:
    """Templates of these folders, then those of this package. Whatever is put into one is escaped, and seen."""
    made = _Pages(
        loader=FileSystemLoader([*folders, TEMPLATES]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {"rows": rows_of, "when": when_words, "one_line": first_line, "fit": fitting}
    return made


@cache
def _paper() -> Environment:
    return environment()


def style_text(*names: str, folder: Path = TEMPLATES) -> str:
    """Style sheets of a folder, one after the other."""
    return "\n".join((folder / name).read_text(encoding="utf-8") for name in names)


def page(template: str, values: Mapping[str, Any], more_style: str = "") -> str:
    """A page that stands alone in one file. `more_style` follows the styles of this package.

    Its content security policy lets in the one style sheet that it carries, and nothing else: no script, no picture
    and no address, should a name in the show ever get past the escaping.
    """
    style = "\n" + style_text(*STYLES) + more_style
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
    return _paper().get_template(template).render({**values, "style": Markup(style), "policy": policy})


def fitting(label: str) -> str:
    """How large a label is printed on its strip, by its columns: the name of a style."""
    wide = columns(label)
    return "large" if wide <= 7 else "middle" if wide <= 11 else "small"
