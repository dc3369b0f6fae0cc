"""Edits in the trade's terms: what is one change, what it is called, and the sentence that tells it."""

from __future__ import annotations

from typing import Any

import pytest

from showvc.changes import Change, edits, edits_at
from showvc.document import show_from_tree
from tests.merging.cases import GONE, SMALL, Edits, edited

Told = tuple[str, str, Any, Any, str]


def told(*changes: Change) -> list[Told]:
    return [(change.path, change.change, change.before, change.after, change.text) for change in changes]


def changes_of(after: Edits, before: Edits | None = None) -> list[Told]:
    show = edited(SMALL, before or {})
    return told(*edits(show, edited(show, after)).changes)


def test_no_edit_is_no_change() -> None:
    found = edits(SMALL, show_from_tree(SMALL.tree()))
    assert found.changes == ()
    assert not found
    assert found.counts() == {}


def test_a_group_renamed_is_one_change_and_not_one_for_each_user_on_it() -> None:
    assert changes_of({"groups/fly/name": "Fly Floor"}) == [
        (
            "/groups/fly/name",
            "renamed",
            "Fly Rail",
            "Fly Floor",
            "group FLY (Fly Rail): name is now Fly Floor, was Fly Rail",
        )
    ]


def test_a_label_is_a_name_too() -> None:
    assert changes_of({"groups/fly/label": "RAIL"}) == [
        ("/groups/fly/label", "renamed", "FLY", "RAIL", "group FLY (Fly Rail): label is now RAIL, was FLY")
    ]


def test_the_label_of_a_channel_is_no_name() -> None:
    assert changes_of({"users/sm/channels/fly/label": "CUES"}) == [
        (
            "/users/sm/channels/fly/label", "added", None, "CUES",
            "user SM (Stage Manager): CUES: label is new: CUES",
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (None, {"to": "house crew"}, "lent to house crew (no date)"),
        (None, {"to": "house crew", "until": "2026-12-04"}, "lent to house crew until 2026-12-04"),
        ({"to": "house crew", "until": "2026-12-04"}, None, "back from house crew (was lent until 2026-12-04)"),
        ({"to": "house crew"}, None, "back from house crew (was lent with no date)"),
        (
            {"to": "house crew", "until": "2026-12-04"}, {"to": "house crew", "until": "2026-12-06"},
            "lent to house crew until 2026-12-06 now (was until 2026-12-04)",
        ),
        (
            {"to": "house crew", "until": "2026-12-04"}, {"to": "house crew"},
            "lent to house crew with no date now (was until 2026-12-04)",
        ),
        (
            {"to": "house crew"}, {"to": "guest choir"},
            "lent to guest choir with no date now (was to house crew with no date)",
        ),
    ],
)  # fmt: skip
def test_a_loan(before: Any, after: Any, said: str) -> None:
    known: Edits = {"devices/pack-9": {"kind": "pack-4"} | ({"lent": before} if before else {})}
    ((*_, text),) = changes_of({"devices/pack-9/lent": after or GONE}, known)
    assert text == f"device pack-9: {said}"


def test_the_title() -> None:
    ((path, kind, _, _, text),) = changes_of({"title": "The Salt Road, winter"})
    assert (path, kind) == ("/title", "renamed")
    assert text == "the show's title is now The Salt Road, winter, was The Salt Road"


def test_a_channel_that_went_from_4_to_6_moved() -> None:
    assert changes_of({"users/sm/channels/asm/number": 6}) == [
        (
            "/users/sm/channels/asm/number", "moved", 4, 6,
            "user SM (Stage Manager): channel 6 is now ASM (moved from 4)",
        )
    ]  # fmt: skip


