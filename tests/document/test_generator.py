"""The generator keeps its word: valid shows of the size asked for, and edits that stay valid and independent."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show
from showvc.document.editing import ABSENT, put
from showvc.rules import check
from tests.generator import EDITS, apply_edits, different_leaves, random_edits, random_show
from tests.strategies import edited_shows, parallel_shows, seeds


def stops(show: Show) -> list[str]:
    """What blocks the show once everybody is on headset: who has a device, and who talks at all, is left to chance."""
    packs = {("devices", f"worn-by-{user}"): {"kind": "pack-4", "user": user} for user in show.users}
    worn = put(show, {**packs, ("limits", "devices"): ABSENT})
    nobody = ("critical-no-talker", "critical-no-ear")
    found = [each for each in check(worn) if each.severity == "block" and each.code not in nobody]
    if show.head.limits.devices is not None and len(show.devices) > show.head.limits.devices:
        return ["more devices than the system takes"]
    return [f"{finding.code} {finding.path}" for finding in found]


@given(seeds, st.integers(0, 30), st.integers(0, 12), st.integers(1, 20), st.integers(0, 4), st.integers(0, 9))
def test_a_show_has_the_size_asked_for_and_no_fault(
    seed: int, users: int, groups: int, devices: int, bridges: int, channels: int
) -> None:
    bridges = bridges if users + groups else 0
    show = random_show(seed, users, groups, devices, bridges, channels)
    assert (len(show.users), len(show.groups), len(show.devices), len(show.bridges)) == (
        users,
        groups,
        devices,
        bridges,
    )
    assert all(len(user.channels) <= channels for user in show.users.values())
    assert stops(show) == []
    assert random_show(seed, users, groups, devices, bridges, channels) == show


def test_the_largest_show_is_made_whole() -> None:
    show = random_show(3, users=2750, groups=250, devices=250, bridges=40, channels=32, full=True)
    assert all(len(user.channels) == 32 for user in show.users.values())
    assert len(show.devices) == 250
    assert show.limits.targets == 3000


@given(edited_shows(most=12))
def test_edits_keep_a_show_valid_and_change_it(edited: tuple[Show, list]) -> None:  # type: ignore[type-arg]
    show, edits = edited
    for edit in edits:
        show = edit.applied(show)
        assert stops(show) == [], edit


@given(parallel_shows())
def test_parallel_edits_touch_different_leaves_and_go_in_any_order(parallel: tuple[Show, list, list]) -> None:  # type: ignore[type-arg]
    show, mine, incoming = parallel
    assert all(different_leaves(one, other) for one in mine for other in incoming)
    one_way = apply_edits(apply_edits(show, mine), incoming)
    assert apply_edits(apply_edits(show, incoming), mine) == one_way
    for side in (apply_edits(show, mine), apply_edits(show, incoming), one_way):
        assert stops(side) == []


def test_every_kind_of_edit_is_made() -> None:
    made = {edit.what for seed in range(40) for edit in random_edits(random_show(seed, groups=8, channels=3), seed, 60)}
    renamed = {"accepted": {"quieten", "speak up"}, "extra": {"extra", "extra gone"}}
    assert made >= {name for name in EDITS if name not in renamed} | {"quieten", "speak up", "extra"}
