"""Texts that are not what they look like are found, and texts of any one script are left alone."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import show_from_tree
from showvc.rules import check
from showvc.rules.lookalikes import ASCII_LOOKS, _looks, scripts, skeleton
from showvc.rules.texts import texts
from tests.merging.cases import SMALL, Edits, edited


def codes(edits: Edits) -> list[tuple[str, str]]:
    found = check(edited(SMALL, edits))
    return [(each.code, each.path) for each in found if each.code in ("invisible-character", "look-alike")]


# Unicode TS 39, section 4, "Confusable Detection": its examples of single-script, mixed-script and whole-script
# confusables. From memory.
TS_39 = [("ljeto", "ǉeto"), ("paypal", "p\u0430yp\u0430l"), ("scope", "\u0455\u0441\u043e\u0440\u0435")]
# Rows of its data file confusables.txt, from memory.
ROWS = [("O", "0"), ("l", "1"), ("l", "I"), ("l", "|"), ("rn", "m"), ("A", "\u0410"), ("A", "\u0391"), ("Y", "\u0423"),
        ("C", "\u0421"), ("M", "\u041c"), ("o", "\u03bf"), (" ", "\u00a0"), ("-", "\u2010")]  # fmt: skip


@pytest.mark.parametrize(("one", "other"), [*TS_39, *ROWS])
def test_the_standard_takes_them_for_one_another(one: str, other: str) -> None:
    assert one != other and skeleton(one) == skeleton(other)


@pytest.mark.parametrize(
    ("one", "other"), [("FLY", "FLY 2"), ("SM", "ASM"), ("LX", "lx"), ("é", "e"), ("日", "目"), ("Б", "B")]
)
def test_and_these_not(one: str, other: str) -> None:
    assert skeleton(one) != skeleton(other)


def test_what_is_known_of_ascii_without_the_data_is_what_the_data_says() -> None:
    known = {char: _looks().get(ord(char), char) for char in map(chr, range(0x20, 0x7F))}
    assert {char: looks for char, looks in known.items() if looks != char} == ASCII_LOOKS


@given(st.text(max_size=12))
def test_a_skeleton_is_the_same_for_all_spellings_of_a_text(text: str) -> None:
    """Canonically equivalent texts have one skeleton (TS 39, section 4)."""
    import unicodedata

    assert len({skeleton(unicodedata.normalize(form, text)) for form in ("NFC", "NFD")}) == 1


@pytest.mark.parametrize(
    ("text", "mixed"),
    [("FLY 1", 1), ("Свет", 1), ("照明ライト", 1), ("한국漢字", 1), ("FLУ", 2), ("LX照明", 2), ("123 -", 0)],
)
def test_how_many_scripts_a_text_mixes(text: str, mixed: int) -> None:
    """TS 39, section 5.1: Han goes with kana, with Hangul and with Bopomofo."""
    assert len(scripts(text)) == mixed


ONE_SCRIPT = (
    "Освещение", "СМ", "Свет 1", "Φωτισμός", "照明ライト", "조명", "燈光", "إضاءة", "תאורה", "แสง", "प्रकाश", "Éclairage", "Bühne",
    "LX照明", "می\u200cشود", "क्\u200dष", "Ταχύτητα", "½ Zug", "Zoë", "Ångström",
)  # fmt: skip


@pytest.mark.parametrize("text", ONE_SCRIPT)
@pytest.mark.parametrize("field", ["groups/lx/name", "users/sm/label", "users/sm/department"])
def test_text_in_one_script_is_no_finding(field: str, text: str) -> None:
    assert codes({field: text}) == []


EMOJI = (
    "👩\u200d🎤",
    "👩🏽\u200d🎤",
    "👨\u200d👩\u200d👧",
    "❤\ufe0f",
    "🏳\ufe0f\u200d🌈",
    "1\ufe0f\u20e3 Rail",
    "葛\U000e0100",
)


@pytest.mark.parametrize("text", EMOJI)
def test_signs_of_several_parts_are_no_finding(text: str) -> None:
    """Sequences of Unicode TS 51 (emoji) and one of the Ideographic Variation Database."""
    assert codes({"groups/lx/label": text}) == []


@pytest.mark.parametrize(
    "text",
    ["L\u200dX", "L\u200cX", "\u200dLX", "LX\u200d", "👩\u200d", "\u200d👩", "👩\u200dX", "LX\ufe0f", "1\ufe0f", "\ufe0f", "LX\u200e",
     "L\u034fX", "LX\u3164", "LX\u115f", "X\u180bY", "🏴\U000e0067\U000e007f", "LX\U000e0041", "LX\u2063", "Л\u200bХ"],
)  # fmt: skip
def test_what_nobody_sees_is_found(text: str) -> None:
    assert ("invisible-character", "/groups/lx/label") in codes({"groups/lx/label": text})


@pytest.mark.parametrize(
    "edits",
    [
        {"groups/pyro": {"label": "L\u0425"}, "users/lx-op/label": "LX"},
        {"groups/pyro": {"name": "\u0455\u0441\u043e\u0440\u0435"}, "users/sm/name": "scope"},
        {"users/sm/department": "Stage", "users/asm/department": "St\u0430ge"},
        {"users/sm/department": "Stage", "users/asm/department": "Stage\u200b"},
        {"devices/pack-01/place": "Dock 1", "devices/pack-02/place": "Dock l"},
        {"groups/lx/tags": ["rig"], "groups/fly/tags": ["r\u0456g"]},
        {"users/sm/channels/lx/label": "F\u041bY", "users/sm/channels/asm/label": "F\u041bУ"},
    ],
)  # fmt: skip
def test_two_things_that_look_alike_are_found(edits: Edits) -> None:
    assert "look-alike" in {code for code, _ in codes(edits)}


def test_one_thing_may_have_a_label_that_looks_like_its_own_name() -> None:
    assert codes({"groups/lx/name": "LXO", "groups/lx/label": "LX0"}) == []


def test_the_same_text_twice_is_no_look_alike() -> None:
    assert codes({"groups/lx/label": "СВЕТ", "users/sm/label": "СВЕТ"}) == []


def test_every_text_that_somebody_chose_is_looked_at() -> None:
    """Each field of one line in the document, whatever thing it belongs to; free notes and what an import carried not."""
    tree = {
        "title": "t", "groups": {"a": {"name": "n", "label": "l", "tags": ["x"]}},
        "users": {"b": {"name": "n", "department": "d", "channels": {"a": {"number": 1, "label": "c"}}}},
        "devices": {"d": {"kind": "desk-8", "name": "n", "place": "p"}}, "notes": "free", "extra": {"name": "no"},
    }  # fmt: skip
    found = {"/".join(steps) for steps, _ in texts(show_from_tree(tree))}
    wanted = {"title", "groups/a/name", "groups/a/label", "groups/a/tags", "users/b/name", "users/b/department",
              "users/b/channels/a/label", "devices/d/name", "devices/d/place"}  # fmt: skip
    assert wanted <= found and not {"notes", "extra", "extra/name"} & found
