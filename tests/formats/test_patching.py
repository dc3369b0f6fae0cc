"""An edit to a file changes what it must and leaves the rest: comments, order, spacing."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showvc.document import SECTIONS, Body, Group, Show, User
from showvc.formats.files import Place, canonical, merged_text, place_of, read_file, rewritten, tree_of
from showvc.formats.patching import comments
from tests.formats.commented import commented
from tests.generator import apply_edits
from tests.strategies import edited_shows, parallel_shows, shows


def body_of(path: str, text: str) -> Any:
    place = place_of(path)
    assert place is not None
    return read_file(place, text.encode())


def bodies(show: Show) -> dict[Place, Body]:
    found: dict[Place, Body] = {Place(): show.head}
    for section in SECTIONS:
        found.update({Place(section, name): body for name, body in show.section(section).items()})
    return found


def stands(tree: Any, steps: tuple[str, ...] | None) -> bool:
    for step in steps or ():
        if not isinstance(tree, dict) or step not in tree:
            return False
        tree = tree[step]
    return True


def check_comments(text: str, after: str, body: Body) -> None:
    """Every comment stands in the new text, but for those at entries that are gone."""
    left = [comment.text for comment in comments(after)]
    for comment in comments(text):
        if stands(tree_of(body), comment.at):
            assert comment.text in left, f"{comment} is lost:\n{text}\n->\n{after}"


@given(st.data(), shows())
def test_all_comments_put_into_canonical_text_are_found(data: st.DataObject, show: Show) -> None:
    for place, body in bodies(show).items():
        text, made = data.draw(commented(body))
        assert [comment.text for comment in comments(text)] == made
        assert read_file(place, text.encode()) == body


@given(st.data(), edited_shows())
def test_an_edit_keeps_the_comments_and_gives_the_new_body(data: st.DataObject, edited: Any) -> None:
    show, edits = edited
    after = show
    for edit in edits:
        after = edit.applied(after)
    new = bodies(after)
    for place, body in bodies(show).items():
        if place in new and new[place] != body:
            text, _ = data.draw(commented(body))
            patched = rewritten(new[place], text)
            assert read_file(place, patched.encode()) == new[place]
            check_comments(text, patched, new[place])


@given(st.data(), shows(), shows())
def test_any_body_can_be_written_over_any_text(data: st.DataObject, show: Show, other: Show) -> None:
    for (place, body), (_, new) in zip(bodies(show).items(), bodies(other).items(), strict=False):
        if type(body) is type(new):
            text, _ = data.draw(commented(body))
            patched = rewritten(new, text)
            assert read_file(place, patched.encode()) == new
            check_comments(text, patched, new)


@given(st.data(), shows())
def test_an_unchanged_body_changes_no_byte(data: st.DataObject, show: Show) -> None:
    for body in bodies(show).values():
        text, _ = data.draw(commented(body))
        assert rewritten(body, text) == text


@given(st.data(), edited_shows())
def test_without_comments_an_edit_in_place_is_the_canonical_text(data: st.DataObject, edited: Any) -> None:
    show, edits = edited
    for edit in edits:
        before, show = bodies(show), edit.applied(show)
        for place, body in bodies(show).items():
            if place in before and edit.what not in ("renumber", "swap"):
                assert rewritten(body, canonical(before[place])) == canonical(body)


# --- worked examples -------------------------------------------------------------------------------------------------

SM = """\
# the caller
name: Stage Manager   # plot of March
label: SM
channels:
  fly: {number: 2, talk: momentary}  # the rail asks for always

  lx:   {number: 1,  talk: latch}
  # the two below are spares
  snd:
    number: 5
    talk: 'dual'
