"""Rules about texts that are not what they look like: characters that nobody sees, and letters taken for others."""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import combinations

from showvc.document.pointers import join
from showvc.document.visible import HIDDEN, JOINERS, VARIANTS
from showvc.rules.finding import Found, Scene
from showvc.rules.lookalikes import scripts, skeleton
from showvc.rules.texts import Steps

POOLS: Mapping[str, str] = {"name": "name", "label": "name"} | {
    field: field for field in ("department", "place", "circuit", "tags")
}
"""The fields by which people, or this program, tell one thing from another. What is in one pool is compared."""

_UNSEEN = re.compile(f"[{HIDDEN}{JOINERS}{VARIANTS}]")
_JOINING = ("ARABIC", "SYRIAC", "MANDAIC", "MONGOLIAN", "NKO", "PHAGS-PA", "ADLAM", "HANIFI ROHINGYA")
"""Scripts whose letters join, so that a joiner or non-joiner between two of them is seen."""


# --- what nobody sees


def invisible_characters(scene: Scene) -> Iterator[Found]:
    for steps, text in scene.texts:
        unseen = [] if text.isascii() else [found for found in _UNSEEN.finditer(text) if not seen(text, found.start())]
        if unseen:
            places = tuple((found.group(), found.start() + 1) for found in unseen)
            yield Found((join(*steps),), (steps, text, places), (text,))


def seen(text: str, at: int) -> bool:
    """Whether a character that is none by itself changes what is drawn: it joins signs or letters, or picks a drawing.

    Of Unicode TS 51 (emoji sequences) and UAX 31, section 2.3 (joiners), what these two need, not the whole of them.
    """
    char, before, after = text[at], text[:at], text[at + 1 :]
    last, following = before[-1:], after[:1]
    if char in JOINERS:
        signs = char == "\u200d" and _is_sign(
            before.rstrip("\ufe0f\U0001f3fb\U0001f3fc\U0001f3fd\U0001f3fe\U0001f3ff")[-1:]
        )
        virama = bool(last) and unicodedata.combining(last) == 9
        return (signs and _is_sign(following)) or virama or (_joins(last) and _joins(following))
    if re.match(f"[{VARIANTS}]", char):
        keycap = last in tuple("0123456789#*") and following == "\u20e3"
        return keycap or (
            bool(last) and not last.isascii() and unicodedata.category(last) in ("So", "Sm", "Po", "Lo", "Cn")
        )
    return "\u180b" <= char <= "\u180f" and _script_word(last) == "MONGOLIAN"


def _is_sign(char: str) -> bool:
    return bool(char) and unicodedata.category(char) in ("So", "Cn")  # unassigned: an emoji younger than this Python


def _joins(char: str) -> bool:
    return _script_word(char).startswith(_JOINING) if char else False


def _script_word(char: str) -> str:
    return unicodedata.name(char, "").partition(" LETTER")[0] if char else ""


# --- what looks like another


def look_alikes(scene: Scene) -> Iterator[Found]:
    pools: dict[str, dict[str, list[Steps]]] = defaultdict(lambda: defaultdict(list))
    for steps, text in scene.texts:
        field = next((step for step in reversed(steps) if step in POOLS), None)
        if field is not None:
            pools[POOLS[field]][text].append(steps)
    for pool in pools.values():
        yield from _posing(pool)
        yield from _alike(pool)


def _posing(pool: Mapping[str, list[Steps]]) -> Iterator[Found]:
    """Texts of mixed scripts that look as if they were plain Latin."""
    for text, places in pool.items():
        if text.isascii() or len(mixed := scripts(text)) < 2 or not scripts(skeleton(text)) <= {"LATIN"}:
            continue
        odd = next(char for char in text if scripts(char) and scripts(char) != {"LATIN"})
        for steps in places:
            yield Found((join(*steps),), (steps, text, tuple(sorted(mixed)), odd), (text,))


def _alike(pool: Mapping[str, list[Steps]]) -> Iterator[Found]:
    """Different texts of different things that nobody can tell apart by sight."""
    classes: dict[str, list[str]] = defaultdict(list)
    for text in pool:
        classes[skeleton(text)].append(text)
    for alike in classes.values():
        for one, other in combinations(sorted(alike), 2):
            first, second = min(pool[one]), min(pool[other])
            if len({steps[:2] for text in (one, other) for steps in pool[text]}) > 1:
                first, second = sorted((first, second))
                yield Found((join(*first), join(*second)), (first, second, one, other), (one, other))
