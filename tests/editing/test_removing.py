"""Removed everywhere: the thing, all that refers to it, and what refers to that."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import SECTIONS, Show, ShowError
from showvc.document.references import Known, dangling, references
from showvc.editing import remove_everywhere
from tests.editing.salt import salt
from tests.strategies import plain_shows, shows
from tests.wild import wild_shows


def test_a_group_goes_with_its_channels_keys_bridges_and_paths() -> None:
    show = remove_everywhere(salt(), [("groups", "fly")]).show
    assert list(show.users["sm"].channels) == ["lx"]
    assert dict(show.devices["desk"].keys) == {"A1": "lx"} and show.devices["pack-3"].keys == {}
    assert (dict(show.bridges), dict(show.required), dict(show.head.apart)) == ({}, {}, {})
    assert dict(show.head.standards["flies"].must) == {"port": "false"}, "what else a standard asks stays"
    assert list(dangling(show)) == []


def test_a_user_leaves_the_device_behind_without_keys_that_were_on_the_list() -> None:
    show = remove_everywhere(salt(), [("users", "fly-1")]).show
    assert (show.devices["pack-1"].user, dict(show.devices["pack-1"].keys)) == (None, {"A4": "alarm"})


def test_a_channel_goes_with_its_keys_and_a_line_with_its_uses() -> None:
    show = remove_everywhere(salt(), [("users", "sm", "channels", "fly")]).show
    assert dict(show.devices["desk"].keys) == {"A1": "lx"} and "fly" in show.users["fly-1"].channels
    show = remove_everywhere(salt(), [("lines", "alarm")]).show
    assert show.users["fly-1"].lines == {} and "A4" not in show.devices["pack-1"].keys


def test_of_alternatives_the_last_one_stands_for_itself() -> None:
    show = remove_everywhere(salt(), [("carriers", "ups-1")]).show
    assert show.devices["desk"].on == {"switch", "ups-2"}
    assert remove_everywhere(show, [("carriers", "ups-2")]).show.devices["desk"].on == {"switch"}


def test_a_device_takes_its_bridges_along_and_a_circuit_is_only_cleared() -> None:
    assert dict(remove_everywhere(salt(), [("devices", "if-1")]).show.bridges) == {}
    assert remove_everywhere(salt(), [("circuits", "house")]).show.bridges["party"].circuit is None


def test_what_is_not_there() -> None:
    with pytest.raises(ShowError, match="there is nothing at groups/none"):
        remove_everywhere(salt(), [("groups", "none")])


@given(show=st.one_of(plain_shows(), shows(), wild_shows()), data=st.data())
def test_no_reference_dangles_that_did_not_before(show: Show, data: st.DataObject) -> None:
    every = [(section, name) for section in SECTIONS for name in show.section(section)]
    if not every:
        return
    gone = data.draw(st.lists(st.sampled_from(every), min_size=1, max_size=3))
    known = Known(show)
    before = {each for each in references(show) if not known.has(each)}
    after = remove_everywhere(show, gone).show
    known = Known(after)
    assert {each for each in references(after) if not known.has(each)} <= before
    assert not any(name in after.section(section) for section, name in gone)
