"""From one show to the next: what is worked out again is the same as what is worked out anew."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Entries, Show, show_from_tree
from showvc.paths import ANY, AT_LEVEL_0, SURE, Paths, Reading, advance, difference, talk_paths, with_out
from tests.paths.oracle.building import floor, line, show, user
from tests.paths.oracle.shows import broken_documents, document_pairs, documents
from tests.paths.oracle.there import Doc
from tests.paths.ours import effect, paths_of


def show_of(doc: Doc) -> Show:
    return show_from_tree({"format": 2, **doc})


def told(read: Reading) -> dict[str, Any]:
    """Everything that a reading says, by ids."""
    over = {
        (talker, target, tier): read.names(read.over(talker, target, tier))
        for talker in read.positions
        for target in read.hands(talker)
        for tier in (ANY, AT_LEVEL_0, SURE)
    }
    return {
        "on headset": read.names(read.on_headset),
        "hands": {talker: (dict(read.hands(talker)), dict(read.sure_hands(talker))) for talker in read.positions},
        "heard by": {talker: read.heard_by(talker) for talker in read.positions},
        "over": over,
    }


def all_told(paths: Paths) -> list[dict[str, Any]]:
    return [told(read) for read in (paths.surely, paths.unwritten, paths.possibly)]


@given(st.lists(st.one_of(documents, broken_documents), min_size=2, max_size=4))
def test_any_shows_one_after_the_other(docs: list[Doc]) -> None:
    paths = paths_of(docs[0])
    for doc in docs[1:]:
        paths = advance(paths, show_of(doc))
        assert all_told(paths) == all_told(paths_of(doc))


@given(document_pairs)
def test_a_few_edits(pair: tuple[Doc, Doc]) -> None:
    assert all_told(advance(paths_of(pair[0]), show_of(pair[1]))) == all_told(paths_of(pair[1]))


@given(document_pairs)
def test_a_difference_does_not_ask_how_the_paths_were_come_by(pair: tuple[Doc, Doc]) -> None:
    before, after = map(paths_of, pair)
    anew, onward = difference(before, after), difference(before, advance(before, after.show))
    for part in ("off_headset", "back_on_headset", "weaker"):
        assert sorted(getattr(anew, part), key=repr) == sorted(getattr(onward, part), key=repr)
    assert (set(anew.lost), set(anew.gained)) == (set(onward.lost), set(onward.gained))
    assert set(anew.lost_over()) == set(onward.lost_over())
    assert set(anew.gained_over()) == set(onward.gained_over())


@given(documents)
def test_a_show_has_no_effect_on_itself(doc: Doc) -> None:
    assert effect(doc, doc) == {}
    assert not difference(paths_of(doc), paths_of(doc))


@given(documents, st.randoms(use_true_random=False))
def test_what_is_out_is_out_whether_it_is_said_before_or_after(doc: Doc, rng: Any) -> None:
    things = [
        f"{section}/{name}"
        for section in ("devices", "bridges", "circuits", "carriers")
        for name in doc.get(section, {})
    ]
    out = frozenset(rng.sample(things, min(len(things), 2)))
    assert all_told(with_out(paths_of(doc), out)) == all_told(talk_paths(show_of(doc), out))


def test_another_floor_and_other_lines_change_what_lists_say() -> None:
    """The ear of who was below the floor, and the written use of a line that was none."""
    before = show(user("sm", "fly:mn", "!alarm:m-"), user("a", "fly:na@-20", "!alarm:nn"), floor(-10))
    after = show(before, floor(-30), line("alarm"))
    assert all_told(advance(paths_of(before), show_of(after))) == all_told(paths_of(after))
    assert all_told(advance(paths_of(after), show_of(before))) == all_told(paths_of(before))


def test_only_bodies_that_may_differ_are_read() -> None:
    """Two shows whose contents have names are compared without reading what they share."""
    doc = {
        "groups": {"fly": {}},
        "users": {name: {"channels": {"fly": {"number": 1, "talk": "momentary"}}} for name in ("a", "b", "c")},
    }
    whole = show_of(doc)
    read: list[str] = []

    def load(names: tuple[str, ...]) -> dict[str, Any]:
        read.extend(names)
        return {name: whole.users[name] for name in names}

    tokens = {name: name for name in whole.users}
    before = Show(whole.head, whole.groups, Entries(tokens=tokens, load=load), whole.devices)
    after = Show(whole.head, whole.groups, Entries(tokens={**tokens, "b": "other"}, load=load), whole.devices)
    paths = talk_paths(before)
    read.clear()
    advance(paths, after)
    assert read == ["b"]
