"""Canonical JSON and the hash against their standards: RFC 8785, ECMAScript numbers, FIPS 180-4."""

from __future__ import annotations

import hashlib
import json
import struct
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import ShowError
from showvc.release.canonical import canonical_json


def test_the_example_of_rfc_8785_section_3_2() -> None:
    """RFC 8785, 3.2.2 (input), 3.2.3 (sorted), 3.2.4 (UTF-8)."""
    text = r"""{
      "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
      "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
      "literals": [null, true, false]
    }"""
    wanted = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )
    assert canonical_json(json.loads(text)) == wanted.encode()


def test_the_bytes_of_rfc_8785_section_3_2_4() -> None:
    """The hexadecimal dump printed there."""
    dump = """
        7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72
        75 65 2c 66 61 6c 73 65 5d 2c 22 6e 75 6d 62 65 72 73 22 3a
        5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31
        65 2b 33 30 2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37
        5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24 5c 75 30 30
        30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d
    """
    value = {
        "numbers": [333333333.33333329, 1e30, 4.50, 2e-3, 0.000000000000000000000000001],
        "string": '€$\x0f\nA\'B"\\\\"/',
        "literals": [None, True, False],
    }
    assert canonical_json(value) == bytes.fromhex(dump)


def test_the_order_of_names_of_rfc_8785_section_3_2_3() -> None:
    """Sorted by UTF-16 code units: the smiley, a surrogate pair, comes before the Hebrew letter of U+FB33."""
    value = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(canonical_json(value)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


# RFC 8785, appendix B: the bits of a double, and how ECMAScript writes it.
NUMBERS = [
    ("0000000000000000", "0"),
    ("8000000000000000", "0"),
    ("0000000000000001", "5e-324"),
    ("8000000000000001", "-5e-324"),
    ("7fefffffffffffff", "1.7976931348623157e+308"),
    ("ffefffffffffffff", "-1.7976931348623157e+308"),
    ("4340000000000000", "9007199254740992"),
    ("c340000000000000", "-9007199254740992"),
    ("4430000000000000", "295147905179352830000"),
    ("44b52d02c7e14af5", "9.999999999999997e+22"),
    ("44b52d02c7e14af6", "1e+23"),
    ("44b52d02c7e14af7", "1.0000000000000001e+23"),
    ("444b1ae4d6e2ef4e", "999999999999999700000"),
    ("444b1ae4d6e2ef4f", "999999999999999900000"),
    ("444b1ae4d6e2ef50", "1e+21"),
    ("3eb0c6f7a0b5ed8c", "9.999999999999997e-7"),
    ("3eb0c6f7a0b5ed8d", "0.000001"),
    ("41b3de4355555553", "333333333.3333332"),
    ("41b3de4355555554", "333333333.33333325"),
    ("41b3de4355555555", "333333333.3333333"),
    ("41b3de4355555556", "333333333.3333334"),
    ("41b3de4355555557", "333333333.33333343"),
    ("becbf647612f3696", "-0.0000033333333333333333"),
    ("43143ff3c1cb0959", "1424953923781206.2"),
]


@pytest.mark.parametrize(("bits", "written"), NUMBERS)
def test_the_numbers_of_rfc_8785_appendix_b(bits: str, written: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_json(number) == written.encode()


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000"])
def test_what_appendix_b_says_is_an_error(bits: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    with pytest.raises(ShowError):
        canonical_json([number])


documents: st.SearchStrategy[Any] = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=5), inner, max_size=4),
    max_leaves=20,
)


@given(documents)
def test_it_is_what_the_rfc8785_library_writes(value: Any) -> None:
    assert canonical_json(value) == rfc8785.dumps(value)


@given(
    st.integers(-(2**53) + 1, 2**53 - 1) | st.booleans() | st.none() | st.text(alphabet=st.characters(codec="ascii"))
)
def test_it_is_what_pythons_json_writes_where_both_agree(value: Any) -> None:
    """A second writer, for values that RFC 8785 and Python's json spell alike: integers and ASCII text."""
    assert (
        canonical_json({"a": [value]}) == json.dumps({"a": [value]}, separators=(",", ":"), ensure_ascii=False).encode()
    )


@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
)
def test_the_hash_is_that_of_fips_180_4(message: bytes, digest: str) -> None:
    """FIPS 180-4 examples (NIST, "SHA256.pdf"), and the million `a` of FIPS 180-2, appendix B.3."""
    assert hashlib.sha256(message).hexdigest() == digest
