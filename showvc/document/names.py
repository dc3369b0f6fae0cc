"""Ids, names of keys, labels, hardware addresses: the spelling rules of single values."""

from __future__ import annotations

import re
import unicodedata

ID = re.compile(r"[a-z][a-z0-9-]{0,39}")
ID_WORDS = "a small letter, then small letters, digits or '-', at most 40"
CHANNEL = re.compile(rf"{ID.pattern}(#([2-9]|[1-9][0-9]))?")
KEY = re.compile(r"[A-Z](0|[1-9][0-9]{0,2})")

# Device names that some file systems keep for themselves; source: Microsoft's "Naming Files, Paths, and
# Namespaces", from memory.
RESERVED = frozenset(
    {"aux", "con", "nul", "prn"} | {f"{port}{number}" for port in ("com", "lpt") for number in range(10)}
)

BIDI = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
LINE_BREAKS = frozenset("\n\r\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029")

_HEX_PAIRS = re.compile(r"[0-9A-Fa-f]{12}")
_SPELLINGS = (
    re.compile(r"[0-9A-Fa-f]{2}([-:. ])[0-9A-Fa-f]{2}(\1[0-9A-Fa-f]{2}){4}"),
    re.compile(r"[0-9A-Fa-f]{4}([-:.])[0-9A-Fa-f]{4}\1[0-9A-Fa-f]{4}"),
    re.compile(r"[0-9A-Fa-f]{6}[-:][0-9A-Fa-f]{6}"),
    _HEX_PAIRS,
)


def check_id(text: str) -> str:
    """Gives the id back; ValueError says what is wrong with it."""
    if not ID.fullmatch(text):
        raise ValueError(f"{text!r} is not an id: {ID_WORDS}")
    if text in RESERVED:
        raise ValueError(f"{text!r} cannot be an id: some file systems reserve this name")
    return text


def target_of(channel: str) -> str:
    """The target of a channel's key on a user's list: `lx#2` points at `lx`."""
    return channel.partition("#")[0]


def key_place(key: str) -> tuple[str, int]:
    """Page and number of a key's name, its order on the device: `A10` → ('A', 10)."""
    return key[:1], int(key[1:])


MAX_TEXT = 500
"""Characters of one line: a name, a label, a place, a reason. No display and no sheet has room for as many."""


def clean_text(text: str) -> str:
    """One line of text in NFC; ValueError names a character that would garble a display, or says it is too long."""
    if len(text) > MAX_TEXT:
        raise ValueError(f"holds {len(text):,} characters; at most {MAX_TEXT} are allowed in one line")
    return _clean(text, LINE_BREAKS)


def clean_notes(text: str) -> str:
    """Several lines of text in NFC; lines end with a line feed alone."""
    return _clean(text.replace("\r\n", "\n"), frozenset("\u2028\u2029"), allowed="\n\t")


def _clean(text: str, refused: frozenset[str], allowed: str = "") -> str:
    if text.isascii() and text.isprintable():
        return text
    for char in text:
        if char in allowed:
            continue
        if char in BIDI:
            raise ValueError(f"holds U+{ord(char):04X}, which overrides the direction of text; take it out")
        if char in refused:
            raise ValueError(f"holds the line break U+{ord(char):04X}; write it in one line")
        if unicodedata.category(char) in ("Cc", "Cs") or char == "\ufeff":
            raise ValueError(f"holds the control character U+{ord(char):04X}; take it out")
    return unicodedata.normalize("NFC", text)


def hardware_address(text: str) -> str:
    """An EUI-48 in its standard spelling, six pairs of capital hex digits with hyphens.

    Reads hyphens, colons, dots, spaces, groups of two, four or six digits, and none at all. Source of the
    written form: IEEE "Guidelines for Use of EUI, OUI, and CID". ValueError for anything else.
    """
    stripped = text.strip()
    if not any(spelling.fullmatch(stripped) for spelling in _SPELLINGS):
        raise ValueError(f"{text!r} is not a hardware address: six pairs of hex digits, such as 02-00-5E-10-00-07")
    digits = re.sub(r"[^0-9A-Fa-f]", "", stripped).upper()
    return "-".join(digits[place : place + 2] for place in range(0, 12, 2))
