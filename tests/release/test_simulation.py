"""Networks that split, edits on both sides, and a fleet brought back to one show with every edit accounted for."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.release.simulation import Island, Outcome, World, covers, leaves

SEEDS = range(int(os.environ.get("SHOWVC_SEEDS", "16")))
"""How many worlds are played; CI plays more."""


def lost(outcome: Outcome) -> Iterator[tuple[str, object]]:
    """Edits that the devices held, and that are now neither in the show nor in a conflict that somebody settled.

    A value that a snapshot had at this place is no edit that only the device carries: the device may as well
    have been loaded with that snapshot, and nobody can tell.
    """
    final = leaves(outcome.final)
    for island in outcome.islands:
        for path, value in island.made.items():
            in_show = final.get(path) == value
            known = any(snapshot.get(path) == value for snapshot in outcome.recorded)
            settled = any(covers(conflict, path) for conflict in outcome.conflicts)
            if not (in_show or known or settled):
                yield path, value


@pytest.mark.parametrize("seed", SEEDS)
def test_a_fleet_that_split_comes_back_to_one_show_with_every_edit_accounted_for(seed: int) -> None:
    world = World(seed)
    edits = 0
    for _ in range(3):
        world.run(25)
        outcome = world.heal()
        edits += sum(len(island.made) for island in outcome.islands)
        assert list(lost(outcome)) == []
        assert outcome.after.agrees
        assert [len(part.devices) for part in outcome.after.parts] == [len(world.held)]
    assert edits > 10


@pytest.mark.parametrize("seed", SEEDS)
def test_the_fleet_is_read_as_it_is_and_only_nearest_snapshots_are_opened(seed: int) -> None:
    world = World(seed)
    world.run(40)
    world.ledger.opened = 0
    found = world.read()
    assert found.missing == ()
    for part in found.parts:
        assert all(world.held[name] == world.held[part.devices[0]] for name in part.devices)
    firsts = [world.held[part.devices[0]] for part in found.parts]
    assert all(one != other for place, one in enumerate(firsts) for other in firsts[:place])
    assert world.ledger.opened <= sum(part.state == "edited" for part in found.parts)


def test_two_halves_edited_apart_are_two_parts_and_their_base_is_what_was_released() -> None:
    world = World(7)
    world.split()
    for island in world.islands:
        split_edit(world, island)
    found = world.read()
    assert sorted(part.state for part in found.parts) == ["edited", "edited"]
    assert found.base == world.ledger.last
    assert {frozenset(part.devices) for part in found.parts} == {frozenset(island.devices) for island in world.islands}
    assert all(part.changes for part in found.parts)


def split_edit(world: World, island: Island) -> None:
    """One edit, handed on to every device of the island."""
    after = island.versions[-1]
    while after == island.versions[-1]:
        after = world.edited(after)
    island.versions.append(after)
    world.held.update(dict.fromkeys(island.devices, after))


def test_the_simulation_does_what_it_is_for() -> None:
    """Over the seeds: networks split, devices lagged, conflicts were met, and the desk went on meanwhile."""
    split, lagged, conflicts, ahead = 0, 0, 0, 0
    for seed in SEEDS:
        world = World(seed)
        world.run(40)
        ahead += len(world.ledger.steps) > 1
        lagged += any(len({id(world.held[name]) for name in island.devices}) > 1 for island in world.islands)
        split += len(world.islands) > 1
        conflicts += bool(world.heal().conflicts)
    assert min(split, lagged, conflicts, ahead) >= len(SEEDS) // 4