lines: {alarm: {talk: momentary}}
"""


def sm_with(**changes: Any) -> Any:
    tree = tree_of(body_of("users/sm.yaml", SM))
    channels = {**tree["channels"], **changes.pop("channels", {})}
    tree = {**tree, **changes, "channels": {name: value for name, value in channels.items() if value is not None}}
    return User.model_validate({name: value for name, value in tree.items() if value is not None})


@pytest.mark.parametrize(
    ("changed", "old", "new"),
    [
        ({"label": "STAGE"}, "label: SM", "label: STAGE"),
        ({"name": "NO"}, "name: Stage Manager   #", 'name: "NO"   #'),
        ({"label": None}, "label: SM\n", ""),
        ({"department": "stage"}, "label: SM\n", "label: SM\ndepartment: stage\n"),
        ({"channels": {"fly": {"number": 3, "talk": "momentary"}}}, "number: 2, talk", "number: 3, talk"),
        ({"channels": {"snd": {"number": 6, "talk": "dual"}}}, "    number: 5", "    number: 6"),
        ({"channels": {"snd": {"number": 5, "talk": "latch"}}}, "'dual'", "latch"),
        ({"channels": {"asm": {"number": 3}}}, "  # the two below", "  asm: {number: 3}\n  # the two below"),
        ({"channels": {"fly": None}}, "  fly: {number: 2, talk: momentary}  # the rail asks for always\n", ""),
        ({"lines": {"alarm": {"talk": "latch"}}}, "{talk: momentary}}", "{talk: latch}}"),
    ],
)
def test_one_edit_changes_one_place(changed: Any, old: str, new: str) -> None:
    assert SM.count(old) == 1
    after = rewritten(sm_with(**changed), SM)
    assert body_of("users/sm.yaml", after) == sm_with(**changed)
    if "asm" in str(changed):
        assert "  asm: {number: 3}\n" in after
        assert after.replace("  asm: {number: 3}\n", "") == SM
    else:
        assert after == SM.replace(old, new)


@pytest.mark.parametrize("newline", ["\r\n", "\r"])
def test_a_file_keeps_its_line_ends(newline: str) -> None:
    text = "name: Fly\nlabel: FLY\n# end\n".replace("\n", newline)
    after = rewritten(Group(name="Fly", label="RAIL", critical=True), text)
    assert after == "name: Fly\nlabel: RAIL\ncritical: true\n# end\n".replace("\n", newline)


def test_a_byte_order_mark_does_not_shift_the_edit() -> None:
    after = rewritten(Group(name="Rail"), "\ufeffname: Fly\n")
    assert body_of("groups/fly.yaml", after) == Group(name="Rail")
    assert after.removeprefix("\ufeff") == "name: Rail\n"


@pytest.mark.parametrize(
    "text",
    [
        "{name: Fly, label: FLY}  # one line\n",
        "extra:\n  a: &x {b: 1}\n  c: *x\n# shared\nname: Fly\nlabel: FLY\n",
        "? name\n: Fly\n# odd\n? label\n: FLY\n",
        "name: >-\n  Fly\n# folded\nlabel: |-\n  FLY\n",
        "name: Fly\n# no line end\nlabel: FLY",
        '# quoted over lines\nname: "Fly\\\n  "\nlabel: FLY\n',
        "---\n# with marks\nname: Fly\nlabel: FLY\n...\n",
    ],
)
def test_an_unusual_layout_keeps_its_comment_too(text: str) -> None:
    old = body_of("groups/fly.yaml", text)
    assert isinstance(old, Group)
    new = Group(name="Rail", label="FLY", tags=frozenset({"rig"}), extra=old.extra)
    after = rewritten(new, text)
    assert body_of("groups/fly.yaml", after) == new
    assert [comment.text for comment in comments(after)] == [comment.text for comment in comments(text)]


def test_true_put_in_place_of_one_is_written() -> None:
    assert rewritten(Group(extra={"x": True}), "extra:\n  x: 1  # row\n") == "extra:\n  x: true  # row\n"


# --- both sides of a merge -------------------------------------------------------------------------------------------


@given(st.data(), parallel_shows())
def test_a_merge_keeps_the_comments_of_both_sides(data: st.DataObject, parallel: Any) -> None:
    show, mine_edits, incoming_edits = parallel
    mine, incoming = apply_edits(show, mine_edits), apply_edits(show, incoming_edits)
    both = bodies(apply_edits(mine, incoming_edits))
    for place, body in bodies(show).items():
        if place not in both:
            continue
        before = canonical(body)
        my_text, my_notes = data.draw(commented(bodies(mine)[place], "mine"))
        their_text, their_notes = data.draw(commented(bodies(incoming)[place], "theirs"))
        merged = merged_text(both[place], before, my_text, their_text)
        assert read_file(place, merged.encode()) == both[place]
        left = [comment.text for comment in comments(merged)]
        check_comments(my_text, merged, both[place])
        assert set(their_notes) <= set(left)
        assert set(left) <= {*my_notes, *their_notes}


def test_a_comment_that_both_sides_had_stands_once() -> None:
    before = "# the rail\nname: Fly\n"
    mine = "# the rail\nname: Rail\n"
    theirs = "# the rail\nname: Fly\n# ask the deck\nlabel: FLY  # big letters\n"
    merged = merged_text(Group(name="Rail", label="FLY"), before, mine, theirs)
    assert merged == "# the rail\nname: Rail\n# ask the deck\n# big letters\nlabel: FLY\n"


def test_a_comment_that_one_side_took_out_stays_out() -> None:
    before = "# old\nname: Fly\n"
    merged = merged_text(Group(name="Fly", label="FLY"), before, "name: Fly\n", "# old\nname: Fly\nlabel: FLY\n")
    assert merged == "name: Fly\nlabel: FLY\n"


def test_the_same_words_at_two_places_are_two_comments() -> None:
    before = "name: Fly  # check\n"
    theirs = "name: Fly  # check\nlabel: FLY  # check\n"
    assert merged_text(Group(name="Fly", label="FLY"), before, before, theirs) == (
        "name: Fly  # check\n# check\nlabel: FLY\n"
    )


def test_a_file_that_only_one_side_has_is_taken_as_it_stands() -> None:
    text = "# new\nname: 'Fly'\n"
    assert merged_text(Group(name="Fly"), None, None, text) == text
    assert merged_text(Group(name="Fly"), None, text, None) == text
    assert merged_text(Group(name="Fly"), None, None, None) == "name: Fly\n"


def test_thousands_of_comments_and_edits_are_no_burden() -> None:
    channels = {f"t{number}": {"number": 1} for number in range(3000)}
    text = "channels:\n" + "".join(f"  # {name}\n  {name}: {{number: 1}}  # at {name}\n" for name in channels)
    after = rewritten(User.model_validate({"channels": {name: {"number": 2} for name in channels}}), text)
    assert after == text.replace("number: 1", "number: 2")
