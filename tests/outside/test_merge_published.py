"""Failures that users of the nearest systems have published, restated for shows: none of them is a failure here.

Sources: the trackers of netboxlabs/netbox-branching (issues 10, 32, 198, 374, 426, 448, 475 and 632 were named to us as
the ones to look at), of jupyter/nbdime and of dolthub/dolt. All from memory: there was no network to look them up, so
what stands below is the kind of failure, and which number it has in its tracker was not verified.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest

from showvc.document import Show
from showvc.identity.references import renamed
from showvc.merging import Base, Merge, crossed, merge, settle
from showvc.rules import check
from tests.merging.cases import GONE, SMALL, Edits, edited

INVENTORY = "structured-inventory branching (netboxlabs/netbox-branching), from memory, number not verified"
NOTEBOOKS = "merging of structured documents (jupyter/nbdime), from memory"
TABLES = "merging of tables (dolthub/dolt), from memory"


@dataclass(frozen=True)
class Published:
    """What went wrong elsewhere, the two edits as ours, and what is right."""

    name: str
    source: str
    mine: Edits
    incoming: Edits
    right: Callable[[Merge], bool]
    before: Edits | None = None


def clean(merged: Merge) -> bool:
    return merged.clean


def asks(kind: str) -> Callable[[Merge], bool]:
    return lambda merged: kind in {conflict.kind for conflict in merged.conflicts}


def has(**channels: int) -> Callable[[Merge], bool]:
    def right(merged: Merge) -> bool:
        there = {name.replace("-", "_"): entry.number for name, entry in merged.show.users["sm"].channels.items()}
        return merged.clean and there.items() >= channels.items()

    return right


C = "users/sm/channels/"
CUE = {"number": 5, "talk": "latch"}
FAILURES = (
    Published("an object deleted on main that the branch had edited comes back, or the edit goes, without a question",
              INVENTORY, {"groups/stage": GONE, "users/asm/channels/stage": GONE}, {"groups/stage/label": "DECK"},
              asks("removed-and-changed")),
    Published("merging fails half way where a new object needs what main has deleted", INVENTORY,
              {"circuits/tape": GONE},
              {"bridges/tape": {"kind": "four-wire", "device": "if-01", "port": 3, "target": "snd", "circuit": "tape"}},
              asks("dangling")),
    Published("two objects that traded a unique value cannot be merged, for the first collides with the second", INVENTORY,
              {f"{C}lx/number": 3, f"{C}snd/number": 1}, {f"{C}asm/talk": "latch"}, has(lx=3, snd=1)),
    Published("two new objects with one unique value: an error of the database in place of a question", INVENTORY,
              {f"{C}stage": CUE}, {f"{C}lx-op": CUE}, asks("double-booked")),
    Published("the same change on both sides is called a conflict", INVENTORY,
              {f"{C}lx/talk": "dual"}, {f"{C}lx/talk": "dual"}, clean),
    Published("a list of tags is replaced whole, so that one side's tag is lost", INVENTORY,
              {"groups/fly/tags": ["rig", "stage", "tour"]}, {"groups/fly/tags": ["rig", "stage", "night"]},
              lambda merged: merged.clean and merged.show.groups["fly"].tags == {"rig", "stage", "tour", "night"}),
    Published("a free field is compared as one blob, so that two keys of it conflict", INVENTORY,
              {"groups/lx/extra": {"row": 1, "rack": "B"}}, {"groups/lx/extra": {"row": 2, "rack": "A"}},
              lambda merged: merged.clean and dict(merged.show.groups["lx"].extra) == {"row": 2, "rack": "B"},
              {"groups/lx/extra": {"row": 1, "rack": "A"}}),
    Published("an object that was renamed is merged as deleted and created, and loses what pointed at it", INVENTORY,
              {}, {"users/asm/channels/lx": {"number": 3}},
              lambda merged: merged.clean and "lighting" in merged.show.users["asm"].channels),
    Published("what both sides inserted alike is there twice", NOTEBOOKS,
              {f"{C}stage": CUE}, {f"{C}stage": CUE}, has(stage=5)),
    Published("both insert at one position: one is dropped, or they are woven into one", NOTEBOOKS,
              {f"{C}stage": {"number": 5}}, {f"{C}fly-1": {"number": 6}}, has(stage=5, fly_1=6)),
    Published("a key deleted here and changed there makes the merge fail instead of a decision", NOTEBOOKS,
              {"groups/lx/label": GONE}, {"groups/lx/label": "LIGHT"}, asks("removed-and-changed")),
    Published("true and 1 are one value to the comparison", NOTEBOOKS,
              {"groups/lx/extra": {"row": 1}}, {"groups/lx/extra": {"row": True}}, asks("both-changed")),
    Published("a merge leaves rows that break a foreign key, found by whoever reads them next", TABLES,
              {"users/asm": GONE, f"{C}asm": GONE, "devices/pack-01": GONE}, {"devices/pack-03/user": "asm"}, asks("dangling")),
    Published("a merge leaves two rows with one unique key", TABLES,
              {"devices/pack-01/hardware": "02-00-5E-10-00-07"}, {"devices/pack-02/hardware": "02:00:5e:10:00:07"},
              asks("double-booked")),
    Published("cells of one row are merged that belong together", TABLES,
              {"devices/desk-01/keys/A1": "fly", "devices/desk-01/keys/A2": "lx"}, {"devices/desk-01/keys/A2": "asm"},
              lambda merged: len(merged.conflicts) == 1 and len(merged.conflicts[0].paths) == 2),
    Published("a sum that the merge passes is checked for neither side", TABLES,
              {"devices/p1": {"kind": "pack-2"}}, {"devices/p2": {"kind": "pack-2"}}, asks("over-limit")),
)  # fmt: skip


@pytest.mark.parametrize("published", FAILURES, ids=lambda each: each.name)
def test_it_is_no_failure_here(published: Published) -> None:
    before = edited(SMALL, published.before or {})
    mine = edited(before, published.mine) if published.mine else renamed(before, "groups", "lx", "lighting")
    incoming = edited(before, published.incoming)
    for one, other in ((mine, incoming), (incoming, mine)):
        assert published.right(merge(before, one, other)), published.source
        assert settled(before, one, other), "either side can be taken, and nothing is broken by it"


def settled(before: Show, mine: Show, incoming: Show) -> bool:
    for side in ("mine", "incoming"):
        answers: list = []
        merged = merge(before, mine, incoming)
        for _ in range(6):
            answers += [settle(conflict, side) for conflict in merged.conflicts]  # type: ignore[arg-type]
            merged = merge(before, mine, incoming, answers)
        stops = {(found.code, found.paths) for found in check(merged.show) if found.severity == "block"}
        known = {
            (each.code, each.paths) for show in (mine, incoming) for each in check(show) if each.severity == "block"
        }
        if not merged.clean or not stops <= known:
            return False
    return True


def test_a_branch_that_was_merged_and_synchronised_both_ways_loses_an_edit() -> None:
    """Source: INVENTORY. Main and branch take each other's state, answer a conflict oppositely, and meet again."""
    one, other = edited(SMALL, {f"{C}stage": CUE}), edited(SMALL, {f"{C}lx-op": CUE})
    base = crossed(Base(SMALL), one, other)
    assert not merge(base.show, one, other, asked=base.asked).clean


def test_reverting_a_merge_takes_what_came_after_it_along() -> None:
    """Source: INVENTORY. Here taking a merge back is a merge of its own, and what came after stays."""
    merged = merge(SMALL, edited(SMALL, {"groups/lx/label": "LITE"}), edited(SMALL, {"groups/snd/label": "SOUND"})).show
    later = edited(merged, {"groups/fly/label": "FLYS"})
    back = merge(merged, later, edited(SMALL, {"groups/lx/label": "LITE"}))
    assert back.clean
    assert [back.show.groups[name].label for name in ("lx", "snd", "fly")] == ["LITE", "SND", "FLYS"]


def test_there_are_twelve_at_least() -> None:
    def sources() -> Iterator[str]:
        yield from (each.source for each in FAILURES)

    assert len(FAILURES) >= 12
    assert {*sources()} == {INVENTORY, NOTEBOOKS, TABLES}
