"""What acts on a screen, or hides, is shown as JSON writes it."""

from __future__ import annotations

import json
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document.visible import escaped, on_one_line, visible

EVERY = tuple(map(chr, range(sys.maxunicode + 1)))
# Bidi_Control of the Unicode Character Database (PropList.txt), from memory.
BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def acts(char: str) -> bool:
    """By its category in Python's own copy of the Unicode Character Database, or by its name in the list above."""
    return unicodedata.category(char) in ("Cc", "Zl", "Zp", "Cs") or char in BIDI


def test_every_character_that_acts_on_a_screen_is_shown_but_the_end_of_a_line_and_the_tab() -> None:
    left = {char for char in EVERY if acts(char) and visible(char) == char}
    assert left == {"\n", "\t"}


def test_every_format_character_is_shown_but_those_that_letters_are_joined_with_and_signs_that_are_seen() -> None:
    left = {char for char in EVERY if unicodedata.category(char) == "Cf" and visible(char) == char}
    names = {unicodedata.name(char) for char in left - {"\u200c", "\u200d"}}
    seen = ("ARABIC", "SYRIAC ABBREVIATION MARK", "KAITHI NUMBER", "EGYPTIAN HIEROGLYPH")
    assert all(name.startswith(seen) for name in names), names


def test_what_people_write_stays_as_it_is() -> None:
    for text in (
        "FLY é ß Ω",
        "Освещение",
        "照明 ライト",
        "אור",
        "إضاءة",
        "می\u200cشود",
        "👩🏽\u200d🎤 ❤\ufe0f",
        "a\tb\nc\r\nd",
    ):
        assert visible(text) == text


@pytest.mark.parametrize(
    ("char", "shown"),
    [("\x1b", r"\u001b"), ("\x7f", r"\u007f"), ("\x9b", r"\u009b"), ("\u202e", r"\u202e"), ("\r", r"\r"),
     ("\ud800", r"\ud800"), ("\u200b", r"\u200b"), ("\U000e0041", r"\udb40\udc41")],
)  # fmt: skip
def test_how_it_is_shown(char: str, shown: str) -> None:
    assert visible(f"a{char}b") == f"a{shown}b" and escaped(char) == shown


def test_what_must_be_one_line_is_one() -> None:
    assert on_one_line("a\nb\r\nc\td") == r"a\nb\r\nc\td"


@given(st.text(st.characters(codec=None), max_size=30))
def test_json_says_the_same_with_and_without_it(text: str) -> None:
    """RFC 8259, section 7: any character of a string may be escaped, beyond the first plane as two."""
    whole = json.dumps(text, ensure_ascii=False)
    assert json.loads(visible(whole)) == json.loads(whole)


@given(st.text(st.characters(codec=None), max_size=30))
def test_what_is_shown_is_shown_once(text: str) -> None:
    assert visible(visible(text)) == visible(text)
    assert not any(acts(char) for char in visible(text) if char not in "\n\t\r")
