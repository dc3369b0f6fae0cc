"""Large sets of positions in few words."""

from __future__ import annotations

from showvc.changes import Folder, effect_of
from showvc.document import Show, show_from_tree


def crew(departments: dict[str, int], **more: dict[str, object]) -> Show:
    users = {
        f"{name}-{number}": {"label": f"{name.upper()} {number}", "department": name}
        for name, count in departments.items()
        for number in range(1, count + 1)
    }
    return show_from_tree({"users": {**users, **more}})


def words(show: Show, *names: str) -> str:
    return Folder(show, show).words(names)


def test_a_whole_department_is_one_word() -> None:
    show = crew({"lx": 14, "fly": 2})
    assert words(show, *(f"lx-{number}" for number in range(1, 15))) == "all 14 of lx"


def test_a_department_with_one_missing_is_told_by_name() -> None:
    show = crew({"lx": 4})
    assert words(show, "lx-1", "lx-2", "lx-4") == "LX 1, LX 2 and LX 4"


def test_two_of_two_are_told_by_name() -> None:
    show = crew({"fly": 2})
    assert words(show, "fly-1", "fly-2") == "FLY 1 and FLY 2"


def test_departments_first_the_largest_on_top_then_names() -> None:
    show = crew({"lx": 4, "snd": 3, "fly": 2}, sm={"label": "SM"})
    everybody = [
        "sm",
        "fly-2",
        *(f"snd-{number}" for number in (1, 2, 3)),
        *(f"lx-{number}" for number in (1, 2, 3, 4)),
    ]
    assert words(show, *everybody) == "all 4 of lx, all 3 of snd, FLY 2 and SM"


def test_many_single_names_are_counted() -> None:
    show = crew({"lx": 30})
    assert words(show, *(f"lx-{number}" for number in range(1, 21))).endswith(" and 8 more")


def test_nobody() -> None:
    assert words(crew({}), *()) == "nobody"


def test_a_department_counts_who_was_in_it_before_or_is_after() -> None:
    before, after = crew({"lx": 4}), crew({"lx": 3})
    assert Folder(before, after).words(["lx-1", "lx-2", "lx-3"]) == "LX 1, LX 2 and LX 3"
    assert Folder(before, after).words(["lx-1", "lx-2", "lx-3", "lx-4"]) == "all 4 of lx"


# --- sentences of pairs


def plot(talk: str, **listen: str) -> Show:
    """SM and DSM on LX with this talk mode, SM listening; and fourteen of the LX crew who listen."""
    crew = {
        f"lx-{number}": {"label": f"LX {number}", "department": "LX", "channels": {"lx": {"number": 1}}}
        for number in range(1, 15)
    }
    people = {
        name: {"label": name.upper(), "channels": {"lx": {"number": 1, "talk": talk, "listen": mode}}}
        for name, mode in listen.items()
    }
    return show_from_tree({"groups": {"lx": {}}, "users": {**people, **crew}})


def lost(before: Show, after: Show) -> list[str]:
    return Folder(before, after).lines(effect_of(before, after).lost, "no longer heard by")


def test_who_is_no_longer_heard_by_a_whole_department() -> None:
    before, after = plot("latch", sm="none"), plot("none", sm="none")
    assert lost(before, after) == ["SM is no longer heard by all 14 of LX"]


def test_talkers_with_the_same_listeners_are_one_sentence() -> None:
    before, after = plot("latch", sm="none", dsm="none"), plot("none", sm="none", dsm="none")
    assert lost(before, after) == ["DSM and SM are no longer heard by all 14 of LX"]


def test_those_who_are_cut_off_from_each_other_are_one_sentence() -> None:
    before, after = plot("latch", sm="always", dsm="always"), plot("none", sm="always", dsm="always")
    assert lost(before, after) == ["DSM and SM are no longer heard by each other and all 14 of LX"]


def test_talkers_with_other_listeners_are_another_sentence() -> None:
    before, after = plot("latch", sm="always", dsm="none"), plot("none", sm="always", dsm="none")
    assert lost(before, after) == [
        "DSM is no longer heard by all 14 of LX and SM",
        "SM is no longer heard by all 14 of LX",
    ]


def test_with_the_matrices_a_whole_group_is_one_word() -> None:
    def band(talk: str) -> Show:
        players = {
            f"desk-{number}": {"channels": {"band": {"number": 1, "listen": "always"}}} for number in range(1, 5)
        }
        md = {"label": "MD", "channels": {"band": {"number": 1, "talk": talk, "listen": "none"}}}
        return show_from_tree({"groups": {"band": {"label": "BAND"}}, "users": {"md": md, **players}})

    before, after = band("latch"), band("none")
    effect = effect_of(before, after)
    assert Folder(before, after, effect.matrices).lines(effect.lost, "no longer heard by") == [
        "MD is no longer heard by all 4 on BAND"
    ]
