"""Facts of the trade and of addresses that the document rests on."""

from __future__ import annotations

import pytest

from showvc.document import BUILT_IN_KINDS, show_from_tree
from showvc.document.names import hardware_address
from showvc.rules import UNLOADABLE_CODES, check
from tests.generator import random_show


def test_a_list_of_32_channels_and_three_lines_250_devices_and_3000_targets_are_taken() -> None:
    # Common practice, no source.
    show = random_show(1, users=2750, groups=250, devices=250, bridges=8, channels=32, full=True)
    assert (len(show.users) + len(show.groups), len(show.devices), len(show.lines)) == (3000, 250, 3)
    assert {len(user.channels) for user in show.users.values()} == {32}
    # 250 devices leave most of 2,750 users off headset; who is an end of a required path is told, and nothing else blocks.
    blocks = {finding.code for finding in check(show) if finding.severity == "block"}
    assert blocks == {"user-without-device", "required-lost"} and not blocks & UNLOADABLE_CODES


def test_there_are_units_of_two_four_and_eight_keys_and_panels() -> None:
    # Common practice, no source.
    assert [BUILT_IN_KINDS[kind].keys for kind in ("pack-2", "pack-4", "desk-8", "panel-16")] == [2, 4, 8, 16]
    assert [BUILT_IN_KINDS[kind].ports for kind in ("ports-2", "ports-4")] == [2, 4]


def test_a_rack_panel_with_15_keys_on_each_of_two_pages_can_be_described() -> None:
    # Common practice, no source.
    keys = {f"{page}{number}": "alarm" for page in "AB" for number in range(1, 16)}
    show = show_from_tree(
        {
            "format": 2,
            "lines": {"alarm": {}},
            "kinds": {"panel-15x2": {"keys": 15, "pages": 2}},
            "users": {"sm": {}},
            "devices": {"rack": {"kind": "panel-15x2", "user": "sm", "keys": keys}},
        }
    )
    assert len(show.devices["rack"].keys) == 30
    assert not [finding for finding in check(show) if finding.severity == "block"]


# The written form: IEEE, "Guidelines for Use of Extended Unique Identifier (EUI), Organizationally Unique Identifier
# (OUI), and Company ID (CID)": octets as pairs of hex digits with hyphens (example AC-DE-48-23-45-67, from memory).
# Colons: IETF usage, RFC 7042 section 2.1 (from memory). Dotted groups of four: network equipment, common practice.
@pytest.mark.parametrize(
    "spelling",
    [
        "AC-DE-48-23-45-67",
        "ac-de-48-23-45-67",
        "AC:DE:48:23:45:67",
        "acde.4823.4567",
        "ACDE48234567",
        "ac de 48 23 45 67",
    ],
)
def test_an_eui_48_is_written_as_ieee_writes_it(spelling: str) -> None:
    assert hardware_address(spelling) == "AC-DE-48-23-45-67"


def test_a_longer_identifier_is_no_eui_48() -> None:
    # EUI-64: AC-DE-48-23-45-67-AB-CD (IEEE, as above, from memory).
    with pytest.raises(ValueError, match="not a hardware address"):
        hardware_address("AC-DE-48-23-45-67-AB-CD")


def test_unicode_text_is_normalised_to_form_c() -> None:
    # Unicode Standard Annex #15, "Singletons" and "Canonical Composites" of its figures 3 and 4 (from memory).
    for written, composed in (
        ("\u212b", "\u00c5"),
        ("\u2126", "\u03a9"),
        ("\u0073\u0323\u0307", "\u1e69"),
        ("\u0064\u0307", "\u1e0b"),
    ):
        show = show_from_tree({"format": 2, "title": written})
        assert show.title == composed
