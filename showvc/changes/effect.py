"""What edits do to people: who is off headset, who can no longer hear whom and over what, what became weaker."""

from __future__ import annotations

from collections.abc import Iterator, Set
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, NamedTuple

from showvc.changes.causes import Cause, Loss, causes
from showvc.changes.caution import critical_targets, critical_touched
from showvc.changes.change import Comparison
from showvc.changes.compare import aligned, edits
from showvc.changes.strips import strips
from showvc.document import Show, differing
from showvc.document.pointers import join
from showvc.paths import (
    SURELY,
    Difference,
    Over,
    Pairs,
    Paths,
    RequiredState,
    Weaker,
    advance,
    apart_states,
    difference,
    end_of,
    public_states,
    required_states,
    spoken,
    talk_paths,
)
from showvc.paths.capacities import over_full
from showvc.paths.ends import Role


@dataclass(frozen=True, slots=True)
class RequiredChange:
    """A required path whose state changed; `before` is None where it was not required, `after` where it is no more."""

    before: RequiredState | None
    after: RequiredState | None

    @property
    def name(self) -> str:
        state = self.after or self.before
        assert state is not None, "it was required, or is"
        return state.name


class Crossed(NamedTuple):
    """A limit that is passed now and was not before: where, and a sentence."""

    pointer: str
    words: str


class Heard(NamedTuple):
    """Somebody who can be heard by whom he must not: the id of what keeps them apart, None for a public circuit."""

    talker: str
    listener: str
    apart: str | None


@dataclass(frozen=True, eq=False)
class Effect:
    """What becomes of people from one show to the next, read surely. Each part is worked out when first asked for.

    `difference` holds the paths of both shows.
    """

    difference: Difference

    @property
    def before(self) -> Show:
        return self.difference.before.show

    @property
    def after(self) -> Show:
        return self.difference.after.show

    @property
    def paths(self) -> tuple[Paths, Paths]:
        """Who hears whom before and after."""
        return self.difference.before, self.difference.after

    # --- losses ---

    @property
    def off_headset(self) -> tuple[str, ...]:
        """Users who were on headset and are not; and all who are no more."""
        return self.difference.off_headset

    @cached_property
    def critical(self) -> frozenset[str]:
        """The groups and lines that are critical on either side."""
        return critical_targets(self.before) | critical_targets(self.after)

    @cached_property
    def _told_over(self) -> Set[str]:
        return self.critical | self.before.lines.keys() | self.after.lines.keys()

    @cached_property
    def lost_over(self) -> tuple[Over, ...]:
        """(talker, target, listener): losses over a line, or a group that is critical on either side."""
        return self.difference.lost_over(self._told_over)

    @cached_property
    def critical_losses(self) -> tuple[Over, ...]:
        """Those of them that are over what is critical."""
        return tuple(loss for loss in self.lost_over if loss[1] in self.critical)

    def lost_over_targets(self, targets: Set[str]) -> tuple[Over, ...]:
        """The losses over these targets, though the pair may remain."""
        return self.difference.lost_over(targets)

    @property
    def lost(self) -> Pairs:
        """(talker, listener): pairs that no longer hold over any target but a line."""
        return self.difference.lost

    @property
    def weaker(self) -> tuple[Weaker, ...]:
        """Paths that remain and are worse."""
        return self.difference.weaker

    @cached_property
    def overheard(self) -> tuple[Heard, ...]:
        """What must be apart and surely is not, and open microphones that surely reach a public circuit; only new."""
        old, new = (set(_overheard(paths)) for paths in self.paths)
        return tuple(sorted(new - old, key=lambda each: (each.talker, each.listener, each.apart or "")))

    @cached_property
    def losses(self) -> tuple[Loss, ...]:
        """All that is lost, the gravest first: who is off headset, over lines and critical groups, pairs."""
        return (*((user,) for user in self.off_headset), *self.lost_over, *self.lost)

    @cached_property
    def because(self) -> tuple[Cause, ...]:
        """For each loss the edits that bring it, and over what the pair still holds."""
        return causes(*self.paths, self.losses)

    # --- and the rest ---

    @property
    def gained(self) -> Pairs:
        """(talker, listener): pairs that hold and did not before."""
        return self.difference.gained

    @cached_property
    def gained_over(self) -> tuple[Over, ...]:
        """(talker, target, listener): paths over a line, or over a critical group, that were not there before."""
        return self.difference.gained_over(self._told_over)

    @property
    def back_on_headset(self) -> tuple[str, ...]:
        return self.difference.back_on_headset

    @cached_property
    def required(self) -> tuple[RequiredChange, ...]:
        """Required paths whose state changed, or which are asked for otherwise."""
        return tuple(_required(*self.paths))

    @cached_property
    def members(self) -> tuple[tuple[str, str], ...]:
        """(required path, position): who left an end of it."""
        return tuple(sorted(set(_members_left(*self.paths))))

    @property
    def fragile(self) -> tuple[tuple[str, str], ...]:
        """(required path, what takes it away alone), as not before. Single failures are not looked for yet."""
        return ()

    @cached_property
    def crossed(self) -> tuple[Crossed, ...]:
        """Limits that are passed now and were not before."""
        return tuple(_crossed(*self.paths))

    @cached_property
    def strips(self) -> tuple[str, ...]:
        """Devices with other labels under their keys."""
        return strips(self.before, self.after)

    @cached_property
    def critical_touched(self) -> tuple[str, ...]:
        """Critical groups and lines that an edit touches, or over which a path came, went or became weaker."""
        over = (*self.lost_over, *self.gained_over, *self.weaker)
        found = {target for _, target, *_ in over if target is not None and target in self.critical}
        return tuple(sorted(found.union(critical_touched(self.before, self.after))))

    def __bool__(self) -> bool:
        """Whether anything became otherwise for anybody."""
        return bool(
            self.off_headset or self.back_on_headset or self.lost or self.gained or self.lost_over or self.gained_over
            or self.weaker or self.overheard or self.required or self.members or self.crossed or self.strips
        )  # fmt: skip

    def plain(self) -> dict[str, Any]:
        """The effect as JSON has it; nothing is left out."""
        return {
            "off_headset": list(self.off_headset),
            "lost_over": [list(loss) for loss in self.lost_over],
            "lost": [list(pair) for pair in self.lost],
            "gained": [list(pair) for pair in self.gained],
            "weaker": [list(each) for each in self.weaker],
            "overheard": [list(each) for each in self.overheard],
            "fragile": [list(each) for each in self.fragile],
            "members": [list(each) for each in self.members],
            "limits": [each.pointer for each in self.crossed],
            "strips": list(self.strips),
            "because": [cause.plain() for cause in self.because],
        }


