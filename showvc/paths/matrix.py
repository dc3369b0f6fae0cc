"""Who can be heard by whom, for all users at once, as bit sets.

The relation, exactly (section 6 of the design):

- A channel of X with `talk` other than none *says to* its target. `lx` and `lx#2` have the same target.
- What is said to a group is heard by every user who has that group on a channel with `listen` other than none.
- What is said to a user is heard by that user, whether or not he has a channel for the caller. If he has one or
  more channels for the caller and listens on none of them, he has shut the caller out, and does not hear him.
- A bridge with `direction` out or both carries what is said to its target into its circuit. What is said to a user
  is what he hears: the calls to him, and the groups on which he listens.
- A bridge with `direction` in or both brings its circuit's sound to its target: to a group it is as if said to it,
  to its listeners and to its other bridges; where the target is a user, it is as if he said it on each of his
  channels with `talk` open, he being the caller. He does not hear it himself.
- So sound goes on over any number of circuits. Bridges of one circuit's name share one circuit; a bridge without
  a circuit's name has one of its own. The unit that a bridge is on is not asked for.
- X is heard by Y when what X says is heard by Y, X and Y being two different users.
- Lines are kept out: see `showvc.paths.members`.
- What is not there hears nothing and carries nothing: a target that is neither group nor user reaches nobody. Where
  one id is both, the group is meant.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import dataclass
from itertools import zip_longest
from typing import NamedTuple

from showvc.document import Bridge, Show, User, differing, target_of
from showvc.paths.circuits import brings_in, carries_out, listened, opened, tied
from showvc.paths.pairs import Pairs, bits_of, slots_of

NOBODY: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Ears:
    """Who listens where.

    `order` names the user of each bit, `place` is the bit of each user who is there. `on` and `shut` hold, for each
    id that stands on somebody's list, those who listen there, and those who listen on no channel of it.
    """

    order: tuple[str, ...]
    place: Mapping[str, int]
    groups: frozenset[str]
    on: Mapping[str, int]
    shut: Mapping[str, int]

    def at(self, target: str) -> int:
        """Bits of those who hear what is said to this target itself, if they shut nobody out."""
        if target in self.groups:
            return self.on.get(target, 0)
        return 1 << self.place[target] if target in self.place else 0

    def closed_to(self, caller: str) -> frozenset[str]:
        """The users who have shut this caller out."""
        bits = 0 if caller in self.groups else self.shut.get(caller, 0)
        if not bits:
            return NOBODY
        return frozenset(self.order[slot] for slot in slots_of(bits)) - self.groups


@dataclass(frozen=True, slots=True, eq=False)
class Matrix:
    """Who hears whom in one show. Immutable; equal when the same users hear each other.

    `rows` holds for each user's place the bits of those who hear him, `talks` the targets he talks to; `reach` holds
    for each target who hears what is said to it, `beyond` who of them by way of bridges. A user who was taken out
    since the first matrix of a series leaves an empty place, so that neighbouring matrices compare bit by bit.
    """

    ears: Ears
    talks: tuple[frozenset[str], ...]
    beyond: Mapping[str, int]
    reach: Mapping[str, int]
    rows: tuple[int, ...]

    @property
    def users(self) -> tuple[str, ...]:
        """All users, by id."""
        return tuple(sorted(self.ears.place))

    def heard_by(self, talker: str) -> tuple[str, ...]:
        """Everyone who can hear this user, by id. KeyError for somebody who is no user."""
        return self.names(self.rows[self.ears.place[talker]])

    def hears(self, listener: str) -> tuple[str, ...]:
        """Everyone whom this user can hear, by id. KeyError for somebody who is no user."""
        slot = self.ears.place[listener]
        return tuple(sorted(name for name, place in self.ears.place.items() if self.rows[place] >> slot & 1))

    def holds(self, talker: str, listener: str) -> bool:
        """Whether the talker can be heard by the listener. False for somebody who is no user."""
        place = self.ears.place
        return talker in place and listener in place and bool(self.rows[place[talker]] >> place[listener] & 1)

    def pairs(self) -> Pairs:
        """All pairs (who talks, who hears)."""
        return Pairs(self.ears.order, {slot: row for slot, row in enumerate(self.rows) if row})

    def names(self, bits: int) -> tuple[str, ...]:
        """The users of a row of bits, by id."""
        return tuple(sorted(self.ears.order[slot] for slot in slots_of(bits)))

    def row(self, caller: str, targets: Iterable[str]) -> int:
        """Bits of those who hear what this user says to these targets, whether or not they are on his list."""
        return _row(self.ears.place[caller], targets, self.reach, self.ears.closed_to(caller))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Matrix):
            return NotImplemented
        return self.users == other.users and not any(map(len, lost_and_gained(self, other)))

    __hash__ = None  # type: ignore[assignment]


def _row(slot: int, targets: Iterable[str], reach: Mapping[str, int], closed: frozenset[str]) -> int:
    row = 0
    heard = reach.get
    for target in targets:
        if target not in closed:
            row |= heard(target, 0)
    own = 1 << slot
    return row ^ own if row & own else row


# --- the whole -------------------------------------------------------------------------------------------------------


def talk_paths(show: Show) -> Matrix:
    """Who can be heard by whom: the full matrix. Reads every user and bridge, and the ids of the groups."""
    users: Mapping[str, User] = dict(show.users.items())
    order = tuple(users)
    talks: list[frozenset[str]] = []
    on: dict[str, list[int]] = {}
    shut: dict[str, list[int]] = {}
    for slot, user in enumerate(users.values()):
        part = _part(user)
        talks.append(part.talks)
        for target in part.listens:
            on.setdefault(target, []).append(slot)
        for target in part.shuts:
            shut.setdefault(target, []).append(slot)
    ears = Ears(
        order,
        {name: slot for slot, name in enumerate(order)},
        frozenset(show.groups),
        {target: bits_of(slots, len(order)) for target, slots in on.items()},
        {target: bits_of(slots, len(order)) for target, slots in shut.items()},
    )
    beyond = _beyond(show, ears)
    reach = {target: ears.at(target) | beyond.get(target, 0) for target in (*ears.groups, *order)}
    rows = tuple(_row(slot, talks[slot], reach, ears.closed_to(name)) for slot, name in enumerate(order))
    return Matrix(ears, tuple(talks), beyond, reach, rows)


class _Part(NamedTuple):
    """What one user's list gives to the matrix: the targets that he talks to, listens to, has shut out."""

    talks: frozenset[str]
    listens: frozenset[str]
    shuts: frozenset[str]


