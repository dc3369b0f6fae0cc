"""Engineers who work apart and meet at a hub: over many seeds, all end on one document and nothing is lost."""

from __future__ import annotations

import os
import shutil
from collections import defaultdict
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

import pytest

from showvc.document import MachineError, ShowError
from showvc.history import archive as archive_module
from showvc.history import hub_exchange, hub_sync, operations
from showvc.history.drafts import mark
from showvc.history.hub import name_hub
from showvc.history.joining import pending_merge, settle_open, side_of
from showvc.history.operations import log, pending_of, undo
from showvc.history.pending import Outcome
from showvc.history.people import introduce
from showvc.history.shows import Shows
from showvc.history.working import work_tree
from showvc.merging import Settlement
from showvc.store.calling import GitFailed
from tests.generator import apply_edits, random_edits, random_show
from tests.history.hubs import Engineer, everything_reachable, first, git, joined

EXAMPLES = int(os.environ.get("SHOWVC_EXAMPLES", "60"))
SEEDS = range(max(3, EXAMPLES // 20))
CREWS = (2, 4, 16, 3, 9, 5, 12, 7)
"""How many engineers there are, seed by seed: from two to sixteen."""
STEPS = 10
GROUPS = ("fly", "lx", "snd")


@dataclass
class World:
    """Engineers at a hub, a source of chance, and the book of every edit that was made."""

    rng: Random
    crew: list[Engineer]
    hub: Path
    turned: dict[tuple[str, str], set[str]] = field(default_factory=lambda: defaultdict(set))
    """For each place and value, the values that somebody put in its stead, seeing it: by an edit, or settling."""
    added: set[str] = field(default_factory=set)
    recorded: dict[str, Engineer] = field(default_factory=dict)
    """Every snapshot ever recorded, and where."""
    count: int = 0


def _world(place: Path, seed: int, size: int = 2) -> World:
    rng = Random(seed)
    show = random_show(seed, users=3, groups=3, devices=3, bridges=1, channels=3)
    ann = first(place / "e00", show=show)
    hub = place / "hub"
    name_hub(ann.archive, str(hub))
    ann.sync()
    crew = [ann, joined(hub, place / "e01", "engineer 01")]
    for number in range(2, size):
        shutil.copytree(crew[1].folder, place / f"e{number:02}")
        crew.append(Engineer(place / f"e{number:02}"))
        introduce(crew[-1].archive, f"engineer {number:02}")
    return World(rng, crew, hub)


# --- what an engineer does ---


def _label_of(engineer: Engineer, group: str) -> str:
    return engineer.show.groups[group].label


def _edit(world: World, engineer: Engineer) -> None:
    """A label that no label was before, or a group that nobody else adds; recorded, or not yet."""
    world.count += 1
    value = f"V{world.count}"
    if world.rng.random() < 0.3:
        (engineer.folder / "groups" / f"crew-{world.count}.yaml").write_text(f"label: {value}\n")
        world.added.add(f"crew-{world.count}")
    else:
        group = world.rng.choice(GROUPS)
        world.turned[group, _label_of(engineer, group)].add(value)
        path = engineer.folder / "groups" / f"{group}.yaml"
        kept = [line for line in path.read_text().splitlines() if not line.startswith("label:")]
        path.write_text("\n".join([*kept, f"label: {value}", ""]))
    if world.rng.random() < 0.7 and pending_of(engineer.archive) is None:
        _note(world, engineer, engineer.record(engineer.show, value))


def _note(world: World, engineer: Engineer, oid: str | None) -> None:
    if oid:
        world.recorded[oid] = engineer


def _sync(world: World, engineer: Engineer) -> None:
    engineer.sync()
    _note(world, engineer, engineer.last)


def _settle(world: World, engineer: Engineer) -> None:
    """Settles what is open, each conflict by chance, and writes down what gave way to what."""
    for _ in range(50):
        archive = engineer.archive
        shows = Shows(archive)
        if pending_merge(archive, shows) is None:
            return
        settle_open(archive, lambda outcome: _chosen(world, engineer, outcome), shows, yes=True)
        _note(world, engineer, engineer.last)
    raise AssertionError("settling came to no end")


def _chosen(world: World, engineer: Engineer, outcome: Outcome) -> list[Settlement]:
    chosen = []
    for conflict in outcome.merge.conflicts:
        side, other = world.rng.sample(("mine", "incoming"), 2)
        taken, lost = conflict.values_of(side), conflict.values_of(other)  # type: ignore[arg-type]
        for path, value in lost.items():
            if path.startswith("/groups/") and path.endswith("/label"):
                world.turned[path.split("/")[2], value].add(str(taken[path]))
        chosen.append(side_of(engineer.archive, conflict, side))  # type: ignore[arg-type]
    return chosen


def _undo_sync(world: World, engineer: Engineer) -> None:
    done = log(engineer.archive, 1)
    # Edits made since would be put aside as a safety snapshot; here every edit shall stay in the running.
    if done and done[0].command == "sync" and work_tree(engineer.archive) == done[0].after.work:
        undo(engineer.archive)


def _mark(world: World, engineer: Engineer) -> None:
    mark(engineer.archive, world.rng.choice(("town-one", "town-two", f"night-{world.count}")), engineer.last, move=True)


def _hub_away(world: World, engineer: Engineer) -> None:
    """The stick is out."""
    away = world.hub.with_name("away")
    world.hub.rename(away)
    try:
        with pytest.raises(MachineError, match="not in reach"):
            engineer.sync()
    finally:
        away.rename(world.hub)


def _failing(world: World, engineer: Engineer) -> None:
    """The machine or the hub fails at some call of the exchange."""
    with Failing(world.rng.randint(1, 45)), suppress(MachineError, ShowError):
        engineer.sync()


class Failing:
    """From the n-th call on, git fails: once, or for good until the end of the sync."""

    def __init__(self, call: int, for_good: bool = True) -> None:
        self.left, self.for_good = call, for_good
        self.real = archive_module.run_git_bytes, hub_exchange.run_watched
        self.failed = False

    def __enter__(self) -> Failing:
        def bytes_(*given, **more):  # type: ignore[no-untyped-def]
            self._count(given[1][0])
            return self.real[0](*given, **more)

        def watched(*given, **more):  # type: ignore[no-untyped-def]
            self.left -= 1
            if self._fails():
                return 128, "fatal: the other side hung up"
            return self.real[1](*given, **more)

        archive_module.run_git_bytes, hub_exchange.run_watched = bytes_, watched
        return self

    def _fails(self) -> bool:
        fails = self.left < 0 if self.for_good else self.left == 0
        self.failed |= fails
        return fails

    def _count(self, command: str) -> None:
        self.left -= 1
        if self._fails():
            raise GitFailed(command, "fatal: the disk is on fire")

    def __exit__(self, *_: object) -> None:
        archive_module.run_git_bytes, hub_exchange.run_watched = self.real


ACTIONS = {_edit: 8, _sync: 5, _settle: 3, _undo_sync: 1, _mark: 1, _hub_away: 1, _failing: 2}


def _work_apart(world: World, steps: int) -> None:
    for _ in range(steps):
        for engineer in world.crew:
            action = world.rng.choices(list(ACTIONS), list(ACTIONS.values()))[0]
            action(world, engineer)


def _meet(world: World) -> None:
    """Everybody settles and syncs until nothing moves any more."""
    for _ in range(6):
        for engineer in world.crew:
            _settle(world, engineer)
            _sync(world, engineer)
            _settle(world, engineer)
            engineer.sync()
        if len({engineer.last for engineer in world.crew}) == 1:
            break
    for engineer in world.crew:
        done = engineer.sync()
        assert (done.sent, done.taken, done.needs_person) == (0, 0, False)


# --- hands on the files meanwhile ---


def _typed(engineer: Engineer, label: str) -> None:
    (engineer.folder / "groups" / "fly.yaml").write_text(f"label: {label}\n")


def _parted(place: Path) -> tuple[Engineer, Engineer]:
    """Ben's fly rail has a label of Ann's coming to him."""
    world = _world(place, 7)
    ann, ben = world.crew
    ann.label("fly", "ANNS")
    ann.sync()
    return ann, ben


def test_an_edit_typed_before_a_cut_sync_was_finished_is_an_edit_of_what_its_author_saw(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Finishing the sync around it would take Ann's label away without a word."""
    ann, ben = _parted(tmp_path)
    before = ben.last
    with monkeypatch.context() as patched:
        patched.setattr(operations, "write_work", _raise)
        patched.setattr(operations, "_give_back", lambda *_: None)  # as after a kill: nobody takes it back
        with pytest.raises(MachineError):
            ben.sync()
    _typed(ben, "BENS")
    done = ben.sync()
    assert [conflict.paths for conflict in done.outcome.merge.conflicts] == [("/groups/fly/label",)]  # type: ignore[union-attr]
    assert [each.command for each in log(ben.archive)][1:3] == ["taken back 1: sync", "sync"]
    assert before in everything_reachable(ben) and ann.last in everything_reachable(ben)


def test_a_cut_sync_is_taken_back_and_done_again_around_a_hand_on_other_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    ann, ben = _parted(tmp_path)
    before = ben.last
    with monkeypatch.context() as patched:
        patched.setattr(operations, "write_work", _raise)
        patched.setattr(operations, "_give_back", lambda *_: None)  # as after a kill: nobody takes it back
        with pytest.raises(MachineError):
            ben.sync()
    (ben.folder / "groups" / "snd.yaml").write_text("label: OTHER\n")
    with operations.operation(ben.archive, "look"):
        pass
    assert ben.last == before
    assert ben.show.groups["snd"].label == "OTHER"
    assert [each.command for each in log(ben.archive)] == ["taken back 1: sync", "sync"]
    ben.sync()
    assert ann.last in everything_reachable(ben)
    assert (ben.show.groups["fly"].label, ben.show.groups["snd"].label) == ("ANNS", "OTHER")


def test_a_file_saved_while_the_sync_runs_stops_it_before_anything_is_changed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, ben = _parted(tmp_path)
    before, real = ben.last, hub_sync.merge_within
    with monkeypatch.context() as patched:
        patched.setattr(hub_sync, "merge_within", lambda *given: (_typed(ben, "BENS"), real(*given))[1])
        with pytest.raises(ShowError, match=r"groups/fly\.yaml: was edited at this very moment"):
            ben.sync()
    assert ben.last == before
    assert ben.sync().needs_person, "now it is a conflict like any other"


def _raise(*_: object) -> None:
    raise MachineError("the disk is gone")


# --- the laws ---


@pytest.mark.parametrize("seed", SEEDS)
def test_all_end_on_one_document_with_every_edit_in_it_or_in_a_settled_conflict(tmp_path: Path, seed: int) -> None:
    world = _world(tmp_path, seed, CREWS[seed % len(CREWS)])
    _work_apart(world, STEPS if EXAMPLES > 100 else max(2, 24 // len(world.crew)))
    for engineer in world.crew:
        if pending_of(engineer.archive) is None:
            _note(world, engineer, engineer.record(engineer.show, "the rest"))
    _meet(world)

    shows = [engineer.show for engineer in world.crew]
    assert all(show == shows[0] for show in shows)
    assert {engineer.last for engineer in world.crew} == {git(world.hub, "rev-parse", "refs/heads/main")}
    assert world.added <= set(shows[0].groups)
    for group, value in list(world.turned):
        for edit in world.turned[group, value]:
            assert _leads_to(world, group, edit, shows[0].groups[group].label), f"{edit} of {group} is gone"
    reachable = {engineer.folder: everything_reachable(engineer) for engineer in world.crew}
    for oid, engineer in world.recorded.items():
        assert oid in reachable[engineer.folder]
    marks = [{name: oid for name, oid in engineer.archive.refs().items() if "tags" in name} for engineer in world.crew]
    assert all(each == marks[0] for each in marks)
    git(world.hub, "fsck", "--strict")


def _leads_to(world: World, group: str, value: str, last: str) -> bool:
    """Whether a value stands, or gave way, edit by edit and settlement by settlement, to the one that stands."""
    waiting, seen = [value], set()
    while waiting:
        found = waiting.pop()
        if found == last:
            return True
        if found not in seen:
            seen.add(found)
            waiting += world.turned.get((group, found), ())
    return False


@pytest.mark.parametrize("seed", SEEDS)
def test_any_edits_of_any_kind_end_on_one_document(tmp_path: Path, seed: int) -> None:
    """Groups removed under somebody's channel, keys booked twice, limits passed: all settled by chance."""
    world = _world(tmp_path, 1000 + seed, min(8, CREWS[seed % len(CREWS)]) if EXAMPLES > 100 else 2 + seed % 2)
    for turn in range(4):
        for number, engineer in enumerate(world.crew):
            if pending_of(engineer.archive) is None:
                edits = random_edits(engineer.show, seed * 1000 + turn * 100 + number, world.rng.randint(1, 4))
                _note(world, engineer, engineer.record(apply_edits(engineer.show, edits)))
            world.rng.choice((_sync, _sync, _settle, _failing, _mark))(world, engineer)
    _meet(world)
    shows = [engineer.show for engineer in world.crew]
    assert all(show == shows[0] for show in shows)
    for oid, engineer in world.recorded.items():
        assert oid in everything_reachable(engineer)


@pytest.mark.parametrize("for_good", [False, True], ids=["once", "for good"])
def test_a_failure_at_any_call_leaves_all_as_it_was_or_done(tmp_path: Path, for_good: bool) -> None:
    """Call by call, until a sync gets through."""
    world = _world(tmp_path, 7)
    ann, ben = world.crew
    ann.label("fly", "FLY")
    ann.sync()
    ben.label("lx", "LX")
    (ben.folder / "groups" / "snd.yaml").write_text("label: SND\n")
    step = 1 if EXAMPLES > 100 else 5
    for call in range(1 + world.rng.randrange(step), 200, step):
        before = ben.last
        trial = tmp_path / "trial"
        shutil.copytree(ben.folder, trial)
        hub = tmp_path / "hub"
        shutil.copytree(hub, tmp_path / "spare")
        engineer = Engineer(trial)
        with Failing(call, for_good) as failing:
            try:
                engineer.sync()
            except (MachineError, ShowError) as error:
                assert "Traceback" not in str(error)
        assert git(trial, "merge-base", "--is-ancestor", before, "HEAD") == ""
        engineer.sync()
        assert git(hub, "rev-parse", "refs/heads/main") == engineer.last
        assert {"FLY", "LX", "SND"} <= {group.label for group in engineer.show.groups.values()}
        shutil.rmtree(trial)
        shutil.rmtree(hub)
        (tmp_path / "spare").rename(hub)
        if not failing.failed:
            break
    else:
        raise AssertionError("a sync of more than 200 calls")
