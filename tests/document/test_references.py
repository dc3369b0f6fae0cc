"""Every reference of a show, found in one walk; what refers to one thing made to refer to another."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import DOCUMENT, SECTIONS, Show, show_from_tree
from showvc.document.editing import put
from showvc.document.redirecting import redirected
from showvc.document.references import HOMES, dangling, references
from showvc.document.shapes import Shape
from tests.strategies import shows

EVERY = show_from_tree(
    {
        "lines": {"alarm": {}},
        "kinds": {"rack-12": {"keys": 12}},
        "required": {
            "a": {"from": "sm", "to": "lx", "over": "lx"},
            "b": {"from": "department:stage", "to": "everyone", "over": "alarm"},
        },
        "apart": {"c": {"from": "alarm", "to": "truck"}},
        "accepted": {"d": {"rule": "x", "at": "/users/sm/channels/lx", "why": "known"}},
        "standards": {"e": {"for": "users/s*", "where": {"lines/alarm/talk": "none"}, "must": {"channels/lx#2/talk": "open"}}},
        "groups": {"lx": {}},
        "users": {
            "sm": {
                "department": "stage",
                "channels": {"lx": {"number": 1}, "lx#2": {"number": 2}},
                "lines": {"alarm": {}},
            }
        },
        "devices": {
            "desk": {"kind": "rack-12", "user": "sm", "keys": {"A1": "lx#2", "A2": "alarm"}, "on": ["sw", ["ups-2", "ups-1"]]}
        },
        "bridges": {
            "old": {"kind": "radio", "device": "desk", "port": 1, "target": "lx", "circuit": "truck"},
            "new": {"kind": "radio", "device": "desk", "port": 1, "target": "sm", "standby": "old"},
        },
        "circuits": {"truck": {}},
        "carriers": {"sw": {"on": ["ups-1"]}, "ups-1": {}, "ups-2": {}},
    }
)  # fmt: skip


def test_every_reference_is_found_once_with_what_it_refers_to() -> None:
    assert {(reference.pointer, reference.thing, reference.id) for reference in references(EVERY)} == {
        ("/required/a/from", "end", "sm"), ("/required/a/to", "end", "lx"), ("/required/a/over", "over", "lx"),
        ("/required/b/from", "department", "stage"), ("/required/b/over", "over", "alarm"),
        ("/apart/c/from", "end", "alarm"), ("/apart/c/to", "end", "truck"),
        ("/accepted/d/at", "user", "sm"), ("/accepted/d/at", "target", "lx"),
        ("/standards/e/where/lines~1alarm~1talk", "line", "alarm"),
        ("/standards/e/must/channels~1lx#2~1talk", "target", "lx#2"),
        ("/users/sm/channels/lx", "target", "lx"), ("/users/sm/channels/lx#2", "target", "lx#2"),
        ("/users/sm/lines/alarm", "line", "alarm"),
        ("/devices/desk/kind", "kind", "rack-12"), ("/devices/desk/user", "user", "sm"),
        ("/devices/desk/keys/A1", "channel", "lx#2"), ("/devices/desk/keys/A2", "channel", "alarm"),
        ("/devices/desk/on", "carrier", "sw"), ("/devices/desk/on", "carrier", "ups-1"),
        ("/devices/desk/on", "carrier", "ups-2"), ("/carriers/sw/on", "carrier", "ups-1"),
        ("/bridges/old/device", "device", "desk"), ("/bridges/old/target", "target", "lx"),
        ("/bridges/old/circuit", "circuit", "truck"), ("/bridges/new/device", "device", "desk"),
        ("/bridges/new/target", "target", "sm"), ("/bridges/new/standby", "bridge", "old"),
    }  # fmt: skip
    assert list(dangling(EVERY)) == []


def fields_that_refer(shape: Shape, path: tuple[str, ...] = ()) -> set[tuple[str, ...]]:
    found = {path} if shape.to and path and shape.kind != "record" and len(path) > 1 else set()
    for name, inner in shape.fields.items():
        found |= fields_that_refer(inner, (*path, name))
    if shape.item is not None:
        found |= fields_that_refer(shape.item, (*path, "*"))
    return found


def test_the_show_above_has_every_field_that_refers() -> None:
    def general(steps: tuple[str, ...]) -> tuple[str, ...]:
        place, shape = [], DOCUMENT
        for step in steps:
            place.append("*" if shape.kind == "map" else step)
            shape = shape.at(step)  # type: ignore[assignment]
        return tuple(place)

    walked = {general(reference.steps) for reference in references(EVERY)}
    walked = {
        place[:-1] if place[-2:] in (("channels", "*"), ("lines", "*"), ("must", "*"), ("where", "*")) else place
        for place in walked
    }
    missing = fields_that_refer(DOCUMENT) - walked - {("standards", "*", "for"), ("apart", "*", "over")}
    assert missing == set()


@pytest.mark.parametrize(
    ("section", "old"),
    [("groups", "lx"), ("users", "sm"), ("lines", "alarm"), ("kinds", "rack-12"), ("devices", "desk"), ("bridges", "old"),
     ("circuits", "truck"), ("carriers", "ups-1"), ("carriers", "sw")],
)  # fmt: skip
def test_all_that_referred_to_the_one_refers_to_the_other(section: str, old: str) -> None:
    def ids(show: Show, name: str) -> list[tuple[str, str]]:
        return sorted((each.thing, each.id.replace(name, "")) for each in references(show) if each.target == name)

    def elsewhere(show: Show, name: str) -> list[str]:
        return sorted(each.id for each in references(show) if each.target != name)

    moved = put(EVERY, redirected(EVERY, section, old, "another"))
    assert ids(moved, old) == []
    assert ids(moved, "another") == ids(EVERY, old)
    assert elsewhere(moved, "another") == elsewhere(EVERY, old)
    back = put(moved, redirected(moved, section, "another", old))
    assert back == EVERY


def test_a_field_that_is_called_like_the_thing_stays() -> None:
    show = show_from_tree(
        {
            "groups": {"label": {}},
            "users": {"sm": {"channels": {"label": {"number": 1}}}},
            "accepted": {"x": {"rule": "r", "at": "users/sm/channels/label/label", "why": "known"}},
        }
    )
    moved = put(show, redirected(show, "groups", "label", "lights"))
    assert moved.accepted["x"].at == "users/sm/channels/lights/label"
    assert list(moved.users["sm"].channels) == ["lights"]


@given(shows(), st.data())
def test_turning_references_to_a_new_id_and_back_changes_nothing(show: Show, data: st.DataObject) -> None:
    section = data.draw(st.sampled_from([*SECTIONS, "lines"]))
    names: Any = show.lines if section == "lines" else show.section(section)
    shared = {name for homes in HOMES.values() for home in homes for name in getattr(show, home, ()) if home != section}
    for name in [name for name in names if name not in shared][:1]:
        moved = put(show, redirected(show, section, name, "nowhere-before"))
        assert put(moved, redirected(moved, section, "nowhere-before", name)) == show
