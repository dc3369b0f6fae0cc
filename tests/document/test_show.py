"""A show is a value: what it holds, what differs, and that an edit leaves the old one alone."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import SECTIONS, Entries, Group, Show, User, arranged, differing, show_from_tree
from showvc.document.shapes import DOCUMENT
from tests.strategies import edited_shows, shows

FLY, LX, SND = Group(name="Fly"), Group(name="Lighting"), Group(name="Sound")


class Shelf:
    """Bodies that are read when asked for, and what was asked for."""

    def __init__(self, bodies: Mapping[str, Group]) -> None:
        self.bodies, self.asked = bodies, []  # type: ignore[var-annotated]

    def entries(self, **tokens: str) -> Entries[Group]:
        return Entries({}, tokens, self.load)

    def load(self, names: tuple[str, ...]) -> dict[str, Group]:
        self.asked += [*names]
        return {name: self.bodies[name] for name in names}


def test_entries_are_sorted_by_id() -> None:
    entries = Entries({"lx": LX, "fly": FLY})
    assert list(entries) == ["fly", "lx"]
    assert entries.values() == [FLY, LX]
    assert list(entries.items()) == [("fly", FLY), ("lx", LX)]
    assert len(entries) == 2
    assert "fly" in entries
    assert "snd" not in entries
    assert entries.get("snd") is None
    with pytest.raises(KeyError):
        entries["snd"]


def test_bodies_are_read_once_and_only_when_asked_for() -> None:
    shelf = Shelf({"fly": FLY, "lx": LX, "snd": SND})
    entries = shelf.entries(fly="1", lx="2", snd="3")
    assert list(entries) == ["fly", "lx", "snd"]
    assert "fly" in entries
    assert shelf.asked == []
    assert entries["lx"] is entries["lx"] is LX
    assert shelf.asked == ["lx"]
    assert entries.values() == [FLY, LX, SND]
    assert shelf.asked == ["lx", "fly", "snd"]


def test_what_two_shows_share_is_not_read_to_compare_them() -> None:
    shelf = Shelf({"fly": FLY, "lx": LX, "snd": SND})
    other = Shelf({"fly": FLY, "lx": Group(name="Light"), "snd": SND, "auto": Group()})
    one, two = (
        shelf.entries(fly="1", lx="2", snd="3"),
        other.entries(fly="1", lx="x", snd="other text, same body", auto="9"),
    )
    assert differing(one, two) == ("auto", "lx")
    assert sorted(shelf.asked) == ["lx", "snd"]
    assert sorted(other.asked) == ["auto", "lx", "snd"]
    assert one != two


def test_an_edit_makes_new_entries_and_leaves_the_old_ones() -> None:
    shelf = Shelf({"fly": FLY, "lx": LX})
    old = shelf.entries(fly="1", lx="2")
    new = old.with_changes({"fly": None, "snd": SND, "lx": Group(name="Light")})
    assert list(new) == ["lx", "snd"]
    assert new["lx"].name == "Light"
    assert list(old) == ["fly", "lx"]
    assert old["lx"] is LX
    assert differing(old, new) == ("fly", "lx", "snd")
    assert new.token("lx") is None


def test_an_edited_body_that_is_as_before_differs_in_nothing() -> None:
    shelf = Shelf({"fly": FLY})
    old = shelf.entries(fly="1")
    assert differing(old, old.with_changes({"fly": Group(name="Fly")})) == ()


@given(edited_shows())
def test_differing_names_exactly_what_an_edit_touched(edited: tuple[Show, list]) -> None:  # type: ignore[type-arg]
    show, edits = edited
    for edit in edits:
        after = edit.applied(show)
        for section in SECTIONS:
            one, two = show.section(section), after.section(section)
            expected = {name for name in {*one, *two} if one.get(name) != two.get(name)}
            assert set(differing(one, two)) == expected == set(differing(two, one))
            touched = {put.steps[1] for put in edit.puts if put.steps[0] == section}
            assert expected <= touched
        show = after


@given(shows(), st.randoms())
def test_the_tree_is_arranged_whatever_the_order_it_was_read_in(show: Show, random: object) -> None:
    def shuffled(value: object) -> object:
        if isinstance(value, dict):
            items = [(name, shuffled(inner) if name != "extra" else inner) for name, inner in value.items()]
            random.shuffle(items)  # type: ignore[attr-defined]
            return dict(items)
        return value

    tree = show.tree()
    mixed = shuffled(tree)
    assert isinstance(mixed, dict)
    assert repr(show_from_tree(mixed).tree()) == repr(tree)
    assert repr(arranged(mixed, DOCUMENT)) == repr(tree)


def test_what_a_display_shows() -> None:
    show = show_from_tree(
        {
            "format": 2,
            "lines": {"paging": {"label": "PAGE"}, "alarm": {"name": "Alarm"}, "relay": {}},
            "groups": {"lx": {"name": "Lighting", "label": "LX"}, "snd": {"name": "Sound"}, "fly": {}},
            "users": {
                "sm": {"label": "SM", "channels": {"lx": {"number": 1, "label": "BOARD"}, "snd#2": {"number": 2}}}
            },
        }
    )
    assert [show.label(name) for name in ("lx", "snd", "fly", "sm", "gone")] == ["LX", "Sound", "fly", "SM", "gone"]
    assert [show.label(name) for name in ("alarm", "paging", "relay")] == ["Alarm", "PAGE", "relay"]
    sm = show.users["sm"]
    assert [show.key_label(sm, name) for name in ("lx", "snd#2", "alarm")] == ["BOARD", "Sound", "Alarm"]
    assert show.key_label(None, "lx#3") == "LX"


def test_an_own_kind_goes_before_a_built_in_one() -> None:
    show = show_from_tree({"format": 2, "kinds": {"desk-8": {"keys": 9}, "panel-15x2": {"keys": 15, "pages": 2}}})
    assert [(kind.keys, kind.pages) for name in ("desk-8", "panel-15x2", "pack-4") if (kind := show.kind(name))] == [
        (9, 1), (15, 2), (4, 1),
    ]  # fmt: skip
    assert show.kind("tin-can") is None


def test_a_target_is_a_group_or_a_user() -> None:
    show = show_from_tree({"format": 2, "groups": {"lx": {}}, "users": {"sm": {}}})
    assert isinstance(show.target("lx"), Group)
    assert isinstance(show.target("sm"), User)
    assert show.target("gone") is None
