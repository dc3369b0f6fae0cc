"""The paths of one show, read surely and possibly; and from one show to the next."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from showvc.document import Show
from showvc.paths.facts import NOTHING_OUT, POSSIBLY, SURELY, UNWRITTEN, Facts, Out, facts_of, moved_facts
from showvc.paths.lists import Lists, lists_of, moved_lists
from showvc.paths.reading import Reading


@dataclass(frozen=True, eq=False)
class Paths:
    """Immutable. `out` is what is supposed to be out, as `section/id`.

    `surely` leaves out what is not in the document, `possibly` puts it in; `unwritten` is the show as it would be were
    every unwritten `hears`, `speaks` and `carries` true. Each is worked out when first asked for.
    """

    show: Show
    facts: Facts
    lists: Lists

    @property
    def out(self) -> Out:
        return self.facts.out

    @cached_property
    def surely(self) -> Reading:
        return Reading(SURELY, self.facts, self.lists)

    @cached_property
    def unwritten(self) -> Reading:
        return Reading(UNWRITTEN, self.facts, self.lists)

    @cached_property
    def possibly(self) -> Reading:
        return Reading(POSSIBLY, self.facts, self.lists)


def talk_paths(show: Show, out: Out = NOTHING_OUT) -> Paths:
    """Who hears whom, over what, how, and how surely. Reads every user, device, bridge, circuit and carrier.

    `out` are things supposed to be out, such as `devices/desk-01`: all that needs them is out too.
    """
    facts = facts_of(show, out)
    return Paths(show, facts, lists_of(show, facts))


def advance(paths: Paths, after: Show) -> Paths:
    """The paths of another show, from these: only what differs is worked out again. Equal to `talk_paths`.

    Slots stay as they are, so that the two compare bit by bit.
    """
    before = paths.show
    facts = moved_facts(paths.facts, before, after)
    if facts.floor != paths.facts.floor or facts.lines != paths.facts.lines:
        return _placed(paths, after, facts)
    return Paths(after, facts, moved_lists(paths.lists, before, after, facts))


def _placed(paths: Paths, after: Show, facts: Facts) -> Paths:
    """The paths of a show worked out anew, in the slots of others."""
    nobody = Show(head=paths.show.head)
    empty = moved_lists(paths.lists, paths.show, nobody, facts_of(nobody, facts.out))
    return Paths(after, facts, moved_lists(empty, nobody, after, facts))


def with_out(paths: Paths, out: Out) -> Paths:
    """The paths of the same show with these things out."""
    facts = facts_of(paths.show, out)
    return Paths(paths.show, facts, paths.lists)


def comparable(one: Paths, other: Paths) -> bool:
    """Whether the same slot is the same id in both, as far as both go."""
    first, second = one.lists.order, other.lists.order
    length = min(len(first), len(second))
    return first is second or first[:length] == second[:length]