def test_two_channels_that_traded_numbers_swapped() -> None:
    assert changes_of({"users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1}) == [
        (
            "/users/sm/channels", "swapped", {"lx": 1, "snd": 3}, {"lx": 3, "snd": 1},
            "user SM (Stage Manager): LX and SND swapped channels 1 and 3",
        )
    ]  # fmt: skip


def test_a_channel_swaps_with_one_other_though_a_third_goes_to_the_same_number() -> None:
    found = changes_of({f"users/sm/channels/{name}/number": to for name, to in (("lx", 3), ("snd", 1), ("asm", 1))},
                       {"users/sm/channels/asm/number": 3})  # fmt: skip
    assert [(path, kind) for path, kind, *_ in found] == [
        ("/users/sm/channels", "swapped"), ("/users/sm/channels/snd/number", "moved")
    ]  # fmt: skip


def test_two_keys_swap_once_though_a_third_holds_the_same() -> None:
    held = {"A1": "lx", "A2": "fly", "A3": "fly"}
    found = changes_of({"devices/desk-01/keys": {"A1": "fly", "A2": "lx", "A3": "lx"}}, {"devices/desk-01/keys": held})
    assert [(path, kind) for path, kind, *_ in found] == [
        ("/devices/desk-01/keys", "swapped"), ("/devices/desk-01/keys/A3", "changed")
    ]  # fmt: skip


def test_what_else_changed_of_two_that_swapped_is_told_beside_it() -> None:
    found = changes_of({
        "users/sm/channels/lx/number": 3, "users/sm/channels/snd/number": 1, "users/sm/channels/lx/level": -3
    })  # fmt: skip
    assert [change[:2] for change in found] == [
        ("/users/sm/channels", "swapped"),
        ("/users/sm/channels/lx/level", "changed"),
    ]


def test_three_that_went_round_are_three_moves() -> None:
    found = changes_of({
        "users/sm/channels/lx/number": 2, "users/sm/channels/fly/number": 3, "users/sm/channels/snd/number": 1
    })  # fmt: skip
    assert [change[1] for change in found] == ["moved"] * 3
    assert found[0][4] == "user SM (Stage Manager): channel 1 is now SND, was LX (moved from 3)"


def test_a_number_given_to_another_target_says_who_was_there() -> None:
    found = changes_of({"users/sm/channels/lx": GONE, "users/sm/channels/stage": {"number": 1, "talk": "latch"}})
    assert [(change[0], change[1], change[4]) for change in found] == [
        (
            "/users/sm/channels/lx", "removed",
            "user SM (Stage Manager): channel 1, LX, is gone (it is STAGE now)",
        ),
        (
            "/users/sm/channels/stage", "added",
            "user SM (Stage Manager): channel 1 is now STAGE, was LX: talk latch",
        ),
    ]  # fmt: skip


def test_a_number_given_to_a_second_target_says_that_both_have_it() -> None:
    both = {"users/sm/channels/stage": {"number": 1, "talk": "latch"}}
    assert [change[4] for change in changes_of(both)] == [
        "user SM (Stage Manager): channel 1 is now STAGE and LX at once: talk latch"
    ]
    assert [change[4] for change in changes_of({"users/sm/channels/snd/number": 1})] == [
        "user SM (Stage Manager): channel 1 is now SND and LX at once (moved from 3)"
    ]


def test_a_channel_added_shows_how_it_talks_and_listens_and_no_defaults() -> None:
    ((path, kind, before, after, text),) = changes_of({"users/sm/channels/stage": {"number": 5, "listen": "always"}})
    assert (path, kind, before) == ("/users/sm/channels/stage", "added", None)
    assert after == {"number": 5, "listen": "always"}
    assert text == "user SM (Stage Manager): channel 5 is now STAGE: listen always"


def test_a_talk_mode() -> None:
    assert changes_of({"users/sm/channels/lx/talk": "dual"}) == [
        (
            "/users/sm/channels/lx/talk", "changed", "latch", "dual",
            "user SM (Stage Manager): LX: talk is now dual, was latch",
        )
    ]  # fmt: skip


def test_two_keys_that_traded_places_swapped() -> None:
    assert changes_of({"devices/desk-01/keys/A1": "snd", "devices/desk-01/keys/A3": "lx"}) == [
        (
            "/devices/desk-01/keys", "swapped", {"A1": "lx", "A3": "snd"}, {"A1": "snd", "A3": "lx"},
            "device desk-01 (Prompt desk): keys A1 and A3 swapped: now SND and LX",
        )
    ]  # fmt: skip


def test_what_went_to_an_empty_key_moved() -> None:
    assert changes_of({"devices/desk-01/keys/A1": GONE, "devices/desk-01/keys/A5": "lx"}) == [
        (
            "/devices/desk-01/keys", "moved", {"A1": "lx"}, {"A5": "lx"},
            "device desk-01 (Prompt desk): LX moved from key A1 to A5",
        )
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("edit", "kind", "text"),
    [
        ({"devices/desk-01/keys/A4": "asm"}, "added", "key A4 is now ASM"),
        ({"devices/desk-01/keys/A3": "asm"}, "changed", "key A3 is now ASM, was SND"),
        ({"devices/desk-01/keys/A3": GONE}, "removed", "key A3 is now empty, was SND"),
        ({"devices/desk-01/keys/A3": "paging"}, "changed", "key A3 is now PAGE, was SND"),
    ],
)
def test_one_key(edit: Edits, kind: str, text: str) -> None:
    ((path, found, _, _, said),) = changes_of(edit)
    assert (path, found) == ("/" + next(iter(edit)), kind)
    assert said == f"device desk-01 (Prompt desk): {text}"


@pytest.mark.parametrize(
    ("edit", "text"),
    [
        ({"devices/pack-03/user": "asm"}, "device pack-03 (Spare pack): worn by ASM now, was worn by nobody"),
        ({"devices/pack-03/kind": "pack-2"}, "device pack-03 (Spare pack): kind is now pack-2, was pack-4"),
        ({"bridges/radio/target": "stage"}, "bridge radio (Radio base): tied to STAGE now, was tied to SND"),
        ({"bridges/radio/direction": "in"}, "bridge radio (Radio base): direction is now in, was both"),
        ({"groups/lx/critical": True}, "group LX (Lighting): critical is now yes, was no"),
        ({"groups/fly/tags": ["rig", "tour"]}, "group FLY (Fly Rail): tags +tour −stage"),
        ({"limits/devices": 20}, "the show's limit of devices is now 20, was 6"),
        ({"required/sm-fly/both": True}, "the show's required path sm-fly, both is now yes, was no"),
        ({"lines/stop": {"label": "HELP"}}, "the show's line stop is new: label HELP"),
        ({"kinds/rack-panel": {"keys": 15, "pages": 2}}, "the show's kind rack-panel is new: keys 15, pages 2"),
        ({"notes": "Load-in at nine.\n"}, "the show's notes were edited"),
        ({"users/asm/lines/alarm": {"talk": "momentary"}},
         "user ASM (Assistant Stage Manager): lines alarm is new: talk momentary"),
    ],
)  # fmt: skip
def test_other_fields(edit: Edits, text: str) -> None:
    ((*_, said),) = changes_of(edit)
    assert said == text


@pytest.mark.parametrize(
    ("edit", "path", "kind", "text"),
    [
        ({"groups/pyro": {"name": "Pyro", "label": "PYRO"}}, "/groups/pyro", "added", "group PYRO (Pyro) is new"),
        ({"bridges/radio": GONE}, "/bridges/radio", "removed", "bridge radio (Radio base) is gone"),
        ({"devices/pack-01": GONE}, "/devices/pack-01", "removed", "device pack-01 is gone"),
    ],
)
def test_whole_things(edit: Edits, path: str, kind: str, text: str) -> None:
    ((found, how, before, after, said),) = changes_of(edit)
    assert (found, how, said) == (path, kind, text)
    assert (before is None) == (kind == "added")
    assert (after is None) == (kind == "removed")


# --- what is only carried along


def test_extra_is_told_apart_by_its_innermost_fields() -> None:
    before = {"groups/lx/extra": {"row": 11, "lamp": {"colour": "amber", "on": True}, "old": None}}
    after = {"groups/lx/extra": {"row": 12, "lamp": {"colour": "amber", "on": 1}, "new": ["a"]}}
    assert [change[:4] for change in changes_of(after, before)] == [
        ("/groups/lx/extra/lamp/on", "changed", True, 1),
        ("/groups/lx/extra/new", "added", None, ["a"]),
        ("/groups/lx/extra/old", "removed", None, None),
        ("/groups/lx/extra/row", "changed", 11, 12),
    ]


def test_a_list_within_extra() -> None:
    found = changes_of({"groups/lx/extra": {"rows": [1, 2]}}, {"groups/lx/extra": {"rows": [1, 3]}})
    assert [change[:4] for change in found] == [("/groups/lx/extra/rows/1", "changed", 3, 2)]


def test_what_would_move_a_terminals_cursor_is_escaped_in_sentences_alone() -> None:
    ((path, _, _, after, text),) = changes_of({"groups/lx/extra": {"a\nb": "\x1b[2Jgone"}})
    assert (path, after) == ("/groups/lx/extra/a\nb", "\x1b[2Jgone")
    assert text == r"group LX (Lighting): extra a\nb is new: \u001b[2Jgone"


# --- the whole


def test_changes_come_in_the_order_of_the_document() -> None:
    found = changes_of({
        "devices/pack-03/place": "Dock", "title": "Salt", "bridges/radio/port": 3, "users/sm/channels/fly/level": 3,
        "users/sm/channels/lx/level": 3, "groups/lx/name": "Lights", "users/asm/label": "DSM",
    })  # fmt: skip
    assert [change[0] for change in found] == [
        "/title",
        "/groups/lx/name",
        "/users/asm/label",
        "/users/sm/channels/lx/level",
        "/users/sm/channels/fly/level",
        "/devices/pack-03/place",
        "/bridges/radio/port",
    ]


def test_counts() -> None:
    after = edited(
        SMALL, {"groups/lx/name": "Lights", "groups/pyro": {}, "bridges/radio": GONE, "groups/fly/label": "F"}
    )
    assert edits(SMALL, after).counts() == {"added": 1, "removed": 1, "renamed": 2}


def test_every_change_knows_its_thing_and_its_department() -> None:
    after = edited(SMALL, {"users/lx-op/label": "LX 1", "devices/pack-01/place": "Dock", "groups/lx/name": "Lights"})
    subjects = edits(SMALL, after).subjects
    assert subjects["/users/lx-op"].department == "lighting"
    assert subjects["/devices/pack-01"].department == "stage"  # that of who wears it
    assert subjects["/groups/lx"].department == ""
    assert subjects["/devices/pack-01"].name == "device pack-01"


def test_the_edits_at_one_place() -> None:
    after = edited(
        SMALL, {"users/sm/channels/lx/level": 3, "users/sm/label": "S", "title": "Salt", "bridges/radio": GONE}
    )
    assert [change.path for change in edits_at(SMALL, after, ("users", "sm"))] == [
        "/users/sm/label",
        "/users/sm/channels/lx/level",
    ]
    assert [change.path for change in edits_at(SMALL, after, ("users", "sm", "channels", "lx"))] == [
        "/users/sm/channels/lx/level"
    ]
    assert [change.path for change in edits_at(SMALL, after, ("title",))] == ["/title"]
    assert [change.path for change in edits_at(SMALL, after, ("bridges", "radio"))] == ["/bridges/radio"]
    assert edits_at(SMALL, after, ("users", "nobody")) == ()


def test_as_json() -> None:
    after = edited(SMALL, {"groups/lx/name": "Lights"})
    assert edits(SMALL, after).plain() == {
        "changes": [{"path": "/groups/lx/name", "change": "renamed", "before": "Lighting", "after": "Lights"}],
        "effect": None,
    }


# --- where the columns of plots stand ---


def kept(**plots: Any) -> dict[str, Any]:
    return {"extra": {"plots": plots, "columns": {"Users": ["Name", "Id"]}}}


def layout_texts(before: dict[str, Any], after: dict[str, Any]) -> list[tuple[str, str]]:
    sides = [show_from_tree({"title": "The Salt Road", **each}) for each in (before, after)]
    return [(change.path, change.text) for change in edits(*sides).changes]


def test_the_columns_that_an_import_keeps_are_told_in_one_sentence() -> None:
    place = {"heads": ["Position", "LX", "FLY"], "above": [["The Salt Road", None]], "words": {"lx": "LX"}}
    assert layout_texts({}, kept(**{"crew-grid.xlsx": place})) == [
        ("/extra/columns", "the columns of the sheet Users are kept, for its export"),
        ("/extra/plots", "the columns of the plot crew-grid.xlsx are kept, for its export"),
    ]
    moved = {**place, "heads": ["LX", "Position", "FLY"], "words": {"lx": "Lights"}}
    assert layout_texts(kept(grid=place), kept(grid=moved)) == [
        ("/extra/plots/grid", "the columns of the plot grid stand otherwise now")
    ]
    assert ("/extra/plots", "the columns of the plots a, b are kept, for their export") in layout_texts(
        {}, kept(a=place, b=place)
    )
    assert layout_texts(kept(grid=place), kept()) == [
        ("/extra/plots/grid", "the columns of the plot grid are no longer kept")
    ]


# --- ids


def test_an_id_that_changed_is_one_change_and_no_loss() -> None:
    from showvc.changes import compare
    from showvc.identity.references import renamed
    from tests.merging.cases import SMALL, edited

    after = edited(renamed(SMALL, "groups", "lx", "lighting"), {"users/lx-op/channels/lighting/talk": "dual"})
    found = compare(SMALL, after)
    assert [(each.path, each.change, each.before, each.after) for each in found.changes] == [
        ("/groups/lighting", "renamed", "lx", "lighting"),
        ("/users/lx-op/channels/lighting/talk", "changed", "latch", "dual"),
    ]
    assert found.changes[0].text == "group LX (Lighting): id is now lighting, was lx"
    assert found.effect is not None
    assert not found.effect.lost
    assert not found.effect.gained
    assert found.effect.strips == ()
