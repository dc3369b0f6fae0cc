"""What each field takes, and what it refuses."""

from __future__ import annotations

import copy
import json
import pickle
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest
from pydantic import ValidationError

from showvc.document import (
    BUILT_IN_KINDS,
    Body,
    Bridge,
    Carrier,
    Channel,
    Circuit,
    Device,
    Group,
    Head,
    Kind,
    User,
    shape_of,
    to_tree,
)
from showvc.document.frozen import FrozenList, FrozenMap
from showvc.document.shapes import DOCUMENT, Shape, fingerprint


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
        (User, {"lines": {"All Call": {}}}, "lines"),
        (User, {"port": 1}, "port"),
        (User, {"channels": []}, "channels"),
        (Device, {}, "kind"),
        (Device, {"kind": "Pack"}, "kind"),
        (Device, {"kind": "pack-2", "user": "SM"}, "user"),
        (Bridge, {"kind": "tin-can", "device": "if", "port": 1, "target": "fly"}, "kind"),
        (Bridge, {"kind": "radio", "device": "if", "port": 0, "target": "fly"}, "port"),
        (Bridge, {"kind": "radio", "device": "if", "port": 1, "target": "fly", "direction": "up"}, "direction"),
        (Head, {"format": 1}, "format"),
        (Head, {"format": 3}, "format"),
        (Head, {"format": True}, "format"),
        (Head, {"format": 2.0}, "format"),
        (Head, {"format": "2"}, "format"),
        (Head, {"limits": {"targets": -1}}, "targets"),
        (Head, {"kinds": {"big": {"pages": 27}}}, "pages"),
        (Head, {"kinds": {"Big": {}}}, "kinds"),
        (Head, {"required": {"a": {"to": "fly"}}}, "from"),
        (Head, {"required": {"a": {"from": "Stage Manager", "to": "fly"}}}, "from"),
        (Head, {"required": {"a": {"from": "department:", "to": "fly"}}}, "from"),
        (Head, {"required": {"a": {"from": "sm", "to": "fly", "ways": 3}}}, "ways"),
        (Head, {"required": {"a": {"from": "sm", "to": "fly", "at-least": 0}}}, "at-least"),
        (Head, {"apart": {"a": {"from": "sm"}}}, "to"),
        (Head, {"limits": {"floor": -61}}, "floor"),
        (Head, {"kinds": {"big": {"needs": {"watts": -1}}}}, "watts"),
        (Head, {"standards": {"a": {"for": "users/*"}}}, "must"),
        (Head, {"standards": {"a": {"for": "users/~", "must": {}}}}, "for"),
        (Head, {"standards": {"a": {"for": "users/*", "must": {}, "severity": "stop"}}}, "severity"),
        (Device, {"kind": "pack-2", "on": "ups-1"}, "on"),
        (Device, {"kind": "pack-2", "on": ["UPS 1"]}, "on"),
        (Device, {"kind": "pack-2", "on": [[]]}, "on"),
        (Device, {"kind": "pack-2", "on": [["ups-1", ["ups-2"]]]}, "on"),
        (Device, {"kind": "pack-2", "lent": {}}, "to"),
        (Device, {"kind": "pack-2", "lent": {"to": "house crew", "until": "2026-02-30"}}, "until"),
        (Device, {"kind": "pack-2", "lent": {"to": "house crew", "until": "4.12.2026"}}, "until"),
        (Bridge, {"kind": "radio", "device": "if", "port": 1, "target": "fly", "circuit": "House line"}, "circuit"),
        (Circuit, {"hears": "yes"}, "hears"),
        (Carrier, {"gives": {"watts": "much"}}, "watts"),
        (Carrier, {"gives": {"Watts": 1}}, "gives"),
        (Head, {"accepted": {"a": {"rule": "x", "at": "/", "why": ""}}}, "why"),
    ],
)
def test_a_wrong_type_or_an_unknown_field_is_refused(model: type[Body], fields: Any, named: str) -> None:
    assert named in refused(model, **fields)


def test_tags_are_a_set() -> None:
    assert Group.model_validate({"tags": ["b", "a", "b"]}) == Group(tags=frozenset({"a", "b"}))
    assert to_tree(Group(tags=frozenset({"b", "a"}))) == {"tags": ["a", "b"]}


