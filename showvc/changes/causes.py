"""Which edits bring a loss: the fewest whose taking back makes it go.

A loss is `(user,)` who is off headset, `(talker, listener)`, or `(talker, target, listener)`.

Only edits that can be heard are looked at, and of these only those that can touch a loss: of its two positions and
their devices, of its target, and of what is shared (bridges, what is behind them, circuits, carriers, kinds, lines,
ports). Where that is one edit, it is the one. Else the shortest run of them is sought, by halves, without which the
loss goes; its last edit is needed, and the rest is sought again. After so many shows have been tried (`MOST_TRIALS`)
what is left is told as one list that may hold too many (`fewest` is False); taking it back makes the loss go all the
same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from showvc.document import SECTIONS, Show, ShowError, differing, same, whole_tree
from showvc.document.editing import get, put
from showvc.document.pointers import join
from showvc.paths import HANDS, Paths, Reading, advance

Loss = tuple[str, ...]
Steps = tuple[str, ...]
Edits = tuple[int, ...]
"""Places in the list of all edits, ascending."""

MOST_TRIALS, TRIED_POSITIONS = 100, 40_000
"""So many shows are tried at the most; of a small show as many as have so many positions together."""
_KEPT = 8


@dataclass(frozen=True, slots=True)
class Cause:
    """A loss, the pointers of the edits that bring it, and the targets over which the pair still holds."""

    loss: Loss
    edits: tuple[str, ...]
    remains: tuple[str, ...]
    fewest: bool = True

    def plain(self) -> dict[str, Any]:
        return {"loss": list(self.loss), "edits": list(self.edits), "remains": list(self.remains)}


def causes(before: Paths, after: Paths, losses: Iterable[Loss]) -> tuple[Cause, ...]:
    """For each loss from one show to the next what brings it, in their order."""
    search = _Search(before, after)
    return tuple(search.cause(loss) for loss in losses)


def taken_back(before: Show, after: Show, pointers: Iterable[Steps]) -> Show:
    """The later show with the earlier one's values at these places. ShowError where the two don't go together."""
    return put(after, {steps: get(before, steps) for steps in pointers})


# --- edits that can be heard -----------------------------------------------------------------------------------------

_UNHEARD: Mapping[str, frozenset[str]] = {
    "users": frozenset({"name", "label", "department", "extra"}),
    "devices": frozenset({"name", "hardware", "place", "extra"}),
    "bridges": frozenset({"kind", "extra"}),
    "circuits": frozenset({"name", "people", "public", "extra"}),
    "carriers": frozenset({"name", "gives", "extra"}),
}
"""Fields by which no path comes or goes. Of a list, `number`, `level`, `priority` and `label` are so too."""
_OF_A_LIST = frozenset({"number", "level", "priority", "label", "extra"})
_HEARD_OF_THE_SHOW = ("kinds", "lines")


def heard_edits(before: Show, after: Show) -> Iterator[Steps]:
    """The places that differ and by which a path can come or go, as deep as both shows go."""
    if before.head != after.head:
        old, new = whole_tree(before.head), whole_tree(after.head)
        for name in _HEARD_OF_THE_SHOW:
            yield from _within(old[name], new[name], (name,))
    for section in SECTIONS:
        for name in differing(before.section(section), after.section(section)):
            one, other = before.section(section).get(name), after.section(section).get(name)
            if one is None or other is None:
                yield section, name
            elif section != "groups":
                yield from _within(whole_tree(one), whole_tree(other), (section, name))


def _within(old: Any, new: Any, steps: Steps) -> Iterator[Steps]:
    if not (isinstance(old, Mapping) and isinstance(new, Mapping)):
        if not same(old, new):
            yield steps
        return
    for name in dict.fromkeys((*old, *new)):
        inner = (*steps, name)
        if _is_unheard(inner):
            continue
        if name in old and name in new:
            yield from _within(old[name], new[name], inner)
        else:
            yield inner


def _is_unheard(steps: Steps) -> bool:
    if steps[0] in ("kinds", "lines"):
        return len(steps) == 3 and steps[2] in ("name", "label", "critical", "needs")
    if len(steps) == 3:
        return steps[2] in _UNHEARD[steps[0]]
    return steps[0] == "users" and len(steps) == 5 and steps[4] in _OF_A_LIST


# --- the search ------------------------------------------------------------------------------------------------------


class _Trial:
    """The paths of one show, with what was asked of them."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self._bits: dict[tuple[str, str | None], int] = {}

    def bits(self, talker: str, target: str | None) -> int:
        """Those who hear a talker over a target; over None: over any but a line."""
        key = talker, target
        if key not in self._bits:
            reading = self.reading
            self._bits[key] = reading.row(talker) if target is None else reading.over(talker, target)
        return self._bits[key]

    def holds(self, talker: str, target: str | None, listener: str) -> bool:
        place = self.reading.lists.place
        if talker not in place or listener not in place:
            return False
        return bool(self.bits(talker, target) >> place[listener] & 1)