def compare(before: Show, after: Show) -> Comparison:
    """Every edit from `before` to `after`, and what they do to who hears whom."""
    return replace(edits(before, after), effect=effect_of(before, after))


def effect_of(before: Show, after: Show, known: Paths | None = None) -> Effect:
    """What the edits do. `known` are the paths of either show, if they are at hand; the others are made from them.

    Who has another id now is who he was: nothing is lost by it.
    """
    before, pairs = aligned(before, after)
    if known is None:
        known = talk_paths(before)
    if known.show is after:
        return effect_between(advance(known, before), known)
    if pairs:
        known = advance(known, before)
    return effect_between(known, advance(known, after))


def effect_between(before: Paths, after: Paths) -> Effect:
    """What becomes of people between two shows whose paths are known."""
    return Effect(difference(before, after))


def _overheard(paths: Paths) -> Iterator[Heard]:
    for state in apart_states(paths) if paths.show.head.apart else ():
        yield from (Heard(talker, listener, state.name) for talker, listener in state.surely)
    for each in public_states(paths):
        if each.surely and each.talk == "open":
            yield Heard(each.user, each.circuit, None)


def _required(old: Paths, new: Paths) -> Iterator[RequiredChange]:
    former = {state.name: state for state in required_states(old)}
    for state in required_states(new):
        known = former.pop(state.name, None)
        if known is None or known.required != state.required or known.state != state.state:
            yield RequiredChange(known, state)
    yield from (RequiredChange(state, None) for state in former.values())


def _members_left(old: Paths, new: Paths) -> Iterator[tuple[str, str]]:
    for name, body in old.show.required.items():
        then = new.show.required.get(name)
        if then is None:
            continue
        turns = (("from_", "to"), ("to", "from_"))[: 2 if body.both and then.both else 1]
        for turn in turns:
            for field, role in zip(turn, ("from", "to"), strict=True):
                was, now = _members(old, getattr(body, field), role), _members(new, getattr(then, field), role)
                yield from ((name, who) for who in was - now)


def _members(paths: Paths, end: str, role: str) -> Set[str]:
    as_role: Role = "from" if role == "from" else "to"
    return set(end_of(paths, end, as_role, SURELY).members)


# --- limits ----------------------------------------------------------------------------------------------------------


def _crossed(old: Paths, new: Paths) -> Iterator[Crossed]:
    for pointer, what, counts, most in _counts(old.show, new.show):
        (was, now), (former, limit) = counts, most
        if limit is not None and now > limit and not (was is not None and former is not None and was > former):
            yield Crossed(pointer, f"{now} {what}; the system takes {limit}")
    if new.show.carriers:
        for carrier, word in sorted(set(over_full(new.facts)) - set(over_full(old.facts))):
            gives = new.facts.carriers[carrier].gives[word]
            words = f"more {word} needed of carrier {carrier} than the {gives:g} that it gives"
            yield Crossed(join("carriers", carrier, "gives", word), words)


Count = tuple[str, str, tuple[int | None, int], tuple[int | None, int | None]]


def _counts(before: Show, after: Show) -> Iterator[Count]:
    """Where and what is counted, how many there were and are, and how many the system took and takes."""
    old, new = before.limits, after.limits
    targets = [len(show.groups) + len(show.users) for show in (before, after)]
    yield "/limits/targets", "groups and users", (targets[0], targets[1]), (old.targets, new.targets)
    yield "/limits/devices", "devices", (len(before.devices), len(after.devices)), (old.devices, new.devices)
    for name in after.users if old != new else differing(before.users, after.users):
        if name in after.users:
            was = len(before.users[name].channels) if name in before.users else None
            now = len(after.users[name].channels)
            pointer = join("users", name, "channels")
            yield pointer, f"channels of {spoken(after, name)}", (was, now), (old.channels, new.channels)
