"""How single values are spelled: ids, keys, one-line text, notes, hardware addresses."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document.names import (
    BIDI,
    RESERVED,
    check_id,
    clean_notes,
    clean_text,
    hardware_address,
    key_place,
    target_of,
)
from tests.strategies import ids, notes, texts


@pytest.mark.parametrize(
    "name", ["a", "sm", "on", "y", "no", "null", "fly-2", "a--b", "a-", "x1", "a" * 40, "com", "lpt", "com10"]
)
def test_an_id_is_a_small_letter_then_small_letters_digits_or_hyphens(name: str) -> None:
    assert check_id(name) == name


@pytest.mark.parametrize(
    "name", ["", "A", "1a", "-a", "a_b", "a b", "a.b", "a/b", "é", "a\n", "lx#2", "a" * 41, "ａ", "a١"]
)
def test_anything_else_is_no_id(name: str) -> None:
    with pytest.raises(ValueError, match="is not an id"):
        check_id(name)


@pytest.mark.parametrize("name", sorted(RESERVED))
def test_what_a_file_system_reserves_is_no_id(name: str) -> None:
    with pytest.raises(ValueError, match="some file systems reserve this name"):
        check_id(name)


@given(ids)
def test_every_id_is_a_safe_file_name(name: str) -> None:
    assert check_id(name) == name == name.lower()
    assert not set(name) & set('/\\:*?"<>|. ')


def test_a_second_channel_to_a_target_names_it() -> None:
    assert [target_of(name) for name in ("lx", "lx#2", "lx#99")] == ["lx", "lx", "lx"]


def test_keys_are_ordered_by_page_and_number() -> None:
    keys = ["B1", "A10", "A2", "A1", "B15"]
    assert sorted(keys, key=key_place) == ["A1", "A2", "A10", "B1", "B15"]


# --- text ------------------------------------------------------------------------------------------------------------


@given(texts)
def test_text_is_normalised_once_and_otherwise_kept(text: str) -> None:
    cleaned = clean_text(text)
    assert cleaned == unicodedata.normalize("NFC", text) == clean_text(cleaned)


@given(notes)
def test_notes_keep_their_lines(text: str) -> None:
    assert clean_notes(text) == unicodedata.normalize("NFC", text)
    assert clean_notes(text.replace("\n", "\r\n")) == clean_notes(text)


@pytest.mark.parametrize(
    "char", [*map(chr, range(0x20)), "\x7f", "\x85", "\x9f", "\u2028", "\u2029", "\ufeff", "\ud800", *sorted(BIDI)]
)
def test_what_garbles_a_display_is_refused_in_one_line(char: str) -> None:
    with pytest.raises(ValueError, match=f"holds .*U\\+{ord(char):04X}"):
        clean_text(f"FLY{char}")


@pytest.mark.parametrize("char", ["\0", "\x1b", "\r", "\x85", "\u2028", "\ufeff", "\u202e"])
def test_what_garbles_a_display_is_refused_in_notes(char: str) -> None:
    with pytest.raises(ValueError, match=f"U\\+{ord(char):04X}"):
        clean_notes(f"one\ntwo{char}three")


@pytest.mark.parametrize("text", ["a\u200db", "\u05d0\u05d1", "\u200fx", "\U0001f3ad", "a\u00a0b", "\u00ad"])
def test_other_scripts_joiners_and_signs_are_text(text: str) -> None:
    assert clean_text(text) == text


# --- hardware --------------------------------------------------------------------------------------------------------


@given(st.integers(0, 2**48 - 1), st.booleans())
def test_every_usual_spelling_is_one_address(number: int, upper: bool) -> None:
    digits = f"{number:012X}" if upper else f"{number:012x}"

    def grouped(size: int, sign: str) -> str:
        return sign.join(digits[place : place + size] for place in range(0, 12, size))

    spellings = [grouped(2, "-"), grouped(2, ":"), grouped(2, "."), grouped(2, " "), grouped(4, "."), grouped(4, "-")]
    spellings += [grouped(4, ":"), grouped(6, "-"), grouped(6, ":"), digits, f"  {digits} "]
    assert {hardware_address(spelling) for spelling in spellings} == {grouped(2, "-").upper()}


@pytest.mark.parametrize(
    "text",
    [
        "",
        "02",
        "02-00-5E-10-00",
        "02-00-5E-10-00-07-01",
        "02-00:5E-10-00-07",
        "02-00-5E-10-00-0G",
        "0200.5E10-0007",
        "2-0-5E-10-0-7",
        "０2-00-5E-10-00-07",
        "02-00-5E-10-00-07\n02",
    ],
)
def test_anything_else_is_no_address(text: str) -> None:
    with pytest.raises(ValueError, match="is not a hardware address"):
        hardware_address(text)
