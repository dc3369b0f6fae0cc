"""What edits do to those on headset: paths lost and gained, strips to reprint, limits passed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any

from showvc.changes.caution import critical_touched
from showvc.changes.change import Comparison
from showvc.changes.compare import aligned, edits
from showvc.changes.lines import LineChange, line_changes
from showvc.changes.strips import strips
from showvc.document import Show, differing
from showvc.paths import (
    Matrix,
    Pairs,
    RequiredState,
    advance,
    hands_of,
    key_changes,
    lost_and_gained,
    required_states,
    spoken,
    talk_paths,
)


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


@dataclass(frozen=True, slots=True, eq=False)
class Effect:
    """Pairs are (who talks, who hears).

    `to_menu` are paths that stay but lost their key, `to_key` the reverse. `critical` are the lost pairs that
    went over a critical group.
    """

    lost: Pairs
    gained: Pairs
    to_menu: Pairs
    to_key: Pairs
    critical: Pairs
    required: tuple[RequiredChange, ...]
    lines: tuple[LineChange, ...]
    """Who comes to emergency or announce otherwise."""
    strips: tuple[str, ...]
    limits: tuple[str, ...]
    critical_groups: tuple[str, ...]
    """Critical groups that an edit touches."""
    matrices: tuple[Matrix, Matrix]
    """Who hears whom before and after."""

    def __bool__(self) -> bool:
        pairs = (self.lost, self.gained, self.to_menu, self.to_key)
        return any(map(len, pairs)) or bool(self.required or self.lines or self.strips or self.limits)

    def plain(self) -> dict[str, Any]:
        """The effect as the JSON of `compare` has it; no pair is left out."""
        required = [
            {
                "id": change.name,
                "before": change.before and change.before.state,
                "after": change.after and change.after.state,
            }
            for change in self.required
        ]
        return {
            "lost": [list(pair) for pair in self.lost],
            "gained": [list(pair) for pair in self.gained],
            "menu": [list(pair) for pair in self.to_menu],
            "critical": [list(pair) for pair in self.critical],
            "required": required,
            "lines": [asdict(change) for change in self.lines],
            "strips": list(self.strips),
            "limits": list(self.limits),
        }


def compare(before: Show, after: Show) -> Comparison:
    """Every edit from `before` to `after`, and what they do to who hears whom."""
    return replace(edits(before, after), effect=effect_of(before, after))


def effect_of(before: Show, after: Show, matrix: Matrix | None = None) -> Effect:
    """What the edits do. `matrix` is that of `before`, if it is at hand; that of `after` is advanced from it.

    Who has another id now is who he was: nothing is lost by it.
    """
    before, pairs = aligned(before, after)
    old = matrix if matrix is not None and not pairs else talk_paths(before)
    new = advance(old, before, after)
    moved = lost_and_gained(old, new)
    former, now = hands_of(before, old), hands_of(after, new)
    keyed = key_changes(former, now)
    return Effect(
        moved.lost,
        moved.gained,
        keyed.to_menu,
        keyed.to_key,
        _over_critical(before, old, moved.lost),
        tuple(_required(before, after, old, new)),
        line_changes(before, after, (former.keys, now.keys)),
        strips(before, after),
        tuple(_limits(before, after)),
        critical_touched(before, after),
        (old, new),
    )


def _over_critical(show: Show, matrix: Matrix, lost: Pairs) -> Pairs:
    """The lost pairs of which the talker talked on a critical group, and the listener heard it."""
    critical = show.critical_groups
    rows: dict[int, int] = {}
    for slot, row in lost.rows.items():
        if row and slot < len(matrix.talks) and (over := critical & matrix.talks[slot]):
            rows[slot] = row & matrix.row(matrix.ears.order[slot], over)
    return Pairs(lost.order, rows)


def _required(before: Show, after: Show, old: Matrix, new: Matrix) -> Iterator[RequiredChange]:
    former = {state.name: state for state in required_states(before, old)}
    for state in required_states(after, new):
        known = former.pop(state.name, None)
        if known is None or known.required != state.required or known.state != state.state:
            yield RequiredChange(known, state)
    yield from (RequiredChange(state, None) for state in former.values())


def _limits(before: Show, after: Show) -> Iterator[str]:
    """Limits that are passed now and were not before, each in a sentence."""
    for what, counts, most in _counts(before, after):
        (was, now), (former, limit) = counts, most
        if limit is not None and now > limit and not (was is not None and former is not None and was > former):
            yield f"{now} {what}; the system takes {limit}"


def _counts(before: Show, after: Show) -> Iterator[tuple[str, tuple[int | None, int], tuple[int | None, int | None]]]:
    """What is counted, how many there were and are, and how many the system took and takes."""
    old, new = before.limits, after.limits
    targets = [len(show.groups) + len(show.users) for show in (before, after)]
    yield "groups and users", (targets[0], targets[1]), (old.targets, new.targets)
    yield "devices", (len(before.devices), len(after.devices)), (old.devices, new.devices)
    for name in after.users if old != new else differing(before.users, after.users):
        if name in after.users:
            was = len(before.users[name].channels) if name in before.users else None
            now = len(after.users[name].channels)
            yield f"channels of {spoken(after, name)}", (was, now), (old.channels, new.channels)
