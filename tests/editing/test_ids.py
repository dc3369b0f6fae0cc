"""An id changed everywhere, and a thing again under another."""

from __future__ import annotations

import re

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from showvc.document import SECTIONS, Show, ShowError
from showvc.document.editing import put
from showvc.document.references import dangling, references
from showvc.editing import copy, rename
from showvc.rules import check
from tests.editing.salt import salt
from tests.strategies import plain_shows, shows


def test_an_id_changes_wherever_it_is_referred_to() -> None:
    done = rename(salt(), "fly", "rail")
    assert done.renamed == (("/groups/fly", "/groups/rail"),)
    assert list(done.show.users["sm"].channels) == ["lx", "rail"]
    assert done.show.devices["desk"].keys["A2"] == "rail"
    assert done.show.bridges["party"].target == "rail"
    assert done.show.required["sm-fly"].over == "rail"
    assert list(dangling(done.show)) == []


@pytest.mark.parametrize(
    ("what", "new", "place"),
    [("alarm", "bell", "lines/bell"), ("kinds/rack", "shelf", "kinds/shelf"), ("CART", "crew", "users/crew")],
)
def test_lines_kinds_and_labels_too(what: str, new: str, place: str) -> None:
    show = put(salt(), {("users", "box", "label"): "Cart"})
    done = rename(show, what, new)
    section, name = place.split("/")
    assert name in (done.show.section(section) if section in SECTIONS else getattr(done.show.head, section))
    assert list(dangling(done.show)) == []


@pytest.mark.parametrize(
    ("what", "new", "words"),
    [
        ("fly", "lx", "lx is taken: groups/lx has it"),
        ("fly", "alarm", "alarm is taken: lines/alarm has it"),
        ("fly", "house", "house is taken: circuits/house has it"),
        ("fly", "Fly", "is not an id"),
        ("nobody", "x", "there is no"),
        ("pack-4", "x", "pack-4 is a built-in kind"),
    ],
)
def test_an_id_that_cannot_be(what: str, new: str, words: str) -> None:
    with pytest.raises(ShowError, match=re.escape(words)):
        rename(salt(), what, new)


def test_an_id_that_something_refers_to_already_is_not_taken_over() -> None:
    show = put(salt(), {("devices", "pack-2", "keys", "A2"): "rail"})
    with pytest.raises(ShowError, match="devices/pack-2/keys/A2 refers to rail already, which isn't there"):
        rename(show, "lx", "rail")


def test_what_is_accepted_stays_accepted() -> None:
    finding = next(each for each in check(salt()) if each.severity != "block" and each.path == "/devices/spare")
    entry = {"rule": finding.code, "at": finding.path, "facts": finding.facts, "why": "known"}
    show = put(salt(), {("accepted", "one"): entry})
    assert any(each.accepted for each in check(show))
    after = rename(show, "spare", "spare-9").show
    assert any(each.accepted == "known" and "spare-9" in each.path for each in check(after))
    assert rename(after, "spare-9", "spare").show == show


@given(show=st.one_of(plain_shows(), shows()), data=st.data())
def test_back_and_forth_is_the_identity(show: Show, data: st.DataObject) -> None:
    section = data.draw(st.sampled_from([*SECTIONS, "lines"]))
    names = list(show.lines if section == "lines" else show.section(section))
    assume(names)
    old = data.draw(st.sampled_from(names))
    assume(all(old not in ids for other, ids in _ids(show).items() if other != section))
    assume(not any(each.target == "new-id" for each in references(show)))
    there = rename(show, f"{section}/{old}", "new-id")
    assert old not in (there.show.lines if section == "lines" else there.show.section(section))
    assert rename(there.show, f"{section}/new-id", old).show == show


def _ids(show: Show) -> dict[str, set[str]]:
    return {**{name: {*show.section(name)} for name in SECTIONS}, "lines": {*show.lines}}


def test_a_copy_has_all_but_what_one_unit_alone_has() -> None:
    user = copy(salt(), "fly-1", "fly-9", name="Ninth", label="FLY 9").show.users["fly-9"]
    assert (user.name, user.label, user.channels) == ("Ninth", "FLY 9", salt().users["fly-1"].channels)
    done = copy(salt(), "desk", "desk-2")
    assert done.show.devices["desk-2"].hardware is None
    assert done.show.devices["desk-2"].keys == salt().devices["desk"].keys
    assert done.notes == ("Not copied, for one unit alone has it: hardware.",)


def test_a_label_that_two_have_now_is_a_finding() -> None:
    known = {(each.code, each.path) for each in check(salt())}
    found = [each for each in check(copy(salt(), "fly-1", "fly-9").show) if (each.code, each.path) not in known]
    assert any("FLY 1" in each.message for each in found)


@pytest.mark.parametrize(
    ("what", "new", "words"),
    [("fly-1", "fly-2", "fly-2 is taken"), ("fly", "x", "there is no user or device fly"), ("sm", "X", "is not an id")],
)
def test_a_copy_that_cannot_be(what: str, new: str, words: str) -> None:
    with pytest.raises(ShowError, match=words):
        copy(salt(), what, new)
    with pytest.raises(ShowError, match="a device has no label"):
        copy(salt(), "desk", "desk-2", label="D")
