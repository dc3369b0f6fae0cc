"""The stamp against published schemes: the book number's check, the birthday problem, letters that sound alike."""

from __future__ import annotations

import pytest

from showvc.release.stamp import ALPHABET, SPOKEN, chance_shared, check_value


@pytest.mark.parametrize("number", ["0306406152", "0201530821", "156881111X", "0198526636"])
def test_the_check_is_that_of_the_ten_digit_book_number(number: str) -> None:
    """ISO 2108:1992, ISBN-10. The numbers are widely printed ones, from memory."""
    digits = [10 if char == "X" else int(char) for char in number]
    assert check_value(tuple(digits[:9])) == digits[9]


def test_the_chance_is_that_of_the_birthday_problem() -> None:
    """23 people, 365 days: 0.507297; 70 people: 0.99916. von Mises 1939; the figures are in any textbook."""
    assert chance_shared(23, 365) == pytest.approx(0.507297, abs=1e-6)
    assert chance_shared(70, 365) == pytest.approx(0.99916, abs=1e-5)
    assert chance_shared(366, 365) == 1


# Letters whose English names are taken for one another. The first and the long second are the groups that Conrad
# found ("Acoustic confusions in immediate memory", British Journal of Psychology 55, 1964: B C P T V and F M N S X);
# the rest is common in work on spoken letters. From memory. The figures are put to the letters they rhyme with.
SOUND_ALIKE = ["BCDEGPTVZ3", "FLMNSX", "AJK8", "IY59", "QU2", "O0", "1"]
# Characters taken for one another on a worn label, a small screen, or seven segments; the last two upside down.
# Crockford's base 32 leaves out I L O for the first ones; the rest is common practice, no source.
LOOK_ALIKE = ["0OQD", "1ILJT7", "2Z", "38BE", "4AY", "5S", "6GB", "FEP", "RPB", "KX", "HNM", "WVU", "69", "MW"]


@pytest.mark.parametrize("alike", SOUND_ALIKE + LOOK_ALIKE)
def test_at_most_one_of_the_characters_that_are_taken_for_one_another_is_used(alike: str) -> None:
    assert sum(char in ALPHABET for char in alike) <= 1


def test_the_words_are_those_of_the_radiotelephony_alphabet() -> None:
    """ICAO Annex 10, volume II, figure 5-1 (letters) and 5.2.1.4.3.1 (numbers), from memory.

    The figures are given there as TOO, TREE, FOW-er, FIFE, SIX, SEV-en.
    """
    letters = {"F": "FOXTROT", "H": "HOTEL", "K": "KILO", "R": "ROMEO", "W": "WHISKEY"}
    figures = {"2": "TOO", "3": "TREE", "4": "FOW-ER", "5": "FIFE", "6": "SIX", "7": "SEV-EN"}
    assert letters | figures == SPOKEN