class _Search:
    def __init__(self, before: Paths, after: Paths) -> None:
        self.before, self.after = before, after
        self.edits = tuple(heard_edits(before.show, after.show))
        self.now = _Trial(after.surely)
        self.trials: dict[Edits, _Trial | None] = {}
        self.tried = 0
        self.most = max(MOST_TRIALS, TRIED_POSITIONS // (1 + len(after.lists.order)))
        self.shared, self.own = _whose(before, after, self.edits)

    def cause(self, loss: Loss) -> Cause:
        edits, fewest = self._edits(loss)
        pointers = tuple(join(*self.edits[number]) for number in edits)
        return Cause(loss, pointers, self._remains(loss), fewest)

    def _remains(self, loss: Loss) -> tuple[str, ...]:
        if len(loss) != 3 or loss[0] not in self.after.lists.place:
            return ()
        talker, _, listener = loss
        reading = self.now.reading
        hands = {name: hand for name, hand in reading.hands(talker).items() if name not in reading.line_names}
        found = (name for name in hands if self.now.holds(talker, name, listener))
        return tuple(sorted(found, key=lambda name: (HANDS.index(hands[name]), name)))

    def _edits(self, loss: Loss) -> tuple[Edits, bool]:
        near = self._near(loss)
        if len(near) == 1 or self.tried >= self.most:
            return near, len(near) == 1
        if not self._gone(loss, near):
            near = tuple(range(len(self.edits)))
        return self._fewest(loss, near)

    def _near(self, loss: Loss) -> Edits:
        names = set(loss)
        if len(loss) == 2 and loss[0] in self.before.lists.parts:
            names |= self.before.lists.parts[loss[0]].talks
        found = {number for name in names for number in self.own.get(name, ())}
        return tuple(sorted({*self.shared, *found})) or tuple(range(len(self.edits)))

    def _fewest(self, loss: Loss, near: Edits) -> tuple[Edits, bool]:
        """The edits that are needed: the last of the shortest run from the first on, and so again without it."""
        needed: Edits = ()
        rest = near
        while not (needed and self._gone(loss, needed)):
            if self.tried >= self.most:
                return tuple(sorted((*rest, *needed))), False
            low, high = 0, len(rest)  # with the first `high` it goes, with the first `low` it does not
            while high - low > 1:
                middle = (low + high) // 2
                if self._gone(loss, (*rest[:middle], *needed)):
                    high = middle
                else:
                    low = middle
            if high == 0:
                break
            needed = tuple(sorted((rest[high - 1], *needed)))
            rest = rest[: high - 1]
        return self._without_needless(loss, needed)

    def _without_needless(self, loss: Loss, needed: Edits) -> tuple[Edits, bool]:
        for number in needed if len(needed) > 1 else ():
            fewer = tuple(each for each in needed if each != number)
            if fewer and self._gone(loss, fewer):
                needed = fewer
        return needed, True

    def _gone(self, loss: Loss, edits: Edits) -> bool:
        """Whether taking these edits back makes a loss go."""
        trial = self._trial(tuple(sorted(edits)))
        if trial is None:
            return False
        if len(loss) > 1:
            return trial.holds(loss[0], loss[1] if len(loss) == 3 else None, loss[-1])
        (user,) = loss
        there = user in trial.reading.lists.parts and user not in trial.reading.lists.ports
        return there and (trial.reading.is_on_headset(user) or not self.before.surely.is_on_headset(user))

    def _trial(self, edits: Edits) -> _Trial | None:
        if edits in self.trials:
            return self.trials[edits]
        self.tried += 1
        try:
            show = taken_back(self.before.show, self.after.show, (self.edits[number] for number in edits))
        except ShowError:
            trial = None
        else:
            trial = _Trial(advance(self.after, show).surely)
        while len(self.trials) >= _KEPT:
            self.trials.pop(next(iter(self.trials)))
        self.trials[edits] = trial
        return trial


def _whose(before: Paths, after: Paths, edits: tuple[Steps, ...]) -> tuple[Edits, Mapping[str, Edits]]:
    """The edits that may touch any path; and for each user those that touch only his, for each group those over it."""
    shared: list[int] = []
    own: dict[str, list[int]] = {}
    is_shared = _sharing(before, after)
    for number, steps in enumerate(edits):
        names: set[str] = set()
        if steps[0] in ("users", "groups"):
            names = {steps[1]}
        elif steps[0] == "devices":
            bodies = (side.facts.devices.get(steps[1]) for side in (before, after))
            names = {body.user for body in bodies if body is not None and body.user is not None}
        if not names or is_shared(steps, names):
            shared.append(number)
        else:
            for name in names:
                own.setdefault(name, []).append(number)
    return tuple(shared), {name: tuple(found) for name, found in own.items()}


def _sharing(before: Paths, after: Paths) -> Callable[[Steps, set[str]], bool]:
    """Tells whether an edit of users, of their devices, or of a group may touch other paths than theirs."""
    bridges = [bridge for side in (before, after) for bridge in side.facts.bridges.values()]
    units, beyond = {bridge.device for bridge in bridges}, {bridge.target for bridge in bridges}
    for side in (before, after):
        for name, port in side.lists.ports.items():
            beyond.update((name, *port.opens, *port.listens))
    single = any(body.one_at_a_time for side in (before, after) for body in side.facts.circuits.values())

    def shared(steps: Steps, names: set[str]) -> bool:
        if steps[0] == "devices" and steps[1] in units:
            return True
        return any(name in beyond or (single and _has_open(before, after, name)) for name in names)

    return shared


def _has_open(before: Paths, after: Paths, user: str) -> bool:
    """Whether a user may hold a circuit that takes one talker at a time."""
    parts = (side.lists.parts.get(user) for side in (before, after))
    return any(part is not None and part.opens for part in parts)
