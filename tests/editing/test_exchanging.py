"""What trades places, and a spare in the place of a broken unit."""

from __future__ import annotations

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from showvc.document import Show, ShowError
from showvc.document.editing import put
from showvc.document.references import dangling
from showvc.editing import replace, swap
from tests.editing.salt import salt
from tests.strategies import plain_shows


def test_a_spare_takes_what_belongs_to_the_place_and_keeps_its_address() -> None:
    show, before = replace(salt(), "desk", "spare").show, salt().devices
    new, old = show.devices["spare"], show.devices["desk"]
    assert (new.user, new.place, new.keys, new.on) == ("sm", "Corner", before["desk"].keys, before["desk"].on)
    assert (new.hardware, new.name) == (before["spare"].hardware, "Spare")
    assert (old.user, old.place, old.keys, old.on) == (None, None, {}, frozenset())
    assert old.hardware == before["desk"].hardware


def test_bridges_go_over_to_the_spare_and_the_broken_unit_may_go() -> None:
    spare = put(salt(), {("devices", "if-2"): {"kind": "ports-2"}})
    show = replace(spare, "if-1", "if-2", remove=True).show
    assert show.bridges["party"].device == "if-2" and "if-1" not in show.devices
    assert list(dangling(show)) == []


@pytest.mark.parametrize(
    ("new", "values", "words"),
    [
        ("pack-1", {}, "devices/pack-1 is assigned to FLY 1, so it is no spare"),
        ("desk", {}, "can't replace itself"),
        ("nothing", {}, "there is no device nothing"),
        ("spare", {"away": "at repair"}, "devices/spare is away: at repair (if it is back: showvc remove devices/spare/away)"),
        ("spare", {"lent": {"to": "house crew"}}, "devices/spare is lent to house crew"),
    ],
)  # fmt: skip
def test_what_is_no_spare(new: str, values: dict[str, object], words: str) -> None:
    show = put(salt(), {("devices", "spare", field): value for field, value in values.items()})
    with pytest.raises(ShowError, match=re.escape(words)):
        replace(show, "desk", new)


def test_two_keys_numbers_and_wearers() -> None:
    assert dict(swap(salt(), "devices/desk/keys/A1", "devices/desk/keys/A2").show.devices["desk"].keys) == {
        "A1": "fly", "A2": "lx"
    }  # fmt: skip
    for one, other in (("users/sm/channels/lx", "users/sm/channels/FLY"),
                       ("users/sm/channels/lx/number", "users/sm/channels/fly/number")):  # fmt: skip
        channels = swap(salt(), one, other).show.users["sm"].channels
        assert (channels["lx"].number, channels["fly"].number) == (2, 1)
    show = swap(salt(), "devices/pack-1/user", "devices/pack-2/user").show
    assert (show.devices["pack-1"].user, show.devices["pack-2"].user) == ("fly-2", "fly-1")


def test_an_empty_key_takes_what_is_on_the_other() -> None:
    keys = swap(salt(), "devices/desk/keys/A1", "devices/desk/keys/A7").show.devices["desk"].keys
    assert dict(keys) == {"A2": "fly", "A7": "lx"}


def test_two_units_trade_places_and_keep_their_addresses() -> None:
    before = salt().devices
    show = swap(salt(), "devices/desk", "devices/spare").show
    assert show.devices["spare"].user == "sm" and show.devices["desk"].place == "Store"
    assert show.devices["desk"].hardware == before["desk"].hardware


@pytest.mark.parametrize(
    ("one", "other", "words"),
    [
        ("devices/desk/user", "devices/desk/place", "can't trade places"),
        ("users/sm/label", "users/sm/label", "can't trade places"),
        ("groups/fly", "groups/lx", "groups can't trade places"),
        ("devices/desk/user", "devices/zz/user", "there is no devices/zz"),
        ("users/sm/channels/lx", "users/sm/channels/cue", "there is nothing at users/sm/channels/cue/number"),
        ("devices/desk/keys/A6", "devices/desk/keys/A7", "there is nothing at"),
        ("devices/desk/usr", "devices/desk/user", "did you mean user"),
    ],
)
def test_what_cannot_trade_places(one: str, other: str, words: str) -> None:
    with pytest.raises(ShowError, match=re.escape(words)):
        swap(salt(), one, other)


@given(show=plain_shows(), data=st.data())
def test_twice_is_the_identity(show: Show, data: st.DataObject) -> None:
    names = list(show.devices)
    one, other = data.draw(st.sampled_from(names)), data.draw(st.sampled_from(names))
    assume(one != other)
    for field in ("", "/user", "/keys/A1", "/place"):
        paths = (f"devices/{one}{field}", f"devices/{other}{field}")
        try:
            assert swap(swap(show, *paths).show, *paths).show == show
        except ShowError as error:
            assert "there is nothing at" in str(error)
