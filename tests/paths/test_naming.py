"""How things are called, and what is said of names that cannot be used."""

from __future__ import annotations

import pytest

from showvc.document import Show, ShowError, show_from_tree
from showvc.identity.calling import called, outs
from showvc.paths import check_position, spoken
from tests.paths.oracle.building import bridge, circuit, line, port, show, user

DOC = show(
    user("auto-op", "fly:mn"), user("sm", "fly:ma"), port("box", "fly:na"), circuit("truck", "hs"), line("alarm"),
    bridge("b1", "box", "truck"),
    {"users": {"auto-op": {"label": "CART"}, "sm": {"name": "Stage Manager"}}, "groups": {"fly": {"label": "FLY"}}},
)  # fmt: skip


@pytest.fixture(scope="module")
def salt() -> Show:
    return show_from_tree(DOC)


def test_an_id_is_said_where_the_label_does_not_give_it(salt: Show) -> None:
    assert [spoken(salt, name) for name in ("fly", "auto-op", "truck")] == ["FLY", "CART (auto-op)", "truck"]


@pytest.mark.parametrize(
    ("text", "name"),
    [("sm", "sm"), ("stage manager", "sm"), ("cart", "auto-op"), ("TRUCK", "truck"), ("alarm", "alarm"),
     ("everyone", "everyone"), ("department:rail", "department:rail")],
)  # fmt: skip
def test_a_label_or_name_serves_for_an_id_in_any_case(salt: Show, text: str, name: str) -> None:
    assert called(salt, text) == name


def test_a_label_that_two_have_names_both(salt: Show) -> None:
    twice = show_from_tree(show(DOC, {"users": {"sm": {"label": "CART"}}}))
    with pytest.raises(ShowError, match="may be auto-op, sm"):
        called(twice, "cart")


def test_what_nothing_is_called_says_what_is_near(salt: Show) -> None:
    with pytest.raises(ShowError, match="there is no user, group, circuit or line trukc") as error:
        called(salt, "trukc")
    assert "truck" in str(error.value)


@pytest.mark.parametrize(
    ("name", "words"),
    [("fly", "is a group"), ("alarm", "is a line"), ("box", "is a port"), ("nobody", "no user or circuit nobody")],
)
def test_a_path_begins_and_ends_at_a_position(salt: Show, name: str, words: str) -> None:
    with pytest.raises(ShowError, match=words):
        check_position(salt, name)


def test_a_port_is_answered_with_what_is_behind_it(salt: Show) -> None:
    with pytest.raises(ShowError) as error:
        check_position(salt, "box")
    assert "truck" in str(error.value)


def test_what_is_out_is_named_by_its_id_alone_where_that_is_plain(salt: Show) -> None:
    assert outs(salt, ["b1", "pack-sm", "users/sm"]) == {"bridges/b1", "devices/pack-sm", "users/sm"}
    twice = show_from_tree(show(DOC, {"carriers": {"truck": {}}}))
    with pytest.raises(ShowError, match="'truck' may be carriers/truck, circuits/truck"):
        outs(twice, ["truck"])
    assert outs(twice, ["carriers/truck"]) == {"carriers/truck"}
    with pytest.raises(ShowError, match="there is no device, bridge, circuit, carrier"):
        outs(salt, ["b9"])
