"""Names as people mean them: when two spellings are one name, and when they tell two things apart."""

from __future__ import annotations

import re
import unicodedata


def folded(text: str) -> str:
    """A name as people mean it: capitals, spaces and line breaks make no difference."""
    return " ".join(text.casefold().split())


def plain(text: str) -> str:
    """A name without capitals, accents, punctuation and spaces: `Fly-Rail ` and `fly rail` are one."""
    bare = unicodedata.normalize("NFKD", text.casefold())
    return " ".join(re.findall(r"\w+", "".join(char for char in bare if not unicodedata.combining(char))))


def marks(name: str) -> tuple[str, ...]:
    """What tells Spot 1 from Spot 2, Booth A from Booth B and part II from part III: numbers and single letters."""
    found = re.findall(r"\d+|\b[a-z]\b|\b[ivx]{2,4}\b", re.sub(r"(?<=[a-z])(?=\d)|(?<=\d)(?=[a-z])", " ", plain(name)))
    return tuple(mark.lstrip("0") or mark for mark in found)


def one_name(one: str, other: str) -> bool:
    """Whether two spellings are the same name: `Follow Spot 1` and `Followspot 1`, but not `Spot 1` and `Spot 2`."""
    return (
        bool(plain(one)) and "".join(plain(one).split()) == "".join(plain(other).split()) and marks(one) == marks(other)
    )