def _part(user: User | None) -> _Part:
    talks: set[str] = set()
    listens: set[str] = set()
    listed: set[str] = set()
    for key, channel in user.channels.items() if user else ():
        target = target_of(key) if "#" in key else key
        if channel.talk != "none":
            talks.add(target)
        (listens if channel.listen != "none" else listed).add(target)
    return _Part(frozenset(talks), frozenset(listens), frozenset(listed - listens))


# --- bridges ---------------------------------------------------------------------------------------------------------

Spot = tuple[str, str]
"""A place where sound is: `("to", target)` for what is said to a target, or a circuit."""


Arc = tuple[Spot, Spot]


def _beyond(show: Show, ears: Ears) -> dict[str, int]:
    """For each target from which or to which bridges carry: the bits of those who hear what is said to it."""
    return {name: bits for (kind, name), bits in heard_over(web_of(show, ears), ears).items() if kind == "to"}


def heard_over(arcs: Iterable[Arc], ears: Ears) -> dict[Spot, int]:
    """For each spot of a web, the bits of those who hear what sounds there, however many steps on."""
    into: dict[Spot, list[Spot]] = {}
    heard: dict[Spot, int] = {}
    for arc in arcs:
        for spot in arc:
            heard.setdefault(spot, ears.at(spot[1]) if spot[0] == "to" else 0)
        into.setdefault(arc[1], []).append(arc[0])
    pending = deque(spot for spot, bits in heard.items() if bits)
    while pending:
        spot = pending.popleft()
        for earlier in into.get(spot, ()):
            if heard[spot] & ~heard[earlier]:
                heard[earlier] |= heard[spot]
                pending.append(earlier)
    return heard


def web_of(show: Show, ears: Ears) -> frozenset[Arc]:
    """Where the sound of each spot goes on to, by one bridge, or by the list of a user who is a bridge's target."""
    return frozenset().union(*arcs_of(show, ears).values())


def arcs_of(show: Show, ears: Ears) -> dict[str, frozenset[Arc]]:
    """What each bridge adds to the web."""
    arcs: dict[str, frozenset[Arc]] = {}
    for name, bridge, circuit in tied(show):
        out = carried(show, bridge, ears) if carries_out(bridge) else ()
        back = brought(show, bridge, ears) if brings_in(bridge) else ()
        arcs[name] = frozenset([(("to", target), circuit) for target in out] + [(circuit, ("to", to)) for to in back])
    return arcs


def carried(show: Show, bridge: Bridge, ears: Ears) -> Set[str]:
    """The targets of which a bridge that carries out carries what is said to them."""
    target = bridge.target
    return {target} if target in ears.groups else {target} | (listened(show, target) & ears.groups)


def brought(show: Show, bridge: Bridge, ears: Ears) -> Set[str]:
    """The targets to which a bridge that brings in brings its circuit's sound."""
    target = bridge.target
    return {target} if target in ears.groups else opened(show, target) - ears.closed_to(target)


# --- from one show to the next ---------------------------------------------------------------------------------------


