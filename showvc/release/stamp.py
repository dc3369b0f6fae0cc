"""The stamp: a release's short name, made from its content, for a display, a label, and a voice on headset.

Ten characters, `K7F-2R4-W36R`: nine made from the SHA-256 of the canonical JSON, and a check character.
"""

from __future__ import annotations

import math
import re

from showvc.document import Problem, Show, ShowError
from showvc.release.canonical import content_hash

ALPHABET = "234567FHKRW"
"""Eleven characters, of which no two look or sound alike, not even on a label read upside down.

Left out for their looks: 0 O Q D, 1 I L J T, 2/Z, 3/8/B/E, 4/A/Y, 5/S, 6/G, 9 (a 6 upside down), M N U V
(beside W and H), X (beside K), P (beside R and F). Left out for their sound: those that rhyme with 3 (B C D E G P
T V Z), with K (A J, and 8), with 5 (I Y, and 9), with 2 (Q U), and all that begin like F (L M N S X). No vowel is
left, so no stamp spells a word.
"""
BASE = len(ALPHABET)
DIGITS = 9
LENGTH = DIGITS + 1
GROUPS = (3, 3, 4)
POSSIBLE = BASE**DIGITS
"""How many stamps there are: 2,357,947,691."""
EXAMPLE = "K7F-2R4-W36R"

# International Radiotelephony Spelling Alphabet; source: ICAO Annex 10, volume II, 5.2.1.3, and NATO's "Alphabet -
# Phonetic", both from memory. The figures are spelled as they are to be said.
SPOKEN = {
    "2": "TOO",
    "3": "TREE",
    "4": "FOW-ER",
    "5": "FIFE",
    "6": "SIX",
    "7": "SEV-EN",
    "F": "FOXTROT",
    "H": "HOTEL",
    "K": "KILO",
    "R": "ROMEO",
    "W": "WHISKEY",
}

# What a reader most likely saw instead of a character that no stamp has.
_MISREAD = {"Z": "2", "8": "3", "B": "3", "E": "3", "A": "4", "Y": "4", "S": "5", "G": "6", "9": "6", "1": "7"}
_MISREAD |= {"T": "7", "L": "7", "P": "F", "N": "H", "M": "W", "X": "K", "V": "W", "U": "W", "D": "R"}

_BETWEEN = re.compile(r"[\s\-‐‑‒–—−_.]+")


def stamp_of(show: Show) -> str:
    """The stamp of what a show says. ShowError where the show cannot be written as canonical JSON."""
    return stamp_from_hash(content_hash(show))


def stamp_from_hash(digest: str) -> str:
    """The stamp of a SHA-256, given as 64 hex digits. ValueError for anything else."""
    if not re.fullmatch(r"[0-9a-fA-F]{64}", digest):
        raise ValueError(f"{digest!r} is not a SHA-256: 64 hex digits")
    rest, values = int(digest, 16) % POSSIBLE, []
    for _ in range(DIGITS):
        rest, value = divmod(rest, BASE)
        values.append(value)
    return grouped("".join(ALPHABET[value] for value in (*reversed(values), check_value(tuple(reversed(values))))))


def check_value(values: tuple[int, ...]) -> int:
    """The check digit, 0 to 10, of nine digits to the base 11: the sum of all ten, weighted 1 to 10, divides by 11.

    11 is prime, so one wrong character and any two that traded places change the sum. Source: the check of the
    ten-digit book number, ISO 2108:1992, whose eleventh digit `X` needs no special case here.
    """
    return sum(weight * value for weight, value in enumerate(values, 1)) % BASE


def _holds(plain: str) -> bool:
    *values, check = (ALPHABET.index(char) for char in plain)
    return check_value(tuple(values)) == check


def grouped(plain: str) -> str:
    """The ten characters of a stamp in groups, as they are written and read: `K7F-2R4-W36R`."""
    first, second, _ = GROUPS
    return f"{plain[:first]}-{plain[first : first + second]}-{plain[first + second :]}"


def spoken(stamp: str) -> str:
    """How a stamp is read over a headset, a pause at each comma: `KILO SEV-EN FOXTROT, TOO …`."""
    return ", ".join(" ".join(SPOKEN[char] for char in group) for group in stamp.split("-"))


def parse_stamp(text: str) -> str:
    """The stamp that was typed or read off a device, in its one spelling.

    Case, spaces, hyphens, dots and missing separators do not matter. ShowError says which character cannot be,
    or that the check character does not hold: then one was misread, or two traded places.
    """
    plain = _BETWEEN.sub("", text).upper()
    if not plain:
        raise ShowError([Problem("there is no stamp here", way_out=f"a stamp looks like {EXAMPLE}")])
    wrong = [char for char in plain if char not in ALPHABET]
    if wrong:
        raise ShowError([Problem(f"{_short(text)} is not a stamp: no stamp has {_list(wrong)}", way_out=_look(wrong))])
    if len(plain) != LENGTH:
        message = f"{_short(text)} is not a stamp: it has {len(plain)} characters, a stamp has {LENGTH}"
        raise ShowError([Problem(message, way_out="read it off the device again")])
    if not _holds(plain):
        message = f"{grouped(plain)} does not check: a character was misread, or two traded places"
        raise ShowError([Problem(message, way_out="read it off the device again, group by group")])
    return grouped(plain)


def is_stamp(text: str) -> bool:
    """Whether this text reads as a stamp whose check character holds."""
    try:
        parse_stamp(text)
    except ShowError:
        return False
    return True


def _short(text: str) -> str:
    trimmed = text.strip()
    return repr(trimmed if len(trimmed) <= 24 else trimmed[:23] + "…")


def _list(wrong: list[str]) -> str:
    return ", ".join(dict.fromkeys(char if char.isprintable() else f"U+{ord(char):04X}" for char in wrong[:5]))


def _look(wrong: list[str]) -> str:
    guesses = [f"{char} may be {_MISREAD[char]}" for char in dict.fromkeys(wrong) if char in _MISREAD]
    return "look again: " + ", ".join(guesses) if guesses else f"its characters are {' '.join(ALPHABET)}"


def chance_shared(releases: int, possible: int = POSSIBLE) -> float:
    """The chance, 0 to 1, that any two of so many releases share one of the `possible` stamps.

    The birthday formula, 1 - (1 - 1/N)(1 - 2/N)…(1 - (n-1)/N). For 1,000 releases of one show it is 0.00021, one in
    4,700; for 100 it is one in 476,000. A release that would share its stamp with another release of the show is
    refused, so the chance that is left is that of two made apart from each other.
    """
    if releases > possible:
        return 1.0
    return -math.expm1(math.fsum(math.log1p(-taken / possible) for taken in range(releases)))
