"""Which texts look alike though they differ, by Unicode TS 39, and which scripts a text mixes.

The data (confusables.txt and Scripts.txt of Unicode) comes with the library; what is made of it is section 4 of the
standard, the skeleton, and section 5.1, the scripts that a text may be of.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache

from showvc.document.visible import HIDDEN, JOINERS, VARIANTS

ASCII_LOOKS: Mapping[str, str] = {'"': "''", "%": "º/₀", "0": "O", "1": "l", "I": "l", "`": "'", "m": "rn", "|": "l"}
"""What of ASCII looks like other ASCII: the library's data is not read for a show that has nothing else."""
_ASCII_LOOKS = str.maketrans(dict(ASCII_LOOKS))
_IGNORED = re.compile(f"[{HIDDEN}{JOINERS}{VARIANTS}]")

# Scripts that one writing system uses together: TS 39, table 1a.
_TOGETHER = ({"HAN", "HIRAGANA", "KATAKANA"}, {"HAN", "HANGUL"}, {"HAN", "BOPOMOFO"})
_ANY_SCRIPT = {"COMMON", "INHERITED"}


def skeleton(text: str) -> str:
    """The same for all texts that look alike. Means nothing by itself, and is not to be shown."""
    if text.isascii():
        return text.translate(_ASCII_LOOKS)
    bare = unicodedata.normalize("NFD", _IGNORED.sub("", text))
    return unicodedata.normalize("NFD", bare.translate(_looks()))


@cache
def _looks() -> Mapping[int, str]:
    """Each character with what it looks like, where that is another."""
    from confusable_homoglyphs import confusables

    # The data lists both ways: below a character the one that it looks like, below that one all that look so.
    pairs = {_bare(one): _bare(looks[0]["c"]) for one, looks in confusables.confusables_data.items() if len(looks) == 1}
    first = {ord(one): _far_end(one, pairs) for one in pairs if len(one) == 1}
    return {one: unicodedata.normalize("NFD", looks).translate(first) for one, looks in first.items()}


def _bare(text: str) -> str:
    return text.strip("\u200e")  # stands there around letters that are written from right to left


def _far_end(one: str, pairs: Mapping[str, str]) -> str:
    """What it looks like. Where two look like each other and nothing else does, one of the two stands for both."""
    looks = pairs[one]
    return min(one, looks) if len(looks) == 1 and pairs.get(looks) == one else looks


@cache
def scripts(text: str) -> frozenset[str]:
    """The scripts that a text mixes: more than one only where no writing system has them all."""
    from confusable_homoglyphs import categories

    found = {categories.alias(char) for char in text} - _ANY_SCRIPT
    together = len(found) > 1 and any(found <= system for system in _TOGETHER)
    return frozenset(sorted(found)[:1] if together else found)