def advance(matrix: Matrix, before: Show, after: Show) -> Matrix:
    """The matrix of `after`, from that of `before`: only what the changes touch is worked out again.

    Equal to `talk_paths(after)`. Reads only users that differ, the bridges, and the users that bridges point at.
    """
    ears, talks, edited = _moved_ears(matrix, before, after)
    beyond = _beyond(after, ears)
    reach = dict(matrix.reach)
    touched = set(matrix.ears.groups ^ ears.groups)
    for target in _perhaps_touched(matrix, ears, beyond, edited):
        bits = ears.at(target) | beyond.get(target, 0)
        if bits != reach.get(target, 0):
            reach[target] = bits
            touched.add(target)
    rows = list(matrix.rows) + [0] * (len(ears.order) - len(matrix.rows))
    changed_shut = differing_keys(matrix.ears.shut, ears.shut) | (matrix.ears.groups ^ ears.groups)
    for slot, name in enumerate(ears.order):
        if name in edited or name in changed_shut or not touched.isdisjoint(talks[slot]):
            row = _row(slot, talks[slot], reach, ears.closed_to(name))
            rows[slot] = row if row != rows[slot] else rows[slot]
    return Matrix(ears, tuple(talks), beyond, reach, tuple(rows))


def _moved_ears(matrix: Matrix, before: Show, after: Show) -> tuple[Ears, list[frozenset[str]], frozenset[str]]:
    """Who listens where and talks to what in `after`; and the users who changed."""
    edited = differing(before.users, after.users)
    after.users.read(edited)
    known = set(matrix.ears.order)
    order = (*matrix.ears.order, *(name for name in edited if name not in known))
    slots = {name: slot for slot, name in enumerate(order)}
    talks = [*matrix.talks, *[NOBODY] * (len(order) - len(matrix.talks))]
    on, shut = dict(matrix.ears.on), dict(matrix.ears.shut)
    place = dict(matrix.ears.place)
    for name in edited:
        slot = slots[name]
        old, new = _part(before.users.get(name)), _part(after.users.get(name))
        talks[slot] = new.talks
        _flip(on, old.listens ^ new.listens, slot)
        _flip(shut, old.shuts ^ new.shuts, slot)
        if name in after.users:
            place[name] = slot
        else:
            place.pop(name, None)
    return Ears(order, place, frozenset(after.groups), on, shut), talks, frozenset(edited)


def _flip(bits: dict[str, int], names: Iterable[str], slot: int) -> None:
    for name in names:
        bits[name] = bits.get(name, 0) ^ (1 << slot)


def _perhaps_touched(matrix: Matrix, ears: Ears, beyond: Mapping[str, int], edited: frozenset[str]) -> frozenset[str]:
    listened_to = differing_keys(matrix.ears.on, ears.on)
    carried = differing_keys(matrix.beyond, beyond)
    return edited | listened_to | carried | (matrix.ears.groups ^ ears.groups)


def differing_keys(one: Mapping[str, int], other: Mapping[str, int]) -> frozenset[str]:
    """The names whose bits differ; no entry is the same as no bit."""
    return frozenset(name for name in one.keys() | other.keys() if one.get(name, 0) != other.get(name, 0))


# --- two shows -------------------------------------------------------------------------------------------------------


class Change(NamedTuple):
    """Paths that one show has and the other has not."""

    lost: Pairs
    gained: Pairs


def lost_and_gained(before: Matrix, after: Matrix) -> Change:
    """What `before` has and `after` has not, and the reverse. Cheap where one was advanced from the other.

    Paths from and to users who were taken out count as lost, those of new users as gained.
    """
    both = aligned(before, after)
    later = [0] * len(both.order)
    for place, row in zip(both.places, after.rows, strict=True):
        later[place] = both.moved(row)
    lost, gained = {}, {}
    for slot, (old, new) in enumerate(zip_longest(before.rows, later, fillvalue=0)):
        if old is not new and old != new:
            lost[slot], gained[slot] = old & ~new, new & ~old
    return Change(Pairs(both.order, lost), Pairs(both.order, gained))


@dataclass(frozen=True, slots=True)
class Aligned:
    """Two matrices side by side: `order` begins with that of the first; `places` are those of the second in it.

    `runs` are stretches of the second's places that keep their order, as (from, mask, to): few where the users are
    almost the same, None where nothing moves.
    """

    order: tuple[str, ...]
    places: Sequence[int]
    runs: tuple[tuple[int, int, int], ...] | None = None

    def moved(self, row: int) -> int:
        """A row of the second matrix in the common order."""
        if self.runs is None or not row:
            return row
        return sum((row >> start & mask) << place for start, mask, place in self.runs)


def aligned(before: Matrix, after: Matrix) -> Aligned:
    """A common order for the users of both; nothing moves where one was advanced from the other."""
    first, second = before.ears.order, after.ears.order
    if comparable(before, after):
        return Aligned(max(first, second, key=len), range(len(second)))
    known = set(first)
    order = (*first, *(name for name in second if name not in known))
    slots = {name: slot for slot, name in enumerate(order)}
    places = [slots[name] for name in second]
    starts = [slot for slot, place in enumerate(places) if not slot or place != places[slot - 1] + 1]
    ends = [*starts[1:], len(places)]
    runs = tuple((start, (1 << (end - start)) - 1, places[start]) for start, end in zip(starts, ends, strict=True))
    return Aligned(order, places, runs)


def comparable(one: Matrix, other: Matrix) -> bool:
    """Whether the same place is the same user in both, as far as both go."""
    length = min(len(one.ears.order), len(other.ears.order))
    return one.ears.order[:length] == other.ears.order[:length]
