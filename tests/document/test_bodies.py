"""What each field takes, and what it refuses."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from showvc.document import (
    BUILT_IN_KINDS,
    Body,
    Bridge,
    Channel,
    Device,
    Group,
    Head,
    Kind,
    Limits,
    User,
    shape_of,
    to_tree,
)
from showvc.document.shapes import DOCUMENT, Shape


def refused(model: type[Body], **fields: Any) -> str:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(fields)
    return str(caught.value)


@pytest.mark.parametrize("talk", ["none", "momentary", "latch", "dual", "open"])
@pytest.mark.parametrize("listen", ["none", "switchable", "always"])
def test_the_ways_to_talk_and_listen(talk: str, listen: str) -> None:
    channel = Channel.model_validate({"number": 1, "talk": talk, "listen": listen})
    assert (channel.talk, channel.listen) == (talk, listen)


def test_the_defaults_of_a_channel() -> None:
    channel = Channel(number=1)
    assert (channel.talk, channel.listen, channel.level, channel.priority, channel.label) == (
        "none",
        "switchable",
        0,
        "normal",
        None,
    )


@pytest.mark.parametrize("level", [-60, 12, 0, -1.5, 11.999])
def test_levels_from_minus_60_to_12_db(level: float) -> None:
    assert Channel(number=1, level=level).level == level


def test_a_whole_level_is_a_whole_number() -> None:
    assert repr(Channel(number=1, level=3.0).level) == "3"
    assert repr(Channel(number=1, level=-0.0).level) == "0"


@pytest.mark.parametrize("level", [-60.1, 12.5, float("nan"), float("inf"), "3", True, None, [1], 10**400])
def test_no_level_is_anything_else(level: Any) -> None:
    assert "level" in refused(Channel, number=1, level=level)


@pytest.mark.parametrize("number", [0, -1, 1000, "1", 1.5, True, None])
def test_channel_numbers_are_whole_and_from_one(number: Any) -> None:
    assert "number" in refused(Channel, number=number)


@pytest.mark.parametrize("key", ["A1", "B15", "Z999"])
def test_keys_are_a_page_letter_and_a_number(key: str) -> None:
    assert Device(kind="desk-8", keys={key: "lx"}).keys == {key: "lx"}


@pytest.mark.parametrize("key", ["a1", "A0", "A01", "1", "A", "AA1", "A1000", "A1 ", "A1\n", "Ä1", "A１"])
def test_no_key_is_named_otherwise(key: str) -> None:
    assert "keys" in refused(Device, kind="desk-8", keys={key: "lx"})


@pytest.mark.parametrize("channel", ["lx#1", "lx#0", "lx#100", "lx#02", "#2", "lx#", "LX", "lx#2\n", "lx\n", "a" * 41])
def test_channels_are_named_by_their_target(channel: str) -> None:
    assert "channels" in refused(User, channels={channel: {"number": 1}})
    assert "keys" in refused(Device, kind="desk-8", keys={"A1": channel})


def test_the_same_target_twice() -> None:
    user = User.model_validate({"channels": {"lx": {"number": 1}, "lx#2": {"number": 2}, "lx#99": {"number": 3}}})
    assert list(user.channels) == ["lx", "lx#2", "lx#99"]


@pytest.mark.parametrize(
    ("model", "fields", "named"),
    [
        (Group, {"critical": "true"}, "critical"),
        (Group, {"critical": 1}, "critical"),
        (Group, {"name": 5}, "name"),
        (Group, {"tags": "stage"}, "tags"),
        (Group, {"tags": [1]}, "tags"),
        (Group, {"tags": ["a\x07"]}, "tags"),
        (Group, {"id": "fly"}, "id"),
        (User, {"lines": {"intercom": {}}}, "lines"),
        (User, {"channels": []}, "channels"),
        (Device, {}, "kind"),
        (Device, {"kind": "Pack"}, "kind"),
        (Device, {"kind": "pack-2", "user": "SM"}, "user"),
        (Bridge, {"kind": "tin-can", "device": "if", "port": 1, "target": "fly"}, "kind"),
        (Bridge, {"kind": "radio", "device": "if", "port": 0, "target": "fly"}, "port"),
        (Bridge, {"kind": "radio", "device": "if", "port": 1, "target": "fly", "direction": "up"}, "direction"),
        (Head, {"format": 2}, "format"),
        (Head, {"format": True}, "format"),
        (Head, {"format": 2.0}, "format"),
        (Head, {"format": "1"}, "format"),
        (Head, {"limits": {"targets": -1}}, "targets"),
        (Head, {"kinds": {"big": {"pages": 27}}}, "pages"),
        (Head, {"kinds": {"Big": {}}}, "kinds"),
        (Head, {"required": {"a": {"to": "fly"}}}, "from"),
        (Head, {"accepted": {"a": {"rule": "x", "at": "/", "why": ""}}}, "why"),
    ],
)
def test_a_wrong_type_or_an_unknown_field_is_refused(model: type[Body], fields: Any, named: str) -> None:
    assert named in refused(model, **fields)


def test_tags_are_a_set() -> None:
    assert Group.model_validate({"tags": ["b", "a", "b"]}) == Group(tags=frozenset({"a", "b"}))
    assert to_tree(Group(tags=frozenset({"b", "a"}))) == {"tags": ["a", "b"]}


def test_the_limits_by_default() -> None:
    # Common practice, no source.
    assert Head().limits == Limits(targets=3000, devices=250, channels=32)


def test_the_built_in_kinds() -> None:
    assert BUILT_IN_KINDS["pack-2"] == Kind(keys=2)
    assert sorted(BUILT_IN_KINDS) == ["desk-8", "ports-2", "ports-4", "pack-2", "pack-4", "panel-16"]


# --- extra -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "value",
    [None, True, 0, -7, 1.5, "", "NO", [], {}, [1, [2, {"a": None}]], {"a": {"b": "\0"}}, 10**299, 1e308, "\U0001f3ad"],
)
def test_extra_carries_any_json_value(value: Any) -> None:
    group = Group(extra={"x": value})
    assert group.extra == {"x": value}
    assert to_tree(group) == {"extra": {"x": value}}


@pytest.mark.parametrize(
    "value",
    [
        float("nan"),
        float("inf"),
        10**300,
        -(10**300),
        "\ud800",
        b"x",
        {1: 2},
        {"k" * 201: 1},
        {"\udfff": 1},
        {1, 2},
        object(),
    ],
)
def test_extra_refuses_what_json_or_a_text_file_cannot_carry(value: Any) -> None:
    assert "extra" in refused(Group, extra={"x": value})


def test_extra_is_not_deeper_than_every_form_can_carry() -> None:
    deep: Any = 1
    for _ in range(5000):
        deep = [deep]
    assert "nested deeper than 32 levels" in refused(Group, extra={"x": deep})


# --- equality --------------------------------------------------------------------------------------------------------


def test_true_is_not_one_in_extra() -> None:
    """Python takes True, 1 and 1.0 for equal; a file says three different things."""
    assert Group(extra={"x": True}) != Group(extra={"x": 1})
    assert Group(extra={"x": [0]}) != Group(extra={"x": [False]})
    assert Group(extra={"x": 1}) == Group(extra={"x": 1})
    assert User.model_validate({"channels": {"lx": {"number": 1, "extra": {"x": True}}}}) != User.model_validate(
        {"channels": {"lx": {"number": 1, "extra": {"x": 1}}}}
    )


def test_a_default_that_is_given_is_the_default() -> None:
    assert Channel(number=1, talk="none", level=0, extra={}) == Channel(number=1)
    assert User.model_validate({"channels": {}, "lines": {}}) == User()


# --- shapes ----------------------------------------------------------------------------------------------------------


def every(shape: Shape, path: tuple[str, ...] = ()) -> dict[str, str]:
    """Each place below a shape and what kind of value stands there; `*` is any name."""
    found = {"/".join(path): shape.kind}
    for name, inner in shape.fields.items():
        found |= every(inner, (*path, name))
    if shape.item is not None:
        found |= every(shape.item, (*path, "*"))
    return found


def test_the_whole_document_has_this_shape() -> None:
    kinds = every(DOCUMENT)
    assert kinds["users/*/channels/*/level"] == "number"
    assert kinds["users/*/lines/*/talk"] == "text"
    assert kinds["groups/*/tags"] == "set"
    assert kinds["groups/*/critical"] == "flag"
    assert kinds["notes"] == "notes"
    assert kinds["format"] == "number"
    assert {path for path, kind in kinds.items() if kind == "free"} == {
        "extra", "groups/*/extra", "users/*/extra", "users/*/channels/*/extra", "devices/*/extra", "bridges/*/extra",
    }  # fmt: skip
    assert {path for path, kind in kinds.items() if kind == "map"} == {
        "lines", "kinds", "required", "accepted", "groups", "users", "devices", "bridges",
        "users/*/channels", "users/*/lines", "devices/*/keys",
    }  # fmt: skip


def test_required_is_written_as_from() -> None:
    assert list(shape_of(Head).fields["required"].item.fields) == ["from", "to", "both", "why"]  # type: ignore[union-attr]
