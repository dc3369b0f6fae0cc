"""New ids from names: stable, readable, and free."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container

from showvc.document import check_id

_WORD = {"required": "path", "apart": "path", "accepted": "finding"}
LENGTH = 40


def new_id(name: str, section: str, taken: Container[str]) -> str:
    """The id for a new thing of this name: `Fly Rail` → `fly-rail`, and `fly-rail-2` where that is taken."""
    word = _WORD.get(section, section.removesuffix("s"))
    plain = unicodedata.normalize("NFKD", name.replace("ß", "ss").replace("&", " and ")).encode("ascii", "ignore")
    base = re.sub(r"[^a-z0-9]+", "-", plain.decode().lower()).strip("-")
    if not base or not base[0].isalpha():
        base = f"{word}-{base}".strip("-")
    base = base[:LENGTH].rstrip("-")
    number, made = 2, base
    while made in taken or not _allowed(made):
        made = f"{base[: LENGTH - len(str(number)) - 1].rstrip('-')}-{number}"
        number += 1
    return made


def _allowed(name: str) -> bool:
    try:
        return bool(check_id(name))
    except ValueError:
        return False