def test_no_limit_is_checked_that_is_not_written() -> None:
    assert to_tree(Head()) == {} and all(limit is None for limit in Head().limits.model_dump().values())


def test_the_built_in_kinds() -> None:
    assert BUILT_IN_KINDS["pack-2"] == Kind(keys=2)
    assert sorted(BUILT_IN_KINDS) == ["desk-8", "pack-2", "pack-4", "panel-16", "ports-2", "ports-4"]


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


# --- what cannot be changed ---


def test_nothing_in_a_body_can_be_changed_in_place() -> None:
    """Parsed bodies are shared: one edit in place would be in every other that is alike, and in shows read later."""
    channel = Channel.model_validate({"number": 1, "extra": {"a": [1, {"b": 2}]}})
    with pytest.raises(TypeError):
        channel.extra["a"] = 2
    with pytest.raises(TypeError):
        channel.extra["a"].append(3)
    with pytest.raises(TypeError):
        channel.extra["a"][1].update(b=3)
    user = User.model_validate({"channels": {"lx": {"number": 1}}})
    with pytest.raises(TypeError):
        user.channels["lx"] = channel  # type: ignore[index]
    with pytest.raises(TypeError):
        del user.channels["lx"]  # type: ignore[attr-defined]
    with pytest.raises(TypeError):
        Device(kind="pack-2").keys["A1"] = "lx"  # type: ignore[index]


@pytest.mark.parametrize("name", sorted({*dir(dict), *dir(list)} - {*dir(tuple), *dir(Mapping), "__init_subclass__"}))
def test_no_way_of_a_dict_or_a_list_changes_a_frozen_one(name: str) -> None:
    """Every method that a dict or list has and an immutable mapping or tuple has not: it changes nothing."""
    for frozen, plain in ((FrozenMap(a=1), {"a": 1}), (FrozenList([1]), [1])):
        if hasattr(frozen, name) and callable(getattr(frozen, name)):
            for arguments in ((), (0,), ("a",), (0, 1), ("a", 1), ({"a": 2},), ([2],)):
                with suppress(Exception):
                    getattr(frozen, name)(*arguments)
            assert frozen == plain


def test_frozen_values_are_copied_and_kept_as_they_are() -> None:
    frozen = Group(extra={"a": [1, {"b": None}]}).extra
    assert copy.deepcopy(frozen) is frozen and copy.copy(frozen) is frozen
    again = pickle.loads(pickle.dumps(frozen))
    assert again == frozen and type(again) is type(frozen) and type(again["a"]) is type(frozen["a"])
    assert json.loads(json.dumps(frozen)) == {"a": [1, {"b": None}]}
    assert {**frozen, "c": 1} == {"a": [1, {"b": None}], "c": 1}


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
        "circuits/*/extra", "carriers/*/extra",
    }  # fmt: skip
    assert {path for path, kind in kinds.items() if kind == "map"} == {
        "lines", "kinds", "required", "apart", "accepted", "standards", "groups", "users", "devices", "bridges", "circuits",
        "carriers", "users/*/channels", "users/*/lines", "devices/*/keys", "carriers/*/gives", "kinds/*/needs",
        "standards/*/where", "standards/*/must",
    }  # fmt: skip


def test_required_is_written_as_from() -> None:
    assert list(shape_of(Head).fields["required"].item.fields) == [  # type: ignore[union-attr]
        "from", "to", "over", "both", "ways", "at-least", "why",
    ]  # fmt: skip


def test_a_field_more_or_less_or_with_other_bounds_makes_another_fingerprint() -> None:
    """By it the cache of parsed bodies is made anew."""
    device = shape_of(Device)
    fewer = [
        replace(device, fields={name: field for name, field in device.fields.items() if name != gone})
        for gone in device.fields
    ]
    other = [
        replace(device, fields={**device.fields, "keys": replace(device.fields["keys"], default={"A1": "lx"})}),
        replace(device, fields={**device.fields, "place": replace(device.fields["place"], required=True)}),
        replace(device, fields={**device.fields, "user": replace(device.fields["user"], choices=("sm",))}),
    ]
    assert len({fingerprint(shape) for shape in (device, *fewer, *other)}) == 1 + len(fewer) + len(other)
    assert fingerprint() == fingerprint()
