"""A stamp is short, is read over a headset without mistakes, and finds its own misreadings."""

from __future__ import annotations

import hashlib
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError, show_from_tree
from showvc.release import stamp as stamps
from showvc.release.canonical import content_hash
from showvc.release.stamp import (
    ALPHABET,
    BASE,
    EXAMPLE,
    LENGTH,
    POSSIBLE,
    SPOKEN,
    chance_shared,
    check_value,
    grouped,
    is_stamp,
    parse_stamp,
    spoken,
    stamp_from_hash,
    stamp_of,
)

digests = st.binary(min_size=0, max_size=8).map(lambda seed: hashlib.sha256(seed).hexdigest())


def plain(stamp: str) -> str:
    return stamp.replace("-", "")


def test_a_stamp_is_ten_characters_of_its_alphabet_in_three_groups() -> None:
    for seed in range(200):
        stamp = stamp_from_hash(hashlib.sha256(b"%d" % seed).hexdigest())
        assert [len(group) for group in stamp.split("-")] == [3, 3, 4]
        assert set(plain(stamp)) <= set(ALPHABET)


def test_the_example_in_the_messages_is_a_stamp() -> None:
    assert parse_stamp(EXAMPLE) == EXAMPLE


def test_the_same_show_has_the_same_stamp_however_it_was_written() -> None:
    one = show_from_tree({"title": "The Salt Road", "groups": {"fly": {"name": "Fly", "critical": False}}})
    other = show_from_tree({"groups": {"fly": {"critical": False, "name": "Fly"}}, "title": "The Salt Road"})
    assert stamp_of(one) == stamp_of(other) == stamp_from_hash(content_hash(one))


def test_another_show_has_another_stamp() -> None:
    titles = [f"The Salt Road {number}" for number in range(300)]
    assert len({stamp_of(show_from_tree({"title": title})) for title in titles}) == 300


@pytest.mark.parametrize("digest", ["", "abc", "g" * 64, "0" * 63, "0" * 65])
def test_only_a_sha256_makes_a_stamp(digest: str) -> None:
    with pytest.raises(ValueError, match="SHA-256"):
        stamp_from_hash(digest)


# Reading aloud


def test_every_character_has_a_word_and_no_two_words_begin_alike() -> None:
    assert set(SPOKEN) == set(ALPHABET)
    assert len({word[:3] for word in SPOKEN.values()}) == BASE


def test_a_stamp_is_spoken_group_by_group() -> None:
    assert spoken("K7F-2R4-W36H") == "KILO SEV-EN FOXTROT, TOO ROMEO FOW-ER, WHISKEY TREE SIX HOTEL"


# Typing it in


@given(digests)
def test_case_spaces_and_hyphens_do_not_matter(digest: str) -> None:
    stamp = stamp_from_hash(digest)
    for typed in (stamp.lower(), plain(stamp), stamp.replace("-", " "), f"  {stamp} ", " ".join(plain(stamp).lower())):
        assert parse_stamp(typed) == stamp
    assert parse_stamp(stamp.replace("-", "–")) == stamp
    assert is_stamp(stamp)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("", "no stamp here"),
        ("---", "no stamp here"),
        (EXAMPLE[:-1], "9 characters"),
        (EXAMPLE + "2", "11 characters"),
        (EXAMPLE.replace("2", "Z"), "Z may be 2"),
        (EXAMPLE.replace("3", "B"), "B may be 3"),
        ("not read", "not a stamp"),
        ("\x00" * 5, "U\\+0000"),
    ],
)
def test_what_cannot_be_a_stamp_is_said_with_the_likely_misreading(typed: str, said: str) -> None:
    with pytest.raises(ShowError, match=said):
        parse_stamp(typed)
    assert not is_stamp(typed)


@given(st.text(max_size=40))
def test_any_text_is_a_stamp_or_a_clear_error(text: str) -> None:
    try:
        assert is_stamp(parse_stamp(text))
    except ShowError as error:
        assert error.problems[0].way_out


# The check character


def test_every_single_wrong_character_is_found() -> None:
    for seed in range(50):
        right = plain(stamp_from_hash(hashlib.sha256(b"%d" % seed).hexdigest()))
        for place in range(LENGTH):
            for wrong in set(ALPHABET) - {right[place]}:
                assert not is_stamp(right[:place] + wrong + right[place + 1 :])


def test_every_two_characters_that_traded_places_are_found_neighbours_or_not() -> None:
    for seed in range(50):
        right = plain(stamp_from_hash(hashlib.sha256(b"%d" % seed).hexdigest()))
        for one, other in combinations(range(LENGTH), 2):
            if right[one] != right[other]:
                swapped = list(right)
                swapped[one], swapped[other] = swapped[other], swapped[one]
                assert not is_stamp("".join(swapped))


def test_that_holds_for_all_stamps_and_not_only_for_these() -> None:
    """The sum is linear, so an error shifts it by the same amount in every stamp: all shifts are tried here."""

    def total(values: list[int]) -> int:
        return (check_value(tuple(values[:9])) - values[9]) % BASE

    def single(place: int, value: int) -> list[int]:
        return [value if at == place else 0 for at in range(LENGTH)]

    for place in range(LENGTH):
        assert all(total(single(place, difference)) for difference in range(1, BASE))
    for one, other in combinations(range(LENGTH), 2):
        for difference in range(1, BASE):
            assert (total(single(one, difference)) - total(single(other, difference))) % BASE


def test_one_in_eleven_of_all_ten_character_texts_is_a_stamp() -> None:
    holding = sum(
        stamps._holds("222222" + a + b + c + d) for a in ALPHABET for b in ALPHABET for c in "23" for d in ALPHABET
    )
    assert holding == BASE * BASE * 2


# Two releases with one stamp


def test_the_chance_that_two_of_a_thousand_releases_share_a_stamp_is_one_in_4700() -> None:
    assert POSSIBLE == 2_357_947_691
    assert chance_shared(1_000) == pytest.approx(1 / 4_721, rel=1e-3)
    assert chance_shared(100) == pytest.approx(1 / 476_354, rel=1e-3)


def test_one_release_shares_with_none_and_more_than_there_are_stamps_must_share() -> None:
    assert chance_shared(0) == chance_shared(1) == 0
    assert chance_shared(POSSIBLE + 1) == 1


def test_stamps_fall_as_evenly_as_the_formula_takes_them_to() -> None:
    """Cut to three characters there are 1,331 stamps, few enough to count those that are shared."""
    for start in range(0, 20, 2):
        drawn = [stamp_from_hash(hashlib.sha256(b"%d/%d" % (start, number)).hexdigest()) for number in range(1_331)]
        free = 1_331 - len({stamp[:3] for stamp in drawn})
        assert free == pytest.approx(1_331 / 2.71828, abs=4 * 12)


def test_grouping_loses_nothing() -> None:
    assert grouped("K7F2R4W36H") == "K7F-2R4-W36H"
