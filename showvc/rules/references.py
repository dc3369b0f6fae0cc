"""Rules about things that point at nothing: one for each field that refers to something."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from itertools import combinations

from showvc.document import near
from showvc.document.pointers import join
from showvc.document.references import HOMES, Known, Reference
from showvc.rules.finding import Found, Scene


def to_nothing(*places: str) -> Callable[[Scene], Iterator[Found]]:
    """What a rule looks for: references to nothing at these places, such as `bridges/target`."""
    wanted = {tuple(place.split("/")) for place in places}

    def look(scene: Scene) -> Iterator[Found]:
        known = Known(scene.show) if scene.dangling else None
        for reference in scene.dangling:
            # A department that nobody is in is an end with no members: other rules tell what comes of that.
            if (reference.steps[0], reference.steps[2]) in wanted and reference.thing != "department":
                facts = (reference.steps, reference.thing, reference.id, reference.owner)
                hint = _meant(known, reference) if reference.thing != "channel" else None
                yield Found((reference.pointer, *reference.homes()), facts, hint=hint or "")

    return look


def _meant(known: Known | None, reference: Reference) -> str | None:
    """What may be meant: nothing is a standby for itself, nor hangs on itself."""
    ids = known.ids(reference.thing) if known else frozenset()
    own = reference.steps[1] if reference.steps[0] in HOMES.get(reference.thing, ()) else ""
    return near(reference.target, ids - {own})


def one_id_for_two(scene: Scene) -> Iterator[Found]:
    """Groups, users, lines and circuits share one set of ids."""
    show = scene.show
    shared: dict[str, Collection[str]] = {
        "groups": show.groups,
        "users": show.users,
        "lines": show.lines,
        "circuits": show.circuits,
    }
    for (one, names), (other, others) in combinations(shared.items(), 2):
        for name in names:
            if name in others:
                yield Found((join(one, name), join(other, name)), (name, one[:-1], other[:-1]))
