"""Label strips to reprint: exactly the devices on which another label stands under a key."""

from __future__ import annotations

import pytest
from hypothesis import given

from showvc.changes.strips import labels_of, strips
from showvc.document import Show
from tests.generator import apply_edits
from tests.merging.cases import GONE, SMALL, Edits, edited
from tests.strategies import edited_shows
from tests.wild import wild_sides


@pytest.mark.parametrize(
    ("what", "edit", "devices"),
    [
        ("a label of its own on the channel", {"users/sm/channels/fly/label": "CUES"}, ("desk-01",)),
        ("the group's label", {"groups/fly/label": "RAIL"}, ("desk-01", "pack-02")),
        ("the group's name, which its label hides", {"groups/fly/name": "Fly Floor"}, ()),
        ("the label taken off, so that the name shows", {"groups/snd/label": GONE}, ("desk-01", "pack-01")),
        ("a key moved", {"devices/desk-01/keys/A1": GONE, "devices/desk-01/keys/A5": "lx"}, ("desk-01",)),
        ("two keys swapped", {"devices/desk-01/keys/A1": "fly", "devices/desk-01/keys/A2": "lx"}, ("desk-01",)),
        ("a key more", {"devices/pack-01/keys/A2": "stage"}, ("pack-01",)),
        ("another user with the same labels", {"devices/pack-01/user": "sm"}, ()),
        ("a key at what the new user lacks", {"devices/pack-02/user": "asm"}, ()),
        ("a new device with keys", {"devices/pack-04": {"kind": "pack-2", "user": "asm", "keys": {"A1": "snd"}}},
         ("pack-04",)),
        ("a new device without keys", {"devices/pack-04": {"kind": "pack-2"}}, ()),
        ("a device gone", {"devices/pack-01": GONE}, ()),
        ("a line's label", {"lines/alarm": {"label": "HELP"}}, ("desk-01",)),
        ("a line that no key holds", {"lines/program": {"label": "SHOW"}}, ()),
        ("a channel's number", {"users/sm/channels/lx/number": 6}, ()),
        ("a talk mode", {"users/sm/channels/lx/talk": "dual"}, ()),
        ("a user's label that no key shows", {"users/sm/label": "STAGE MGR"}, ()),
        ("the place of a device", {"devices/desk-01/place": "Dock"}, ()),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_strips(what: str, edit: Edits, devices: tuple[str, ...]) -> None:
    assert what
    assert strips(SMALL, edited(SMALL, edit)) == devices


def test_a_device_handed_to_a_user_who_labels_the_channel_otherwise() -> None:
    before = edited(SMALL, {"users/asm/channels/snd/label": "BAND"})
    assert strips(before, edited(before, {"devices/pack-01/user": "sm"})) == ("pack-01",)


def test_the_labels_of_a_device() -> None:
    assert labels_of(SMALL, "desk-01") == {"A1": "LX", "A2": "FLY", "A3": "SND", "A8": "ALARM"}
    assert labels_of(SMALL, "pack-03") == {}
    assert labels_of(SMALL, "no-such-device") == {}


def relabelled(before: Show, after: Show) -> tuple[str, ...]:
    return tuple(name for name in after.devices if labels_of(before, name) != labels_of(after, name))


@given(edited_shows())
def test_no_strip_is_forgotten_and_none_is_printed_for_nothing(case) -> None:  # type: ignore[no-untyped-def]
    before, script = case
    after = apply_edits(before, script)
    assert strips(before, after) == relabelled(before, after)


@given(wild_sides())
def test_also_where_much_is_broken(case: tuple[Show, Show, Show]) -> None:
    before, after, _ = case
    assert strips(before, after) == relabelled(before, after)
