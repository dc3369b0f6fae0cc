"""Whole random histories in memory: engineers edit, merge one another's work both ways, crosswise and in a ring."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from showvc.document import Show
from showvc.document.editing import ABSENT, get
from showvc.document.pointers import parse
from showvc.merging import Base, Conflict, Merge, Settlement, crossed, merge, settle
from tests.generator import apply_edits, random_edits
from tests.strategies import plain_shows, seeds

ENGINEERS = 3
MOST_ROUNDS = 25


@dataclass(frozen=True, eq=False)
class Node:
    """A snapshot: its show and those before it."""

    show: Show
    parents: tuple[Node, ...] = ()
    answered: frozenset[str] = field(default_factory=frozenset)

    def line(self) -> set[Node]:
        """This snapshot and all that lead to it."""
        found, left = {self}, [self]
        while left:
            for parent in left.pop().parents:
                if parent not in found:
                    found.add(parent)
                    left.append(parent)
        return found


def common(one: Node, other: Node) -> list[Node]:
    """The last common snapshots: those that no other common one has behind it."""
    both = one.line() & other.line()
    return [node for node in both if not any(node in each.line() for each in both if each is not node)]


def base_of(one: Node, other: Node) -> Base:
    bases = common(one, other)
    base = Base(bases[0].show)
    for number, node in enumerate(bases[1:], 1):
        found = crossed(base_of(bases[number - 1], node), base.show, node.show)
        base = Base(found.show, (*base.asked, *found.asked))
    return base


def settled(base: Base, mine: Show, incoming: Show, rng: Random) -> tuple[Merge, list[Settlement], list[Conflict]]:
    """The merge with every conflict answered for a side by chance; that it ends is part of what is tested."""
    answers: list[Settlement] = []
    asked: list[Conflict] = []
    for _ in range(MOST_ROUNDS):
        merged = merge(base.show, mine, incoming, answers, asked=base.asked)
        if merged.clean:
            return merged, answers, asked
        asked += merged.conflicts
        answers += [settle(each, rng.choice(each.sides[:2])) for each in merged.conflicts]
    raise AssertionError(f"settling does not end: {[each.message for each in merged.conflicts]}")


def near(path: str, places: set[str]) -> bool:
    return any(f"{path}/".startswith(f"{place}/") or f"{place}/".startswith(f"{path}/") for place in places)


def random_history(before: Show, seed: int, steps: int) -> None:
    rng = Random(seed)
    tips = [Node(before)] * ENGINEERS
    seen: list[Node] = list(tips)
    for _ in range(steps):
        who = rng.randrange(ENGINEERS)
        mine = tips[who]
        if rng.random() < 0.5:
            made = apply_edits(mine.show, random_edits(mine.show, rng.randrange(2**16), rng.randint(1, 4)))
            tips[who] = Node(made, (mine,))
        else:
            other = rng.choice([tips[(who + 1) % ENGINEERS], rng.choice(seen)])
            if other in mine.line():
                continue
            tips[who] = meeting(mine, other, rng)
        seen.append(tips[who])


def meeting(mine: Node, other: Node, rng: Random) -> Node:
    base = base_of(mine, other)
    first = merge(base.show, mine.show, other.show, asked=base.asked)
    turned = merge(base.show, other.show, mine.show, asked=base.asked)
    assert [each.key for each in first.conflicts] == [each.key for each in turned.conflicts]
    merged, answers, asked = settled(base, mine.show, other.show, rng)
    # All orders of the same answers give the same show; of two to one question the later stands.
    last = list({answer.key: answer for answer in answers}.values())
    shuffled = rng.sample(last, len(last))
    assert merge(base.show, mine.show, other.show, shuffled, asked=base.asked).show == merged.show
    # What each side answered before, and the other otherwise, is asked.
    places = {path for conflict in asked for path in conflict.paths}
    for path in {place for group in base.asked for place in group.places}:
        one, two = (get(show, parse(path)) for show in (mine.show, other.show))
        assert one == two or near(path, places), path
    # What belongs together is taken from one side.
    overridden = {conflict.key for conflict, _ in merged.overridden}
    for conflict, answer in merged.settled:
        if conflict.together and conflict.key not in overridden and answer.how in ("mine", "incoming"):
            side = mine.show if answer.how == "mine" else other.show
            stand = [path for path in conflict.paths if get(merged.show, parse(path)) is not ABSENT]
            taken = [path for path in stand if get(merged.show, parse(path)) == get(side, parse(path))]
            assert len(taken) == len(stand) or near(conflict.paths[0], places - {*conflict.paths}), conflict.message
    return Node(merged.show, (mine, other))


@given(plain_shows(), seeds, st.integers(3, 9))
def test_histories_of_three_who_merge_in_a_ring(before: Show, seed: int, steps: int) -> None:
    random_history(before, seed, steps)


@given(plain_shows(), seeds)
def test_two_who_cross_again_and_again(before: Show, seed: int) -> None:
    """Each edits and merges the other's snapshot of the turn before, four turns long."""
    rng = Random(seed)
    one = other = Node(before)
    for _ in range(4):
        first = Node(apply_edits(one.show, random_edits(one.show, rng.randrange(2**16), 2)), (one,))
        second = Node(apply_edits(other.show, random_edits(other.show, rng.randrange(2**16), 2)), (other,))
        one, other = meeting(first, second, rng), meeting(second, first, rng)
