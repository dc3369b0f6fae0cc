"""A target given: at the next free number and key, where the department is used to it; never where something is."""

from __future__ import annotations

import re

import pytest
from hypothesis import given as drawn
from hypothesis import strategies as st

from showvc.document import Show, ShowError, target_of
from showvc.editing import Wish, give
from tests.editing.salt import salt
from tests.strategies import plain_shows


def test_a_channel_at_the_next_free_number_and_a_key_at_the_next_free_place() -> None:
    done = give(salt(), "cue", ["sm"])
    channel = done.show.users["sm"].channels["cue"]
    assert (channel.number, channel.talk, channel.listen) == (3, "momentary", "switchable")
    assert done.show.devices["desk"].keys["A3"] == "cue"


def test_number_and_key_are_where_the_rest_of_the_department_has_them() -> None:
    done = give(salt(), "cue", ["fly-2"])
    assert done.show.users["fly-2"].channels["cue"].number == 4
    assert done.show.devices["pack-2"].keys["A3"] == "cue"
    assert done.notes == (
        "FLY 2: number 4, as others in rail have CUE.",
        "FLY 2: key A3, as others in rail have CUE.",
    )


def test_where_the_usual_place_is_taken_it_is_the_next_free_one() -> None:
    done = give(salt(), "cue", ["fly-3"])
    assert done.show.users["fly-3"].channels["cue"].number == 1
    assert done.show.devices["pack-3"].keys["B1"] == "cue"


def test_a_full_device_is_told_and_the_channel_is_given() -> None:
    one = give(give(salt(), "cue", ["fly-3"]).show, "lx", ["fly-3"]).show
    done = give(one, "sm", ["fly-3"])
    assert "sm" in done.show.users["fly-3"].channels
    assert any("no key of pack-3 is free" in note for note in done.notes)


def test_labels_patterns_and_departments_say_who() -> None:
    assert "cue" in give(salt(), "CUE", ["stage manager"]).show.users["sm"].channels
    for who in ("fly-*", "users/fly-*", "department:Rail"):
        show = give(salt(), "sm", [who]).show
        assert [name for name, body in show.users.items() if "sm" in body.channels] == ["fly-1", "fly-2", "fly-3"]


def test_a_line_needs_no_channel() -> None:
    show = give(salt(), "alarm", ["sm"]).show
    assert show.users["sm"].lines["alarm"].talk == "momentary"
    assert show.devices["desk"].keys["A3"] == "alarm"


def test_what_is_there_stays_and_only_what_is_named_changes() -> None:
    done = give(salt(), "fly", ["sm"])
    assert done.show == salt() and done.notes == ("SM has FLY already.",)
    assert give(salt(), "fly", ["sm"], Wish(talk="dual")).show.users["sm"].channels["fly"].talk == "dual"


def test_named_places() -> None:
    done = give(salt(), "cue", ["sm"], Wish(key="A8", number=9, talk="latch", listen="always"))
    channel = done.show.users["sm"].channels["cue"]
    assert (channel.number, channel.talk, channel.listen) == (9, "latch", "always")
    assert done.show.devices["desk"].keys["A8"] == "cue"
    assert give(salt(), "cue", ["sm"], Wish(keyed=False)).show.devices["desk"] == salt().devices["desk"]


@pytest.mark.parametrize(
    ("target", "who", "wish", "words"),
    [
        ("cue", ["sm"], Wish(key="A1"), "devices/desk/keys/A1 is LX (free: A3"),
        ("cue", ["sm"], Wish(key="B1"), "devices/desk has no key B1 (its keys are A1 to A8)"),
        ("cue", ["sm"], Wish(number=2), "SM: number 2 is FLY (the next free one is 3)"),
        ("cue", ["box"], Wish(key="A1"), "wears no device with keys"),
        ("fly", ["sm"], Wish(number=9), "SM has FLY at number 2 already"),
        ("alarm", ["sm"], Wish(number=9), "a line has no number"),
        ("cue", ["zz-*"], Wish(), "zz-*: no position in this show matches"),
        ("cue", ["department:none"], Wish(), "no position in this show matches"),
        ("sm", ["sm"], Wish(), "can't be given to themselves"),
        ("nothing", ["sm"], Wish(), "there is no group, user or line nothing"),
        ("cue", ["sm"], Wish(talk="shout"), "users/sm/channels/cue/talk"),
    ],
)
def test_errors_name_the_place_and_the_way_out(target: str, who: list[str], wish: Wish, words: str) -> None:
    with pytest.raises(ShowError, match=re.escape(words)):
        give(salt(), target, who, wish)


def _doubled(show: Show) -> set[tuple[str, int]]:
    return {
        (name, channel.number)
        for name, body in show.users.items()
        for channel in body.channels.values()
        if sum(other.number == channel.number for other in body.channels.values()) > 1
    }


@drawn(show=plain_shows(), data=st.data())
def test_nothing_is_ever_double_booked(show: Show, data: st.DataObject) -> None:
    target = data.draw(st.sampled_from([*show.groups, *show.users]))
    who = data.draw(st.lists(st.sampled_from([name for name in show.users if name != target] or [target]), min_size=1))
    try:
        after = give(show, target, who).show
    except ShowError as error:
        assert "are taken" in str(error) or "themselves" in str(error)
        return
    assert _doubled(after) <= _doubled(show)
    for name, device in after.devices.items():
        old = show.devices[name].keys
        assert old.items() <= device.keys.items(), "a key that held something still does"
        kind = after.kind(device.kind)
        assert kind is None or len(device.keys) <= max(len(old), kind.keys * kind.pages)
    for name in who:
        assert target in map(target_of, after.users[name].channels)
